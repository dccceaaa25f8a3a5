"""Taking a set in from elsewhere: all is checked first, then all of it enters in one transaction, or nothing.

The photos rest on consents of their own, whose labels and uses come from the bundle. A photo that was withdrawn here
does not come back in a bundle.
"""

import secrets
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from typing import BinaryIO

from sqlalchemy import or_, select
from sqlalchemy.orm import Session

from records.auditing.audit import append
from records.bundles.checking import checked_contents
from records.bundles.form import BundledPhoto, Contents, LeftOut
from records.bundles.opening import OpenBundle, opened
from records.errors import BundleRefused, InvalidRecord
from records.identity.people import Person
from records.key.keys import put_key
from records.models import ConsentRow, PhotoRow, SetPhotoRow, SetRow, VersionRow
from records.photo.clean_jpeg import size_of_clean_jpeg
from records.photo.pictures import Picture, StoredPicture, record_picture, write_picture
from records.photo.room import check_room, check_share
from records.rights import Right, service
from records.store import Store
from records.teaching_sets.values import State, VersionRecord, record_of
from rubric.scoring import key_from_json
from vision.errors import VisionError
from vision.landmark_files import landmarks_from_json


@dataclass(frozen=True, kw_only=True)
class TakenIn:
    """What was taken in: the published version, and which photos of the set had not travelled, and why."""

    version: VersionRecord
    left_out: tuple[LeftOut, ...]


@service(Right.SHARE_SET)
def take_in(store: Store, person: Person, file: BinaryIO, *, screen_copy: Callable[[bytes], bytes]) -> TakenIn:
    """Take in a bundle as a published set.

    Parameters
    ----------
    person : Person
        Becomes the owner of set and photos.
    file : binary file
        The zip; must be able to seek.
    screen_copy : callable
        Decodes a JPEG and gives its copy for the screen, a clean JPEG; raises VisionError for one that cannot be shown.

    Raises
    ------
    BundleRefused
        In one sentence, for the first rule that is broken; nothing is stored.
    NoRoom, StorageFault
        Nothing is stored then either.
    """
    with opened(file) as bundle:
        contents = checked_contents(bundle, store.today())
        copies = {photo.name: _screen_copy(bundle, photo, screen_copy) for photo in contents.photos}
        n_bytes = sum(bundle.size(name) + len(copy) for name, copy in copies.items())
        with store.reading() as session:
            _check_welcome(session, contents)
            check_room(store, session, person.id, n_bytes)
        written: list[str] = []
        try:
            with _files_apart(store, bundle, contents, copies, written) as pictures, store.writing() as session:
                _check_welcome(session, contents)
                check_share(session, person.id, n_bytes)
                version = _put_in(store, session, person, contents, pictures)
                append(store, session, actor_id=person.id, action="take_in", object_id=version.id)
                session.flush()
                session.refresh(version)
                record = record_of(store, session, version)
        except BaseException:
            store.files.remove(written)
            raise
    return TakenIn(version=record, left_out=contents.left_out)


@contextmanager
def _files_apart(
    store: Store, bundle: OpenBundle, contents: Contents, copies: Mapping[str, bytes], written: list[str]
) -> Iterator[Iterable[StoredPicture]]:
    """The pictures in order: their files are written before the write lock is taken, where nobody can sweep them away then.

    Else each is written when it is asked for, under the lock.
    """
    pictures = (_written(store, bundle, photo, copies, written) for photo in contents.photos)
    with store.files.kept_from_sweeping() as kept:
        yield tuple(pictures) if kept else pictures


def _written(
    store: Store, bundle: OpenBundle, photo: BundledPhoto, copies: Mapping[str, bytes], written: list[str]
) -> StoredPicture:
    picture = Picture(
        jpeg=bundle.read(photo.name),
        screen_jpeg=copies[photo.name],
        width=photo.width,
        height=photo.height,
        title=photo.title,
    )
    return write_picture(store, picture, written)


def _screen_copy(bundle: OpenBundle, photo: BundledPhoto, screen_copy: Callable[[bytes], bytes]) -> bytes:
    """The copy for the screen, which shows that the picture can be decoded; the picture itself is dropped again."""
    try:
        copy = screen_copy(bundle.read(photo.name))
        size_of_clean_jpeg(copy)
    except (VisionError, InvalidRecord) as fault:
        raise BundleRefused(f"The bundle's {photo.name} cannot be shown as a picture.") from fault
    return copy


def _check_welcome(session: Session, contents: Contents) -> None:
    here = session.scalar(select(VersionRow).where(VersionRow.seal == contents.seal).limit(1))
    if here is not None:
        raise BundleRefused(f"This very set is here already, as “{here.set.title}”, version {here.number}.")
    origins = [photo.origin_id for photo in contents.photos]
    gone = (
        select(PhotoRow.id)
        .join(ConsentRow, ConsentRow.id == PhotoRow.consent_id)
        .where(
            or_(PhotoRow.id.in_(origins), PhotoRow.origin_id.in_(origins)),
            PhotoRow.removed_at.is_not(None),
            ConsentRow.withdrawn_on.is_not(None),
        )
    )
    if session.scalar(gone.limit(1)) is not None:
        raise BundleRefused("The bundle holds a photo whose consent was withdrawn here; ask for a newer bundle.")


def _put_in(
    store: Store,
    session: Session,
    person: Person,
    contents: Contents,
    pictures: Iterable[StoredPicture],
) -> VersionRow:
    version = _version_row(store, person, contents)
    session.add_all([version.set, version])
    session.flush()
    consents: dict[str, ConsentRow] = {}
    for position, (photo, picture) in enumerate(zip(contents.photos, pictures, strict=True), start=1):
        if photo.consent.record not in consents:
            consents[photo.consent.record] = _consent_row(store, person, photo)
        row = record_picture(store, session, picture, consents[photo.consent.record])
        row.owner_id, row.origin_id = person.id, photo.origin_id
        session.flush()
        put_key(store, session, row.id, key_from_json(photo.answers), landmarks_from_json(photo.landmarks))
        session.add(
            SetPhotoRow(
                version_id=version.id,
                photo_id=row.id,
                position=position,
                difficulty=photo.difficulty,
                note=photo.note,
                answers=dict(photo.answers),
                landmarks=dict(photo.landmarks),
            )
        )
        session.flush()
    return version


def _version_row(store: Store, person: Person, contents: Contents) -> VersionRow:
    """The first version of a new set, published from the start."""
    now = store.now()
    return VersionRow(
        id=secrets.token_hex(16),
        set=SetRow(id=secrets.token_hex(16), owner_id=person.id, title=contents.title, made_at=now),
        number=1,
        state=State.PUBLISHED.value,
        notes=contents.notes,
        made_at=now,
        revision=1,
        published_at=now,
        published_by=person.id,
        checklist_version=contents.checklist_version,
        seal=contents.seal,
    )


def _consent_row(store: Store, person: Person, photo: BundledPhoto) -> ConsentRow:
    said = photo.consent
    return ConsentRow(
        id=secrets.token_hex(16),
        recorded_by=person.id,
        recorded_at=store.now(),
        kind=said.kind,
        shown=said.shown,
        given_by=said.given_by,
        authority=said.authority,
        scopes=list(said.scopes),
        faces_covered=said.faces_covered,
        given_on=said.given_on,
        expires_on=said.expires_on,
        form_version=said.form_version,
    )
