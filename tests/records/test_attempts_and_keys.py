"""Attempts under way, handing in, the hidden key, the own sigma, and that nobody reaches another's work."""

import math
import os
import subprocess
import sys
import threading
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import fields, is_dataclass
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from records_scene import (
    KEY,
    KEY_POINTS,
    MEASURES,
    POINTS,
    POINTS_AGAIN,
    SECOND_SHEET,
    SHEET,
    Scene,
    add,
    consent_of,
    half_done,
    is_one_sentence,
    make_scene,
    someone_else,
)

from records.attempt import attempts, handing_in, own_sigma
from records.attempt.attempts import (
    Order,
    Round,
    Step,
    open_attempts,
    resume,
    save_points,
    save_sheet,
    save_step,
    start_attempt,
)
from records.attempt.handing_in import HandedIn, hand_in, handed_in, history
from records.attempt.own_sigma import own_sigma_for, record_own_sigma
from records.consent import withdrawal
from records.consent.consents import Scope
from records.consent.ledger import own_consents
from records.errors import (
    AlreadyHandedIn,
    ConsentExpired,
    InvalidRecord,
    KeyHidden,
    NotAllowed,
    NotFound,
    NothingToHandIn,
    RecordsError,
    StaleWrite,
)
from records.identity.people import Person
from records.key import keys
from records.key.keys import key_for, set_key
from records.photo import photos
from records.rights import SERVICES
from records.store import Store
from rubric.answers import Answer, AnswerSheet, ItemAnswer, Phase, Settles, Spot, View
from vision.landmarks import LANDMARK_IDS, BodyView, HeadYaw, LandmarkSet, Point, Scale, Visibility

ROOT = Path(__file__).parent.parent.parent
NOBODY = "0" * 32


def handed(scene: Scene, attempt_id: str) -> HandedIn:
    return hand_in(scene.store, scene.person, attempt_id, measures_json=MEASURES, measure_version="1")


def test_an_attempt_is_resumed_as_it_was_saved(scene: Scene) -> None:
    photo = add(scene.store, scene.person)
    started = start_attempt(scene.store, scene.person, photo.id)
    assert (started.photo_id, started.photo_title, started.order) == (photo.id, "Cradle", Order.SCORE_FIRST)
    assert (started.step, started.started_at) == (Step.SCORE, scene.clock())
    assert (started.sheet(1), started.sheet_revision(1)) == (AnswerSheet(), 0)
    assert (started.landmarks(2), started.points_revision(2)) == (LandmarkSet(), 0)
    assert save_sheet(scene.store, scene.person, started.id, 1, SHEET, 0) == 1
    assert save_points(scene.store, scene.person, started.id, 1, POINTS, 0) == 1
    assert save_points(scene.store, scene.person, started.id, 1, POINTS_AGAIN, 1) == 2
    save_step(scene.store, scene.person, started.id, Step.MEASURE)
    found = resume(scene.store, scene.person, started.id)
    assert (found.sheet(1), found.sheet_revision(1)) == (SHEET, 1)
    assert (found.landmarks(1), found.points_revision(1), found.step) == (POINTS_AGAIN, 2, Step.MEASURE)
    assert found.sheets.keys() == found.points.keys() == {1}
    assert open_attempts(scene.store, scene.person) == (found,)


def test_measuring_first_starts_at_measuring_and_the_latest_start_comes_first(scene: Scene) -> None:
    photo = add(scene.store, scene.person)
    first = start_attempt(scene.store, scene.person, photo.id, Order.MEASURE_FIRST)
    assert first.step == Step.MEASURE
    scene.clock.turn(seconds=1)
    second = start_attempt(scene.store, scene.person, photo.id)
    assert open_attempts(scene.store, scene.person) == (second, first)


@pytest.mark.parametrize("expected", [0, 2, -1])
def test_a_stale_save_changes_nothing(scene: Scene, expected: int) -> None:
    attempt = start_attempt(scene.store, scene.person, add(scene.store, scene.person).id)
    save_sheet(scene.store, scene.person, attempt.id, 1, SHEET, 0)
    save_points(scene.store, scene.person, attempt.id, 1, POINTS, 0)
    before = resume(scene.store, scene.person, attempt.id)
    with pytest.raises(StaleWrite) as caught:
        save_sheet(scene.store, scene.person, attempt.id, 1, SECOND_SHEET, expected)
    assert is_one_sentence(caught.value)
    with pytest.raises(StaleWrite):
        save_points(scene.store, scene.person, attempt.id, 1, POINTS_AGAIN, expected)
    assert resume(scene.store, scene.person, attempt.id) == before


def test_a_first_save_that_expects_an_earlier_one_is_stale(scene: Scene) -> None:
    attempt = start_attempt(scene.store, scene.person, add(scene.store, scene.person).id)
    with pytest.raises(StaleWrite):
        save_sheet(scene.store, scene.person, attempt.id, 2, SHEET, 1)


def test_there_are_two_rounds_only(scene: Scene) -> None:
    attempt = start_attempt(scene.store, scene.person, add(scene.store, scene.person).id)
    with pytest.raises(InvalidRecord, match="rounds 1 and 2, got 3"):
        save_sheet(scene.store, scene.person, attempt.id, 3, SHEET, 0)  # type: ignore[arg-type]
    with pytest.raises(InvalidRecord):
        save_points(scene.store, scene.person, attempt.id, 0, POINTS, 0)  # type: ignore[arg-type]


def test_what_could_not_be_read_back_is_not_saved(scene: Scene) -> None:
    attempt = start_attempt(scene.store, scene.person, add(scene.store, scene.person).id)
    odd = AnswerSheet(answers={"Not An Id": ItemAnswer(answer=Answer.SEEN)})
    with pytest.raises(InvalidRecord) as caught:
        save_sheet(scene.store, scene.person, attempt.id, 1, odd, 0)
    assert is_one_sentence(caught.value)
    far = LandmarkSet(points={"chin": Point(x=1e300, y=0.0)})
    with pytest.raises(InvalidRecord) as caught:
        save_points(scene.store, scene.person, attempt.id, 1, far, 0)
    assert is_one_sentence(caught.value)
    assert resume(scene.store, scene.person, attempt.id).sheets == {}


def test_two_windows_that_save_at_once_lose_nothing(scene: Scene) -> None:
    """Two processes add sixty items each to one sheet; a stale save is read again and tried again."""
    attempt = start_attempt(scene.store, scene.person, add(scene.store, scene.person).id)
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    windows = [
        subprocess.Popen(
            [sys.executable, Path(__file__).parent / "saving_window.py", scene.folder, attempt.id, name],
            env=environment,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )
        for name in ("left", "right")
    ]
    for window in windows:
        assert window.stdout is not None
        assert window.stdout.readline() == "ready\n"
    for window in windows:
        assert window.stdin is not None
        window.stdin.write("go\n")
        window.stdin.flush()
    stale_saves = [int(window.communicate(timeout=120)[0]) for window in windows]
    assert [window.returncode for window in windows] == [0, 0]
    assert sum(stale_saves) > 0, "the windows never met, so the test showed nothing"
    found = resume(scene.store, scene.person, attempt.id)
    assert found.sheet_revision(1) == 120
    assert set(found.sheet(1).answers) == {f"{name}_{number}" for name in ("left", "right") for number in range(60)}


def test_handing_in_freezes_everything(scene: Scene) -> None:
    photo = add(scene.store, scene.person)
    attempt = half_done(scene.store, scene.person, photo)
    scene.clock.turn(minutes=4)
    done = hand_in(
        scene.store,
        scene.person,
        attempt.id,
        measures_json=MEASURES,
        measure_version="7",
        checklist_version="3",
        sheet_revision=1,
        points_revision=1,
    )
    assert (done.attempt_id, done.photo_id, done.photo_title) == (attempt.id, photo.id, "Cradle")
    assert (done.started_at, done.handed_in_at) == (attempt.started_at, scene.clock())
    assert done.sheets == {1: SHEET, 2: SECOND_SHEET}
    assert done.final_sheet == SECOND_SHEET
    assert done.landmarks == {1: POINTS, 2: POINTS_AGAIN}
    assert (done.measures, done.measure_version, done.checklist_version) == (MEASURES, "7", "3")
    assert handed_in(scene.store, scene.person, attempt.id) == done
    assert history(scene.store, scene.person) == (done,)
    assert open_attempts(scene.store, scene.person) == ()
    late: list[Callable[[], object]] = [
        lambda: save_sheet(scene.store, scene.person, attempt.id, 1, SECOND_SHEET, 1),
        lambda: save_points(scene.store, scene.person, attempt.id, 1, POINTS_AGAIN, 1),
        lambda: save_step(scene.store, scene.person, attempt.id, Step.SCORE),
        lambda: resume(scene.store, scene.person, attempt.id),
        lambda: handed(scene, attempt.id),
    ]
    for call in late:
        with pytest.raises(AlreadyHandedIn) as caught:
            call()
        assert is_one_sentence(caught.value)
    assert history(scene.store, scene.person) == (done,)


def test_nothing_is_handed_in_without_answers(scene: Scene) -> None:
    attempt = start_attempt(scene.store, scene.person, add(scene.store, scene.person).id)
    save_points(scene.store, scene.person, attempt.id, 1, POINTS, 0)
    with pytest.raises(NothingToHandIn) as caught:
        handed(scene, attempt.id)
    assert is_one_sentence(caught.value)
    with pytest.raises(NotFound):
        handed_in(scene.store, scene.person, attempt.id)


@pytest.mark.parametrize(
    "seen", [{"sheet_revision": 2}, {"points_revision": 0}, {"sheet_revision": 1, "points_revision": 2}]
)
def test_what_the_person_did_not_see_is_not_handed_in(scene: Scene, seen: dict[str, int]) -> None:
    attempt = half_done(scene.store, scene.person, add(scene.store, scene.person))
    with pytest.raises(StaleWrite) as caught:
        hand_in(scene.store, scene.person, attempt.id, measures_json=MEASURES, measure_version="1", **seen)
    assert is_one_sentence(caught.value)
    assert history(scene.store, scene.person) == ()


def test_who_saw_no_second_sheet_hands_in_the_first_and_not_one_that_came_in_between(scene: Scene) -> None:
    photo = add(scene.store, scene.person)
    alone, joined = (start_attempt(scene.store, scene.person, photo.id) for _ in range(2))
    for attempt in (alone, joined):
        save_sheet(scene.store, scene.person, attempt.id, 1, SHEET, 0)
    save_sheet(scene.store, scene.person, joined.id, 2, SECOND_SHEET, 0)

    def try_it(attempt_id: str) -> HandedIn:
        return hand_in(
            scene.store,
            scene.person,
            attempt_id,
            measures_json={},
            measure_version="1",
            sheet_revision=0,
            points_revision=0,
        )

    assert try_it(alone.id).final_sheet == SHEET
    with pytest.raises(StaleWrite):
        try_it(joined.id)


@pytest.mark.parametrize("value", [math.nan, math.inf, {1, 2}, b"bytes"])
def test_measures_that_are_not_plain_json_are_not_handed_in(scene: Scene, value: object) -> None:
    attempt = half_done(scene.store, scene.person, add(scene.store, scene.person))
    with pytest.raises(InvalidRecord) as caught:
        hand_in(scene.store, scene.person, attempt.id, measures_json={"gape_angle": value}, measure_version="1")
    assert is_one_sentence(caught.value)
    assert history(scene.store, scene.person) == ()


def test_of_many_who_hand_in_the_same_attempt_at_once_exactly_one_does(scene: Scene) -> None:
    """Half of the threads share one store, half have another, as two app processes would."""
    photo = add(scene.store, scene.person)
    other = Store.open(scene.folder, now=scene.clock, busy_seconds=30)
    for round_number in range(1, 6):
        attempt = half_done(scene.store, scene.person, photo)
        together = threading.Barrier(6)

        def try_once(number: int, attempt_id: str = attempt.id, barrier: threading.Barrier = together) -> str:
            barrier.wait()
            store = scene.store if number % 2 else other
            try:
                hand_in(store, scene.person, attempt_id, measures_json={"by": number}, measure_version="1")
            except AlreadyHandedIn:
                return "late"
            return "first"

        with ThreadPoolExecutor(6) as pool:
            said = sorted(pool.map(try_once, range(6)))
        assert said == ["first", *["late"] * 5]
        assert len(history(scene.store, scene.person)) == round_number
    other.close()


def test_thirty_threads_work_side_by_side_and_nothing_is_lost(scene: Scene) -> None:
    photo = add(scene.store, scene.person)

    def work(_: int) -> str:
        attempt = half_done(scene.store, scene.person, photo)
        photos.read_bytes(scene.store, scene.person, photo.id, "screen")
        return handed(scene, attempt.id).attempt_id

    with ThreadPoolExecutor(30) as pool:
        done = list(pool.map(work, range(60)))
    assert {one.attempt_id for one in history(scene.store, scene.person)} == set(done)
    assert all(one.sheets == {1: SHEET, 2: SECOND_SHEET} for one in history(scene.store, scene.person))


def test_an_attempt_neither_starts_nor_goes_on_after_the_consent_ended_but_can_be_handed_in(scene: Scene) -> None:
    photo = add(scene.store, scene.person, consent_of(scene.clock, days=1))
    attempt = half_done(scene.store, scene.person, photo)
    scene.clock.turn(days=2)
    with pytest.raises(ConsentExpired):
        start_attempt(scene.store, scene.person, photo.id)
    with pytest.raises(ConsentExpired):
        save_points(scene.store, scene.person, attempt.id, 1, POINTS_AGAIN, 1)
    with pytest.raises(ConsentExpired):
        save_sheet(scene.store, scene.person, attempt.id, 1, SECOND_SHEET, 1)
    assert handed(scene, attempt.id).sheets == {1: SHEET, 2: SECOND_SHEET}


def test_the_key_is_hidden_until_that_very_attempt_is_handed_in(scene: Scene) -> None:
    photo = add(scene.store, scene.person)
    assert set_key(scene.store, scene.person, photo.id, KEY, KEY_POINTS).revision == 1
    first, second = (half_done(scene.store, scene.person, photo) for _ in range(2))
    with pytest.raises(KeyHidden) as caught:
        key_for(scene.store, scene.person, first.id)
    assert is_one_sentence(caught.value)
    handed(scene, first.id)
    found = key_for(scene.store, scene.person, first.id)
    assert (found.key, found.landmarks, found.set_at) == (KEY, KEY_POINTS, scene.clock())
    with pytest.raises(KeyHidden):
        key_for(scene.store, scene.person, second.id)


def values_in(answer: object) -> list[object]:
    """All values in what a service gave, however deep."""
    if is_dataclass(answer):
        return [value for field in fields(answer) for value in values_in(getattr(answer, field.name))]
    if isinstance(answer, str | bytes) or not hasattr(answer, "__iter__"):
        return [answer]
    entries = answer.items() if hasattr(answer, "items") else answer
    return [value for entry in entries for value in values_in(entry)]


def test_nothing_that_can_be_read_before_handing_in_holds_a_piece_of_the_key(scene: Scene) -> None:
    photo = add(scene.store, scene.person)
    set_key(scene.store, scene.person, photo.id, KEY, KEY_POINTS)
    attempt = half_done(scene.store, scene.person, photo)
    given_out = (
        photos.list_photos(scene.store, scene.person),
        photos.get_photo(scene.store, scene.person, photo.id),
        own_consents(scene.store, scene.person),
        resume(scene.store, scene.person, attempt.id),
        open_attempts(scene.store, scene.person),
        history(scene.store, scene.person),
    )
    assert photos.get_photo(scene.store, scene.person, photo.id).has_key
    found = values_in(given_out)
    assert photo.id in found
    assert 101.25 in found
    assert not {"the lips stand far apart", 333.0625, 444.0625, 0.3} & {v for v in found if isinstance(v, str | float)}


def test_a_key_can_be_replaced_and_counts_its_changes(scene: Scene) -> None:
    photo = add(scene.store, scene.person)
    attempt = half_done(scene.store, scene.person, photo)
    handed(scene, attempt.id)
    with pytest.raises(NotFound, match="no reference key"):
        key_for(scene.store, scene.person, attempt.id)
    set_key(scene.store, scene.person, photo.id, KEY, KEY_POINTS)
    assert set_key(scene.store, scene.person, photo.id, KEY, KEY_POINTS).revision == 1
    assert set_key(scene.store, scene.person, photo.id, KEY, POINTS).revision == 2
    assert key_for(scene.store, scene.person, attempt.id).landmarks == POINTS


def test_own_sigma_pools_variances_by_points(scene: Scene) -> None:
    """Two rounds: sigma² = (4·1.0² + 12·2.0²)/16 = 3.25, worked by hand."""
    assert own_sigma_for(scene.store, scene.person) is None
    first = record_own_sigma(scene.store, scene.person, sigma_percent=1.0, n_points=4)
    scene.clock.turn(days=1)
    second = record_own_sigma(scene.store, scene.person, sigma_percent=2.0, n_points=12)
    pooled = own_sigma_for(scene.store, scene.person)
    assert pooled is not None
    assert pooled.sigma_percent == pytest.approx(math.sqrt(3.25), rel=1e-12)
    assert (pooled.n_points, pooled.rounds) == (16, (first, second))


def test_a_second_repeat_of_the_same_attempt_replaces_the_first(scene: Scene) -> None:
    attempt = half_done(scene.store, scene.person, add(scene.store, scene.person))
    record_own_sigma(scene.store, scene.person, sigma_percent=9.0, n_points=3, attempt_id=attempt.id)
    kept = record_own_sigma(scene.store, scene.person, sigma_percent=1.5, n_points=5, attempt_id=attempt.id)
    pooled = own_sigma_for(scene.store, scene.person)
    assert pooled is not None
    assert (pooled.sigma_percent, pooled.rounds) == (1.5, (kept,))


@pytest.mark.parametrize(("sigma", "n"), [(-0.1, 3), (math.nan, 3), (math.inf, 3), (1.0, 0)])
def test_an_impossible_repeat_is_refused(scene: Scene, sigma: float, n: int) -> None:
    with pytest.raises(InvalidRecord) as caught:
        record_own_sigma(scene.store, scene.person, sigma_percent=sigma, n_points=n)
    assert is_one_sentence(caught.value)
    assert own_sigma_for(scene.store, scene.person) is None


Call = Callable[[Store, Person, dict[str, str]], object]
#: Every service that names a record, as someone calls it on a record of somebody else. A new service must be added.
REACHING: dict[str, Call] = {
    "withdrawal.withdraw": lambda s, p, i: withdrawal.withdraw(s, p, i["consent"]),
    "withdrawal.remove_photo": lambda s, p, i: withdrawal.remove_photo(s, p, i["photo"]),
    "photos.get_photo": lambda s, p, i: photos.get_photo(s, p, i["photo"]),
    "photos.read_bytes": lambda s, p, i: photos.read_bytes(s, p, i["photo"]),
    "photos.check_use": lambda s, p, i: photos.check_use(s, p, i["photo"], Scope.OWN_PRACTICE),
    "keys.set_key": lambda s, p, i: set_key(s, p, i["photo"], KEY, KEY_POINTS),
    "keys.key_waits": lambda s, p, i: keys.key_waits(s, p, i["done"]),
    "keys.key_for": lambda s, p, i: key_for(s, p, i["done"]),
    "attempts.start_attempt": lambda s, p, i: start_attempt(s, p, i["photo"]),
    "attempts.resume": lambda s, p, i: resume(s, p, i["open"]),
    "attempts.save_step": lambda s, p, i: save_step(s, p, i["open"], Step.SCORE),
    "attempts.save_sheet": lambda s, p, i: save_sheet(s, p, i["open"], 1, SECOND_SHEET, 1),
    "attempts.save_points": lambda s, p, i: save_points(s, p, i["open"], 1, POINTS_AGAIN, 1),
    "handing_in.hand_in": lambda s, p, i: hand_in(s, p, i["open"], measures_json={}, measure_version="1"),
    "handing_in.handed_in": lambda s, p, i: handed_in(s, p, i["done"]),
    "own_sigma.record_own_sigma": lambda s, p, i: record_own_sigma(
        s, p, sigma_percent=1.0, n_points=1, attempt_id=i["open"]
    ),
}
#: Services that name no record of somebody's: they give or take the acting person's own only.
OWN_ONLY = {
    "photos.add_photo",
    "photos.list_photos",
    "attempts.open_attempts",
    "handing_in.history",
    "own_sigma.own_sigma_for",
}


def test_every_service_is_in_the_table_of_rights() -> None:
    modules = {one.__name__ for one in (attempts, handing_in, keys, own_sigma, photos, withdrawal)}
    services = {".".join(name.split(".")[-2:]) for name in SERVICES if name.rpartition(".")[0] in modules}
    assert services == REACHING.keys() | OWN_ONLY


@pytest.mark.parametrize("name", REACHING)
def test_nobody_reaches_another_s_records(scene: Scene, name: str) -> None:
    photo = add(scene.store, scene.person, consent_of(scene.clock))
    set_key(scene.store, scene.person, photo.id, KEY, KEY_POINTS)
    still_open, done = (half_done(scene.store, scene.person, photo) for _ in range(2))
    handed(scene, done.id)
    ids = {"photo": photo.id, "consent": photo.consent_id, "open": still_open.id, "done": done.id}
    before = resume(scene.store, scene.person, still_open.id), history(scene.store, scene.person)
    with pytest.raises(NotAllowed) as caught:
        REACHING[name](scene.store, someone_else(scene.store), ids)
    assert is_one_sentence(caught.value)
    assert (resume(scene.store, scene.person, still_open.id), history(scene.store, scene.person)) == before
    with pytest.raises(NotFound) as missing:
        REACHING[name](scene.store, scene.person, dict.fromkeys(ids, NOBODY))
    assert is_one_sentence(missing.value)


def test_lists_hold_the_acting_person_s_own_only(scene: Scene) -> None:
    photo = add(scene.store, scene.person)
    handed(scene, half_done(scene.store, scene.person, photo).id)
    half_done(scene.store, scene.person, photo)
    record_own_sigma(scene.store, scene.person, sigma_percent=1.0, n_points=2)
    other = someone_else(scene.store)
    assert photos.list_photos(scene.store, other) == ()
    assert own_consents(scene.store, other) == ()
    assert open_attempts(scene.store, other) == ()
    assert history(scene.store, other) == ()
    assert own_sigma_for(scene.store, other) is None


def test_a_person_who_is_not_on_record_stores_nothing(scene: Scene) -> None:
    with pytest.raises(RecordsError) as caught:
        add(scene.store, Person(id=NOBODY, handle="nobody"))
    assert is_one_sentence(caught.value)
    assert scene.photo_names == set()


numbers = st.floats(-1e6, 1e6)
sigmas = st.none() | st.floats(1e-9, 1e3)
names = st.text(st.characters(categories=["L", "N"]), min_size=1, max_size=20)
points = st.builds(
    Point,
    x=numbers,
    y=numbers,
    sigma=sigmas,
    visibility=st.sampled_from([Visibility.HIDDEN, Visibility.SEEN]),
    by=names,
)
landmark_sets = st.builds(
    LandmarkSet,
    points=st.dictionaries(st.sampled_from(LANDMARK_IDS), points),
    head_yaw=st.none() | st.builds(HeadYaw, deg=st.floats(0, 180), sigma_deg=st.floats(1e-3, 90), by=names),
    camera_elevation_deg=st.none() | st.floats(-90, 90),
    body_view=st.sampled_from(BodyView),
    scale=st.none() | st.builds(Scale, mm_per_pixel=st.floats(1e-6, 1e3), sigma=st.floats(0, 10)),
)
shares = st.floats(0, 1)
answers = st.builds(
    ItemAnswer,
    answer=st.sampled_from([Answer.SEEN, Answer.NOT_SEEN]),
    spot=st.none() | st.builds(Spot, x=shares, y=shares),
) | st.builds(ItemAnswer, answer=st.just(Answer.CANT_TELL), settles=st.none() | st.sampled_from(Settles))
sheets = st.builds(
    AnswerSheet,
    phase=st.none() | st.sampled_from(Phase),
    view=st.none() | st.sampled_from(View),
    answers=st.dictionaries(st.from_regex(r"[a-z][a-z0-9_]{0,39}", fullmatch=True), answers, max_size=30),
)


@pytest.fixture(scope="module")
def shared_scene(tmp_path_factory: pytest.TempPathFactory) -> Scene:
    """One store for all examples of a property."""
    return make_scene(tmp_path_factory.mktemp("shared") / "data")


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(sheet=sheets, landmarks=landmark_sets, round=st.sampled_from([1, 2]))
def test_sheets_and_points_come_back_from_the_database_exactly_as_they_went_in(
    shared_scene: Scene, sheet: AnswerSheet, landmarks: LandmarkSet, round: Round
) -> None:
    store, person = shared_scene.store, shared_scene.person
    known = photos.list_photos(store, person)
    photo = known[0] if known else add(store, person)
    attempt = start_attempt(store, person, photo.id)
    save_sheet(store, person, attempt.id, round, sheet, 0)
    save_points(store, person, attempt.id, round, landmarks, 0)
    found = resume(store, person, attempt.id)
    assert found.sheet(round) == sheet
    assert found.landmarks(round) == landmarks
    done = hand_in(store, person, attempt.id, measures_json=MEASURES, measure_version="1")
    assert done == handed_in(store, person, attempt.id)
    assert (done.sheets, done.landmarks) == ({round: sheet}, {round: landmarks})
