"""Simulated classes for tests of the review: a key drawn at random, and students who also click and read angles."""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from rubric.checklist import shipped_checklist
from rubric.review.angles import AngleTable
from rubric.review.findings import ClassWork
from rubric.review.patterns import suggested_answers
from rubric.review.points import PointTable
from rubric.review.table import CANT_TELL, NOT_SEEN, SEEN, KeyTable
from rubric.simulation.classes import Cohort, Floats, simulate_answers, simulate_second_look

#: Edges as the shipped checklist has them.
_WIDE_FROM, _NARROW_BELOW = 120.0, 90.0


@dataclass(frozen=True, kw_only=True)
class ClickingCohort(Cohort):
    """A cohort that also reads angles and places points.

    Parameters
    ----------
    angle_bias : mapping of student to float
        Degrees by which that student reads wide (+) or narrow (-).
    click_sd_deg, click_sd_px : float
        Spread of angles and of a click's coordinate.
    """

    angle_bias: Mapping[str, float] = field(default_factory=dict)
    click_sd_deg: float = 6.0
    click_sd_px: float = 8.0


def demo_cohort(n_students: int = 20, **planted: object) -> ClickingCohort:
    """A cohort of that many students, called "student 01" and so on."""
    return ClickingCohort(students=tuple(f"student {n:02}" for n in range(1, n_students + 1)), **planted)  # type: ignore[arg-type]


def simulated_key(n_photos: int, items: tuple[str, ...], seed: int, *, cant_tell: float = 0.2) -> KeyTable:
    """A key drawn at random: that share *can't tell*, the rest *seen* and *not seen* in equal parts, 5 % with another
    accepted answer."""
    rng = np.random.default_rng([seed, 1])
    shape = (n_photos, len(items))
    definite = (1 - cant_tell) / 2
    answers = rng.choice([SEEN, NOT_SEEN, CANT_TELL], size=shape, p=[definite, definite, cant_tell])
    accepted = np.zeros((*shape, 3), dtype=np.bool_)
    accepted[..., CANT_TELL] = (answers != CANT_TELL) & (rng.random(shape) < 0.05)
    photos = tuple(f"photo {n:02}" for n in range(1, n_photos + 1))
    return KeyTable(
        photos=photos, items=items, answers=answers, accepted=accepted, disputed=np.zeros(shape, dtype=np.bool_)
    )


def simulate_angles(name: str, photos: tuple[str, ...], key: Floats, cohort: ClickingCohort, seed: int) -> AngleTable:
    """The cohort's readings of one angle, in degrees, within 0 to 180."""
    rng = np.random.default_rng([seed, 4, sum(map(ord, name))])
    noise = rng.normal(0, cohort.click_sd_deg, (len(cohort.students), len(photos)))
    read = np.clip(key + cohort.of_students(cohort.angle_bias)[:, None] + noise, 0, 180)
    read[rng.random(read.shape) < cohort.blank] = np.nan
    return AngleTable(name=name, students=cohort.students, photos=photos, values=read, key=key)


def simulate_points(
    photos: tuple[str, ...], landmarks: tuple[str, ...], key: Floats, cohort: ClickingCohort, seed: int
) -> PointTable:
    """The cohort's clicks, in pixels (x right, y down), twice as spread along x for the first landmark.

    Parameters
    ----------
    key : array of float, shape (photos, landmarks, 2)
    """
    rng = np.random.default_rng([seed, 5])
    spread = np.full((len(landmarks), 2), cohort.click_sd_px)
    spread[:1, 0] *= 2
    clicks = key + rng.normal(0, 1, (len(cohort.students), *key.shape)) * spread
    return PointTable(students=cohort.students, photos=photos, landmarks=landmarks, points=clicks, key=key)


def visible_items() -> tuple[str, ...]:
    """Ids of the shipped items that a photo can show."""
    return tuple(item.id for item in shipped_checklist().items if item.visible)


def simulated_work(
    seed: int, cohort: ClickingCohort, *, n_photos: int = 20, items: tuple[str, ...] | None = None
) -> ClassWork:
    """What the cohort answers and reads; the gape suggests an answer to the items on how wide the mouth is."""
    asked = visible_items() if items is None else items
    key = simulated_key(n_photos, asked, seed)
    rng = np.random.default_rng([seed, 8])
    gapes, lines = rng.uniform(60, 150, n_photos), rng.uniform(120, 160, n_photos)
    first = simulate_answers(key, cohort, seed)
    gape = simulate_angles("gape_angle", key.photos, gapes, cohort, seed)
    line = simulate_angles("alignment_angle", key.photos, lines, cohort, seed)
    suggested = np.full(first.answers.shape, -1, dtype=np.int8)
    by_gape = suggested_answers(gape.values, seen_from=_WIDE_FROM, not_seen_below=_NARROW_BELOW)
    bears = [place for place, item in enumerate(asked) if item in {"opens_wide", "stays_wide"}]
    suggested[:, :, bears] = by_gape[:, :, None]
    second = simulate_second_look(first, cohort, seed, suggested=suggested)
    return ClassWork(first=first, second=second, suggested=suggested, angles=(gape, line))
