"""Soft things that give way: a height field that another body presses into.

A height field stands on a frame (origin; u and w across, a along which height counts). Where the other body, seen
along a, comes nearer than the field's own height, the field gives way, with a soft rim round the dent.
"""

from dataclasses import dataclass

import numpy as np

from .tracer import as_warp_mesh, cast_rays

#: Where a ray along a starts, metres before the frame's origin.
START = 0.6


@dataclass(frozen=True, kw_only=True)
class Frame:
    """Origin and three unit vectors, scene axes; height grows along `a`."""

    origin: np.ndarray
    u: np.ndarray
    w: np.ndarray
    a: np.ndarray

    def out(self, u: np.ndarray, w: np.ndarray, height: np.ndarray) -> np.ndarray:
        """Scene places (n, 3)."""
        return self.origin + np.outer(u, self.u) + np.outer(w, self.w) + np.outer(height, self.a)

    def into(self, points: np.ndarray) -> np.ndarray:
        """Frame coordinates (n, 3): u, w, height."""
        rel = np.atleast_2d(points) - self.origin
        return np.stack([rel @ self.u, rel @ self.w, rel @ self.a], axis=1)


def _blur(a: np.ndarray, sigma: float) -> np.ndarray:
    from scipy.ndimage import gaussian_filter

    return gaussian_filter(a, sigma)


def dent(frame: Frame, height, bodies, *, centre, half: float, step: float, gap: float, soft: float):
    """How far the field must give way, as a function of (u, w) arrays.

    Parameters
    ----------
    height : callable (u, w) -> metres
        The field undisturbed.
    bodies : list of Part
    centre, half, step : (u, w), metres, metres
        The square that is sampled and its spacing.
    gap : float
        Room left between the two, metres.
    soft : float
        Width of the soft rim, metres.
    """
    from scipy.interpolate import RegularGridInterpolator
    from scipy.ndimage import maximum_filter

    from .mesh import merge

    model = merge(bodies)
    mesh = as_warp_mesh(model.vertices, model.faces)
    us = np.arange(centre[0] - half, centre[0] + half, step)
    ws = np.arange(centre[1] - half, centre[1] + half, step)
    uu, ww = np.meshgrid(us, ws, indexing="ij")
    flat = np.full(uu.size, -START)
    origins = frame.out(uu.ravel(), ww.ravel(), flat)
    t, _ = cast_rays(mesh, origins, np.tile(frame.a, (len(origins), 1)))
    body = (t - START).reshape(uu.shape)
    own = height(uu.ravel(), ww.ravel()).reshape(uu.shape)
    depth = np.where(np.isfinite(body), np.maximum(0, own - (body - gap)), 0)
    hard = maximum_filter(depth, size=3)
    rim = _blur(hard, soft / step)
    result = np.maximum(hard, 0.92 * rim)
    look = RegularGridInterpolator((us, ws), result, bounds_error=False, fill_value=0.0)
    return lambda u, w: look(np.stack([u, w], axis=1))


def grid_faces(rows: int, columns: int, *, closed: bool = False) -> np.ndarray:
    """Faces of a grid of vertices in row order; `closed` joins the last column to the first."""
    r, c = np.meshgrid(np.arange(rows - 1), np.arange(columns if closed else columns - 1), indexing="ij")
    r, c = r.ravel(), c.ravel()
    right = (c + 1) % columns
    a, b = r * columns + c, r * columns + right
    d, e = (r + 1) * columns + c, (r + 1) * columns + right
    return np.concatenate([np.stack([a, d, b], axis=1), np.stack([b, d, e], axis=1)])
