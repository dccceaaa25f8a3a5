"""What someone may practise alone on, by sign, and where the experts part: ids and signs, never an answer."""

from class_scene import a_class
from records_scene import KEY, Scene, add, someone_else

from records.classroom import assignments
from records.identity.people import Role
from records.key.expert_keys import set_expert_key
from records.key.keys import put_key, set_key
from records.key.panel_keys import panel_keys, parted_signs
from records.photo.practice_photos import photos_by_sign
from rubric.answers import Answer, KeyAnswer, Phase, ReferenceKey, View
from vision.landmarks import LandmarkSet


def key(**answers: Answer) -> ReferenceKey:
    return ReferenceKey(
        phase=Phase.AT_BREAST,
        view=View.SIDE,
        answers={item: KeyAnswer(answer=answer, why="as I see it") for item, answer in answers.items()},
    )


def test_photos_are_offered_by_the_signs_of_their_keys_to_whoever_may_practise_on_them(scene: Scene) -> None:
    first, second, bare = (add(scene.store, scene.person, title=f"Doll {n}", shade=50 + n) for n in range(3))
    set_key(scene.store, scene.person, first.id, key(close=Answer.SEEN, lips_out=Answer.CANT_TELL), LandmarkSet())
    set_key(scene.store, scene.person, second.id, key(close=Answer.NOT_SEEN), LandmarkSet())
    assert dict(photos_by_sign(scene.store, scene.person)) == {"close": (first.id, second.id), "lips_out": (first.id,)}
    assert bare.id not in str(photos_by_sign(scene.store, scene.person))
    assert photos_by_sign(scene.store, someone_else(scene.store)) == {}


def test_a_student_of_a_class_is_not_offered_what_the_class_works_on(scene: Scene) -> None:
    made = a_class(scene, n_photos=2)
    student = made.students[0]
    own = add(scene.store, student, title="my own doll", shade=99)
    with scene.store.writing() as session:
        put_key(scene.store, session, own.id, KEY, LandmarkSet())
    assert dict(photos_by_sign(scene.store, student)) == {"stays_wide": (own.id,)}
    assignments.close(scene.store, made.instructor, made.work.id)
    assert dict(photos_by_sign(scene.store, student)) == {"stays_wide": (own.id,)}
    assert len(photos_by_sign(scene.store, made.instructor)["stays_wide"]) == 2


def test_signs_on_which_experts_part_are_told_to_whoever_handed_in_and_the_readings_to_the_instructor(
    scene: Scene,
) -> None:
    made = a_class(scene, n_photos=2)
    made.do(made.students[0], 1)
    readings = (key(close=Answer.SEEN, lips_out=Answer.SEEN), key(close=Answer.NOT_SEEN, lips_out=Answer.SEEN))
    for photo in made.photos:
        for one in readings:
            expert = someone_else(scene.store, Role.INSTRUCTOR)
            set_expert_key(scene.store, expert, photo.id, one, LandmarkSet(), expected_revision=0)
    assert dict(parted_signs(scene.store, made.students[0])) == {made.photos[0].id: frozenset({"close"})}
    assert parted_signs(scene.store, made.students[1]) == {}
    told = panel_keys(scene.store, made.instructor, made.work.id)
    assert {slot: sorted(map(str, keys)) for slot, keys in told.items()} == {
        slot: sorted(map(str, readings)) for slot in (1, 2)
    }
