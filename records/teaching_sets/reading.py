"""Reading teaching sets: all of them for those who build, the published ones for those who run a class."""

# Every service takes the acting person; the right is checked at its door.
# ruff: noqa: ARG001

from collections.abc import Mapping
from types import MappingProxyType

from sqlalchemy import select
from sqlalchemy.orm import selectinload

from records.errors import NotAllowed, NotFound
from records.identity.people import Person
from records.models import SetRow, VersionRow
from records.rights import Right, service
from records.store import Store
from records.teaching_sets.rows import version_row
from records.teaching_sets.seal import seal_of
from records.teaching_sets.values import (
    FrozenKey,
    SetRecord,
    State,
    VersionRecord,
    frozen_key,
    is_removed,
    record_of,
    set_record,
)


@service(Right.BUILD_SET)
def list_sets(store: Store, person: Person) -> tuple[SetRecord, ...]:
    """All sets of the school, newest first."""
    newest = (
        select(SetRow)
        .order_by(SetRow.made_at.desc(), SetRow.id)
        .options(selectinload(SetRow.versions).selectinload(VersionRow.photos))
    )
    with store.reading() as session:
        return tuple(set_record(row, person.id) for row in session.scalars(newest))


@service(Right.BUILD_SET)
def get_version(store: Store, person: Person, version_id: str) -> VersionRecord:
    """One version in any state. Raises NotFound."""
    with store.reading() as session:
        return record_of(store, session, version_row(session, version_id))


@service(Right.RUN_CLASS)
def published_versions(store: Store, person: Person) -> tuple[VersionRecord, ...]:
    """All versions that can be given to a class, newest first."""
    newest = (
        select(VersionRow)
        .where(VersionRow.state == State.PUBLISHED.value)
        .order_by(VersionRow.published_at.desc(), VersionRow.id)
    )
    with store.reading() as session:
        return tuple(record_of(store, session, row) for row in session.scalars(newest))


@service(Right.RUN_CLASS)
def published_version(store: Store, person: Person, version_id: str) -> VersionRecord:
    """One version that was published. Raises NotFound, and NotAllowed for a draft."""
    with store.reading() as session:
        row = version_row(session, version_id)
        if row.state == State.DRAFT:
            raise NotAllowed("This version is not published yet.")
        return record_of(store, session, row)


@service(Right.BUILD_SET)
def frozen_keys(store: Store, person: Person, version_id: str) -> Mapping[str, FrozenKey]:
    """Photo id -> the key that a published version holds, removed photos left out. Raises NotFound."""
    with store.reading() as session:
        return keys_in(version_row(session, version_id))


def keys_in(row: VersionRow) -> Mapping[str, FrozenKey]:
    """Photo id -> key of a version, within a transaction."""
    found = {place.photo_id: frozen_key(place) for place in row.photos if not is_removed(place)}
    return MappingProxyType({photo_id: key for photo_id, key in found.items() if key is not None})


@service(Right.BUILD_SET)
def seal_holds(store: Store, person: Person, version_id: str) -> bool | None:
    """Whether a published version is still what was sealed; None where a photo was removed since.

    Raises
    ------
    NotFound
        Where there is no such version, or it was never sealed.
    """
    with store.reading() as session:
        row = version_row(session, version_id)
        if row.seal is None:
            raise NotFound("This version was not published, so it carries no seal.")
        now = seal_of(row)
        return None if now is None else now == row.seal
