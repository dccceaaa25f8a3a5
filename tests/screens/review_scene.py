"""A class whose answers are known: keys and sheets from a simulated cohort, handed in through the services."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import timedelta
from typing import Any

import numpy as np
from class_scene import ClassScene, join, published_set
from records_scene import Scene, add, someone_else
from simulated_classes import simulated_key

from records.attempt.attempts import save_points, save_sheet
from records.attempt.handing_in import hand_in
from records.classroom import assignments, class_work, classes
from records.identity.people import Role
from records.key.keys import set_key
from records.photo.photos import PhotoRecord
from rubric.answers import AnswerSheet, ItemAnswer, KeyAnswer, Phase, ReferenceKey, View
from rubric.review.table import ANSWERS, BLANK, ClassTable, Codes, KeyTable
from rubric.simulation.classes import Cohort, simulate_answers, simulate_second_look
from screens.practice.measuring import measures_json
from vision.landmarks import LandmarkSet, Point

ITEMS = ("body_line", "close", "stays_wide", "lips_out", "chin_touch")
#: The body line of these is 135 degrees: the hip lies a quarter turn less than straight on.
KEY_LINE = LandmarkSet(
    points={
        "ear": Point(x=10, y=10, by="reference"),
        "shoulder": Point(x=20, y=10, by="reference"),
        "hip": Point(x=30, y=20, by="reference"),
    }
)


@dataclass(frozen=True, kw_only=True)
class Handed:
    """What the class was given and handed in, as arrays."""

    made: ClassScene
    key: KeyTable
    first: ClassTable
    second: ClassTable
    attempts: Mapping[tuple[int, int], str] = field(default_factory=dict)


def key_of(codes: Codes, accepted: np.ndarray) -> ReferenceKey:
    """One photo's key; blanks are left out."""
    answers = {
        item: KeyAnswer(
            answer=ANSWERS[code],
            why="as it was simulated",
            accepted=frozenset(answer for answer, also in zip(ANSWERS, accepted[at], strict=True) if also),
        )
        for at, (item, code) in enumerate(zip(ITEMS, codes.tolist(), strict=True))
        if code != BLANK
    }
    return ReferenceKey(phase=Phase.AT_BREAST, view=View.SIDE, answers=answers)


def sheet_of(codes: Codes) -> AnswerSheet:
    """One student's answers to a photo."""
    answers = {
        item: ItemAnswer(answer=ANSWERS[code])
        for item, code in zip(ITEMS, codes.tolist(), strict=True)
        if code != BLANK
    }
    return AnswerSheet(phase=Phase.AT_BREAST, view=View.SIDE, answers=answers)


def clicked(student: int, slot: int) -> LandmarkSet:
    """The key's points, each student's own way off."""
    return LandmarkSet(points={name: Point(x=p.x + student, y=p.y + 0.5 * slot) for name, p in KEY_LINE.points.items()})


def simulated_class(scene: Scene, *, n_students: int = 6, n_photos: int = 4, seed: int = 3, **options: Any) -> Handed:
    """All of it, nothing handed in yet."""
    key = simulated_key(n_photos, ITEMS, seed)
    cohort = Cohort(students=tuple(f"Student {n}" for n in range(1, n_students + 1)), blank=0.15)
    first = simulate_answers(key, cohort, seed)
    second = simulate_second_look(first, cohort, seed)
    photos: list[PhotoRecord] = []
    for at in range(n_photos):
        photo = add(scene.store, scene.person, shade=20 + 5 * at, title=f"Teaches point {at}")
        set_key(scene.store, scene.person, photo.id, key_of(key.answers[at], key.accepted[at]), KEY_LINE)
        photos.append(photo)
    version = published_set(scene, photos)
    until = scene.store.today() + timedelta(days=200)
    group = classes.new_class(scene.store, scene.person, title="Linden Room", keep_until=until)
    students = []
    for _ in range(n_students):
        students.append(join(scene, group.id, someone_else(scene.store, Role.STUDENT)))
        scene.clock.turn(seconds=1)
    work = assignments.give(scene.store, scene.person, group.id, version.id, title="Week 2", **options)
    made = ClassScene(scene=scene, photos=photos, version=version, group=group, students=students, work=work)
    return Handed(made=made, key=key, first=first, second=second)


def do(handed: Handed, student: int, slot: int, first: Codes, second: Codes | None = None) -> str:
    """One student's work at one place, by answer codes; returns the attempt's id."""
    store, person = handed.made.scene.store, handed.made.students[student]
    attempt = class_work.start_slot(store, person, handed.made.work.id, slot)
    save_sheet(store, person, attempt.id, 1, sheet_of(first), 0)
    points = clicked(student, slot)
    save_points(store, person, attempt.id, 1, points, 0)
    save_sheet(store, person, attempt.id, 2, sheet_of(first if second is None else second), 0)
    done = hand_in(
        store, person, attempt.id, measures_json=measures_json(points), measure_version="7", checklist_version="3"
    )
    return done.attempt_id


def all_handed_in(handed: Handed) -> Handed:
    """Everyone does every photo, as simulated."""
    attempts = {
        (student, at): do(
            handed, student, at + 1, handed.first.answers[student, at], handed.second.answers[student, at]
        )
        for student in range(len(handed.made.students))
        for at in range(len(handed.key.photos))
    }
    return Handed(made=handed.made, key=handed.key, first=handed.first, second=handed.second, attempts=attempts)
