"""When a reference key may be seen by whoever handed in. Works within a transaction."""

from sqlalchemy import select
from sqlalchemy.orm import Session

from records.classroom.assignment_progress import all_finished
from records.classroom.class_values import KeyRule, Part
from records.classroom.slots import places_of
from records.models import AssignmentRow, AttemptRow, ClassRow, MemberRow, SetPhotoRow
from records.store import Store

NOT_YET = "The reference key is shown once you have handed in."
_LATER = "The key to this photo comes once you are through with all photos of this work."


def hidden_because(store: Store, session: Session, attempt: AttemptRow) -> str | None:
    """Why the person who made this attempt may not see the key now, one sentence; None where he or she may."""
    if attempt.handed_in_at is None:
        return NOT_YET
    if attempt.assignment_id is None:
        return _kept_for_a_class(store, session, attempt)
    work = session.get_one(AssignmentRow, attempt.assignment_id)
    return _hidden_in(store, session, work, attempt.person_id, attempt.slot or 0)


def _hidden_in(store: Store, session: Session, work: AssignmentRow, person_id: str, slot: int) -> str | None:
    rule, opened = KeyRule(work.key_rule), work.key_opened_at is not None
    if rule == KeyRule.WHEN_OPENED and not opened:
        return "The key is shown when your instructor opens it."
    if rule == KeyRule.AFTER_DUE and not opened and (work.due_at is None or store.now() <= work.due_at):
        when = "the due date" if work.due_at is None else f"{work.due_at.astimezone():%d %B %Y, %H:%M}"
        return f"The key is shown after {when}."
    if slot in places_of(work).held_back and work.closed_at is None and not all_finished(session, work, person_id):
        return _LATER
    return None


def _kept_for_a_class(store: Store, session: Session, attempt: AttemptRow) -> str | None:
    """A photo practised alone that is class work as well: its key waits for the class, else the rule were easily got round."""
    mine = (
        select(AssignmentRow)
        .join(MemberRow, MemberRow.class_id == AssignmentRow.class_id)
        .join(ClassRow, ClassRow.id == AssignmentRow.class_id)
        .join(SetPhotoRow, SetPhotoRow.version_id == AssignmentRow.version_id)
        .where(
            MemberRow.person_id == attempt.person_id,
            MemberRow.part == Part.STUDENT.value,
            MemberRow.left_at.is_(None),
            ClassRow.erased_at.is_(None),
            SetPhotoRow.photo_id == attempt.photo_id,
            AssignmentRow.closed_at.is_(None),
        )
    )
    for work in session.scalars(mine).unique().all():
        if not _seen_in(store, session, work, attempt):
            return f"This photo is part of the class work “{work.title}”; its key is shown there first."
    return None


def _seen_in(store: Store, session: Session, work: AssignmentRow, alone: AttemptRow) -> bool:
    """Whether the person has handed that photo in as class work and may see its key there."""
    handed_in = (
        select(AttemptRow)
        .where(
            AttemptRow.assignment_id == work.id,
            AttemptRow.person_id == alone.person_id,
            AttemptRow.photo_id == alone.photo_id,
            AttemptRow.handed_in_at.is_not(None),
        )
        .order_by(AttemptRow.slot)
    )
    done = session.scalars(handed_in).first()
    return done is not None and _hidden_in(store, session, work, done.person_id, done.slot or 0) is None
