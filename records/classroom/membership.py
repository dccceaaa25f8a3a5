"""A place in a class. A student's number lasts: it is given once and to nobody else, whoever leaves, is erased or comes back."""

from datetime import datetime

from sqlalchemy.orm import Session

from records.models import ClassRow, MemberRow

STUDENT = "student"


def add_member(session: Session, class_id: str, person_id: str, part: str, *, at: datetime) -> MemberRow:
    """A new place in a class, within a writing transaction."""
    row = MemberRow(class_id=class_id, person_id=person_id, part=part, joined_at=at, left_at=None)
    if part == STUDENT:
        row.number = next_number(session, class_id)
    session.add(row)
    session.flush()
    return row


def come_back_as_student(session: Session, row: MemberRow, *, at: datetime) -> None:
    """Let someone who left be a student of the class again, under the number from before."""
    row.left_at, row.joined_at, row.part = None, at, STUDENT
    row.number = row.number or next_number(session, row.class_id)
    session.flush()


def next_number(session: Session, class_id: str) -> int:
    """The next number of the class, taken from now on; the class remembers how far it is, since rows are erased."""
    group = session.get_one(ClassRow, class_id, with_for_update={"of": ClassRow})
    group.last_number = group.last_number + 1
    session.flush()
    return group.last_number
