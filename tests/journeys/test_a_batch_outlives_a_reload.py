"""An educator's page is loaded again amid a batch of uploads: the batch goes on, and nothing was on the disk before."""

import re
from collections.abc import Callable

from playwright.sync_api import FilePayload, Page, expect

from records.identity.people import local_person
from records.photo.photos import list_photos
from tests.journeys.people import SAMPLES, Server, pictures_shown, press, settle
from tests.journeys.school import records_of


def files() -> list[FilePayload]:
    paths = sorted(SAMPLES.glob("*_side.jpg"))[:3]
    return [FilePayload(name=f"IMG_{n}.jpg", mimeType="image/jpeg", buffer=p.read_bytes()) for n, p in enumerate(paths)]


def own_titles(server: Server) -> list[str]:
    with records_of(server.data) as store:
        photos = list_photos(store, local_person(store))
    return sorted(photo.title for photo in photos if photo.sample_id is None)


def test_a_batch_half_done_is_found_again_after_a_reload(page: Page, run_program: Callable[[], Server]) -> None:
    server = run_program()
    page.goto(f"{server.url}/many-photos")
    expect(page.get_by_role("heading", name="Add many photos")).to_be_visible()
    before = sorted((server.data / "photos").iterdir())
    page.locator("input[type=file]").set_input_files(files())
    expect(page.get_by_role("button", name="Keep 3 photos")).to_be_visible(timeout=90_000)
    settle(page)
    page.get_by_text("Leave out", exact=True).first.click()
    expect(page.get_by_role("button", name="Keep 2 photos")).to_be_visible()
    settle(page)

    page.reload()
    expect(page.get_by_text(re.compile("A batch of 3 photos waits here"))).to_be_visible(timeout=90_000)
    press(page, "Go on with it here")
    expect(page.get_by_role("button", name="Keep 2 photos")).to_be_visible(timeout=90_000)
    settle(page)
    assert pictures_shown(page) == 3
    assert sorted((server.data / "photos").iterdir()) == before
    assert own_titles(server) == []

    page.get_by_text("Dolls or teaching models, and no person", exact=True).click()
    settle(page)
    page.get_by_text(re.compile("^I declare that every one")).click()
    settle(page)
    page.get_by_label("Title for all, a number is added").fill("Doll, cradle hold")
    page.get_by_label("Title for all, a number is added").press("Enter")
    settle(page)
    press(page, "Keep 2 photos")
    expect(page.get_by_text(re.compile("^2 photos kept"))).to_be_visible(timeout=90_000)
    assert own_titles(server) == ["Doll, cradle hold, 1", "Doll, cradle hold, 2"]
    page.reload()
    expect(page.get_by_role("heading", name="Add many photos")).to_be_visible()
    settle(page)
    expect(page.get_by_text(re.compile("waits here"))).to_have_count(0)
