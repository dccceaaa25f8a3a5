"""Duplicates among many photos: copies that were turned, mirrored, made smaller or saved again, by a perceptual hash.

A photo's hash is one plain string, so that whoever keeps it can delete it with the photo: it holds the frequency hash
(`imagehash.phash`, 12 × 12 bits) of the photo in each of its eight positions, four quarter turns plain and mirrored.

Why `MOST_APART` is 24 of 144 bits, measured on the 26 shipped doll photos on 2026-11-25: saved again at JPEG quality
60, at full, half and a third of the size, in all eight positions, a copy lay at most 4 bits away; a third brighter at
most 14; cut by 1 % on each side at most 12, by 2 % at most 22, by 3 % 20 (median) to 28. Different photos lay at least
50 bits apart, two dolls in the very same pose and scene included. So a copy that was cut more, turned by a few degrees
or covered widely is not called a duplicate, and neither is the next photo of the same doll from another place.
What was not tried: two frames of one burst. They may well be called alike, which is what one wants to be told.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import cv2
import imagehash
import numpy as np
from numpy.typing import NDArray

from vision.images import pillow_picture
from vision.photo import Photo

#: Hashes that lie at most so many bits apart are of one and the same photo.
MOST_APART = 24
HASH_SIDE = 12
_BITS = HASH_SIDE * HASH_SIDE
_HEX_DIGITS = _BITS // 4
#: Names the way of hashing: strings of another way are not compared.
_WAY = "phash12x8:"
#: The photo is made this small before anything else, in pixels: hashing looks at 48 × 48.
_SMALL = 256
#: Clockwise quarter turns, plain and then mirrored (left to right, before the turn).
_POSITIONS = tuple((turn, mirrored) for mirrored in (False, True) for turn in range(4))


@dataclass(frozen=True, kw_only=True)
class Alike:
    """Two photos that look the same.

    Parameters
    ----------
    first, second : str
        Their names.
    distance : int
        Bits between their hashes, 0 to `MOST_APART`.
    turn_deg : int
        How far the second must be turned clockwise to lie like the first: 0, 90, 180 or 270.
    mirrored : bool
        Whether it must be mirrored before that, left to right.
    """

    first: str
    second: str
    distance: int
    turn_deg: int
    mirrored: bool


@dataclass(frozen=True, kw_only=True)
class AlikeGroup:
    """Photos of which each is alike to at least one other of the group.

    Parameters
    ----------
    names : tuple of str
        In the order in which they were given.
    pairs : tuple of Alike
        Every two of them that are alike.
    """

    names: tuple[str, ...]
    pairs: tuple[Alike, ...]


def photo_hash(photo: Photo) -> str:
    """The photo's perceptual hash, as a string to keep and to delete with the photo.

    Examples
    --------
    >>> grey = Photo(pixels=np.full((64, 64, 3), 128, np.uint8))
    >>> photo_hash(grey).startswith("phash12x8:"), len(photo_hash(grey))
    (True, 298)
    """
    grey = cv2.cvtColor(photo.pixels, cv2.COLOR_RGB2GRAY)
    small = np.asarray(cv2.resize(grey, (_SMALL, _SMALL), interpolation=cv2.INTER_AREA), dtype=np.uint8)
    hashes = [
        imagehash.phash(pillow_picture(_placed(small, *position)), hash_size=HASH_SIDE) for position in _POSITIONS
    ]
    return _WAY + "".join(str(one) for one in hashes)


def find_alike(hashes: Mapping[str, str], *, most_apart: int = MOST_APART) -> tuple[AlikeGroup, ...]:
    """Group the photos that look the same; a photo that is like no other is in no group.

    Parameters
    ----------
    hashes : mapping of name to hash
        As `photo_hash` gave them.
    most_apart : int
        Bits.

    Raises
    ------
    ValueError
        For a string that `photo_hash` of this version did not give.

    Examples
    --------
    >>> spots = cv2.resize(np.random.default_rng(1).integers(0, 256, (6, 8, 3), np.uint8), (160, 120))
    >>> mirrored = np.ascontiguousarray(spots[:, ::-1])
    >>> hashes = {"a": photo_hash(Photo(pixels=spots)), "b": photo_hash(Photo(pixels=mirrored))}
    >>> find_alike(hashes)[0].pairs[0].mirrored
    True
    """
    names = list(hashes)
    if len(names) < 2:
        return ()
    bits = np.stack([_bits(hashes[name], name) for name in names])
    pairs = _pairs(names, bits, most_apart)
    return tuple(
        AlikeGroup(names=group, pairs=tuple(pair for pair in pairs if pair.first in group))
        for group in _connected(names, pairs)
    )


def _placed(picture: NDArray[np.uint8], quarter_turns: int, mirrored: bool) -> NDArray[np.uint8]:
    flipped = picture[:, ::-1] if mirrored else picture
    # NumPy turns the other way round.
    return np.ascontiguousarray(np.rot90(flipped, -quarter_turns))


def _bits(text: str, name: str) -> NDArray[np.float32]:
    """Bits of all eight positions as -1 and 1, shape (8, 144)."""
    digits = text.removeprefix(_WAY)
    if not text.startswith(_WAY) or not re.fullmatch(f"[0-9a-f]{{{_HEX_DIGITS * len(_POSITIONS)}}}", digits):
        raise ValueError(f"the hash of {name} was not made by this version: hash that photo again")
    one_by_one = [digits[start : start + _HEX_DIGITS] for start in range(0, len(digits), _HEX_DIGITS)]
    hashes = [imagehash.hex_to_hash(one).hash.ravel() for one in one_by_one]
    return np.where(np.stack(hashes), 1.0, -1.0).astype(np.float32)


def _pairs(names: Sequence[str], bits: NDArray[np.float32], most_apart: int) -> list[Alike]:
    found = []
    for i in range(len(names) - 1):
        # The scalar product of two rows of ±1 counts the bits that agree less those that differ.
        there = (_BITS - bits[i + 1 :] @ bits[i, 0]) / 2
        and_back = (_BITS - bits[i + 1 :, 0] @ bits[i].T) / 2
        nearest = np.minimum(there.min(axis=1), and_back.min(axis=1))
        for j in np.flatnonzero(nearest <= most_apart):
            turn, mirrored = _POSITIONS[int(there[j].argmin())]
            found.append(
                Alike(
                    first=names[i],
                    second=names[i + 1 + int(j)],
                    distance=round(float(nearest[j])),
                    turn_deg=90 * turn,
                    mirrored=mirrored,
                )
            )
    return found


def _connected(names: Sequence[str], pairs: Sequence[Alike]) -> list[tuple[str, ...]]:
    """Names that hang together by pairs, each group and the groups in the order of the names."""
    label = {name: place for place, name in enumerate(names)}
    for pair in pairs:
        one, other = label[pair.first], label[pair.second]
        label = {name: min(one, other) if place in (one, other) else place for name, place in label.items()}
    groups = [tuple(name for name in names if label[name] == place) for place in sorted(set(label.values()))]
    return [group for group in groups if len(group) > 1]
