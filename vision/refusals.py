"""The sentences with which `vision.images` refuses a file: each one sentence, with the rule and what came."""

from vision.said import Said

FORMATS_IN_WORDS = Said("JPEG, PNG, WebP, TIFF and HEIC")

_DRAWING = Said("an SVG drawing or other XML text")
_KINDS = (
    ((b"gif87a", b"gif89a"), Said("a GIF picture")),
    ((b"<svg", b"<?xml"), _DRAWING),
    ((b"%pdf",), Said("a PDF document")),
    ((b"\xff\xd8", b"\x89png", b"riff", b"ii*\x00", b"mm\x00*"), Said("damaged or cut short in its first part")),
)


def called(name: str) -> Said:
    """How a message calls the file; what a stranger typed as its name stays short and on one line.

    >>> called("one\\ntwo.jpg"), called("")
    ('“onetwo.jpg”', 'The file')
    """
    shown = "".join(letter for letter in name if letter.isprintable())
    return Said("“{name}”", name=shown[:80]) if shown else Said("The file")


def empty(subject: str) -> Said:
    """For a file without a byte."""
    return Said("{file} is empty, so there is no photo in it.", file=subject)


def too_long(subject: str, came: int, limit: int) -> Said:
    """For a file above the limit, both in bytes."""
    return Said(
        "{file} has {came} MB, and the limit is {limit} MB: send a smaller copy.",
        file=subject,
        came=-(-came // 1024**2),
        limit=limit // 1024**2,
    )


def damaged(subject: str) -> Said:
    """For a file that starts like a photo and cannot be decoded."""
    return Said("{file} is damaged or cut short, so the photo in it cannot be read.", file=subject)


def not_a_photo(subject: str, data: bytes) -> Said:
    """For bytes that no decoder on the list wants."""
    return Said("{file} is {kind}: accepted are {formats}.", file=subject, kind=_kind(data), formats=FORMATS_IN_WORDS)


def too_many_pixels(subject: str, came: int | None, limit: int) -> Said:
    """For a picture above the limit, both in pixels; None where it is not known how many it claims."""
    many = Said("far more pixels than a photo")
    claim = many if came is None else Said("{n} million pixels", n=round(came / 1e6))
    return Said(
        "{file} has {claim}, and the limit is {limit} million: choose 12 megapixels in the camera's settings or send a "
        "smaller copy.",
        file=subject,
        claim=claim,
        limit=limit // 1_000_000,
    )


def too_small(subject: str, size: tuple[int, int], least: int) -> Said:
    """For a picture in which nothing could be measured."""
    return Said(
        "{file} has {width} × {height} pixels, and a photo needs at least {least} × {least}.",
        file=subject,
        width=size[0],
        height=size[1],
        least=least,
    )


def not_single(subject: str) -> Said:
    """For animations and files of several pages."""
    return Said("{file} holds several pictures or an animation: send one still photo.", file=subject)


def odd_samples(subject: str, mode: str) -> Said:
    """For samples that have no agreed white, as in 32-bit scientific pictures."""
    return Said("{file} has samples of type {mode}, and a photo has 8 or 16 bits a channel.", file=subject, mode=mode)


def _kind(data: bytes) -> Said:
    start = data[:512].lstrip().lower()
    for beginnings, word in _KINDS:
        if start.startswith(beginnings):
            return word
    if start[4:8] == b"ftyp":
        return Said("an AVIF picture") if start[8:11] == b"avi" else Said("damaged, or a video")
    if b"<svg" in start:
        return _DRAWING
    if all(32 <= byte < 127 or byte in (9, 10, 13) for byte in start):
        return Said("plain text, not a photo")
    return Said("of a kind that cannot be read here")
