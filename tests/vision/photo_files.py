"""Photo files made on the spot, and walks through file structures that use none of the program's libraries."""

import io
import struct
import zlib
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image

QUADRANT_COLOURS = ((200, 40, 40), (40, 160, 60), (50, 60, 190), (230, 220, 200))
WIDTH, HEIGHT = 160, 120


def quadrants() -> NDArray[np.uint8]:
    """160 × 120 pixels: red, green over blue, cream. No turn and no mirroring leaves it as it is."""
    pixels = np.zeros((HEIGHT, WIDTH, 3), dtype=np.uint8)
    pixels[:60, :80], pixels[:60, 80:], pixels[60:, :80], pixels[60:, 80:] = QUADRANT_COLOURS
    return pixels


def quadrant_means(pixels: NDArray[np.uint8]) -> list[tuple[float, ...]]:
    """Mean colour in the middle of each quarter, in reading order."""
    height, width = pixels.shape[:2]
    centres = [(height // 4, width // 4), (height // 4, 3 * width // 4)]
    centres += [(3 * height // 4, width // 4), (3 * height // 4, 3 * width // 4)]
    return [tuple(pixels[y - 5 : y + 5, x - 5 : x + 5].mean(axis=(0, 1))) for y, x in centres]


def file_of(image: Image.Image, kind: str, **options: Any) -> bytes:
    target = io.BytesIO()
    image.save(target, kind, **options)
    return target.getvalue()


def exif_with(orientation: int = 1) -> Image.Exif:
    exif = Image.Exif()
    exif[0x0112] = orientation
    exif[0x010F] = "Phone"
    place = exif.get_ifd(0x8825)
    place[1], place[2] = "N", (51.0, 30.0, 0.0)
    return exif


def png_chunk(kind: bytes, body: bytes) -> bytes:
    return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))


def png_header(width: int, height: int) -> bytes:
    """A PNG that claims a size and holds a few bytes of picture."""
    claims = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    picture = zlib.compress(b"\0" * 1000)
    return b"\x89PNG\r\n\x1a\n" + png_chunk(b"IHDR", claims) + png_chunk(b"IDAT", picture) + png_chunk(b"IEND", b"")


def jpeg_segments(data: bytes) -> list[tuple[int, bytes]]:
    """(marker, body) of every segment up to the picture data, read byte by byte (ITU-T T.81, annex B)."""
    assert data[:2] == b"\xff\xd8", "a JPEG starts with SOI"
    found, place = [], 2
    while place < len(data):
        assert data[place] == 0xFF, "a segment starts with FF"
        marker = data[place + 1]
        length = struct.unpack(">H", data[place + 2 : place + 4])[0]
        found.append((marker, data[place + 4 : place + 2 + length]))
        place += 2 + length
        if marker == 0xDA:
            return found
    raise AssertionError("a JPEG holds a scan")


def png_chunks(data: bytes) -> list[bytes]:
    """Kinds of all chunks in order."""
    found, place = [], 8
    while place < len(data):
        length, kind = struct.unpack(">I4s", data[place : place + 8])
        found.append(kind)
        place += 12 + length
    return found
