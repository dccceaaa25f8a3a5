"""What could stand out among the answers: items, photos, one item on one photo, over-claiming."""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray
from scipy.stats import binom

from rubric.comparing import Estimates, clustered_means, one_against_rest
from rubric.exceeding import more_than_others
from rubric.review.finding import Candidate, Finding, FindingKind, Rules, or_none
from rubric.review.table import CANT_TELL, FEWEST_TOLD, ClassTable

Floats = NDArray[np.float64]


def _shares(
    kind: FindingKind, names: tuple[str, ...], field: str, found: Estimates, here: Floats, least: float
) -> list[Candidate]:
    return [
        Candidate(
            finding=Finding(
                kind=kind,
                **{field: name},
                value=float(found.value[at]),
                low=or_none(found.low[at]),
                high=or_none(found.high[at]),
                here=float(here[at]),
                elsewhere=float(here[at] - found.value[at]),
                unit="share",
                p_value=float(found.p_value[at]),
                n=int(found.n[at]),
            ),
            large=bool(found.value[at] >= least),
        )
        for at, name in enumerate(names)
        if found.n[at]
    ]


def _mean(values: Floats, axes: tuple[int, ...]) -> Floats:
    present = ~np.isnan(values)
    means: Floats = np.where(present, values, 0.0).sum(axis=axes) / np.maximum(present.sum(axis=axes), 1)
    return means


def item_candidates(table: ClassTable, wrong: Floats, rule: Rules) -> list[Candidate]:
    found = one_against_rest(wrong, least_se=0.25)
    return _shares(FindingKind.ITEM, table.key.items, "item", found, _mean(wrong, (0, 1)), rule.share)


def photo_candidates(table: ClassTable, wrong: Floats, rule: Rules) -> list[Candidate]:
    found = one_against_rest(wrong.transpose(0, 2, 1), least_se=0.25)
    return _shares(FindingKind.PHOTO, table.key.photos, "photo", found, _mean(wrong, (0, 2)), rule.share)


def student_candidates(table: ClassTable, kind: FindingKind, rule: Rules) -> list[Candidate]:
    """Over-claiming where the key cannot tell, or *can't tell* where it can, one student against the others.

    The test asks for more than `Rules.ordinary_share` above the others, since careful and careless students ordinarily part.
    """
    cannot = table.key.answers == CANT_TELL
    over = kind == FindingKind.STUDENT_OVER_CLAIMS
    claims, where = (table.over_claimed, cannot) if over else (table.under_claimed, ~cannot)
    values = np.where(table.compared & where, claims, np.nan)
    by_place = values.transpose(1, 2, 0)
    found = one_against_rest(by_place, least_se=0.25, share_spread=True)
    found = replace(found, p_value=more_than_others(by_place, margin=rule.ordinary_share))
    return _shares(kind, table.students, "student", found, _mean(values, (1, 2)), 1.5 * rule.share)


def spot_candidates(table: ClassTable, rule: Rules) -> list[Candidate]:
    """One item on one photo against what its item and photo make one expect elsewhere: their excesses added to the mean."""
    n, wrong = table.compared.sum(axis=0), table.differs.sum(axis=0)
    rest_n, rest_wrong = n.sum() - n, wrong.sum() - wrong
    overall = (rest_wrong + 1) / (rest_n + 2)
    of_item = (wrong.sum(axis=0) - wrong + overall) / (n.sum(axis=0) - n + 1)
    of_photo = (wrong.sum(axis=1, keepdims=True) - wrong + overall) / (n.sum(axis=1, keepdims=True) - n + 1)
    expected = np.clip(np.maximum(of_item + of_photo - overall, overall), 0.01, 0.95)
    p_values = binom.sf(wrong - 1, n, expected)
    return [
        _spot(table, place, float(expected[place]), float(p_values[place]), rule)
        for place in zip(*np.nonzero(n >= FEWEST_TOLD), strict=True)
    ]


def _spot(table: ClassTable, place: tuple[int, ...], expected: float, p_value: float, rule: Rules) -> Candidate:
    row, column = place
    n, wrong = int(table.compared[:, row, column].sum()), int(table.differs[:, row, column].sum())
    reach = 1.96 * np.sqrt(wrong / n * (1 - wrong / n) / n) if 0 < wrong < n else None
    value = wrong / n - expected
    finding = Finding(
        kind=FindingKind.ITEM_ON_PHOTO,
        photo=table.key.photos[row],
        item=table.key.items[column],
        value=value,
        low=None if reach is None else float(value - reach),
        high=None if reach is None else float(value + reach),
        here=wrong / n,
        elsewhere=expected,
        unit="share",
        p_value=p_value,
        n=n,
    )
    return Candidate(finding=finding, large=value >= rule.spot_share)


def over_claiming_candidates(table: ClassTable, wrong: Floats, rule: Rules) -> list[Candidate]:
    """The class says more where the key cannot tell than it errs elsewhere: one difference for each student."""
    cannot = table.key.answers == CANT_TELL
    if not cannot.any() or cannot.all():
        return []
    here = np.where(cannot, wrong, np.nan)
    elsewhere = _mean(np.where(cannot, np.nan, wrong), (1, 2))
    by_cell = here - elsewhere[:, None, None]  # student by student, so that a careful one is compared with itself
    cells = by_cell.reshape(len(table.students), -1)
    found = clustered_means(cells[:, :, None], least_se=0.25)
    return _shares(FindingKind.OVER_CLAIMING, ("",), "item", found, _mean(here, (0, 1, 2))[None], rule.share)
