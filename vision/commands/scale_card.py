"""The command `scale-card`, which writes the card, and the card's part in `measure`."""

import argparse
from dataclasses import replace
from pathlib import Path
from typing import IO, Any

import numpy as np
from numpy.typing import NDArray

from vision.card.reading import NOT_FOUND, CardNotFound, find_scale_card
from vision.errors import CannotDo
from vision.landmarks import LandmarkSet


def add_scale_card(commands: "argparse._SubParsersAction[Any]") -> None:
    """Add the command `scale-card`."""
    command = commands.add_parser("scale-card", help="write the printable card that gives a photo its millimetres")
    command.add_argument("out", type=Path, metavar="OUT.pdf", help="a PDF, A6: print it at 100 %% and check its ruler")
    command.set_defaults(act=_write)


def with_card_scale(pixels: NDArray[np.uint8], landmarks: LandmarkSet) -> tuple[LandmarkSet, tuple[str, ...]]:
    """The landmarks with the scale of a card in the photo, and what there is to say of it, one sentence each.

    A scale that is known already is kept and no card is looked for.
    """
    if landmarks.scale is not None:
        return landmarks, ()
    card = find_scale_card(pixels, landmarks)
    if isinstance(card, CardNotFound):
        return landmarks, () if card.reason == NOT_FOUND else (card.reason,)
    return replace(landmarks, scale=card.scale), (*card.warnings, card.plane_note)


def _write(options: argparse.Namespace, out: IO[str]) -> None:
    from vision.card.pdf import scale_card_pdf  # late: only this command draws

    try:
        options.out.write_bytes(scale_card_pdf())
    except OSError as fault:
        raise CannotDo(f"The card cannot be written to {options.out}: {fault.strerror or fault}.") from fault
    out.write(f"{options.out}: print it at 100 %, then check that its ruler is 100 mm long.\n")
