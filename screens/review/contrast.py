"""Two photos side by side that differ in one sign: how a sign is taught best."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from rubric.answers import ReferenceKey
from rubric.review.table import NOT_SEEN, SEEN, ClassTable


@dataclass(frozen=True, kw_only=True)
class ContrastPair:
    """One photo on which the key sees the sign, one on which it does not."""

    with_sign: str
    without_sign: str


def contrast_pair(table: ClassTable, keys: Mapping[str, ReferenceKey], item: str) -> ContrastPair | None:
    """The clearest pair for a sign; None where the set holds none.

    The key must be plain on both: neither disputed nor accepting another answer. Pairs of one phase and view come first,
    then those on which most of the class sees it as the key does, then the order of the set.

    Parameters
    ----------
    keys : mapping of photo to ReferenceKey
        For phase and view.
    """
    if item not in table.key.items:
        return None
    column = table.key.items.index(item)
    plain = table.key.graded[:, column] & ~table.key.accepted[:, column].any(axis=1)
    compared = table.compared[:, :, column].sum(axis=0)
    agrees = 1 - table.differs[:, :, column].sum(axis=0) / np.maximum(compared, 1)
    answers = table.key.answers[:, column]
    seen, not_seen = (np.flatnonzero(plain & (answers == code)).tolist() for code in (SEEN, NOT_SEEN))
    taken_alike = {photo: (key.phase, key.view) for photo, key in keys.items()}
    photos = table.key.photos
    pairs = [
        (taken_alike[photos[a]] != taken_alike[photos[b]], -float(agrees[a] + agrees[b]), a, b)
        for a in seen
        for b in not_seen
    ]
    if not pairs:
        return None
    *_, a, b = min(pairs)
    return ContrastPair(with_sign=photos[a], without_sign=photos[b])
