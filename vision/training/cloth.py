"""The romper of the parametric body: how far it stands off the skin, its folds, and how it hangs over hollows."""

from typing import Protocol

import numpy as np
import torch
from numpy.typing import NDArray
from torch import Tensor

from vision.training.rng import Draws, unit

#: Neighbours that count for a vertex; what a vertex has fewer of is filled with itself.
_BESIDE = 6
#: Rounds of smoothing, and the least distance from the skin, face sizes.
_ROUNDS, _CLEAR = 5, 0.008


class Body(Protocol):
    """What of the body's arrays is needed here."""

    @property
    def neutral(self) -> Tensor:
        """(v, 3) metres."""

    @property
    def faces(self) -> Tensor:
        """(f, 3)."""

    @property
    def beside(self) -> Tensor:
        """(v, 6) as `neighbours` gives it."""


def neighbours(faces: NDArray[np.int32], count: int) -> NDArray[np.int64]:
    """(count, 6): up to six vertices that share an edge with each, itself where there are fewer.

    >>> neighbours(np.array([[0, 1, 2]], np.int32), 4)[:, :3].tolist()
    [[1, 2, 0], [0, 2, 1], [0, 1, 2], [3, 3, 3]]
    """
    edges = np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]])
    edges = np.unique(np.concatenate([edges, edges[:, ::-1]]), axis=0)
    starts = np.searchsorted(edges[:, 0], np.arange(count))
    place = np.arange(len(edges)) - starts[edges[:, 0]]
    out = np.repeat(np.arange(count, dtype=np.int64)[:, None], _BESIDE, axis=1)
    kept = place < _BESIDE
    out[edges[kept, 0], place[kept]] = edges[kept, 1]
    return out


def vertex_normals(verts: Tensor, faces: Tensor) -> Tensor:
    """(n, v, 3) of meshes (n, v, 3)."""
    a, b, c = (verts[:, faces[:, i].long()] for i in range(3))
    face = torch.linalg.cross(b - a, c - a)
    out = torch.zeros_like(verts)
    for i in range(3):
        out.index_add_(1, faces[:, i].long(), face)
    return unit(out)


def _folds(d: Draws, places: Tensor) -> Tensor:
    """(n, v) from -1 to 1: bent waves of two sizes."""
    bend = torch.sin(places @ d.normal(0, 45, 3, 1))
    large = torch.sin(places @ d.normal(0, 70, 3, 1) + 1.8 * bend)
    small = torch.sin(places @ d.normal(0, 190, 3, 1) + 1.5 * bend)
    return (0.65 * large + 0.35 * small)[..., 0]


def dressed(d: Draws, body: Body, skin: Tensor, cloth: Tensor) -> tuple[Tensor, Tensor]:
    """Vertices and normals (n, v, 3) of bodies whose vertices `cloth` (n, v) are of the romper; lengths in face sizes.

    Rompers lie close or stand well off the skin: a newborn's stands 5 to 12 mm off, and more over a nappy.
    """
    normals = vertex_normals(skin, body.faces)
    off = torch.where(d.chance(0.4), d.uniform(0.01, 0.08), d.uniform(0.06, 0.19))[:, None, None]
    fold = (off * d.uniform(0.05, 0.4, 1, 1)) * _folds(d, body.neutral)[..., None]
    verts = skin + normals * (off + fold) * cloth[..., None]
    ease = (d.chance(0.7)[:, None] & cloth)[..., None]
    for _ in range(_ROUNDS):
        verts = torch.where(ease, 0.35 * verts + 0.65 * verts[:, body.beside].mean(dim=2), verts)
    gone = (_CLEAR - ((verts - skin) * normals).sum(dim=-1, keepdim=True)).clamp_min(0)
    verts = verts + normals * gone * cloth[..., None]
    return verts, vertex_normals(verts, body.faces)
