"""What a bundle of a published version would hold today: the photos whose consents let them travel, and why not the rest."""

from dataclasses import dataclass, replace

from sqlalchemy.orm import Session

from records.bundles.checking import seal_of_contents
from records.bundles.form import BundledPhoto, CarriedConsent, Contents, LeftOut, photo_name
from records.consent.consents import Kind, Scope, refusal
from records.errors import InvalidRecord
from records.models import ConsentRow, SetPhotoRow, VersionRow
from records.photo.photo_files import StoredFile
from records.photo.pictures import files_of, there
from records.store import Store
from records.teaching_sets.rows import version_row
from records.teaching_sets.values import State, is_removed, places

#: What travels must be covered by both; what a person agreed to for one class or one computer stays there.
NEEDED = (Scope.TEACHING_SETS, Scope.PRINTED)


@dataclass(frozen=True, kw_only=True)
class Gathered:
    """The contents of a bundle with where its pictures lie, in order."""

    contents: Contents
    photo_ids: tuple[str, ...]
    files: tuple[StoredFile, ...]


def gathered(store: Store, session: Session, version_id: str) -> Gathered:
    """What may travel now. Raises NotFound, and InvalidRecord for a draft."""
    version = version_row(session, version_id)
    if version.state == State.DRAFT:
        raise InvalidRecord("Only a published set can be exported.")
    left_out, kept = [], []
    for position, row in enumerate(places(version), start=1):
        why = _why_not(store, row)
        if why is None:
            kept.append(row)
        else:
            left_out.append(LeftOut(position=position, why=why))
    contents = _contents(version, kept, left_out)
    return Gathered(
        contents=contents,
        photo_ids=tuple(row.photo_id for row in kept),
        files=tuple(files_of(row.photo)[0] for row in kept),
    )


def _why_not(store: Store, row: SetPhotoRow) -> str | None:
    if is_removed(row):
        return "It was removed."
    refused = (refusal(row.photo.consent, use, store.today()) for use in NEEDED)
    return next((str(fault) for fault in refused if fault is not None), None)


def _contents(version: VersionRow, kept: list[SetPhotoRow], left_out: list[LeftOut]) -> Contents:
    photos = tuple(_bundled(row, place) for place, row in enumerate(kept, start=1))
    contents = Contents(
        title=version.set.title,
        number=version.number,
        notes=version.notes,
        checklist_version=there(version.checklist_version),
        published_on=there(version.published_at).date(),
        seal="",
        photos=photos,
        left_out=tuple(left_out),
    )
    return replace(contents, seal=seal_of_contents(contents))


def _bundled(row: SetPhotoRow, place: int) -> BundledPhoto:
    photo = row.photo
    return BundledPhoto(
        name=photo_name(place),
        origin_id=photo.origin_id or photo.id,
        title=there(photo.title),
        difficulty=row.difficulty,
        note=row.note,
        width=there(photo.width),
        height=there(photo.height),
        sha256=there(photo.sha256),
        consent=_carried(photo.consent),
        answers=there(row.answers),
        landmarks=there(row.landmarks),
    )


def _carried(consent: ConsentRow) -> CarriedConsent:
    travels = set(consent.scopes) if consent.kind == Kind.DOLL else {scope.value for scope in NEEDED}
    return CarriedConsent(
        record=consent.id,
        kind=consent.kind,
        shown=consent.shown,
        given_by=consent.given_by,
        authority=consent.authority,
        scopes=tuple(sorted(travels & set(consent.scopes))),
        faces_covered=consent.faces_covered,
        given_on=consent.given_on,
        expires_on=consent.expires_on,
        form_version=consent.form_version,
    )
