"""A class of the scene's person: a published set of doll photos, students who belong to it, and work that was given."""

from dataclasses import dataclass, field

from records_scene import KEY, KEY_POINTS, MEASURES, POINTS, SECOND_SHEET, SHEET, Scene, add, consent_of, someone_else

from records import teaching_sets as sets
from records.attempt.attempts import AttemptRecord, save_points, save_sheet
from records.attempt.handing_in import HandedIn, hand_in
from records.classroom import assignments, class_work, classes
from records.classroom.class_values import AssignmentRecord, ClassRecord
from records.classroom.membership import add_member
from records.consent.consents import Scope
from records.identity.people import Person, Role
from records.key.keys import set_key
from records.photo.photos import PhotoRecord
from records.teaching_sets import VersionRecord


def photos_with_keys(scene: Scene, n: int, *scopes: Scope) -> list[PhotoRecord]:
    """Photos of the scene's person, each with a key: dolls, or consented photos where scopes are named."""
    photos = []
    for number in range(n):
        consent = {"consent": consent_of(scene.clock, *scopes, shown=f"pair {number}")} if scopes else {}
        photo = add(scene.store, scene.person, shade=20 + 5 * number, title=f"Teaches point {number}", **consent)
        set_key(scene.store, scene.person, photo.id, KEY, KEY_POINTS)
        photos.append(photo)
    return photos


def published_set(scene: Scene, photos: list[PhotoRecord]) -> VersionRecord:
    begun = sets.new_set(scene.store, scene.person, "First looks")
    assert begun.draft is not None
    draft = sets.add_photos(
        scene.store, scene.person, begun.draft.id, [photo.id for photo in photos], expected_revision=1
    )
    return sets.publish(scene.store, scene.person, draft.id, expected_revision=draft.revision, checklist_version="3")


def join(scene: Scene, class_id: str, person: Person, part: str = "student") -> Person:
    """Someone's place in the class, as joining by a code leaves it."""
    with scene.store.writing() as session:
        add_member(session, class_id, person.id, part, at=scene.clock())
    return person


@dataclass(frozen=True, kw_only=True)
class ClassScene:
    """A class with its set, its students and one assignment."""

    scene: Scene
    photos: list[PhotoRecord]
    version: VersionRecord
    group: ClassRecord
    students: list[Person]
    work: AssignmentRecord
    options: dict[str, object] = field(default_factory=dict)

    @property
    def instructor(self) -> Person:
        return self.scene.person

    def start(self, student: Person, slot: int) -> AttemptRecord:
        return class_work.start_slot(self.scene.store, student, self.work.id, slot)

    def do(self, student: Person, slot: int) -> HandedIn:
        """Begin at a slot, fill it and hand it in."""
        store = self.scene.store
        attempt = self.start(student, slot)
        save_sheet(store, student, attempt.id, 1, SHEET, 0)
        save_points(store, student, attempt.id, 1, POINTS, 0)
        if self.work.places_twice:
            save_points(store, student, attempt.id, 2, POINTS, 0)
        save_sheet(store, student, attempt.id, 2, SECOND_SHEET, 0)
        return hand_in(store, student, attempt.id, measures_json=MEASURES, measure_version="7", checklist_version="3")

    def mine(self, student: Person) -> assignments.MyAssignment:
        return assignments.my_assignment(self.scene.store, student, self.work.id)


def a_class(
    scene: Scene, *, n_photos: int = 3, n_students: int = 2, scopes: tuple[Scope, ...] = (), **options: object
) -> ClassScene:
    """All of it; `options` go to `assignments.give`."""
    photos = photos_with_keys(scene, n_photos, *scopes)
    version = published_set(scene, photos)
    group = classes.new_class(
        scene.store, scene.person, title="Linden Room", keep_until=scene.store.today().replace(year=2031)
    )
    students = []
    for _ in range(n_students):
        students.append(join(scene, group.id, someone_else(scene.store, Role.STUDENT)))
        scene.clock.turn(seconds=1)
    work = assignments.give(scene.store, scene.person, group.id, version.id, title="Week 2", **options)
    return ClassScene(
        scene=scene, photos=photos, version=version, group=group, students=students, work=work, options=dict(options)
    )
