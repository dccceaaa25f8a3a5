"""All that a simulated class hands in on a set of photos with a random key: two looks and two angles."""

import numpy as np

from rubric.checklist import shipped_checklist
from rubric.review.findings import ClassWork
from rubric.review.patterns import suggested_answers
from rubric.simulation.classes import Cohort, simulate_angles, simulate_answers, simulate_second_look, simulated_key

#: Edges as the shipped checklist has them.
_WIDE_FROM, _NARROW_BELOW = 120.0, 90.0


def visible_items() -> tuple[str, ...]:
    """Ids of the shipped items that a photo can show."""
    return tuple(item.id for item in shipped_checklist().items if item.visible)


def simulated_work(seed: int, cohort: Cohort, *, n_photos: int = 20, items: tuple[str, ...] | None = None) -> ClassWork:
    """What the cohort answers and reads; the gape suggests an answer to the items on how wide the mouth is.

    Examples
    --------
    >>> work = simulated_work(1, Cohort(students=("a", "b", "c", "d", "e")), n_photos=3)
    >>> work.first.answers.shape, [angles.name for angles in work.angles]
    ((5, 3, 16), ['gape_angle', 'alignment_angle'])
    """
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
