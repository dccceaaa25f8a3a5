"""What the rest of the program sees of a teaching set, and how a row becomes that."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from sqlalchemy.orm import Session

from records.consent.consents import Scope, refusal
from records.models import KeyRow, SetPhotoRow, SetRow, VersionRow
from records.store import Store
from rubric.answers import ReferenceKey
from rubric.scoring import key_from_json
from vision.landmark_files import landmarks_from_json
from vision.landmarks import LandmarkSet

DEFAULT_DIFFICULTY = 2


class State(StrEnum):
    """A draft changes; a published version is frozen and may be given to classes; a retired one is given no more."""

    DRAFT = "draft"
    PUBLISHED = "published"
    RETIRED = "retired"


@dataclass(frozen=True, kw_only=True)
class SetPhoto:
    """A photo's place in a version.

    Parameters
    ----------
    photo_id : str or None
        None once the photo was removed.
    title : str or None
        None once the photo was removed.
    position : int
        From 1, without gaps.
    difficulty : int
        1 (plain), 2 or 3 (hard).
    note : str
        For whoever teaches with the photo.
    has_key : bool
        Whether there is a reference key: the frozen one of a published version, the present one of a draft.
    removed : bool
        Whether only the mark is left that there was a photo here.
    own_class_only : bool
        Whether its consent covers a class but not teaching sets at large.
    refusal : str or None
        Why it may be used neither in teaching sets nor in a class today, one sentence; None where it may.
    """

    photo_id: str | None
    title: str | None
    position: int
    difficulty: int
    note: str
    has_key: bool
    removed: bool
    own_class_only: bool = False
    refusal: str | None = None


@dataclass(frozen=True, kw_only=True)
class VersionRecord:
    """A version of a set with the photos in it, in order; times in UTC, None while it has not happened.

    `revision` counts the changes of a draft and is what a change must name. `seal` is the hash of all that publishing
    froze; `checklist_version` is the checklist that its keys were written for.
    """

    id: str
    set_id: str
    title: str
    number: int
    state: State
    notes: str
    revision: int
    photos: tuple[SetPhoto, ...]
    made_at: datetime
    published_at: datetime | None
    retired_at: datetime | None
    checklist_version: str | None
    seal: str | None

    @property
    def n_photos(self) -> int:
        """How many photos are still there."""
        return sum(not photo.removed for photo in self.photos)


@dataclass(frozen=True, kw_only=True)
class VersionLine:
    """A version as a list shows it; `n_photos` counts those that are still there."""

    id: str
    number: int
    state: State
    n_photos: int
    published_at: datetime | None


@dataclass(frozen=True, kw_only=True)
class SetRecord:
    """A set and its versions, oldest first; `mine` says whether the asking person began it."""

    id: str
    title: str
    mine: bool
    made_at: datetime
    versions: tuple[VersionLine, ...]

    @property
    def draft(self) -> VersionLine | None:
        """The version that is worked on, of which there is one at most."""
        return next((line for line in self.versions if line.state == State.DRAFT), None)


@dataclass(frozen=True, kw_only=True)
class FrozenKey:
    """The key as a published version holds it; `landmarks` is None once the photo is gone."""

    key: ReferenceKey
    landmarks: LandmarkSet | None


def frozen_key(row: SetPhotoRow) -> FrozenKey | None:
    """The key that publishing froze for this place; None in a draft."""
    if row.answers is None:
        return None
    points = None if row.landmarks is None else landmarks_from_json(row.landmarks)
    return FrozenKey(key=key_from_json(row.answers), landmarks=points)


def is_removed(row: SetPhotoRow) -> bool:
    """Whether only the mark is left that there was a photo here."""
    return row.removed_at is not None or row.photo.removed_at is not None


def places(version: VersionRow) -> list[SetPhotoRow]:
    """The places of a version in order."""
    return sorted(version.photos, key=lambda row: (row.position, row.photo_id))


def record_of(store: Store, session: Session, row: VersionRow) -> VersionRecord:
    """The row as the rest of the program sees it."""
    return VersionRecord(
        id=row.id,
        set_id=row.set_id,
        title=row.set.title,
        number=row.number,
        state=State(row.state),
        notes=row.notes,
        revision=row.revision,
        photos=tuple(_photos(store, session, row)),
        made_at=row.made_at,
        published_at=row.published_at,
        retired_at=row.retired_at,
        checklist_version=row.checklist_version,
        seal=row.seal,
    )


def _photos(store: Store, session: Session, version: VersionRow) -> Iterator[SetPhoto]:
    for position, row in enumerate(places(version), start=1):
        if is_removed(row):
            yield SetPhoto(
                photo_id=None,
                title=None,
                position=position,
                difficulty=row.difficulty,
                note="",
                has_key=row.answers is not None,
                removed=True,
            )
            continue
        # Which class it is does not matter here; that is asked when the set is given.
        at_large = refusal(row.photo.consent, Scope.TEACHING_SETS, store.today())
        in_class = refusal(
            row.photo.consent, Scope.OWN_CLASS, store.today(), frozenset({row.photo.consent.class_id or ""})
        )
        frozen = version.state != State.DRAFT
        yield SetPhoto(
            photo_id=row.photo_id,
            title=row.photo.title,
            position=position,
            difficulty=row.difficulty,
            note=row.note,
            has_key=row.answers is not None if frozen else session.get(KeyRow, row.photo_id) is not None,
            removed=False,
            own_class_only=at_large is not None and in_class is None,
            refusal=str(at_large) if at_large is not None and in_class is not None else None,
        )


def set_record(row: SetRow, asking: str) -> SetRecord:
    """The row of a set as the rest of the program sees it."""
    lines = tuple(
        VersionLine(
            id=version.id,
            number=version.number,
            state=State(version.state),
            n_photos=sum(not is_removed(photo) for photo in version.photos),
            published_at=version.published_at,
        )
        for version in sorted(row.versions, key=lambda version: version.number)
    )
    return SetRecord(id=row.id, title=row.title, mine=row.owner_id == asking, made_at=row.made_at, versions=lines)
