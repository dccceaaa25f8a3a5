"""Students against each other, key or no key: how often one says what the others say."""

import numpy as np

from rubric.review.table import ClassTable


def same_as_others(table: ClassTable) -> tuple[float | None, ...]:
    """For each student the share of the other students' answers, to the same sign on the same photo, that are the same.

    Only where the sign applies and somebody else answered it too; None where there is no such answer.
    """
    n = table.counts.sum(axis=2)
    given = (table.answers >= 0) & (table.key.answers >= 0) & (n >= 2)
    code = np.where(table.answers >= 0, table.answers, 0)
    alike = np.take_along_axis(np.broadcast_to(table.counts, (*code.shape, 3)), code[..., None], axis=3)[..., 0] - 1
    same = np.where(given, alike, 0).sum(axis=(1, 2))
    others = np.where(given, n - 1, 0).sum(axis=(1, 2))
    return tuple(float(a / b) if b else None for a, b in zip(same, others, strict=True))
