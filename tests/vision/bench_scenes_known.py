"""Pictures for the bench that have a truth and no pixels: heads of three dimensions with a body drawn on."""

import numpy as np
from head_model import FACE_PX, seen_head

from vision.bench.renders import BenchPicture
from vision.landmarks import BodyView, LandmarkSet, Point

#: Newborn proportions do not matter here, only that every place is known.
_BODY = {"chin": 110 + 190j, "shoulder": -150 + 260j, "hip": -330 + 820j}


def known_picture(number: int, seed: int = 1, *, gape: tuple[float, float] = (90, 140)) -> BenchPicture:
    """Picture `number`: ψ 62–112°, any roll, mouth arms 25–34 % of the face size, no perspective, camera level."""
    rng = np.random.default_rng([seed, number])
    psi, roll = rng.uniform(62, 112), rng.uniform(0, 360)
    whole = rng.uniform(*gape)
    up = whole * rng.uniform(0.4, 0.6)
    shape = {"k": rng.normal(0.8, 0.15), "w": rng.normal(0.19, 0.03)}
    arms = tuple(rng.uniform(0.25, 0.34, 2) * FACE_PX)
    head = seen_head(gape_up=up, gape_down=whole - up, arms=arms, psi=psi, roll=roll, **shape)
    turn = np.exp(1j * np.radians(roll))
    places = head | {name: 1000 + 1000j + turn * (at + rng.normal(0, 30) * 1j) for name, at in _BODY.items()}
    ear, shoulder, hip = (places[name] for name in ("ear", "shoulder", "hip"))
    return BenchPicture(
        path=None,
        doll=number // 2,
        truth=LandmarkSet(
            points={name: Point(x=at.real, y=at.imag, by="truth") for name, at in places.items()},
            body_view=BodyView.SIDE,
        ),
        head_yaw_deg=psi,
        elevation_deg=0.0,
        face_px=FACE_PX,
        gape_deg=whole,
        alignment_deg=abs(float(np.degrees(np.angle((ear - shoulder) / (hip - shoulder))))),
        groups={
            "tone": str(1 + number % 8),
            "light": ("bright", "even", "dim")[number % 3],
            "blur": ("0", "1.2")[number % 2],
            "cover": "none",
            "hold": "cradle",
            "phase": "before",
        },
    )


def known_pictures(count: int, seed: int = 1, **options: object) -> tuple[BenchPicture, ...]:
    return tuple(known_picture(number, seed, **options) for number in range(count))
