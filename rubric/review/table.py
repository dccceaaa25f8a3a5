"""The answers of a class as arrays, beside the key: student × photo × item, blanks apart from *can't tell*."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from rubric.agreement.coding import CodedTable
from rubric.answers import Answer, AnswerSheet, ReferenceKey
from rubric.errors import InvalidAnswer
from rubric.items import Checklist
from rubric.said import Said

#: Codes are places in this tuple; BLANK stands for no answer, or a key that says nothing.
ANSWERS = (Answer.SEEN, Answer.NOT_SEEN, Answer.CANT_TELL)
SEEN, NOT_SEEN, CANT_TELL, BLANK = 0, 1, 2, -1

#: Nothing is told of groups smaller than this where names are not to be guessed.
FEWEST_TOLD = 5

Codes = NDArray[np.int8]
Flags = NDArray[np.bool_]
Floats = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True, eq=False)
class KeyTable:
    """The keys of a set of photos.

    Parameters
    ----------
    photos, items : tuple of str
        Ids. The ask group is never among the items.
    answers : array of int, shape (photos, items)
        -1 where the key says nothing: there the item does not apply.
    accepted : array of bool, shape (photos, items, 3)
        Other answers that the key also accepts.
    disputed : array of bool, shape (photos, items)
        Where the experts part: shown, but never used to grade anybody.
    """

    photos: tuple[str, ...]
    items: tuple[str, ...]
    answers: Codes
    accepted: Flags
    disputed: Flags

    def __post_init__(self) -> None:
        shape = (len(self.photos), len(self.items))
        _keep(self, "answers", np.int8, shape)
        _keep(self, "accepted", np.bool_, (*shape, len(ANSWERS)))
        _keep(self, "disputed", np.bool_, shape)
        _check_codes(self.answers)

    @property
    def graded(self) -> Flags:
        """Where students are compared with the key, shape (photos, items)."""
        known: Flags = self.answers != BLANK
        return known & ~self.disputed

    @cached_property
    def matches(self) -> Flags:
        """Which answers count as the key's, shape (photos, items, 3)."""
        same: Flags = self.answers[..., None] == np.arange(len(ANSWERS))
        return self.accepted | same


@dataclass(frozen=True, kw_only=True, eq=False)
class ClassTable:
    """What a class answered.

    Parameters
    ----------
    students : tuple of str
        Ids, or the words under which they may be shown.
    key : KeyTable
    answers : array of int, shape (students, photos, items)
        Codes; -1 for a blank, which is missing and neither right nor wrong.
    """

    students: tuple[str, ...]
    key: KeyTable
    answers: Codes

    def __post_init__(self) -> None:
        _keep(self, "answers", np.int8, (len(self.students), *self.key.answers.shape))
        _check_codes(self.answers)

    @cached_property
    def compared(self) -> Flags:
        """Answered, and graded."""
        answered: Flags = self.answers != BLANK
        return answered & self.key.graded

    @cached_property
    def differs(self) -> Flags:
        """Compared, and neither the key's answer nor an accepted one."""
        differs = np.zeros(self.answers.shape, dtype=np.bool_)
        for code in range(len(ANSWERS)):
            differs |= (self.answers == code) & ~self.key.matches[..., code]
        return differs & self.compared

    @cached_property
    def over_claimed(self) -> Flags:
        """Said *seen* or *not seen* where the key holds that the photo cannot tell."""
        cannot: Flags = self.key.answers == CANT_TELL
        return self.differs & cannot

    @cached_property
    def under_claimed(self) -> Flags:
        """Said *can't tell* where the key can."""
        said: Flags = self.answers == CANT_TELL
        return self.differs & said

    @cached_property
    def counts(self) -> NDArray[np.int64]:
        """How many students gave each answer, shape (photos, items, 3)."""
        return np.stack([(self.answers == code).sum(axis=0) for code in range(len(ANSWERS))], axis=-1)

    def ratings(self, item: str | None = None) -> CodedTable:
        """The answers for `rubric.agreement`, a row for each photo and item (of one item: each photo), a column a student.

        Only where the item applies; disputed items are in it, since this is agreement among the students.
        """
        asked = self.key.answers != BLANK
        if item is not None:
            asked = asked & (np.array(self.key.items) == item)
        return CodedTable(
            codes=self.answers[:, asked].T.astype(np.int32), categories=tuple(answer.value for answer in ANSWERS)
        )


@dataclass(frozen=True, kw_only=True)
class AnswerSpread:
    """How a class answered one item on one photo, without names.

    Parameters
    ----------
    counts : mapping of Answer to int, or None
        None where fewer than five answered.
    n : int
    reason : str or None
        Why the counts are not told.
    """

    counts: Mapping[Answer, int] | None
    n: int
    reason: str | None


def answer_spread(table: ClassTable, photo: str, item: str) -> AnswerSpread:
    """The spread for the projector: aggregates only, nothing for fewer than five answers."""
    counts = table.counts[table.key.photos.index(photo), table.key.items.index(item)]
    n = int(counts.sum())
    if n < FEWEST_TOLD:
        reason = Said("shown from {n} answers on, so that nobody's answer can be guessed", n=FEWEST_TOLD)
        return AnswerSpread(counts=None, n=n, reason=reason)
    told = MappingProxyType({answer: int(count) for answer, count in zip(ANSWERS, counts, strict=True)})
    return AnswerSpread(counts=told, n=n, reason=None)


def key_table(
    checklist: Checklist,
    keys: Mapping[str, ReferenceKey],
    *,
    disputed: Mapping[str, Collection[str]] = MappingProxyType({}),
) -> KeyTable:
    """The keys by photo id as arrays, with the visible items of the checklist that any key answers.

    Parameters
    ----------
    checklist : Checklist
    keys : mapping of photo id to ReferenceKey
        The order of the photos is kept.
    disputed : mapping of photo id to item ids
        Items on which the experts part, as `rubric.panel` finds them.
    """
    answered = {item_id for key in keys.values() for item_id in key.answers}
    items = tuple(item.id for item in checklist.items if item.visible and item.id in answered)
    answers = np.full((len(keys), len(items)), BLANK, dtype=np.int8)
    accepted = np.zeros((*answers.shape, len(ANSWERS)), dtype=np.bool_)
    parted = np.zeros(answers.shape, dtype=np.bool_)
    for row, (photo, key) in enumerate(keys.items()):
        for column, item_id in enumerate(items):
            said = key.answers.get(item_id)
            if said is not None:
                answers[row, column] = ANSWERS.index(said.answer)
                accepted[row, column] = [answer in said.accepted for answer in ANSWERS]
                parted[row, column] = item_id in disputed.get(photo, ())
    return KeyTable(photos=tuple(keys), items=items, answers=answers, accepted=accepted, disputed=parted)


def class_table(key: KeyTable, sheets: Mapping[str, Mapping[str, AnswerSheet]]) -> ClassTable:
    """The sheets by student and photo id as arrays; photos and items without a key are passed over."""
    answers = np.full((len(sheets), *key.answers.shape), BLANK, dtype=np.int8)
    for number, by_photo in enumerate(sheets.values()):
        for row, photo in enumerate(key.photos):
            if photo in by_photo:
                answers[number, row] = _codes(by_photo[photo], key.items)
    return ClassTable(students=tuple(sheets), key=key, answers=answers)


def _codes(sheet: AnswerSheet, items: Sequence[str]) -> list[int]:
    said = (sheet.answers.get(item) for item in items)
    return [BLANK if one is None else ANSWERS.index(one.answer) for one in said]


def _keep(owner: object, name: str, kind: type[np.generic], shape: tuple[int, ...]) -> None:
    """Replace the array by an own, read-only copy of that kind and shape."""
    own = np.array(getattr(owner, name), dtype=kind)
    if own.shape != shape:
        raise InvalidAnswer(f"{name} must have the shape {shape}, got {own.shape}")
    own.flags.writeable = False
    object.__setattr__(owner, name, own)


def _check_codes(codes: Codes) -> None:
    if codes.size and (codes.min() < BLANK or codes.max() >= len(ANSWERS)):
        raise InvalidAnswer(f"codes of answers run from -1 to 2, got {codes.min()} to {codes.max()}")
