"""The places of an assignment: which photo stands at which, and where one comes a second time.

Which photo is repeated, and where, follows from a hash of the assignment's id and the version's: the same for all
students of the class, another for each assignment. No page shows a student the version's id.
"""

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass

from records.models import AssignmentRow, SetPhotoRow

#: How many other photos stand between a photo and its repeat, where the set has as many.
LEAST_BETWEEN = 2


@dataclass(frozen=True, kw_only=True)
class Places:
    """Which photo of a set (counted from 0) stands at each slot; `repeat` holds both slots, from 1, of the one shown twice.

    `held_back` are slots whose key a student sees only once all is finished. Beside the repeated photo it holds another,
    so that a key held back does not tell which photo will come again.
    """

    photo_at: tuple[int, ...]
    repeat: tuple[int, int] | None
    held_back: frozenset[int]


def places_for(n_photos: int, *, hidden_repeat: bool, seed: str) -> Places:
    """The places of an assignment with so many photos.

    Examples
    --------
    >>> places_for(3, hidden_repeat=False, seed="a").photo_at
    (0, 1, 2)
    >>> places_for(1, hidden_repeat=True, seed="a")
    Places(photo_at=(0, 0), repeat=(1, 2), held_back=frozenset({1, 2}))
    """
    in_order = tuple(range(n_photos))
    if not hidden_repeat or n_photos == 0:
        return Places(photo_at=in_order, repeat=None, held_back=frozenset())
    between = min(LEAST_BETWEEN, n_photos - 1)
    again = _drawn(seed, "photo", n_photos - between)
    at = again + between + 1 + _drawn(seed, "place", n_photos - again - between)
    photo_at = (*in_order[:at], again, *in_order[at:])
    repeat = (again + 1, at + 1)
    others = [slot for slot in range(1, n_photos + 2) if slot not in repeat]
    decoy = {others[_drawn(seed, "beside", len(others))]} if others else set()
    return Places(photo_at=photo_at, repeat=repeat, held_back=frozenset({*repeat, *decoy}))


def _drawn(seed: str, what: str, n: int) -> int:
    """A number from 0 to n - 1 that only the seed decides."""
    return int.from_bytes(hashlib.sha256(f"{what} {seed}".encode()).digest()[:8], "big") % n


def places_of(assignment: AssignmentRow) -> Places:
    """The places of an assignment on record; photos that were removed keep theirs."""
    seed = f"{assignment.id} {assignment.version_id}"
    return places_for(len(assignment.version.photos), hidden_repeat=assignment.hidden_repeat, seed=seed)


def photos_of(assignment: AssignmentRow) -> tuple[SetPhotoRow, ...]:
    """The photo's place in the set for each slot, slot 1 first."""
    in_order: Sequence[SetPhotoRow] = sorted(assignment.version.photos, key=lambda row: (row.position, row.photo_id))
    return tuple(in_order[at] for at in places_of(assignment).photo_at)


def n_slots(assignment: AssignmentRow) -> int:
    """How many places there are."""
    n = len(assignment.version.photos)
    return n + 1 if assignment.hidden_repeat and n else n
