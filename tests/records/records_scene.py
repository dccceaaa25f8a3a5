"""What the tests of the records stand on: small clean JPEGs, a filled sheet, points, a key, an attempt half done."""

import re
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from io import BytesIO
from pathlib import Path
from secrets import token_hex

from PIL import Image

from records.attempt.attempts import AttemptRecord, save_points, save_sheet, start_attempt
from records.consent.consents import ConsentRecord, DollDeclaration, NewConsent, Scope
from records.consent.ledger import own_consents
from records.identity.people import Person, Role, add_person, local_person
from records.models import Base
from records.photo.photos import PhotoRecord, add_photo
from records.store import Store
from rubric.answers import Answer, AnswerSheet, ItemAnswer, KeyAnswer, Phase, ReferenceKey, Settles, Spot, View
from vision.landmarks import BodyView, HeadYaw, LandmarkSet, Point, Scale, Visibility

START = datetime(2030, 3, 4, 12, 0, tzinfo=UTC)
MEASURES = {
    "gape_angle": {"value": 121.5, "low": 113.0, "high": 130.0, "unit": "deg", "reason": None},
    "chin_gap": {
        "value": None,
        "low": None,
        "high": None,
        "unit": "% of face size",
        "reason": "the chin is not placed",
    },
}
SHEET = AnswerSheet(
    phase=Phase.AT_BREAST,
    view=View.SIDE,
    answers={
        "stays_wide": ItemAnswer(answer=Answer.SEEN, spot=Spot(x=0.25, y=0.5)),
        "lips_out": ItemAnswer(answer=Answer.CANT_TELL, settles=Settles.CLOSER),
    },
)
SECOND_SHEET = AnswerSheet(
    phase=Phase.AT_BREAST, view=View.SIDE, answers={"stays_wide": ItemAnswer(answer=Answer.NOT_SEEN)}
)
POINTS = LandmarkSet(
    points={
        "mouth_corner": Point(x=101.25, y=77.5, sigma=1.5),
        "ear": Point(x=20.125, y=60.0, visibility=Visibility.HIDDEN, by="pose"),
    },
    head_yaw=HeadYaw(deg=88.0, sigma_deg=8.0),
    body_view=BodyView.SIDE,
    scale=Scale(mm_per_pixel=0.4, sigma=0.01),
)
POINTS_AGAIN = LandmarkSet(points={"mouth_corner": Point(x=103.0, y=76.0)})
KEY = ReferenceKey(
    phase=Phase.AT_BREAST,
    view=View.SIDE,
    answers={
        "stays_wide": KeyAnswer(
            answer=Answer.SEEN,
            why="the lips stand far apart",
            accepted=frozenset({Answer.CANT_TELL}),
            spot=Spot(x=0.3, y=0.5),
        )
    },
)
KEY_POINTS = LandmarkSet(points={"mouth_corner": Point(x=333.0625, y=444.0625, by="reference")})
DOLL = DollDeclaration(confirmed=True, shown="doll A")


class Clock:
    """A clock that a test turns by hand."""

    def __init__(self, moment: datetime = START) -> None:
        self.moment = moment

    def __call__(self) -> datetime:
        return self.moment

    def turn(self, **by: float) -> None:
        self.moment += timedelta(**by)


def clean_jpeg(width: int = 48, height: int = 32, shade: int = 90) -> bytes:
    """A JPEG of one shade that holds nothing but its pixels."""
    stream = BytesIO()
    Image.new("RGB", (width, height), (shade, shade, 120)).save(stream, "JPEG")
    return stream.getvalue()


def consent_of(clock: Clock, *scopes: Scope, days: int = 30, **changes: str) -> NewConsent:
    """A consent that was given yesterday and lasts `days` more."""
    today: date = clock().astimezone().date()
    texts = {
        "shown": "pair 3",
        "given_by": "parent with authority",
        "form_version": "form 2",
        **changes,
    }
    return NewConsent(
        scopes=frozenset(scopes or (Scope.OWN_PRACTICE,)),
        faces_covered=True,
        given_on=today - timedelta(days=1),
        expires_on=today + timedelta(days=days),
        **texts,
    )


def add(
    store: Store,
    person: Person,
    consent: NewConsent | DollDeclaration | str = DOLL,
    *,
    title: str = "Cradle",
    shade: int = 90,
) -> PhotoRecord:
    """A photo of 48 x 32 pixels with a screen copy of 24 x 16."""
    return add_photo(
        store,
        person,
        jpeg=clean_jpeg(shade=shade),
        screen_jpeg=clean_jpeg(24, 16, shade),
        width=48,
        height=32,
        title=title,
        consent=consent,
    )


def consents_on_record(store: Store, person: Person) -> tuple[ConsentRecord, ...]:
    """All that the person put on record, by id."""
    return tuple(sorted((line.consent for line in own_consents(store, person)), key=lambda consent: consent.id))


def consent_on_record(store: Store, person: Person, consent_id: str | None) -> ConsentRecord:
    """One that the person put on record."""
    return next(consent for consent in consents_on_record(store, person) if consent.id == consent_id)


def someone_else(store: Store, *roles: Role) -> Person:
    """A second person, in these roles or in all."""
    with store.writing() as session:
        return add_person(store, session, f"other {token_hex(4)}", frozenset(roles or Role))


def half_done(store: Store, person: Person, photo: PhotoRecord) -> AttemptRecord:
    """An attempt with two sheets and two rounds of points, ready to hand in."""
    attempt = start_attempt(store, person, photo.id)
    save_sheet(store, person, attempt.id, 1, SHEET, 0)
    save_points(store, person, attempt.id, 1, POINTS, 0)
    save_points(store, person, attempt.id, 2, POINTS_AGAIN, 0)
    save_sheet(store, person, attempt.id, 2, SECOND_SHEET, 0)
    return attempt


@dataclass(frozen=True, kw_only=True)
class Scene:
    """A store in a folder of its own, with a hand-turned clock and the local person."""

    store: Store
    person: Person
    clock: Clock
    folder: Path

    @property
    def photo_names(self) -> set[str]:
        """What lies in the photo folder."""
        return {path.name for path in (self.folder / "photos").iterdir()}

    def bytes_on_disk(self) -> bytes:
        """All bytes of all files in the data folder, one after the other."""
        return b"".join(path.read_bytes() for path in sorted(self.folder.rglob("*")) if path.is_file())

    def all_bytes(self) -> bytes:
        """What lies on the disk, and all rows of a database that lies elsewhere."""
        if self.store.engine.dialect.name == "sqlite":
            return self.bytes_on_disk()
        with self.store.reading() as session:
            rows = [session.execute(table.select()).all() for table in Base.metadata.sorted_tables]
        return self.bytes_on_disk() + repr(rows).encode()


def make_scene(folder: Path) -> Scene:
    """Open a store in the folder."""
    clock = Clock()
    store = Store.open(folder, now=clock)
    return Scene(store=store, person=local_person(store), clock=clock, folder=folder)


def is_one_sentence(error: BaseException) -> bool:
    """Whether the message can stand before a person: one sentence, no code names, no number codes."""
    said = str(error)
    return bool(re.fullmatch(r"[A-Z][^\n]{10,300}\.", said)) and "sqlite" not in said.lower() and "Errno" not in said
