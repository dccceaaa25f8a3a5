"""An example class: twenty invented students who scored doll photos, with one sign that many of them read otherwise.

For a newcomer who wants to see what a review shows before there is a class. Everything in it says that it is invented.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from records.classroom.example_class import add_example_class, example_class_of, example_photos
from records.classroom.example_values import ExampleClass, ExamplePhoto, ExampleWords, ExampleWork
from records.identity.people import Person
from records.store import Store
from rubric.items import Checklist
from rubric.simulation.classes import Cohort, simulate_seconds
from rubric.simulation.sheets import simulated_sheets
from screens.practice.measuring import measures_json
from vision.landmarks import LandmarkSet, Point
from vision.measures import VERSION, face_size, with_default_sigmas
from vision.quantities.results import Measure

WORDS = ExampleWords(
    class_title="Linden Room (example)", set_title="Doll photos (example)", work_title="Doll photos (example)"
)
N_STUDENTS, N_PHOTOS = 20, 24
WEAK_ITEM = "lips_out"
#: Who over-claims, whose answers follow one impression of a photo, who reads the gape wide (degrees).
_OVER_CLAIMS, _HALO, _WIDE = 3, 11, (7, 12.0)
_SEED = 1134
#: A practised person's clicks, in shares of the face's size.
_CLICK = 0.018


def open_example_class(store: Store, person: Person, checklist: Checklist) -> ExampleClass:
    """The person's example class; made where there is none. Raises NotAllowed for whoever may not run classes."""
    there = example_class_of(store, person)
    if there is not None:
        return there
    photos = example_photos(store, person)[:N_PHOTOS]
    return add_example_class(
        store,
        person,
        WORDS,
        _students(photos, checklist),
        photo_ids=[photo.photo_id for photo in photos],
        measure_version=VERSION,
        checklist_version=checklist.version,
    )


def _students(photos: Sequence[ExamplePhoto], checklist: Checklist) -> list[dict[str, ExampleWork]]:
    names = tuple(f"student {number}" for number in range(N_STUDENTS))
    cohort = Cohort(
        students=names,
        weak_items={WEAK_ITEM: 0.55},
        over_claimers={names[_OVER_CLAIMS]: 0.9},
        halo={names[_HALO]: 0.6},
    )
    sheets = simulated_sheets(checklist, {photo.photo_id: photo.key for photo in photos}, cohort, _SEED)
    seconds = simulate_seconds(cohort, len(photos), _SEED)
    rng = np.random.default_rng(_SEED)
    found: list[dict[str, ExampleWork]] = []
    for student, name in enumerate(names):
        found.append({})
        for place, photo in enumerate(photos):
            clicked = _clicked(photo.landmarks, rng)
            if student == _WIDE[0]:
                clicked = _opened(clicked, _WIDE[1])
            found[-1][photo.photo_id] = ExampleWork(
                first=sheets.first[name][photo.photo_id],
                second=sheets.second[name][photo.photo_id],
                landmarks=clicked,
                measures=measures_json(clicked),
                seconds=float(seconds[student, place]),
            )
    return found


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


def _opened(clicked: LandmarkSet, degrees: float) -> LandmarkSet:
    """The lower lip's edge turned about the corner of the mouth, away from the upper one."""
    names = ("mouth_corner", "upper_lip_edge", "lower_lip_edge")
    if any(name not in clicked.points for name in names):
        return clicked
    corner, upper, lower = (complex(clicked.points[name].x, clicked.points[name].y) for name in names)
    away = (lower - corner) / (upper - corner)
    turned = corner + (lower - corner) * np.exp(1j * np.copysign(np.radians(degrees), away.imag))
    moved = replace(clicked.points["lower_lip_edge"], x=max(0.0, turned.real), y=max(0.0, turned.imag))
    return replace(clicked, points={**clicked.points, "lower_lip_edge": moved})
