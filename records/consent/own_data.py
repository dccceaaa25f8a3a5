"""Someone's own data: all of it to take along, and all of it to erase.

What is taken along is JSON: no picture (a photo leaves only under a consent for exported material), nothing of others
but what they wrote to this person, and no reference key. What is erased is gone from class statistics too.
"""

import json
import zipfile
from collections.abc import Iterator
from datetime import date, datetime
from io import BytesIO
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from records.auditing.audit import append
from records.consent.ending import Gone
from records.consent.erasing import erase_person
from records.consent.for_good import delete_files, write_down
from records.consent.journal import Kind
from records.errors import InvalidRecord, NotAllowed, NotFound
from records.identity.account_rows import keep_an_educator
from records.identity.people import Person, Role
from records.models import (
    AccountRow,
    AttemptRow,
    ClassRow,
    CommentRow,
    ConsentRow,
    MemberRow,
    OptOutRow,
    OwnSigmaRow,
    PersonRow,
    PhotoRow,
    ReviewRow,
    RoleRow,
)
from records.rights import Right, service
from records.store import Store

Rows = list[dict[str, Any]]
_README = """\
What this program knows about you, as JSON, one file for each kind.

person.json        your handle, roles and since when
attempts.json      your practice: answers, points (pixels of the photo), measures, review and comments
own_spread.json    how repeatably you click, in percent of face size
classes.json       the classes you are or were in
left_out.json      the photos that you chose to leave out; no reason was asked or kept
photos.json        the photos that you added; the pictures are not in here
consents.json      the consents that you put on record

Times are in UTC. There is no picture in here: a photo leaves only under a consent for exported material.
"""


@service(Right.OWN_ACCOUNT)
def export_own_data(store: Store, person: Person) -> bytes:
    """A zip of all that is kept about the person. That it was made is logged."""
    with store.writing() as session:
        parts = dict(_parts(session, person.id))
        append(store, session, actor_id=person.id, action="export_own_data", object_id=person.id)
    stream = BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("README.txt", _README)
        for name, rows in parts.items():
            packed.writestr(f"{name}.json", json.dumps(rows, indent=1, ensure_ascii=False, default=_plain))
    return stream.getvalue()


@service(Right.OWN_ACCOUNT)
def erase_own_data(store: Store, person: Person) -> None:
    """Erase the person's attempts, photos, spread, memberships, roles and ways in; nobody can undo it.

    Photos that others worked on go from their pages as in a withdrawal. What the person wrote for others (comments,
    keys, teaching sets, consents on record) stays, by someone without a name.

    Raises
    ------
    NotAllowed
        For the last educator of a school that others use: nobody could manage it then.
    StorageFault
    """
    gone = Gone()
    with store.writing() as session:
        row = session.get(PersonRow, person.id)
        if row is None:
            raise NotFound("There is no such person.")
        _not_the_last(session, person)
        erase_person(session, row, now=store.now(), gone=gone)
        write_down(
            store,
            session,
            actor_id=person.id,
            action="erase_own_data",
            kind=Kind.PERSON_ERASED,
            object_id=person.id,
            gone=gone,
        )
    delete_files(store, gone)


def _not_the_last(session: Session, person: Person) -> None:
    educators = select(RoleRow.person_id).where(RoleRow.role == Role.EDUCATOR.value)
    others = (
        select(func.count())
        .select_from(AccountRow)
        .where(AccountRow.person_id != person.id, AccountRow.closed_at.is_(None))
    )
    mine = educators.where(RoleRow.person_id == person.id)
    if session.scalar(mine) is not None and session.scalar(others):
        try:
            keep_an_educator(session, person.id)
        except InvalidRecord as fault:
            raise NotAllowed("You are the only educator here; give that role to someone else first.") from fault


def _parts(session: Session, me: str) -> Iterator[tuple[str, Rows | dict[str, Any]]]:
    row = session.get_one(PersonRow, me)
    roles = sorted(session.scalars(select(RoleRow.role).where(RoleRow.person_id == me)))
    yield "person", {"handle": row.handle, "since": row.created_at, "roles": roles}
    yield "attempts", [_attempt(session, attempt) for attempt in _mine(session, AttemptRow, me, AttemptRow.started_at)]
    spreads = _mine(session, OwnSigmaRow, me, OwnSigmaRow.measured_at)
    yield "own_spread", [_picked(one, "sigma_percent", "n_points", "measured_at") for one in spreads]
    yield (
        "classes",
        [
            {"title": session.get_one(ClassRow, one.class_id).title, **_picked(one, "part", "joined_at", "left_at")}
            for one in _mine(session, MemberRow, me, MemberRow.joined_at)
        ],
    )
    left_out = _mine(session, OptOutRow, me, OptOutRow.at)
    yield "left_out", [{"assignment_id": one.assignment_id, "place": one.slot, "at": one.at} for one in left_out]
    photos = session.scalars(select(PhotoRow).where(PhotoRow.owner_id == me).order_by(PhotoRow.added_at))
    yield "photos", [_picked(one, "id", "title", "consent_id", "added_at", "removed_at") for one in photos]
    consents = session.scalars(select(ConsentRow).where(ConsentRow.recorded_by == me).order_by(ConsentRow.recorded_at))
    yield "consents", [_consent(one) for one in consents]


def _picked(row: object, *names: str) -> dict[str, Any]:
    return {name: getattr(row, name) for name in names}


def _mine(session: Session, table: Any, me: str, order: Any) -> list[Any]:
    return list(session.scalars(select(table).where(table.person_id == me).order_by(order)))


def _attempt(session: Session, row: AttemptRow) -> dict[str, Any]:
    comments = select(CommentRow).where(CommentRow.attempt_id == row.id).order_by(CommentRow.written_at)
    review = session.get(ReviewRow, row.id)
    return {
        "id": row.id,
        "photo_id": row.photo_id,
        "order_of_work": row.order_of_work,
        "assignment_id": row.assignment_id,
        "place": row.slot,
        "try": row.try_number,
        "started_at": row.started_at,
        "handed_in_at": row.handed_in_at,
        "answers": {str(one.round): one.answers for one in sorted(row.sheets, key=lambda one: one.round)},
        "points": {str(one.round): one.landmarks for one in sorted(row.points, key=lambda one: one.round)},
        "measures": None if row.measurement is None else row.measurement.measures,
        "review": None if review is None else review.state,
        "comments": [
            {"text": one.text, "sign": one.item_id, "point": one.landmark_id, "written_at": one.written_at}
            for one in session.scalars(comments)
        ],
    }


def _consent(row: ConsentRow) -> dict[str, Any]:
    return _picked(
        row,
        "id",
        "kind",
        "shown",
        "given_by",
        "authority",
        "scopes",
        "faces_covered",
        "given_on",
        "expires_on",
        "form_version",
        "withdrawn_on",
        "recorded_at",
    )


def _plain(value: object) -> str:
    if isinstance(value, datetime | date):
        return value.isoformat()
    raise TypeError(f"no JSON for {type(value).__name__}")
