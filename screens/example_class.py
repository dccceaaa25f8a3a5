"""An example class: twenty invented students who scored doll photos, with one sign that many of them read otherwise.

For a newcomer who wants to see what a review shows before there is a class. Everything in it says that it is invented.
"""

from collections.abc import Mapping
from dataclasses import replace
from datetime import timedelta

import numpy as np

from records.assignments import give
from records.attempts import Order
from records.class_values import AssignmentRecord, KeyRule
from records.class_work import slots_with_keys
from records.classes import new_class
from records.example_students import ExampleWork, add_example_students
from records.people import Person
from records.photos import list_photos
from records.store import Store
from records.teaching_sets import add_photos, get_version, new_set, publish
from rubric.answers import AnswerSheet, ItemAnswer, ReferenceKey
from rubric.class_table import ANSWERS, BLANK, ClassTable, key_table
from rubric.items import Checklist
from rubric.simulated import Cohort, simulate_answers, simulate_second_look, simulate_seconds
from screens.measuring import measures_json
from vision.landmarks import LandmarkSet, Point
from vision.measures import VERSION, face_size, with_default_sigmas
from vision.results import Measure

TITLE = "Linden Room (example)"
N_STUDENTS, N_PHOTOS = 20, 24
WEAK_ITEM = "lips_out"
_SEED = 1125
#: A practised person's clicks, in shares of the face's size.
_CLICK = 0.018


def add_example_class(store: Store, person: Person, checklist: Checklist) -> AssignmentRecord:
    """Make set, class and work, and let the invented students hand in.

    Raises
    ------
    NotAllowed
        For whoever may not both build sets and run classes.
    """
    photos = [photo.id for photo in list_photos(store, person) if photo.sample_id is not None and photo.has_key]
    made = new_set(store, person, "Doll photos (example)")
    empty = get_version(store, person, made.versions[0].id)
    draft = add_photos(store, person, empty.id, photos[:N_PHOTOS], expected_revision=empty.revision)
    version = publish(store, person, draft.id, expected_revision=draft.revision, checklist_version=checklist.version)
    group = new_class(store, person, title=TITLE, keep_until=store.today() + timedelta(days=90))
    work = give(
        store,
        person,
        group.id,
        version.id,
        title="Doll photos",
        due_at=None,
        order=Order.SCORE_FIRST,
        places_twice=False,
        hidden_repeat=False,
        key_rule=KeyRule.AFTER_EACH,
    )
    students = _students(store, person, work.id, checklist)
    add_example_students(store, person, work.id, students, measure_version=VERSION, checklist_version=checklist.version)
    return work


def _students(store: Store, person: Person, work_id: str, checklist: Checklist) -> list[dict[int, ExampleWork]]:
    slots = {slot.slot: slot for slot in slots_with_keys(store, person, work_id)}
    keys = {str(number): slot.key for number, slot in slots.items() if slot.key is not None}
    table = key_table(checklist, keys)
    names = tuple(f"student {number}" for number in range(N_STUDENTS))
    weak = {WEAK_ITEM: 0.45} if WEAK_ITEM in table.items else {}
    cohort = Cohort(students=names, weak_items=weak, over_claimers={names[3]: 0.8})
    first = simulate_answers(table, cohort, _SEED)
    second = simulate_second_look(first, cohort, _SEED)
    seconds = simulate_seconds(cohort, len(slots), _SEED)
    rng = np.random.default_rng(_SEED)
    found: list[dict[int, ExampleWork]] = []
    for student in range(N_STUDENTS):
        found.append({})
        for place, (number, slot) in enumerate(slots.items()):
            clicked = _clicked(slot.key_landmarks or LandmarkSet(), rng)
            found[-1][number] = ExampleWork(
                first=_sheet(first, student, place, keys),
                second=_sheet(second, student, place, keys),
                landmarks=clicked,
                measures=measures_json(clicked),
                seconds=float(seconds[student, place]),
            )
    return found


def _sheet(table: ClassTable, student: int, place: int, keys: Mapping[str, ReferenceKey]) -> AnswerSheet:
    key = keys[table.key.photos[place]]
    codes = table.answers[student, place]
    answers = {
        item: ItemAnswer(answer=ANSWERS[code])
        for item, code in zip(table.key.items, codes.tolist(), strict=True)
        if code != BLANK
    }
    return AnswerSheet(phase=key.phase, view=key.view, answers=answers)


def _clicked(key: LandmarkSet, rng: np.random.Generator) -> LandmarkSet:
    """The key's points as a hand would click them."""
    size = face_size(with_default_sigmas(key))
    spread = _CLICK * (size.value if isinstance(size, Measure) else 100.0)
    clicked = {}
    for name, point in key.points.items():
        wider = 4 if name in ("shoulder", "hip") else 1
        x, y = np.maximum(0.0, rng.normal((point.x, point.y), wider * spread))
        clicked[name] = Point(x=float(x), y=float(y), visibility=point.visibility)
    return replace(key, points=clicked, gape=None)
