"""The sentences with which `vision.images` refuses a file: each one sentence, with the rule and what came."""

FORMATS_IN_WORDS = "JPEG, PNG, WebP, TIFF and HEIC"

_KINDS = (
    ((b"gif87a", b"gif89a"), "a GIF picture"),
    ((b"<svg", b"<?xml"), "an SVG drawing or other XML text"),
    ((b"%pdf",), "a PDF document"),
    ((b"\xff\xd8", b"\x89png", b"riff", b"ii*\x00", b"mm\x00*"), "damaged or cut short in its first part"),
)


def called(name: str) -> str:
    """How a message calls the file; what a stranger typed as its name stays short and on one line.

    >>> called("one\\ntwo.jpg"), called("")
    ('“onetwo.jpg”', 'The file')
    """
    shown = "".join(letter for letter in name if letter.isprintable())
    return f"“{shown[:80]}”" if shown else "The file"


def empty(subject: str) -> str:
    """For a file without a byte."""
    return f"{subject} is empty, so there is no photo in it."


def too_long(subject: str, came: int, limit: int) -> str:
    """For a file above the limit, both in bytes."""
    return f"{subject} has {-(-came // 1024**2)} MB, and the limit is {limit // 1024**2} MB: send a smaller copy."


def damaged(subject: str) -> str:
    """For a file that starts like a photo and cannot be decoded."""
    return f"{subject} is damaged or cut short, so the photo in it cannot be read."


def not_a_photo(subject: str, data: bytes) -> str:
    """For bytes that no decoder on the list wants."""
    return f"{subject} is {_kind(data)}: accepted are {FORMATS_IN_WORDS}."


def too_many_pixels(subject: str, came: int | None, limit: int) -> str:
    """For a picture above the limit, both in pixels; None where it is not known how many it claims."""
    claim = "far more pixels than a photo" if came is None else f"{round(came / 1e6)} million pixels"
    return (
        f"{subject} has {claim}, and the limit is {limit // 1_000_000} million: "
        "choose 12 megapixels in the camera's settings or send a smaller copy."
    )


def too_small(subject: str, size: tuple[int, int], least: int) -> str:
    """For a picture in which nothing could be measured."""
    return f"{subject} has {size[0]} × {size[1]} pixels, and a photo needs at least {least} × {least}."


def not_single(subject: str) -> str:
    """For animations and files of several pages."""
    return f"{subject} holds several pictures or an animation: send one still photo."


def odd_samples(subject: str, mode: str) -> str:
    """For samples that have no agreed white, as in 32-bit scientific pictures."""
    return f"{subject} has samples of type {mode}, and a photo has 8 or 16 bits a channel."


def _kind(data: bytes) -> str:
    start = data[:512].lstrip().lower()
    for beginnings, word in _KINDS:
        if start.startswith(beginnings):
            return word
    if start[4:8] == b"ftyp":
        return "an AVIF picture" if start[8:11] == b"avi" else "damaged, or a video"
    if b"<svg" in start:
        return "an SVG drawing or other XML text"
    if all(32 <= byte < 127 or byte in (9, 10, 13) for byte in start):
        return "plain text, not a photo"
    return "of a kind that cannot be read here"
