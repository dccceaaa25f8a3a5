"""Answer sheets and reference keys as JSON, and what is missing or has changed between two looks.

JSON from outside is untrusted: every type, name and size is checked, and nothing unknown is passed over.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import TypeVar

from rubric.answers import Answer, AnswerSheet, ItemAnswer, KeyAnswer, Phase, ReferenceKey, Settles, Spot, View
from rubric.errors import InvalidAnswer
from rubric.items import Checklist, Item

MAX_ANSWERS = 200
MAX_WHY_CHARACTERS = 2000

Json = dict[str, object]
_Member = TypeVar("_Member", bound=StrEnum)
_ID = re.compile(r"[a-z][a-z0-9_]{0,39}")


@dataclass(frozen=True, kw_only=True)
class Change:
    """A change of mind about one item; None stands for a blank."""

    item_id: str
    before: Answer | None
    after: Answer | None


def sheet_to_json(sheet: AnswerSheet) -> Json:
    """The JSON form of a sheet: `{"phase", "view", "answers": {item id: {"answer"[, "spot", "settles"]}}}`."""
    return {
        "phase": None if sheet.phase is None else sheet.phase.value,
        "view": None if sheet.view is None else sheet.view.value,
        "answers": {item_id: _answer_to_json(answer) for item_id, answer in sheet.answers.items()},
    }


def sheet_from_json(obj: object) -> AnswerSheet:
    """Read the JSON form of a sheet; raises InvalidAnswer for anything that breaks a rule."""
    table = _table(obj, "an answer sheet", needed={"answers"}, allowed={"phase", "view"})
    return AnswerSheet(
        phase=_member_or_none(table.get("phase"), Phase, "phase"),
        view=_member_or_none(table.get("view"), View, "view"),
        answers={item_id: _answer_from_json(entry, item_id) for item_id, entry in _answers(table).items()},
    )


def key_to_json(key: ReferenceKey) -> Json:
    """The JSON form of a key: as a sheet, each answer with "why" and, where there are any, "accepted" answers.

    Raises
    ------
    InvalidAnswer
        For a key that could not be read back: a spot with *can't tell*, or `settles` with another answer.
    """
    return {
        "phase": key.phase.value,
        "view": key.view.value,
        "answers": {item_id: _key_answer_to_json(answer) for item_id, answer in key.answers.items()},
    }


def key_from_json(obj: object) -> ReferenceKey:
    """Read the JSON form of a key; raises InvalidAnswer for anything that breaks a rule."""
    table = _table(obj, "a reference key", needed={"phase", "view", "answers"}, allowed=set())
    return ReferenceKey(
        phase=_member(table["phase"], Phase, "phase"),
        view=_member(table["view"], View, "view"),
        answers={item_id: _key_answer_from_json(entry, item_id) for item_id, entry in _answers(table).items()},
    )


def missing_items(checklist: Checklist, sheet: AnswerSheet) -> tuple[Item, ...]:
    """The items that apply and are blank, in order; the ask group is never missing.

    While phase or view is not said, every item that may still apply counts as missing, so an empty sheet is never
    complete.
    """
    applying = (item for item in checklist.items if item.applies(sheet.phase, sheet.view))
    return tuple(item for item in applying if item.id not in sheet.answers)


def changes(first: AnswerSheet, second: AnswerSheet) -> tuple[Change, ...]:
    """Items answered differently at the second look, in the order of the first sheet and then of the second.

    A spot that moved, or another thought on what would settle it, is no change of mind.
    """
    item_ids = dict.fromkeys([*first.answers, *second.answers])
    pairs = ((item_id, answer_to(first, item_id), answer_to(second, item_id)) for item_id in item_ids)
    return tuple(Change(item_id=item_id, before=old, after=new) for item_id, old, new in pairs if old != new)


def answer_to(sheet: AnswerSheet | ReferenceKey, item_id: str) -> Answer | None:
    """What a sheet or a key says to one item; None for a blank."""
    answer = sheet.answers.get(item_id)
    return None if answer is None else answer.answer


def _answer_to_json(answer: ItemAnswer) -> Json:
    obj: Json = {"answer": answer.answer.value}
    if answer.spot is not None:
        obj["spot"] = {"x": answer.spot.x, "y": answer.spot.y}
    if answer.settles is not None:
        obj["settles"] = answer.settles.value
    return obj


def _answer_from_json(obj: object, where: str) -> ItemAnswer:
    table = _table(obj, where, needed={"answer"}, allowed={"spot", "settles"})
    return ItemAnswer(
        answer=_member(table["answer"], Answer, f"{where}: answer"),
        spot=_spot(table.get("spot"), where),
        settles=_member_or_none(table.get("settles"), Settles, f"{where}: settles"),
    )


def _key_answer_to_json(answer: KeyAnswer) -> Json:
    obj = _answer_to_json(ItemAnswer(answer=answer.answer, spot=answer.spot, settles=answer.settles))
    obj["why"] = answer.why
    if answer.accepted:
        obj["accepted"] = sorted(accepted.value for accepted in answer.accepted)
    return obj


def _key_answer_from_json(obj: object, where: str) -> KeyAnswer:
    table = _table(obj, where, needed={"answer", "why"}, allowed={"accepted", "spot", "settles"})
    own = _answer_from_json({name: value for name, value in table.items() if name not in {"why", "accepted"}}, where)
    why, accepted = table["why"], table.get("accepted", [])
    if not isinstance(why, str) or len(why) > MAX_WHY_CHARACTERS:
        raise InvalidAnswer(f"{where}: why must be text of at most {MAX_WHY_CHARACTERS} characters")
    if not isinstance(accepted, list):
        raise InvalidAnswer(f"{where}: accepted must be a list of answers, got {_short(accepted)}")
    also = frozenset(_member(entry, Answer, f"{where}: accepted") for entry in accepted)
    return KeyAnswer(answer=own.answer, why=why, accepted=also, spot=own.spot, settles=own.settles)


def _answers(table: Mapping[str, object]) -> Mapping[str, object]:
    answers = table["answers"]
    if not isinstance(answers, dict):
        raise InvalidAnswer(f"answers must be an object of item ids, got {_short(answers)}")
    if len(answers) > MAX_ANSWERS:
        raise InvalidAnswer(f"a sheet holds at most {MAX_ANSWERS} answers, got {len(answers)}")
    for item_id in answers:
        if not isinstance(item_id, str) or not _ID.fullmatch(item_id):
            raise InvalidAnswer(f"an item id is lower-case letters, digits and _, got {_short(item_id)}")
    return answers


def _table(obj: object, where: str, *, needed: set[str], allowed: set[str]) -> Mapping[str, object]:
    if not isinstance(obj, dict):
        raise InvalidAnswer(f"{where} must be an object, got {_short(obj)}")
    missing = sorted(needed - obj.keys())
    if missing:
        raise InvalidAnswer(f"{where} lacks {', '.join(missing)}")
    unknown = [key for key in obj if key not in needed | allowed]
    if unknown:
        raise InvalidAnswer(f"{where} has an unknown entry {_short(unknown[0])}")
    return obj


def _member(value: object, kind: type[_Member], where: str) -> _Member:
    known = {member.value: member for member in kind}
    if not isinstance(value, str) or value not in known:
        raise InvalidAnswer(f"{where} must be one of {', '.join(known)}, got {_short(value)}")
    return known[value]


def _member_or_none(value: object, kind: type[_Member], where: str) -> _Member | None:
    return None if value is None else _member(value, kind, where)


def _spot(obj: object, where: str) -> Spot | None:
    if obj is None:
        return None
    table = _table(obj, f"{where}: spot", needed={"x", "y"}, allowed=set())
    return Spot(x=_number(table["x"], f"{where}: spot x"), y=_number(table["y"], f"{where}: spot y"))


def _number(value: object, where: str) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise InvalidAnswer(f"{where} must be a number, got {_short(value)}")
    try:
        return float(value)
    except OverflowError:
        raise InvalidAnswer(f"{where} must lie in 0 to 1, got a far larger number") from None


def _short(value: object) -> str:
    text = repr(value)
    return text if len(text) <= 60 else text[:57] + "..."
