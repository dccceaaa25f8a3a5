"""The strip under an overlay: the caution, every value with its interval, and why others have none."""

from collections.abc import Callable, Mapping

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw

from vision.drawing.labels import font_of, printable
from vision.drawing.words import CAUTION, reason_rows, shared_notes, value_rows
from vision.quantities.results import Result
from vision.said import Said

_GROUND = (24, 27, 33)
_BRIGHT = (245, 245, 245)
_SOFT = (190, 196, 205)

#: What a strip holds, from top to bottom: (text, colour).
_Lines = list[tuple[str, tuple[int, int, int]]]


def footer(
    measures: Mapping[str, Result], width: int, letter: float, *, say: Callable[[str], str] = str
) -> NDArray[np.uint8]:
    """The strip as RGB pixels, shape (as high as needed, width, 3).

    Parameters
    ----------
    measures : mapping of measure name to Measure or NotMeasurable
    width : int
        Pixels.
    letter : float
        Height of a letter in pixels.
    say : callable
        From a sentence in English to the reader's language.
    """
    room = width - 2 * letter
    lines: _Lines = [(part, _SOFT) for part in wrapped(say(CAUTION), room, letter)]
    for name, words in value_rows(measures):
        lines += [(part, _BRIGHT) for part in wrapped(f"{say(name)}: {say(words)}", room, letter)]
    for names, reason in reason_rows(measures):
        lines += [
            (part, _SOFT)
            for part in wrapped(say(Said("{names}: not measured. {reason}", names=names, reason=reason)), room, letter)
        ]
    for note in shared_notes(measures):
        lines += [(part, _SOFT) for part in wrapped(say(note), room, letter)]
    return _drawn(lines, width, letter)


def wrapped(text: str, room: float, letter: float) -> list[str]:
    """The text cut into lines at most `room` pixels long, between words."""
    font, lines, text = font_of(letter), [""], printable(text)
    if font.getlength(text) <= room:
        return [text]
    for word in text.split(" "):
        longer = f"{lines[-1]} {word}".strip()
        if lines[-1] and font.getlength(longer) > room:
            lines.append(word)
        else:
            lines[-1] = longer
    return lines


def _drawn(lines: _Lines, width: int, letter: float) -> NDArray[np.uint8]:
    step = letter * 1.5
    height = round(step * len(lines) + letter * 1.2)
    strip = Image.new("RGB", (width, height), _GROUND)
    pen = ImageDraw.Draw(strip)
    for place, (text, colour) in enumerate(lines):
        pen.text((letter, letter * 0.6 + step * (place + 0.5)), text, colour, font_of(letter), "lm")
    return np.asarray(strip)
