"""What goes and what stays when the use of a photo ends. Works within a transaction; files are named, not deleted.

Gone: picture, title, size, hashes, proposed points, everyone's points, spots and key coordinates, unfinished attempts,
places in drafts, notes on it. Left: answers and measures that were handed in, comments (their text;
a comment that points at a landmark names it and holds no coordinates), a mark in published sets, and ids. No export is kept
on this machine (`records.bundles` makes each anew), so none has to go.
"""

from dataclasses import dataclass, field, replace
from datetime import date, datetime

from sqlalchemy import or_, select
from sqlalchemy.orm import Session

from records.models import AttemptRow, ConsentRow, ExpertKeyRow, KeyRow, PhotoRow, SetPhotoRow, VersionRow
from records.storage.stored_json import Json, stored_key, stored_sheet
from rubric.scoring import key_from_json, sheet_from_json

#: What the audit log calls a photo that went because the consent for the same one was withdrawn.
WENT_ALONG = "photo_withdrawn"


@dataclass(kw_only=True)
class Gone:
    """What a transaction took out of the records: ids of photos, and names of files to delete once it is committed."""

    photo_ids: list[str] = field(default_factory=list)
    photo_files: list[str] = field(default_factory=list)
    scan_files: list[str] = field(default_factory=list)


def end_consent(session: Session, consent: ConsentRow, *, on: date, now: datetime, gone: Gone) -> None:
    """Mark a consent as withdrawn and end the use of every photo that rests on it or shows the same."""
    if consent.withdrawn_on is None:
        consent.withdrawn_on = on
    for photo in _photos_to_end(session, consent):
        end_use(session, photo, now=now, gone=gone)
    session.flush()


def _photos_to_end(session: Session, consent: ConsentRow) -> list[PhotoRow]:
    """Those under the consent, all others of the same bytes, and all that came from or went into a bundle as the same.

    Photos that came with the program have no owner and stay: nobody is shown.
    """
    under = session.scalars(select(PhotoRow).where(PhotoRow.consent_id == consent.id)).all()
    hashes = {photo.sha256 for photo in under} - {None}
    roots = {photo.origin_id or photo.id for photo in under}
    found = select(PhotoRow).where(
        PhotoRow.removed_at.is_(None),
        PhotoRow.owner_id.is_not(None),
        or_(
            PhotoRow.consent_id == consent.id,
            PhotoRow.sha256.in_(hashes),
            PhotoRow.id.in_(roots),
            PhotoRow.origin_id.in_(roots),
        ),
    )
    return list(session.scalars(found.order_by(PhotoRow.id)))


def end_use(session: Session, photo: PhotoRow, *, now: datetime, gone: Gone) -> None:
    """Take a photo and all coordinates out of the records. One that is removed already stays as it is."""
    if photo.removed_at is not None:
        return
    gone.photo_ids.append(photo.id)
    gone.photo_files += [name for name in (photo.file_name, photo.screen_file_name) if name]
    _end_attempts(session, photo.id)
    _end_keys(session, photo)
    _end_places_in_sets(session, photo.id, now)
    photo.title = photo.width = photo.height = None
    photo.file_name = photo.sha256 = photo.screen_file_name = photo.screen_sha256 = None
    photo.n_bytes = photo.look_hash = photo.proposed_landmarks = photo.proposed_at = None
    photo.removed_at = now


def _end_attempts(session: Session, photo_id: str) -> None:
    for attempt in session.scalars(select(AttemptRow).where(AttemptRow.photo_id == photo_id)):
        if attempt.handed_in_at is None:
            session.delete(attempt)
            continue
        attempt.points.clear()
        for sheet in attempt.sheets:
            sheet.answers = sheet_without_spots(sheet.answers)


def _end_keys(session: Session, photo: PhotoRow) -> None:
    keys: list[KeyRow | ExpertKeyRow] = [photo.key] if photo.key is not None else []
    keys += session.scalars(select(ExpertKeyRow).where(ExpertKeyRow.photo_id == photo.id))
    for key in keys:
        key.landmarks = None
        key.answers = key_without_spots(key.answers)


def _end_places_in_sets(session: Session, photo_id: str, now: datetime) -> None:
    """A draft loses the place, and whoever has it open is told; a published version keeps a mark and its answers."""
    for place in session.scalars(select(SetPhotoRow).where(SetPhotoRow.photo_id == photo_id)):
        version: VersionRow = place.version
        if version.state == "draft":
            version.photos.remove(place)
            version.revision += 1
            for position, left in enumerate(sorted(version.photos, key=lambda row: row.position), start=1):
                left.position = position
            continue
        place.removed_at, place.note, place.landmarks = now, "", None
        if place.answers is not None:
            place.answers = key_without_spots(place.answers)


def sheet_without_spots(stored: Json) -> Json:
    """Answers as they are stored, without the places on the photo where they were seen."""
    sheet = sheet_from_json(stored)
    answers = {item: replace(answer, spot=None) for item, answer in sheet.answers.items()}
    return stored_sheet(replace(sheet, answers=answers))


def key_without_spots(stored: Json) -> Json:
    """A key as it is stored, without the places on the photo."""
    key = key_from_json(stored)
    answers = {item: replace(answer, spot=None) for item, answer in key.answers.items()}
    return stored_key(replace(key, answers=answers))
