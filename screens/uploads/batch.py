"""Many uploads on their way in, as one browser tab holds them: read once, refused one by one, kept when all is said.

Until it is kept, an upload is in memory only (Streamlit's own session holds its bytes, and `screens.uploads.shelf` for a page
that is loaded again). What was kept is kept: a fault on the tenth photo leaves nine on record and the rest waiting.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Protocol

from records.consent.consents import DollDeclaration, NewConsent
from records.errors import RecordsError
from records.identity.people import Person
from records.photo.photo_readings import keep_look_hash, look_hashes
from records.photo.photos import PhotoRecord, add_photo
from records.store import Store
from screens.language import _
from screens.samples import SCREEN_LONGEST
from screens.sets import pictures as set_pictures
from vision.alike import Alike, find_alike, photo_hash
from vision.cover import cover
from vision.covering.areas import CoverArea
from vision.errors import UnreadablePhoto, VisionError
from vision.images import crop, encode_jpeg, read_photo, reduced
from vision.photo import Photo

Crop = tuple[float, float, float, float]
SMALL = 360


class Upload(Protocol):
    """What Streamlit hands out for an uploaded file."""

    file_id: str
    name: str
    size: int

    def getvalue(self) -> bytes: ...


@dataclass
class Waiting:
    """One upload that was read: what it looks like, and how it is to be cut and covered before it is stored.

    `looked_at` says that a person saw it in the cover editor, `undecided` that proposed covers wait for a decision.
    """

    upload_id: str
    name: str
    width: int
    height: int
    small: str
    look_hash: str
    title: str = ""
    areas: tuple[CoverArea, ...] = ()
    proposals: tuple[CoverArea, ...] = ()
    notes: tuple[str, ...] = ()
    crop: Crop | None = None
    screen: str | None = None
    faces_sought: bool = False
    looked_at: bool = False
    left_out: bool = False
    editor_revision: int = 0
    fault: str | None = None

    @property
    def undecided(self) -> bool:
        """Whether a proposed cover was neither accepted nor removed."""
        return bool(self.proposals)


@dataclass
class Batch:
    """All uploads of a tab by their id: waiting, refused with a sentence, and kept.

    `brought` are files that came along from a page that was loaded again; the upload field of this one does not know them.
    """

    waiting: dict[str, Waiting] = field(default_factory=dict)
    refused: dict[str, tuple[str, str]] = field(default_factory=dict)
    kept: dict[str, str] = field(default_factory=dict)
    brought: dict[str, Upload] = field(default_factory=dict)
    open: str | None = None
    people: bool | None = None
    consented: tuple[NewConsent | DollDeclaration, str] | None = None

    def known(self, upload_id: str) -> bool:
        """Whether this upload was read already."""
        return upload_id in self.waiting or upload_id in self.refused or upload_id in self.kept

    @property
    def chosen(self) -> list[Waiting]:
        """Those that will be kept, in the order in which they came."""
        return [one for one in self.waiting.values() if not one.left_out]

    def drop_all_but(self, upload_ids: Sequence[str]) -> None:
        """Forget uploads that the person took off the list; what was brought along is on no list."""
        staying = {*upload_ids, *self.brought}
        for gone in [upload_id for upload_id in self.waiting if upload_id not in staying]:
            one = self.waiting.pop(gone)
            set_pictures.forget(one.small, one.screen or "")
        self.refused = {upload_id: said for upload_id, said in self.refused.items() if upload_id in upload_ids}


def read_upload(batch: Batch, person: Person, upload: Upload) -> None:
    """Read one upload into the batch: it waits, or it is refused in one sentence."""
    try:
        photo = read_photo(upload.getvalue())
        small = set_pictures.keep(person, encode_jpeg(reduced(photo, SMALL), quality=80))
        batch.waiting[upload.file_id] = Waiting(
            upload_id=upload.file_id,
            name=upload.name,
            width=photo.width,
            height=photo.height,
            small=small,
            look_hash=photo_hash(photo),
        )
    except UnreadablePhoto as refused:
        batch.refused[upload.file_id] = (upload.name, str(refused))


def alike_lines(batch: Batch, stored: Mapping[str, str], titles: Mapping[str, str]) -> dict[str, list[str]]:
    """Upload id -> what it looks the same as, in words: other uploads, and photos that are stored already."""
    hashes = {**{one.upload_id: one.look_hash for one in batch.waiting.values()}, **stored}
    names = {**{one.upload_id: one.name for one in batch.waiting.values()}, **titles}
    found: dict[str, list[str]] = {}
    for group in find_alike(hashes):
        for pair in group.pairs:
            for one, other in ((pair.first, pair.second), (pair.second, pair.first)):
                if one in batch.waiting:
                    found.setdefault(one, []).append(
                        _alike(pair, names.get(other, _("another photo")), other in stored)
                    )
    return found


def _alike(pair: Alike, name: str, is_stored: bool) -> str:
    if pair.mirrored:
        said = (
            _("Looks the same as your photo “{name}”, mirrored.")
            if is_stored
            else _("Looks the same as “{name}”, mirrored.")
        )
    elif pair.turn_deg:
        said = (
            _("Looks the same as your photo “{name}”, turned.")
            if is_stored
            else _("Looks the same as “{name}”, turned.")
        )
    else:
        said = _("Looks the same as your photo “{name}”.") if is_stored else _("Looks the same as “{name}”.")
    return said.format(name=name)


def stored_hashes(store: Store, person: Person) -> Mapping[str, str]:
    """Photo id -> hash of what the person has stored, those of an older way of hashing left out."""
    kept = look_hashes(store, person)
    return {photo_id: look_hash for photo_id, look_hash in kept.items() if is_comparable(look_hash)}


def is_comparable(look_hash: str) -> bool:
    """Whether this version can compare the hash."""
    try:
        find_alike({"one": look_hash, "other": look_hash})
    except ValueError:
        return False
    return True


def finished(upload: Upload, one: Waiting) -> Photo:
    """The photo as it will be stored: covered for good, then cut. Raises VisionError."""
    photo = read_photo(upload.getvalue())
    if one.areas:
        photo = cover(photo, one.areas).photo
    if one.crop is not None:
        left, top, width, height = (round(part) for part in one.crop)
        photo = crop(photo, left, top, width, height)
    return photo


def titled(batch: Batch, base: str) -> dict[str, str]:
    """Upload id -> title: its own, or the common one with a number."""
    return {
        one.upload_id: one.title.strip() or f"{base.strip()[:74]}, {number}"
        for number, one in enumerate(batch.chosen, start=1)
    }


def keep_one(
    store: Store, person: Person, batch: Batch, upload: Upload, title: str, consent: NewConsent | DollDeclaration
) -> PhotoRecord | None:
    """Store one upload; a fault is told beside it and it goes on waiting. All of a batch rest on one consent."""
    one = batch.waiting[upload.file_id]
    try:
        photo = finished(upload, one)
        record = add_photo(
            store,
            person,
            jpeg=encode_jpeg(photo),
            screen_jpeg=encode_jpeg(reduced(photo, SCREEN_LONGEST), quality=90),
            width=photo.width,
            height=photo.height,
            title=title,
            consent=batch.consented[1] if batch.consented and batch.consented[0] == consent else consent,
        )
        batch.consented = (consent, record.consent_id)
        keep_look_hash(store, person, record.id, photo_hash(photo))
    except (VisionError, RecordsError) as refused:
        one.fault = f"{refused}"
        return None
    del batch.waiting[upload.file_id]
    set_pictures.forget(one.small, one.screen or "")
    batch.kept[upload.file_id] = record.id
    return record
