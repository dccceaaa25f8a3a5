"""A school in a data folder, set up past the browser so that a journey begins where it is about."""

import json
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path
from typing import Any

import numpy as np
from sqlalchemy import select

from records import teaching_sets as sets
from records.attempt.attempts import save_points, save_sheet
from records.attempt.handing_in import hand_in
from records.classroom import assignments, class_work, classes
from records.consent.consents import NewConsent, Scope
from records.identity import accounts, join_codes, joining
from records.identity.people import Person
from records.key.keys import set_key
from records.models import AccountRow
from records.photo.photos import PhotoRecord, add_photo, list_photos
from records.rights import roles_of
from records.store import Store
from rubric.answers import Answer, AnswerSheet, ItemAnswer, KeyAnswer, Phase, ReferenceKey, Spot, View
from rubric.checklist import shipped_checklist
from rubric.scoring import key_from_json
from screens.practice.measuring import measures_json
from screens.samples import add_shipped_samples, true_landmarks
from tests.journeys.people import PASSWORD, SAMPLES
from vision.images import Photo, encode_jpeg
from vision.landmarks import LandmarkSet, Point
from vision.measures import VERSION


@contextmanager
def records_of(data: Path) -> Iterator[Store]:
    """The records of a data folder, beside a running program or before it starts."""
    data.mkdir(parents=True, exist_ok=True)
    store = Store.open(data)
    try:
        yield store
    finally:
        store.close()


@dataclass(frozen=True, kw_only=True)
class School:
    """Whoever made the first account (all roles), a class, and a published version of shipped doll photos."""

    instructor: Person
    class_id: str
    version_id: str
    photos: tuple[PhotoRecord, ...]
    code: str


#: The key of the photo that no sample is.
OWN_KEY = ReferenceKey(
    phase=Phase.AT_BREAST,
    view=View.SIDE,
    answers={
        "body_line": KeyAnswer(answer=Answer.SEEN, why="one stroke joins them", spot=Spot(x=0.5, y=0.5)),
        "close": KeyAnswer(answer=Answer.NOT_SEEN, why="a gap is left", spot=Spot(x=0.25, y=0.75)),
    },
)
OWN_POINTS = LandmarkSet(
    points={
        name: Point(x=x, y=y, by="reference")
        for name, (x, y) in {
            "nose_tip": (100, 100),
            "ear": (300, 100),
            "shoulder": (420, 180),
            "hip": (700, 330),
        }.items()
    }
)


def open_school(store: Store, names: Sequence[str], *, consented: bool = False) -> School:
    """First account "heron", class "Linden Room", and a set of these samples, then of a consented photo where asked."""
    add_shipped_samples(store)
    heron = accounts.first_account(store, handle="heron", password=PASSWORD).person
    photos = [*samples(store, heron, names), *([consented_photo(store, heron)] if consented else [])]
    version_id = publish(store, heron, photos)
    until = store.today() + timedelta(days=200)
    group = classes.new_class(store, heron, title="Linden Room", keep_until=until)
    code = join_codes.make_join_code(store, heron, group.id).code
    return School(instructor=heron, class_id=group.id, version_id=version_id, photos=tuple(photos), code=code)


def samples(store: Store, person: Person, names: Sequence[str]) -> list[PhotoRecord]:
    """The shipped photos of these names."""
    by_sample = {photo.sample_id: photo for photo in list_photos(store, person)}
    return [by_sample[name] for name in names]


def first_person(store: Store) -> Person:
    """Whoever made the first account."""
    with store.reading() as session:
        person_id = session.scalars(select(AccountRow.person_id).order_by(AccountRow.set_at)).first()
    assert person_id is not None
    return Person(id=person_id, handle="heron", roles=roles_of(store, person_id))


def consented_photo(store: Store, person: Person, title: str = "Pair 3, from the side") -> PhotoRecord:
    """A photo under a consent for own practice and teaching sets, with a key; its pixels are like no other's."""
    noise = np.random.default_rng(7).integers(0, 255, (60, 80, 3), dtype=np.uint8)
    jpeg = encode_jpeg(Photo(pixels=np.kron(noise, np.ones((10, 10, 1), np.uint8))))
    consent = NewConsent(
        shown="pair 3",
        given_by="the adult shown, parent of the child",
        scopes=frozenset({Scope.OWN_PRACTICE, Scope.TEACHING_SETS}),
        faces_covered=True,
        given_on=store.today(),
        expires_on=store.today() + timedelta(days=90),
        form_version="1",
    )
    photo = add_photo(store, person, jpeg=jpeg, screen_jpeg=jpeg, width=800, height=600, title=title, consent=consent)
    set_key(store, person, photo.id, OWN_KEY, OWN_POINTS)
    return photo


def publish(store: Store, person: Person, photos: Sequence[PhotoRecord], title: str = "First looks") -> str:
    """Build a set of photos that have keys and publish it; returns the version's id."""
    draft = sets.new_set(store, person, title).draft
    assert draft is not None
    filled = sets.add_photos(store, person, draft.id, [photo.id for photo in photos], expected_revision=1)
    version = sets.publish(
        store,
        person,
        draft.id,
        expected_revision=filled.revision,
        checklist_version=shipped_checklist().version,
    )
    return version.id


def student(store: Store, school: School, handle: str) -> Person:
    """Someone who joined the class with its code."""
    joined = joining.join_with_new_account(
        store, code=school.code, handle=handle, password=PASSWORD, from_where="127.0.0.1"
    )
    return joined.person


def truth(sample_id: str | None) -> dict[str, Any]:
    """The truth file of a sample."""
    found: dict[str, Any] = json.loads((SAMPLES / f"{sample_id}.json").read_text(encoding="utf-8"))
    return found


def works(
    store: Store, school: School, person: Person, assignment_id: str, slot: int, *, apart: int = 0, shift: float = 3.0
) -> str:
    """A student's work at one slot, `apart` answers of it unlike the key; returns the attempt's id."""
    attempt = class_work.start_slot(store, person, assignment_id, slot)
    photo = next(photo for photo in school.photos if photo.id == attempt.photo_id)
    known = truth(photo.sample_id) if photo.sample_id else None
    key = key_from_json(known["key"]) if known else OWN_KEY
    answers = {}
    for number, (item_id, given) in enumerate(key.answers.items()):
        said = given.answer
        if number < apart:
            said = Answer.NOT_SEEN if said == Answer.SEEN else Answer.SEEN
        answers[item_id] = ItemAnswer(answer=said, spot=None if said == Answer.CANT_TELL else given.spot)
    sheet = AnswerSheet(phase=key.phase, view=key.view, answers=answers)
    points = true_landmarks(known) if known else OWN_POINTS
    moved = {name: Point(x=p.x + shift, y=p.y - shift) for name, p in points.points.items()}
    placed = LandmarkSet(points=moved, head_yaw=points.head_yaw, body_view=points.body_view)
    save_sheet(store, person, attempt.id, 1, sheet, 0)
    save_points(store, person, attempt.id, 1, placed, 0)
    if attempt.place is not None and attempt.place.places_twice:
        again = {name: Point(x=p.x + 2, y=p.y + 2) for name, p in moved.items()}
        save_points(store, person, attempt.id, 2, LandmarkSet(points=again), 0)
    save_sheet(store, person, attempt.id, 2, sheet, 0)
    done = hand_in(
        store,
        person,
        attempt.id,
        measures_json=measures_json(placed),
        measure_version=VERSION,
        checklist_version=shipped_checklist().version,
    )
    return done.attempt_id


def give(store: Store, school: School, **options: Any) -> str:
    """Give the set to the class as "Week 2"; returns the assignment's id."""
    made = assignments.give(
        store, school.instructor, school.class_id, school.version_id, **{"title": "Week 2", **options}
    )
    return made.id
