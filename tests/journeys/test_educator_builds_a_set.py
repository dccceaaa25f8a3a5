"""An educator builds a set of 20 photos, publishes it, and it comes in at another data folder as the same set."""

import io
import re
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from PIL import Image
from playwright.sync_api import FilePayload, Page, expect

from records import teaching_sets as sets
from records.consent.consents import Scope
from records.identity.people import Person, local_person
from records.key.reference_keys import key_to_edit, write_key
from records.photo.photos import list_photos, read_bytes
from records.store import Store
from rubric.answers import Answer, KeyAnswer, Phase, ReferenceKey, View
from tests.journeys.people import SAMPLES, Server, pictures_shown, press, say_when_and_where, settle
from tests.journeys.school import records_of
from tests.served import serve, stop
from vision.landmarks import LandmarkSet, Point

N_PHOTOS = 20
TITLE = "First looks, week 2"


def twenty_photos() -> list[FilePayload]:
    """Small pictures that differ: two windows of shipped doll photos each, some turned."""
    files = []
    for number, path in enumerate(sorted(SAMPLES.glob("*_side.jpg"))[: N_PHOTOS // 2]):
        with Image.open(path) as whole:
            width, height = whole.size
            for half in (0, 1):
                left = half * width // 3
                part = whole.crop((left, 0, left + 2 * width // 3, height)).resize((480, 540))
                part = part.rotate(90 * (number % 4), expand=True)
                out = io.BytesIO()
                part.save(out, "JPEG", quality=85)
                files.append(
                    FilePayload(name=f"IMG_{2 * number + half}.jpg", mimeType="image/jpeg", buffer=out.getvalue())
                )
    return files


@pytest.fixture
def second_program(tmp_path: Path) -> Iterator[Server]:
    """The program once more, on another data folder."""
    data = tmp_path / "elsewhere"
    url, process = serve("app.py", tmp_path / "second.log", {"LATCH_AND_LINE_DATA": str(data)})
    yield Server(url=url, data=data, process=process)
    stop(process)


def begin_a_set(page: Page, url: str) -> str:
    """A new, empty set; returns its draft's id."""
    page.goto(f"{url}/sets")
    page.get_by_label("Title of a new set").fill(TITLE)
    press(page, "Begin a set")
    expect(page.get_by_role("heading", name=TITLE)).to_be_visible()
    expect(page.get_by_text("There is no photo in the set.")).to_be_visible()
    return page.url.split("version=")[1]


def add_many(page: Page, files: list[FilePayload]) -> None:
    press(page, "Add many photos at once")
    nonsense = FilePayload(name="notes.jpg", mimeType="image/jpeg", buffer=b"a shopping list")
    page.locator("input[type=file]").set_input_files([*files, nonsense])
    expect(page.get_by_role("button", name=f"Keep {len(files)} photos and put them into the set")).to_be_visible(
        timeout=90_000
    )
    settle(page)
    expect(page.get_by_text(re.compile("notes.jpg: The file is plain text"))).to_be_visible()
    assert pictures_shown(page) == len(files)
    page.get_by_text("Dolls or teaching models, and no person", exact=True).click()
    settle(page)
    page.get_by_text(re.compile("^I declare that every one")).click()
    settle(page)
    page.get_by_label("Title for all, a number is added").fill("Doll, cradle hold")
    page.get_by_label("Title for all, a number is added").press("Enter")
    settle(page)
    press(page, f"Keep {len(files)} photos and put them into the set")
    expect(page.get_by_text(f"{len(files)} photos kept. Put into")).to_be_visible(timeout=90_000)
    settle(page)


def write_first_key(page: Page) -> None:
    """The first photo's key, by hand: when, from where, two points, one sign with a reason."""
    page.get_by_role("button", name=re.compile("^Key: ")).first.click()
    expect(page.get_by_role("heading", name=re.compile("^Key: "))).to_be_visible()
    settle(page)
    say_when_and_where(page, "At the breast", "Side")
    photo = page.get_by_role("img", name="practice photo")
    for x, y in ((0.3, 0.3), (0.5, 0.4)):
        box = photo.bounding_box()
        assert box is not None
        page.mouse.click(box["x"] + x * box["width"], box["y"] + y * box["height"])
        settle(page)
    page.get_by_role("radio", name="Signs").click()
    settle(page)
    page.get_by_role("radiogroup", name=re.compile(r"^2\. ")).get_by_text("Seen", exact=True).click()
    settle(page)
    page.get_by_label("Why: what in the photo shows it").fill("no light between them")
    page.get_by_label("Why: what in the photo shows it").blur()
    settle(page)
    press(page, "Back to the set")


def write_other_keys(store: Store, person: Person, version_id: str) -> None:
    """The other nineteen, past the browser: what a hand does to one it does to all."""
    for number, photo in enumerate(sets.get_version(store, person, version_id).photos):
        assert photo.photo_id is not None
        if photo.has_key:
            continue
        key = ReferenceKey(
            phase=Phase.AT_BREAST,
            view=View.SIDE,
            answers={
                "close": KeyAnswer(answer=Answer.SEEN, why=f"reason {number}", accepted=frozenset({Answer.CANT_TELL}))
            },
        )
        points = LandmarkSet(points={"ear": Point(x=100.5 + number, y=77.25, by="reference")})
        write_key(store, person, photo.photo_id, key, points, expected_revision=0)


def frozen(store: Store, person: Person, version: sets.VersionRecord) -> list[tuple[bytes, object, object]]:
    """Each photo's bytes, key and points, in order."""
    keys = sets.frozen_keys(store, person, version.id)
    return [
        (
            read_bytes(store, person, str(photo.photo_id), use=Scope.TEACHING_SETS),
            keys[str(photo.photo_id)].key,
            keys[str(photo.photo_id)].landmarks,
        )
        for photo in version.photos
    ]


def test_a_set_of_twenty_photos_is_built_published_exported_and_is_the_same_elsewhere(
    second_program: Server, page: Page, run_program: Callable[[], Server], tmp_path: Path
) -> None:
    server = run_program()
    version_id = begin_a_set(page, server.url)
    files = twenty_photos()
    assert len(files) == N_PHOTOS
    add_many(page, files)
    write_first_key(page)
    with records_of(server.data) as store:
        me = local_person(store)
        first = sets.get_version(store, me, version_id).photos[0]
        by_hand = key_to_edit(store, me, str(first.photo_id))
        assert by_hand.key is not None
        assert by_hand.key.answers["close"].why == "no light between them"
        assert by_hand.landmarks is not None
        assert {point.by for point in by_hand.landmarks.points.values()} == {"reference"}
        assert len(by_hand.landmarks.points) == 2
        write_other_keys(store, me, version_id)
    page.reload()
    expect(page.get_by_text("Nothing stands against it.")).to_be_visible(timeout=90_000)
    settle(page)
    press(page, "Publish this set")
    expect(page.get_by_text("Published. Instructors can give it to their classes now.")).to_be_visible()
    assert pictures_shown(page) == N_PHOTOS

    page.get_by_label("To whom it goes").fill("Hollowmere, second site")
    press(page, f"Make the file with {N_PHOTOS} photos")
    with page.expect_download() as download:
        page.get_by_text("Save the file for Hollowmere, second site").click()
    bundle = tmp_path / "set.zip"
    download.value.save_as(bundle)
    with page.expect_download() as sheet:
        page.get_by_text("Worksheet to fill in (PDF)").click()
    assert Path(sheet.value.path()).read_bytes().startswith(b"%PDF-")

    page.goto(f"{second_program.url}/sets")
    expect(page.get_by_text("There is no set yet")).to_be_visible()
    settle(page)
    page.locator("input[type=file]").set_input_files(bundle)
    press(page, "Check it and take it in")
    expect(page.get_by_text(f"“{TITLE}” is here, with {N_PHOTOS} photos.")).to_be_visible(timeout=60_000)
    assert pictures_shown(page) == N_PHOTOS
    same_here_and_there(server.data, second_program.data)


def same_here_and_there(here: Path, there: Path) -> None:
    """Both folders hold one published set, byte for byte the same in photos and keys."""
    with records_of(here) as store, records_of(there) as other:
        me, someone = local_person(store), local_person(other)
        (mine,) = sets.published_versions(store, me)
        (theirs,) = sets.published_versions(other, someone)
        assert frozen(store, me, mine) == frozen(other, someone, theirs)
        assert mine.seal == theirs.seal
        assert sets.seal_holds(other, someone, theirs.id) is True
        assert len([photo for photo in list_photos(other, someone) if photo.sample_id is None]) == N_PHOTOS
