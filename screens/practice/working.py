"""An attempt as one browser tab holds it: loaded once, saved at every change, never overwriting what another tab saved.

A preview is the same without a record: whoever runs a class looks at its work as a student would, and nothing is saved.
"""

from dataclasses import dataclass, field, replace
from typing import Any

import streamlit as st

from records.attempt.attempt_values import ClassPlace
from records.attempt.attempts import AttemptRecord, Order, Round, Step, resume, save_points, save_sheet, save_step
from records.classroom import assignments, class_work
from records.errors import RecordsError, StaleWrite, StorageFault
from records.photo.photos import PhotoRecord, get_photo
from rubric.answers import Answer, AnswerSheet, ItemAnswer
from screens.data import checklist, me, store
from screens.language import _, said
from vision.landmarks import LandmarkSet

SCORE_FIRST_STEPS = (Step.SCORE, Step.MEASURE, Step.SCORE_AGAIN, Step.HAND_IN)
MEASURE_FIRST_STEPS = (Step.MEASURE, Step.SCORE, Step.HAND_IN)
PREVIEW = "preview"


@dataclass
class Working:
    """What this tab knows of an attempt. `generation` names widgets anew after a reload from the store.

    `unsaved` is what a fault that passes kept off the record, such as ("sheet", 1); it stays here until it is saved.
    """

    attempt_id: str
    photo: PhotoRecord
    title: str
    order: Order
    step: Step
    sheets: dict[Round, AnswerSheet]
    sheet_revisions: dict[Round, int]
    points: dict[Round, LandmarkSet]
    points_revisions: dict[Round, int]
    generation: int = 0
    editor_revision: int = 0
    fault: str | None = None
    fault_passes: bool = False
    unsaved: set[tuple[str, Round]] = field(default_factory=set)
    pin_item: str | None = None
    box: tuple[float, float, float, float] | None = None
    notes: tuple[str, ...] = field(default=())
    place: ClassPlace | None = None

    @property
    def preview(self) -> bool:
        """Whether nothing of this is saved."""
        return self.attempt_id.startswith(PREVIEW)

    @property
    def places_twice(self) -> bool:
        """Whether the blind repeat is a step of its own, and not an offer."""
        return self.place is not None and self.place.places_twice

    @property
    def steps(self) -> tuple[Step, ...]:
        """The steps of this attempt's order of work; the blind repeat is among them only where it is asked for."""
        steps = SCORE_FIRST_STEPS if self.order == Order.SCORE_FIRST else MEASURE_FIRST_STEPS
        if not self.places_twice:
            return steps
        after = steps.index(Step.MEASURE) + 1
        return (*steps[:after], Step.MEASURE_AGAIN, *steps[after:])

    @property
    def first_look_closed(self) -> bool:
        """Whether measuring has begun, after which the look before it no longer changes."""
        return self.order == Order.SCORE_FIRST and (self.points_revisions[1] > 0 or self.sheet_revisions[2] > 0)

    def closed(self, round: Round) -> bool:
        """Whether the answers of that round no longer change."""
        return round == 1 and self.first_look_closed

    @property
    def last_round(self) -> Round:
        """The round whose answers count."""
        return 2 if self.order == Order.SCORE_FIRST else 1


def working(attempt_id: str) -> Working:
    """This tab's copy, loaded from the store the first time. Raises RecordsError."""
    known = st.session_state.get("working")
    if isinstance(known, Working) and known.attempt_id == attempt_id:
        return known
    return _load(attempt_id, 0)


def reload(attempt_id: str) -> Working:
    """Take what is on record, in place of what this tab holds."""
    known = st.session_state.get("working")
    return _load(attempt_id, known.generation + 1 if isinstance(known, Working) else 0)


def _load(attempt_id: str, generation: int) -> Working:
    record: AttemptRecord = resume(store(), me(), attempt_id)
    rounds: tuple[Round, Round] = (1, 2)
    loaded = Working(
        attempt_id=attempt_id,
        photo=get_photo(store(), me(), record.photo_id),
        title=record.photo_title,
        order=record.order,
        step=record.step,
        sheets={r: record.sheet(r) for r in rounds},
        sheet_revisions={r: record.sheet_revision(r) for r in rounds},
        points={r: record.landmarks(r) for r in rounds},
        points_revisions={r: record.points_revision(r) for r in rounds},
        generation=generation,
        place=record.place,
    )
    st.session_state["working"] = loaded
    return loaded


def previewing(assignment_id: str, slot: int) -> Working:
    """A look at one place of class work as a student meets it, of which nothing is saved. Raises RecordsError."""
    name = f"{PREVIEW}-{assignment_id}-{slot}"
    known = st.session_state.get("working")
    if isinstance(known, Working) and known.attempt_id == name:
        return known
    photo_id = class_work.photo_at(store(), me(), assignment_id, slot)
    work = assignments.my_assignment(store(), me(), assignment_id).assignment
    place = ClassPlace(
        assignment_id=assignment_id,
        title=work.title,
        slot=slot,
        n_slots=work.n_slots,
        try_number=1,
        places_twice=work.places_twice,
    )
    rounds: tuple[Round, Round] = (1, 2)
    loaded = Working(
        attempt_id=name,
        photo=get_photo(store(), me(), photo_id),
        title=place.name,
        order=work.order,
        step=Step.SCORE if work.order == Order.SCORE_FIRST else Step.MEASURE,
        sheets={r: AnswerSheet() for r in rounds},
        sheet_revisions=dict.fromkeys(rounds, 0),
        points={r: LandmarkSet() for r in rounds},
        points_revisions=dict.fromkeys(rounds, 0),
        place=place,
    )
    st.session_state["working"] = loaded
    return loaded


def keep_sheet(work: Working, round: Round, sheet: AnswerSheet) -> None:
    """Save answers; a fault is remembered for the page to show, and this tab's copy stays."""
    work.sheets[round] = sheet
    if work.preview:
        work.sheet_revisions[round] += 1
        return
    _save(work, "sheet", round)


def keep_points(work: Working, round: Round, landmarks: LandmarkSet, *, by_python: bool = False) -> None:
    """Save landmarks; `by_python` where the program itself changed them, so that the editor takes them over."""
    work.points[round] = landmarks
    if by_python:
        work.editor_revision += 1
    if work.preview:
        work.points_revisions[round] += 1
        return
    _save(work, "points", round)


def save_again(work: Working) -> None:
    """Try once more to save what a fault kept off the record; nothing happens where all is saved."""
    for what, round in sorted(work.unsaved):
        if not _save(work, what, round):
            return


def _save(work: Working, what: str, round: Round) -> bool:
    try:
        if what == "sheet":
            expected = work.sheet_revisions[round]
            work.sheet_revisions[round] = save_sheet(
                store(), me(), work.attempt_id, round, work.sheets[round], expected
            )
        else:
            expected = work.points_revisions[round]
            work.points_revisions[round] = save_points(
                store(), me(), work.attempt_id, round, work.points[round], expected
            )
    except RecordsError as error:
        work.fault, work.fault_passes = _fault(error), isinstance(error, StorageFault)
        # Only what passes is tried again: saving over another tab's work would be no help.
        (work.unsaved.add if work.fault_passes else work.unsaved.discard)((what, round))
        return False
    work.unsaved.discard((what, round))
    if not work.unsaved:
        work.fault = None
    return True


def _fault(error: RecordsError) -> str:
    if isinstance(error, StaleWrite):
        return _("{error} What you see here was not saved.").format(error=said(error))
    return said(error)


def set_step(work: Working, step: Step) -> None:
    """Go to a step and remember it; while something of this one cannot be saved, stay, and the page says why."""
    save_again(work)
    if step == Step.SCORE_AGAIN and work.sheet_revisions[2] == 0:
        keep_sheet(work, 2, work.sheets[1])
    if work.unsaved:
        return
    if not work.preview:
        try:
            save_step(store(), me(), work.attempt_id, step)
        except StorageFault as error:
            work.fault, work.fault_passes = said(error), True
            return
        if work.fault_passes:
            work.fault = None
    work.step = step
    work.pin_item = None


def answer(sheet: AnswerSheet, item_id: str, given: Answer | None) -> AnswerSheet:
    """The sheet with one answer set or, with None, left blank; a spot stays while it still fits the answer."""
    answers = dict(sheet.answers)
    before = answers.pop(item_id, None)
    if given is not None:
        spot = before.spot if before and given != Answer.CANT_TELL else None
        settles = before.settles if before and given == Answer.CANT_TELL else None
        answers[item_id] = ItemAnswer(answer=given, spot=spot, settles=settles)
    return replace(sheet, answers=answers)


def change_answer(sheet: AnswerSheet, item_id: str, **changed: Any) -> AnswerSheet:
    """The sheet with another spot or settling view for an item that has an answer."""
    before = sheet.answers.get(item_id)
    if before is None:
        return sheet
    return replace(sheet, answers={**sheet.answers, item_id: replace(before, **changed)})


def applicable(sheet: AnswerSheet) -> AnswerSheet:
    """Only the answers to items that apply to the sheet's phase and view."""
    if sheet.phase is None or sheet.view is None:
        return replace(sheet, answers={})
    asked = {item.id for item in checklist().items_for(sheet.phase, sheet.view)}
    return replace(sheet, answers={name: given for name, given in sheet.answers.items() if name in asked})
