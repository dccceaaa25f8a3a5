"""Two people in two places read the same due date, each in their own time, and setting it again does not move it."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, date, datetime, timedelta

import pytest
from playwright.sync_api import Browser, Page, expect

from records.classroom import assignments, classes
from records.identity.people import local_person
from screens.samples import add_shipped_samples
from tests.journeys.people import Server, press, settle
from tests.journeys.school import publish, records_of, samples

#: Half past five in the evening, UTC, of a day in winter: 6 in Zurich and half past 6 of the next morning in Auckland.
DUE = datetime(date.today().year + 1, 1, 13, 17, 30, tzinfo=UTC)


@contextmanager
def reader(browser: Browser, zone: str) -> Iterator[Page]:
    context = browser.new_context(viewport={"width": 1360, "height": 900}, timezone_id=zone)
    page = context.new_page()
    page.set_default_timeout(20_000)
    yield page
    context.close()


def given(server: Server) -> str:
    """A class of whoever works alone here, and work with a due date; returns its id."""
    with records_of(server.data) as store:
        add_shipped_samples(store)
        me = local_person(store)
        version_id = publish(store, me, samples(store, me, ("cradle_side",)))
        group = classes.new_class(store, me, title="Linden Room", keep_until=store.today() + timedelta(days=600))
        return assignments.give(store, me, group.id, version_id, title="Week 2", due_at=DUE).id


def due(server: Server, work_id: str) -> datetime | None:
    with records_of(server.data) as store:
        return assignments.progress_of(store, local_person(store), work_id).assignment.due_at


@pytest.mark.parametrize(("zone", "told"), [("Europe/Zurich", (13, "18:30")), ("Pacific/Auckland", (14, "06:30"))])
def test_a_due_date_is_told_and_kept_in_the_time_of_whoever_reads_it(
    browser: Browser, run_program: Callable[[], Server], zone: str, told: tuple[int, str]
) -> None:
    server = run_program()
    work_id = given(server)
    day, at = told
    with reader(browser, zone) as page:
        page.goto(f"{server.url}/given?work={work_id}")
        expect(page.get_by_text(f"{day} January {DUE.year}, {at}").first).to_be_visible(timeout=60_000)
        settle(page)
        page.get_by_role("button", name="Due date").click()
        press(page, "Save the due date")
        settle(page)
    assert due(server, work_id) == DUE
