"""Publishing a draft freezes it: the keys are copied, the whole is sealed. Afterwards it is given, retired or copied.

Which consent a photo in a set needs: one that covers teaching sets, or one that covers a class. A photo of the second
kind makes the version one for that class: giving it asks `hindrances_to_giving` for the class in question.
"""

# Every service takes the acting person; the right is checked at its door.
# ruff: noqa: ARG001

from collections.abc import Iterator
from itertools import chain

from sqlalchemy.orm import Session

from records.auditing.audit import append
from records.consent.consents import Kind, Scope, refusal
from records.errors import InvalidRecord, NotReady
from records.identity.people import Person
from records.models import KeyRow, PhotoRow, SetPhotoRow, VersionRow
from records.rights import Right, service
from records.storage.stored_json import stored_key, stored_landmarks
from records.store import Store
from records.teaching_sets.drafts import add_version, new_place
from records.teaching_sets.rows import draft_to_change, set_row, version_row
from records.teaching_sets.seal import seal_of
from records.teaching_sets.values import State, VersionRecord, is_removed, places, record_of
from records.wording import required_text
from rubric.scoring import key_from_json
from vision.landmark_files import landmarks_from_json

#: Who places a point by hand, as `Point.by` says it; all else is a detector's proposal.
PEOPLE = frozenset({"student", "reference", "file"})


@service(Right.BUILD_SET)
def hindrances(store: Store, person: Person, version_id: str) -> tuple[str, ...]:
    """All that stands against publishing this draft today, one sentence each; empty where nothing does."""
    with store.reading() as session:
        return tuple(_hindrances(store, session, version_row(session, version_id)))


@service(Right.BUILD_SET)
def publish(
    store: Store, person: Person, version_id: str, *, expected_revision: int, checklist_version: str
) -> VersionRecord:
    """Freeze a draft: copy each photo's reference key into the version and seal the whole.

    Parameters
    ----------
    checklist_version : str
        The checklist that the keys were written for.

    Raises
    ------
    NotReady
        With all faults at once, where anything stands against it.
    NotFound, InvalidRecord, StaleWrite
    """
    checklist = required_text("the version of the checklist", checklist_version)
    with store.writing() as session:
        version = draft_to_change(session, version_id, expected_revision)
        faults = tuple(_hindrances(store, session, version))
        if faults:
            raise NotReady(faults)
        put_in_force(store, session, version, by=person.id, checklist_version=checklist)
        return record_of(store, session, version)


def put_in_force(store: Store, session: Session, version: VersionRow, *, by: str, checklist_version: str) -> None:
    """Freeze, seal and log a version against which nothing stands; within a transaction."""
    _freeze(session, version)
    version.state, version.checklist_version = State.PUBLISHED.value, checklist_version
    version.published_at, version.published_by = store.now(), by
    version.seal = seal_of(version)
    append(store, session, actor_id=by, action="publish", object_id=version.id)
    session.flush()


def _hindrances(store: Store, session: Session, version: VersionRow) -> Iterator[str]:
    there = [row for row in places(version) if not is_removed(row)]
    if version.state != State.DRAFT:
        yield "This version was published already."
    if not there:
        yield "There is no photo in the set."
    for number, row in enumerate(places(version), start=1):
        if not is_removed(row):
            named = f"Photo {number}, {row.photo.title}"
            yield from (f"{named}: {fault}" for fault in chain(_key_faults(session, row), _consent_faults(store, row)))


def _key_faults(session: Session, row: SetPhotoRow) -> Iterator[str]:
    key = session.get(KeyRow, row.photo_id)
    if key is None or key.landmarks is None:
        yield "it has no reference key."
        return
    if not key_from_json(key.answers).answers:
        yield "its reference key answers no sign."
    proposed = [point for point in landmarks_from_json(key.landmarks).points.values() if point.by not in PEOPLE]
    if proposed:
        n = len(proposed)
        yield f"{n} point{'' if n == 1 else 's'} of its key {'is' if n == 1 else 'are'} proposed and not yet confirmed."


def _consent_faults(store: Store, row: SetPhotoRow) -> Iterator[str]:
    consent = row.photo.consent
    at_large = refusal(consent, Scope.TEACHING_SETS, store.today())
    in_class = refusal(consent, Scope.OWN_CLASS, store.today(), frozenset({consent.class_id or ""}))
    if at_large is not None and in_class is not None:
        yield _inside(str(at_large))
    if consent.kind == Kind.PERSON and not consent.faces_covered:
        yield "its consent record does not say that the faces are covered which must not be shown."


def _inside(sentence: str) -> str:
    return sentence[:1].lower() + sentence[1:]


def _freeze(session: Session, version: VersionRow) -> None:
    """Copy the keys of the photos that are there; a draft's marks of removed photos carry no scores and go."""
    for place in [place for place in version.photos if is_removed(place)]:
        version.photos.remove(place)
    for position, place in enumerate(places(version), start=1):
        key = session.get_one(KeyRow, place.photo_id)
        # In the one form that reading and writing again does not change, or a seal would not hold after a journey.
        place.position, place.answers = position, stored_key(key_from_json(key.answers))
        place.landmarks = stored_landmarks(landmarks_from_json(key.landmarks))


@service(Right.BUILD_SET)
def new_draft(store: Store, person: Person, set_id: str) -> VersionRecord:
    """A draft that begins as a copy of the last version; where there is a draft already, that one. Raises NotFound."""
    with store.writing() as session:
        row = set_row(session, set_id, to_change=True)
        versions = sorted(row.versions, key=lambda version: version.number)
        if versions and versions[-1].state == State.DRAFT:
            return record_of(store, session, versions[-1])
        draft = add_version(store, row)
        if versions:
            last = versions[-1]
            draft.notes = last.notes
            there = [place for place in places(last) if not is_removed(place)]
            for position, place in enumerate(there, start=1):
                draft.photos.append(new_place(place.photo_id, position, place.difficulty, place.note))
        session.flush()
        for place in draft.photos:
            session.refresh(place, ["photo"])
        return record_of(store, session, draft)


@service(Right.BUILD_SET)
def retire(store: Store, person: Person, version_id: str) -> VersionRecord:
    """Give a published version to no more classes; work under way goes on. Once more changes nothing.

    Raises
    ------
    NotFound
    InvalidRecord
        For a draft.
    """
    with store.writing() as session:
        version = version_row(session, version_id)
        if version.state == State.DRAFT:
            raise InvalidRecord("Only a published version can be retired; a draft can be thrown away.")
        if version.state == State.PUBLISHED:
            version.state, version.retired_at = State.RETIRED.value, store.now()
            append(store, session, actor_id=person.id, action="retire", object_id=version.id)
        session.flush()
        return record_of(store, session, version)


def hindrances_to_giving(store: Store, version: VersionRow, class_id: str) -> tuple[str, ...]:
    """Why this version may not be given to that class today, one sentence each; asked in the giving transaction."""
    return tuple(_against_giving(store, version, class_id))


def _against_giving(store: Store, version: VersionRow, class_id: str) -> Iterator[str]:
    if version.state != State.PUBLISHED:
        yield "Only a published version that was not retired can be given to a class."
    there = [row for row in places(version) if not is_removed(row)]
    if not there:
        yield "No photo of this version is left."
    for number, row in enumerate(places(version), start=1):
        refused = None if is_removed(row) else refused_in_class(store, row.photo, class_id)
        if refused is not None:
            yield f"Photo {number}, {row.photo.title}: {_inside(refused)}"


def refused_in_class(store: Store, photo: PhotoRow, class_id: str) -> str | None:
    """Why a photo may not be shown to that class today, through a teaching set; None where it may."""
    if refusal(photo.consent, Scope.TEACHING_SETS, store.today()) is None:
        return None
    refused = refusal(photo.consent, Scope.OWN_CLASS, store.today(), frozenset({class_id}))
    return None if refused is None else str(refused)
