"""A printed scale card as a flat part: its picture is `scale_card.png`, which `card_picture` draws."""

from dataclasses import dataclass
from pathlib import Path

import numpy as np
from PIL import Image

from .camera import unit
from .mesh import Part
from .pressing import grid_faces
from .tones import linear

PICTURE = Path(__file__).parent / "scale_card.png"
#: A6 on its long side, metres.
SIZE = (0.148, 0.105)


@dataclass(frozen=True, kw_only=True)
class Card:
    """Where the card lies, scene axes: its middle, the direction that it faces, and the direction of its long side."""

    at: tuple[float, float, float]
    faces: tuple[float, float, float]
    along: tuple[float, float, float]


def card_part(card: Card) -> Part:
    """The card; every pixel of its picture is a vertex."""
    grey = np.asarray(Image.open(PICTURE).convert("L"), dtype=float)
    rows, columns = grey.shape
    out = unit(card.faces)
    right = np.asarray(card.along, dtype=float)
    right = unit(right - out * (right @ out))
    down = np.cross(right, out)
    x = ((np.arange(columns) + 0.5) / columns - 0.5) * SIZE[0]
    y = ((np.arange(rows) + 0.5) / rows - 0.5) * SIZE[1]
    yy, xx = np.meshgrid(y, x, indexing="ij")
    places = np.asarray(card.at, dtype=float) + np.outer(xx.ravel(), right) + np.outer(yy.ravel(), down)
    shade = linear(np.repeat(np.clip(grey.ravel()[:, None], 12, 243), 3, axis=1))
    return Part(
        name="card", vertices=places, faces=grid_faces(rows, columns), colour=shade, material="wood",
        texture=np.stack([xx.ravel(), yy.ravel(), yy.ravel()], axis=1), normals=np.tile(out, (rows * columns, 1)),
    )  # fmt: skip
