"""Bytes in, upright RGB pixels out, and nothing else of the file: the only door to Pillow for photos.

The order is fixed: length limit, allow-list of formats, size limits read from the header, decoding, the Exif turn,
RGB, and pixels rebuilt in an array of our own, so that no Exif, GPS, XMP, comment, thumbnail or profile survives.

Decisions. Photos above `MAX_PIXELS` are refused, not reduced: points are kept in the photo's own pixels, and a copy
that was reduced silently would not match the file that a person has. An embedded colour profile is dropped, not
applied: shades shift a little, no point moves. Decoding happens one photo at a time, which bounds memory and lets
Pillow's warnings be silenced without a race between threads.
"""

import io
import re
import threading
import warnings
from collections.abc import Iterator
from contextlib import contextmanager

import cv2
import numpy as np
import pi_heif
from numpy.typing import NDArray
from PIL import Image

from vision import refusals
from vision.errors import UnreadablePhoto
from vision.photo import MIN_SIDE, Photo, crop, reduced

__all__ = [
    "MAX_BYTES",
    "MAX_PIXELS",
    "MIN_SIDE",
    "Photo",
    "crop",
    "encode_jpeg",
    "encode_png",
    "pillow_picture",
    "read_photo",
    "reduced",
]

MAX_BYTES = 30 * 1024 * 1024
MAX_PIXELS = 40_000_000

_FORMATS = ("JPEG", "PNG", "WEBP", "TIFF", "HEIF")
_ALPHA_MODES = ("RGBA", "RGBa", "LA", "La", "PA")
_PLAIN_MODES = ("1", "L", "P", "RGB", "RGBX", "CMYK", "YCbCr", "LAB", "HSV")
_STRIP_ROWS = 512
_EXIF_ORIENTATION = 0x0112
_ONE_AT_A_TIME = threading.RLock()

pi_heif.register_heif_opener()


def read_photo(data: bytes, *, name: str = "") -> Photo:
    """Decode one photo from the bytes of its file.

    Parameters
    ----------
    data : bytes
        A whole JPEG, PNG, WebP, TIFF or HEIC file of at most `MAX_BYTES` and `MAX_PIXELS`.
    name : str
        How the message of a refusal calls the file; nothing is read from disk.

    Raises
    ------
    UnreadablePhoto
        With one sentence that says the rule and what came.
    """
    subject = refusals.called(name)
    if not data:
        raise UnreadablePhoto(refusals.empty(subject))
    if len(data) > MAX_BYTES:
        raise UnreadablePhoto(refusals.too_long(subject, len(data), MAX_BYTES))
    with _quiet_pillow(), _refusing(subject), _opened(data, subject) as image:
        _check_size(image, subject)
        _check_single(image, subject)
        image.load()
        orientation = _orientation(image)
        pixels = _rgb_pixels(image, subject)
        image.close()  # frees Pillow's own copy before the turn needs a second one of ours
    return Photo(pixels=_turned(pixels, orientation))


def encode_jpeg(photo: Photo, quality: int = 95) -> bytes:
    """A JPEG made from the pixels alone: no Exif, XMP, comment, thumbnail or profile."""
    return _encoded(photo, format="JPEG", quality=quality)


def encode_png(photo: Photo) -> bytes:
    """A PNG made from the pixels alone: header, picture data and end, no text and no times."""
    return _encoded(photo, format="PNG", compress_level=4)


def pillow_picture(pixels: NDArray[np.uint8]) -> Image.Image:
    """Grey or RGB pixels as Pillow's own picture, for a library that takes nothing else."""
    return Image.fromarray(pixels)


def _encoded(photo: Photo, **options: object) -> bytes:
    target = io.BytesIO()
    Image.fromarray(photo.pixels).save(target, **options)  # type: ignore[arg-type]
    return target.getvalue()


@contextmanager
def _quiet_pillow() -> Iterator[None]:
    with _ONE_AT_A_TIME, warnings.catch_warnings():
        warnings.simplefilter("ignore")
        yield


@contextmanager
def _refusing(subject: str) -> Iterator[None]:
    """Decoders meet bytes from strangers: whatever they raise means that this is no photo for us."""
    try:
        yield
    except UnreadablePhoto:
        raise
    except Exception as fault:
        raise UnreadablePhoto(refusals.damaged(subject)) from fault


@contextmanager
def _opened(data: bytes, subject: str) -> Iterator[Image.Image]:
    """The image with its header read; the allow-list decides which decoders may look at the bytes at all."""
    try:
        image = Image.open(io.BytesIO(data), formats=_FORMATS)
    except Image.DecompressionBombError as fault:
        raise UnreadablePhoto(refusals.too_many_pixels(subject, _claimed(fault), MAX_PIXELS)) from fault
    except Exception as fault:
        raise UnreadablePhoto(refusals.not_a_photo(subject, data)) from fault
    with image:
        yield image


def _claimed(fault: Image.DecompressionBombError) -> int | None:
    """The number of pixels that Pillow's message names."""
    number = re.search(r"\((\d+) pixels\)", str(fault))
    return int(number[1]) if number else None


def _check_size(image: Image.Image, subject: str) -> None:
    width, height = image.size
    if width * height > MAX_PIXELS:
        raise UnreadablePhoto(refusals.too_many_pixels(subject, width * height, MAX_PIXELS))
    if min(width, height) < MIN_SIDE:
        raise UnreadablePhoto(refusals.too_small(subject, image.size, MIN_SIDE))


def _check_single(image: Image.Image, subject: str) -> None:
    """Phones put a second picture behind a JPEG or HEIC; there the first, main picture is taken."""
    if image.format not in ("JPEG", "MPO", "HEIF") and getattr(image, "n_frames", 1) > 1:
        raise UnreadablePhoto(refusals.not_single(subject))


def _orientation(image: Image.Image) -> int:
    """Exif orientation 1 to 8 that is still to be applied; anything unreadable counts as upright."""
    try:
        value = image.getexif().get(_EXIF_ORIENTATION, 1)
    except Exception:
        return 1
    return value if isinstance(value, int) and 1 <= value <= 8 else 1


def _rgb_pixels(image: Image.Image, subject: str) -> NDArray[np.uint8]:
    """The decoded picture as RGB, converted strip by strip so that no second whole copy is held."""
    width, height = image.size
    pixels = np.empty((height, width, 3), dtype=np.uint8)
    for top in range(0, height, _STRIP_ROWS):
        bottom = min(height, top + _STRIP_ROWS)
        pixels[top:bottom] = _rgb_strip(image.crop((0, top, width, bottom)), subject)
    return pixels


def _rgb_strip(strip: Image.Image, subject: str) -> NDArray[np.uint8]:
    """Rows as RGB: 16-bit grey is scaled (65535 becomes 255), transparent parts are laid on white."""
    if strip.mode.startswith("I;16"):
        grey = ((np.asarray(strip).astype(np.uint32) + 128) // 257).astype(np.uint8)
        return np.repeat(grey[:, :, None], 3, axis=2)
    if strip.mode in _ALPHA_MODES or "transparency" in strip.info:
        return _on_white(strip.convert("RGBA"))
    if strip.mode in _PLAIN_MODES:
        return np.asarray(strip if strip.mode == "RGB" else strip.convert("RGB"))
    raise UnreadablePhoto(refusals.odd_samples(subject, strip.mode))


def _on_white(strip: Image.Image) -> NDArray[np.uint8]:
    rgba = np.asarray(strip).astype(np.uint16)
    colour, alpha = rgba[:, :, :3], rgba[:, :, 3:]
    mixed: NDArray[np.uint8] = ((colour * alpha + 255 * (255 - alpha) + 127) // 255).astype(np.uint8)
    return mixed


def _turned(pixels: NDArray[np.uint8], orientation: int) -> NDArray[np.uint8]:
    """Upright pixels, flipped in place; orientations 2, 4, 5 and 7 mirror as well (Exif 2.3, tag 0x0112)."""
    if orientation in (5, 6, 7, 8):
        pixels = np.asarray(cv2.transpose(pixels), dtype=np.uint8)
    flip = {2: 1, 3: -1, 4: 0, 6: 1, 7: -1, 8: 0}.get(orientation)
    if flip is not None:
        cv2.flip(pixels, flip, dst=pixels)
    return pixels
