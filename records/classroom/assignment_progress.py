"""How far students are with an assignment: one of them, or the class. Works within a transaction."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from types import MappingProxyType

from sqlalchemy import func, select
from sqlalchemy.orm import Session, lazyload, load_only

from records.classroom.class_values import (
    FINISHED,
    AssignmentRecord,
    MyAssignment,
    MySlot,
    Part,
    Progress,
    SlotState,
    StudentLine,
)
from records.classroom.classes import labels_in
from records.classroom.slots import photos_of, places_of
from records.models import (
    AssignmentRow,
    AttemptRow,
    CommentRow,
    MemberRow,
    OptOutRow,
    PersonRow,
    ReviewRow,
    SetPhotoRow,
)
from records.store import Store

HANDED_BACK = "handed_back"


def my_assignment_of(
    store: Store, session: Session, row: AssignmentRow, record: AssignmentRecord, person_id: str
) -> MyAssignment:
    """An assignment as that person sees it."""
    tries = _tries(session, row.id, person_id)[person_id]
    left = _left_out(session, row.id, person_id)[person_id]
    back = _handed_back(session, row.id, person_id)
    said = _comments(session, row.id, person_id)
    photos = photos_of(row)
    states = {slot: state_at(photo, tries[slot], slot, left, back) for slot, photo in enumerate(photos, start=1)}
    repeat = places_of(row).repeat
    told = repeat is not None and all(state in FINISHED for state in states.values())
    return MyAssignment(
        assignment=record,
        class_title=row.group.title,
        slots=tuple(
            MySlot(
                slot=slot,
                state=state,
                attempt_id=tries[slot][-1].id if tries[slot] else None,
                try_number=tries[slot][-1].try_number if tries[slot] else 0,
                late=is_late(row, tries[slot][-1]) if tries[slot] else False,
                n_comments=said.get(slot, 0),
                repeats=repeat[0] if told and repeat is not None and slot == repeat[1] else None,
            )
            for slot, state in states.items()
        ),
        left_out=0 in left,
        late_now=row.due_at is not None and store.now() > row.due_at,
    )


def state_at(
    photo: SetPhotoRow, tries: Sequence[AttemptRow], slot: int, left: frozenset[int], back: frozenset[str]
) -> SlotState:
    """How far one student is with one slot, given the tries there, what was left out, and what came back."""
    handed_in = [attempt for attempt in tries if attempt.handed_in_at is not None]
    if photo.removed_at is not None or photo.photo.removed_at is not None:
        return SlotState.HANDED_IN if handed_in else SlotState.REMOVED
    if tries and tries[-1].handed_in_at is not None:
        return SlotState.HANDED_BACK if tries[-1].id in back and not left & {0, slot} else SlotState.HANDED_IN
    if left & {0, slot}:
        return SlotState.HANDED_IN if handed_in else SlotState.LEFT_OUT
    return SlotState.BEGUN if tries else SlotState.NOT_BEGUN


def is_late(row: AssignmentRow, attempt: AttemptRow) -> bool:
    """Whether an attempt was handed in after the due date."""
    return row.due_at is not None and attempt.handed_in_at is not None and attempt.handed_in_at > row.due_at


def all_finished(session: Session, row: AssignmentRow, person_id: str) -> bool:
    """Whether that student has nothing left to do in an assignment; a try that came back was handed in once."""
    tries, left = _tries(session, row.id, person_id)[person_id], _left_out(session, row.id, person_id)[person_id]
    states = (
        state_at(photo, [one for one in tries[slot] if one.try_number == 1], slot, left, frozenset())
        for slot, photo in enumerate(photos_of(row), start=1)
    )
    return all(state in FINISHED for state in states)


def progress_in(session: Session, row: AssignmentRow, record: AssignmentRecord, *, with_names: bool) -> Progress:
    """How far the class is."""
    tries, left, back = _tries(session, row.id), _left_out(session, row.id), _handed_back(session, row.id)
    photos = photos_of(row)
    lines = []
    for person_id, label, handle, is_gone in students_in(session, row.class_id):
        if is_gone and not tries[person_id]:
            continue
        states = {}
        for slot, photo in enumerate(photos, start=1):
            state = state_at(photo, tries[person_id][slot], slot, left[person_id], back)
            states[slot] = SlotState.NOT_BEGUN if state == SlotState.LEFT_OUT else state
        late = (slot for slot, of_slot in tries[person_id].items() if any(is_late(row, one) for one in of_slot))
        lines.append(
            StudentLine(
                label=label,
                person_id=person_id if with_names else None,
                handle=handle if with_names else None,
                left_class=is_gone,
                states=MappingProxyType(states),
                late=frozenset(late),
            )
        )
    gone = {n for n, photo in enumerate(photos, start=1) if photo.removed_at or photo.photo.removed_at}
    return Progress(
        assignment=record,
        students=tuple(lines),
        left_out=left_out_counts(session, row.id),
        removed=frozenset(gone),
        repeat=places_of(row).repeat,
    )


def students_in(session: Session, class_id: str) -> list[tuple[str, str, str, bool]]:
    """(person id, label, name, whether he or she has left) of all students, in the order of the labels."""
    found = select(MemberRow.person_id, PersonRow.handle, MemberRow.left_at).join(
        PersonRow, PersonRow.id == MemberRow.person_id
    )
    there = {
        person_id: (handle, left_at is not None)
        for person_id, handle, left_at in session.execute(
            found.where(MemberRow.class_id == class_id, MemberRow.part == Part.STUDENT.value)
        )
    }
    return [(person_id, label, *there[person_id]) for person_id, label in labels_in(session, class_id).items()]


def left_out_counts(session: Session, assignment_id: str) -> Mapping[int, int]:
    """Slot -> how many students left it out; 0 is the whole work."""
    counted = (
        select(OptOutRow.slot, func.count())
        .where(OptOutRow.assignment_id == assignment_id)
        .group_by(OptOutRow.slot)
        .order_by(OptOutRow.slot)
    )
    return MappingProxyType({row.slot: row[1] for row in session.execute(counted)})


_Tries = defaultdict[str, defaultdict[int, list[AttemptRow]]]


def _tries(session: Session, assignment_id: str, person_id: str | None = None) -> _Tries:
    """Person -> slot -> tries in order."""
    found = (
        select(AttemptRow)
        .where(AttemptRow.assignment_id == assignment_id)
        .options(
            load_only(AttemptRow.person_id, AttemptRow.slot, AttemptRow.try_number, AttemptRow.handed_in_at),
            lazyload(AttemptRow.photo),
        )
        .order_by(AttemptRow.try_number)
    )
    if person_id is not None:
        found = found.where(AttemptRow.person_id == person_id)
    tries: _Tries = defaultdict(lambda: defaultdict(list))
    for attempt in session.scalars(found):
        tries[attempt.person_id][attempt.slot or 0].append(attempt)
    return tries


def _left_out(session: Session, assignment_id: str, person_id: str | None = None) -> defaultdict[str, frozenset[int]]:
    found = select(OptOutRow.person_id, OptOutRow.slot).where(OptOutRow.assignment_id == assignment_id)
    if person_id is not None:
        found = found.where(OptOutRow.person_id == person_id)
    left: defaultdict[str, frozenset[int]] = defaultdict(frozenset)
    for who, slot in session.execute(found):
        left[who] |= {slot}
    return left


def _handed_back(session: Session, assignment_id: str, person_id: str | None = None) -> frozenset[str]:
    """Attempts that were handed back for another try."""
    found = (
        select(ReviewRow.attempt_id)
        .join(AttemptRow, AttemptRow.id == ReviewRow.attempt_id)
        .where(AttemptRow.assignment_id == assignment_id, ReviewRow.state == HANDED_BACK)
    )
    if person_id is not None:
        found = found.where(AttemptRow.person_id == person_id)
    return frozenset(session.scalars(found))


def _comments(session: Session, assignment_id: str, person_id: str) -> dict[int, int]:
    found = (
        select(AttemptRow.slot, func.count())
        .join(CommentRow, CommentRow.attempt_id == AttemptRow.id)
        .where(AttemptRow.assignment_id == assignment_id, AttemptRow.person_id == person_id)
        .group_by(AttemptRow.slot)
    )
    return {slot or 0: n for slot, n in session.execute(found)}
