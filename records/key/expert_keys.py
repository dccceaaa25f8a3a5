"""How experts read a photo, each for themselves: nobody sees another's reading before giving their own.

An educator who builds a set and gives no reading may open the experts' readings of a photo. That is put into the audit
log, and from then on a reading of that educator would no longer be their own, so it is refused.
"""

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from records.access import visible_photo
from records.auditing.audit import Outcome, append
from records.errors import NotAllowed, NotFound, StaleWrite
from records.identity.people import Person
from records.key.reference_keys import check_in_use
from records.models import AuditRow, ExpertKeyRow, PersonRow, PhotoRow, SetPhotoRow, SetRow, VersionRow
from records.photo.pictures import there
from records.rights import Right, service
from records.storage.stored_json import stored_key, stored_landmarks
from records.store import Store
from records.teaching_sets.rows import version_row
from records.teaching_sets.values import State, is_removed, places
from rubric.answers import ReferenceKey
from rubric.natural_order import natural
from rubric.scoring import key_from_json
from vision.landmark_files import landmarks_from_json
from vision.landmarks import LandmarkSet

_OPENED = "open_expert_keys"


@dataclass(frozen=True, kw_only=True)
class ExpertKey:
    """One expert's reading of a photo; `expert` is the handle, `landmarks` is None once the photo is gone."""

    expert_id: str
    expert: str
    key: ReferenceKey
    landmarks: LandmarkSet | None
    revision: int
    set_at: datetime


@dataclass(frozen=True, kw_only=True)
class ExpertKeys:
    """What one person sees of the experts' readings of a photo.

    Parameters
    ----------
    photo_id : str
    mine : ExpertKey or None
        The person's own reading.
    n_experts : int
        How many readings there are, the person's own included.
    all : tuple of ExpertKey
        All of them by handle, once the person gave their own or opened them; empty before.
    opened : bool
        Whether the person opened them without giving their own, and so can no longer give one.
    """

    photo_id: str
    mine: ExpertKey | None
    n_experts: int
    all: tuple[ExpertKey, ...]
    opened: bool


@dataclass(frozen=True, kw_only=True)
class ReadingAsked:
    """A photo of a draft that experts may read: of which set, whether this person has, and how many have."""

    photo_id: str
    title: str
    set_title: str
    given: bool
    n_experts: int


@service(Right.WRITE_KEY)
def expert_keys_of(store: Store, person: Person, photo_id: str) -> ExpertKeys:
    """What this person sees of the readings of a photo. Raises NotFound, NotAllowed, ConsentWithdrawn."""
    with store.reading() as session:
        visible_photo(session, person, photo_id)
        return _seen_by(session, person, photo_id)


@service(Right.BUILD_SET)
def expert_keys_in(store: Store, person: Person, version_id: str) -> tuple[ExpertKeys, ...]:
    """The same for each photo of a version of a teaching set, in order, removed ones left out. Raises NotFound."""
    with store.reading() as session:
        row = version_row(session, version_id)
        return tuple(_seen_by(session, person, place.photo_id) for place in places(row) if not is_removed(place))


@service(Right.WRITE_KEY)
def set_expert_key(
    store: Store, person: Person, photo_id: str, key: ReferenceKey, landmarks: LandmarkSet, *, expected_revision: int
) -> ExpertKey:
    """Set or replace the person's own reading of a photo.

    Parameters
    ----------
    expected_revision : int
        The revision that the person was looking at; 0 where there was none.

    Raises
    ------
    StaleWrite
        Where another revision is on record; nothing is changed.
    NotAllowed
        Where the photo is out of reach, or the person opened the others' readings before giving one.
    NotFound, ConsentRefused, InvalidRecord
    """
    answers, points = stored_key(key), stored_landmarks(landmarks)
    with store.writing() as session:
        photo = visible_photo(session, person, photo_id)
        check_in_use(store, photo, person)
        row = session.get(ExpertKeyRow, (photo_id, person.id), with_for_update={"of": ExpertKeyRow})
        if expected_revision != (0 if row is None else row.revision):
            raise StaleWrite(
                "Your reading was changed in another window in the meantime, so nothing was overwritten; "
                "reload the page to go on from there."
            )
        if row is None:
            if _has_opened(session, person, photo_id):
                raise NotAllowed(
                    "You have looked at the experts' readings of this photo, so you can no longer add one."
                )
            row = ExpertKeyRow(photo_id=photo_id, expert_id=person.id)
            session.add(row)
        row.answers, row.landmarks = answers, points
        row.revision, row.set_at = expected_revision + 1, store.now()
        session.flush()
        return _record_of(row, person.handle)


@service(Right.BUILD_SET)
def open_expert_keys(store: Store, person: Person, photo_id: str) -> ExpertKeys:
    """Look at the experts' readings without giving one's own, from which there is no way back.

    Raises
    ------
    NotFound
        Where there is no reading yet, so nothing to look at.
    NotAllowed, ConsentWithdrawn
    """
    with store.writing() as session:
        visible_photo(session, person, photo_id)
        found = _seen_by(session, person, photo_id)
        if not found.n_experts:
            raise NotFound("No expert has read this photo yet.")
        if found.mine is None and not found.opened:
            append(store, session, actor_id=person.id, action=_OPENED, object_id=photo_id)
        return _seen_by(session, person, photo_id)


@service(Right.WRITE_KEY)
def readings_asked(store: Store, person: Person) -> tuple[ReadingAsked, ...]:
    """The photos of all drafts, by set and in order, for whoever reads them as an expert."""
    drafts = (
        select(SetPhotoRow, SetRow.title)
        .join(VersionRow, VersionRow.id == SetPhotoRow.version_id)
        .join(SetRow, SetRow.id == VersionRow.set_id)
        .join(PhotoRow, PhotoRow.id == SetPhotoRow.photo_id)
        .where(VersionRow.state == State.DRAFT.value, SetPhotoRow.removed_at.is_(None), PhotoRow.removed_at.is_(None))
        .order_by(SetRow.made_at.desc(), SetRow.id, SetPhotoRow.position)
    )
    with store.reading() as session:
        rows = session.execute(drafts).all()
        given: dict[str, set[str]] = {}
        for photo_id, expert_id in session.execute(select(ExpertKeyRow.photo_id, ExpertKeyRow.expert_id)):
            given.setdefault(photo_id, set()).add(expert_id)
        return tuple(
            ReadingAsked(
                photo_id=place.photo_id,
                title=there(place.photo.title),
                set_title=title,
                given=person.id in given.get(place.photo_id, ()),
                n_experts=len(given.get(place.photo_id, ())),
            )
            for place, title in rows
        )


def _seen_by(session: Session, person: Person, photo_id: str) -> ExpertKeys:
    found = session.execute(
        select(ExpertKeyRow, PersonRow.handle)
        .join(PersonRow, PersonRow.id == ExpertKeyRow.expert_id)
        .where(ExpertKeyRow.photo_id == photo_id)
    ).all()
    found = sorted(found, key=lambda one: natural(one[1]))
    mine = next((_record_of(row, handle) for row, handle in found if row.expert_id == person.id), None)
    opened = mine is None and _has_opened(session, person, photo_id)
    shown = mine is not None or opened
    return ExpertKeys(
        photo_id=photo_id,
        mine=mine,
        n_experts=len(found),
        all=tuple(_record_of(row, handle) for row, handle in found) if shown else (),
        opened=opened,
    )


def _has_opened(session: Session, person: Person, photo_id: str) -> bool:
    line = select(AuditRow.number).where(
        AuditRow.actor_id == person.id,
        AuditRow.action == _OPENED,
        AuditRow.outcome == Outcome.DONE.value,
        AuditRow.object_id == photo_id,
    )
    return session.scalar(line.limit(1)) is not None


def _record_of(row: ExpertKeyRow, handle: str) -> ExpertKey:
    return ExpertKey(
        expert_id=row.expert_id,
        expert=handle,
        key=key_from_json(row.answers),
        landmarks=None if row.landmarks is None else landmarks_from_json(row.landmarks),
        revision=row.revision,
        set_at=row.set_at,
    )
