"""A last look at the door: a JPEG that holds anything but its pixels is not stored.

Reference: ITU-T T.81 (1992), annex B: a file is a row of segments, each a marker FF xx and, but for a few, a length
of two bytes that counts itself; the picture's size stands in the frame header SOFn.
"""

from collections.abc import Iterator

from records.errors import InvalidRecord

_START, _END, _SCAN = 0xD8, 0xD9, 0xDA
# SOF0 to SOF15 without DHT (C4), JPG (C8) and DAC (CC).
_FRAMES = frozenset(range(0xC0, 0xD0)) - {0xC4, 0xC8, 0xCC}
# Tables, frames, scans and restart intervals. APP0 is looked at by itself; APP1 to APP15 and COM are not in here.
_PICTURE = _FRAMES | {0xC4, 0xCC, 0xDB, 0xDD, _SCAN}
_JFIF_WITHOUT_THUMBNAIL = 16


def size_of_clean_jpeg(data: bytes) -> tuple[int, int]:
    """Width and height in pixels of a JPEG that holds nothing but its picture.

    Raises
    ------
    InvalidRecord
        For bytes that are no whole JPEG, or hold Exif, XMP, IPTC, a comment, a thumbnail or bytes after the end.
    """
    size = None
    for marker, body in _segments(data):
        if marker == 0xE0:
            if not (body.startswith(b"JFIF\0") and len(body) + 2 == _JFIF_WITHOUT_THUMBNAIL):
                raise InvalidRecord("The picture still holds a thumbnail, so it was not stored.")
        elif marker not in _PICTURE:
            raise InvalidRecord("The picture still holds more than its pixels, so it was not stored.")
        if marker in _FRAMES and len(body) >= 5:
            size = int.from_bytes(body[3:5], "big"), int.from_bytes(body[1:3], "big")
    if size is None or 0 in size:
        raise InvalidRecord("The picture is not a whole JPEG, so it was not stored.")
    return size


def _segments(data: bytes) -> Iterator[tuple[int, bytes]]:
    """Marker and body of each segment up to the end of the picture."""
    if data[:2] != bytes((0xFF, _START)):
        raise InvalidRecord("The picture is not a JPEG, so it was not stored.")
    at = 2
    while data[at : at + 1] == b"\xff" and at + 4 <= len(data) and data[at + 1] != _END:
        end = at + 2 + int.from_bytes(data[at + 2 : at + 4], "big")
        yield data[at + 1], data[at + 4 : end]
        at = _after_scan(data, end) if data[at + 1] == _SCAN else end
    if data[at:] != bytes((0xFF, _END)):
        raise InvalidRecord("The picture is cut short or goes on after its end, so it was not stored.")


def _after_scan(data: bytes, at: int) -> int:
    """Where the next segment starts: at the first FF that is followed by neither 00 nor a restart marker."""
    while True:
        at = data.find(b"\xff", at)
        if at < 0 or at + 1 >= len(data):
            return len(data)
        if data[at + 1] != 0 and not 0xD0 <= data[at + 1] <= 0xD7:
            return at
        at += 2
