"""Letting a published set out: what may travel is asked now, to whom it goes is written down before a byte leaves.

No copy of a bundle is kept: the same set gives the same bytes, so it is made anew at each download, and a photo whose
consent no longer covers it cannot leave a second time.
"""

import hashlib
import secrets
from dataclasses import dataclass
from datetime import date, datetime
from tempfile import SpooledTemporaryFile, gettempdir
from typing import BinaryIO, cast

from sqlalchemy import select

from records.auditing.audit import append
from records.bundles.checking import checked_contents
from records.bundles.form import LeftOut
from records.bundles.gathering import Gathered, gathered
from records.bundles.opening import opened
from records.bundles.packing import write_bundle
from records.errors import BundleRefused, InvalidRecord, NotFound, StorageFault
from records.identity.people import Person
from records.models import BundleRow
from records.photo.photo_files import reason
from records.photo.pictures import there
from records.rights import Right, service
from records.store import Store
from records.wording import required_text

_IN_MEMORY = 8 * 1024 * 1024
_CHUNK = 1024 * 1024


@dataclass(frozen=True, kw_only=True)
class BundleRecord:
    """A bundle that was made, and to whom it went; `at` in UTC."""

    id: str
    version_id: str
    to_whom: str
    at: datetime
    n_photos: int
    sha256: str


@dataclass(frozen=True, kw_only=True)
class Travelling:
    """Which photos of a version would travel today: how many, and which stay here and why."""

    n_photos: int
    left_out: tuple[LeftOut, ...]


@service(Right.SHARE_SET)
def travelling(store: Store, person: Person, version_id: str) -> Travelling:  # noqa: ARG001
    """What a bundle made now would hold. Raises NotFound, and InvalidRecord for a draft."""
    with store.reading() as session:
        found = gathered(store, session, version_id)
        return Travelling(n_photos=len(found.photo_ids), left_out=found.contents.left_out)


@service(Right.SHARE_SET)
def make_bundle(store: Store, person: Person, version_id: str, *, to_whom: str) -> BundleRecord:
    """Write down that a bundle goes to somebody, and what it holds; `write_out` then gives its bytes.

    Parameters
    ----------
    to_whom : str
        Where it goes, such as "Linden Room, second site"; this is what a withdrawal will name.

    Raises
    ------
    InvalidRecord
        For a draft, a set of which nothing may travel, one that is too large to be taken in, or no word on to whom.
    NotFound, StorageFault
    """
    named = required_text("to whom it goes", to_whom)
    with store.reading() as session:
        found = gathered(store, session, version_id)
    if not found.photo_ids:
        raise InvalidRecord("No photo of this set has a consent that lets it travel, so there is nothing to export.")
    digest = _hash(store, found, to_check=True)
    with store.writing() as session:
        if gathered(store, session, version_id) != found:
            raise InvalidRecord("The set changed while the bundle was made; please make it again.")
        row = BundleRow(
            id=secrets.token_hex(16),
            version_id=version_id,
            made_by=person.id,
            made_at=store.now(),
            to_whom=named,
            sha256=digest,
            photo_ids=list(found.photo_ids),
        )
        session.add(row)
        append(store, session, actor_id=person.id, action="make_bundle", object_id=row.id)
        session.flush()
        return _record_of(row)


@service(Right.SHARE_SET)
def write_out(store: Store, person: Person, bundle_id: str, to: BinaryIO) -> BundleRecord:
    """Write a bundle's bytes, while all that it held may still travel.

    Raises
    ------
    InvalidRecord
        Where a photo in it may no longer travel, or it would not be the same any more.
    NotFound, StorageFault
    """
    with store.reading() as session:
        row = session.get(BundleRow, bundle_id)
        if row is None:
            raise NotFound("There is no such bundle.")
        record, wanted = _record_of(row), tuple(row.photo_ids)
        found = gathered(store, session, row.version_id)
    if found.photo_ids != wanted or _hash(store, found) != record.sha256:
        raise InvalidRecord("The set is no longer what this bundle held; please make a new one.")
    write_bundle(found.contents, lambda place: store.files.read(found.files[place]), to)
    with store.writing() as session:
        append(store, session, actor_id=person.id, action="write_out", object_id=bundle_id)
    return record


@service(Right.SHARE_SET)
def bundles_of(store: Store, person: Person, version_id: str) -> tuple[BundleRecord, ...]:  # noqa: ARG001
    """All bundles that were made of a version, newest first."""
    made = select(BundleRow).where(BundleRow.version_id == version_id).order_by(BundleRow.made_at.desc(), BundleRow.id)
    with store.reading() as session:
        return tuple(_record_of(row) for row in session.scalars(made))


def _hash(store: Store, found: Gathered, *, to_check: bool = False) -> str:
    """The hash of the zip, made and read once through; `to_check` sees that whoever gets it can take it in."""
    digest = hashlib.sha256()
    try:
        with SpooledTemporaryFile(max_size=_IN_MEMORY) as file:
            to = cast(BinaryIO, file)
            write_bundle(found.contents, lambda place: store.files.read(found.files[place]), to)
            if to_check:
                _check_readable(to, store.today())
            to.seek(0)
            while piece := to.read(_CHUNK):
                digest.update(piece)
    except OSError as error:
        # A large one waits in the folder for temporary files, which may lie on another disk than the records.
        raise StorageFault(f"The bundle could not be made in {gettempdir()}: {reason(error)}.") from error
    return digest.hexdigest()


def _check_readable(bundle: BinaryIO, today: date) -> None:
    try:
        with opened(bundle) as read:
            checked_contents(read, today)
    except BundleRefused as fault:
        raise InvalidRecord(f"No other school could take this set in, so it was not exported. {fault}") from fault


def _record_of(row: BundleRow) -> BundleRecord:
    return BundleRecord(
        id=row.id,
        version_id=row.version_id,
        to_whom=row.to_whom,
        at=row.made_at,
        n_photos=len(row.photo_ids),
        sha256=there(row.sha256),
    )
