"""One school behind one running program for all attacks: two students of a class, work whose key waits, things of others."""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest
from sqlalchemy import select

from records.attempt.attempts import Step, save_step
from records.classroom import class_work
from records.classroom.class_values import KeyRule
from records.identity.people import Person, person_of
from records.models import AuditRow, PersonRow
from records.store import Store
from tests.access.forging import ForgingPage
from tests.journeys.school import School, give, open_school, records_of, student, works
from tests.served import serve, stop


@dataclass(frozen=True, kw_only=True)
class Besieged:
    """Where the program answers, its log and data, and what an attacker would like to reach."""

    url: str
    log: Path
    data: Path
    school: School
    work: str
    attempt_of_lark: str
    scan_of_heron: str

    def audit_rows(self) -> int:
        with records_of(self.data) as store, store.reading() as session:
            return session.query(AuditRow).count()


@pytest.fixture(scope="session")
def besieged(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Besieged]:
    """heron teaches; lark handed in, wren did not; both wait for the key. Photo 3 is a consented one."""
    folder = tmp_path_factory.mktemp("besieged")
    data, log = folder / "data", folder / "server.log"
    with records_of(data) as store:
        school = open_school(store, ("cradle_side", "medium_side"), consented=True)
        work = give(store, school, key_rule=KeyRule.WHEN_OPENED)
        student(store, school, "wren")
        attempt = works(store, school, student(store, school, "lark"), work, 1)
        consent_id = school.photos[2].consent_id
    told = {"LATCH_AND_LINE_DATA": str(data), "STREAMLIT_LOGGER_LEVEL": "debug"}
    url, process = serve("app.py", log, told)
    yield Besieged(
        url=url, log=log, data=data, school=school, work=work, attempt_of_lark=attempt, scan_of_heron=consent_id
    )
    stop(process)


@pytest.fixture
def wren(besieged: Besieged) -> Iterator[ForgingPage]:
    """A page of the student wren."""
    page = ForgingPage.of(besieged.url).sign_in("wren")
    yield page
    page.close()


@pytest.fixture
def stranger(besieged: Besieged) -> Iterator[ForgingPage]:
    """A page of someone without an account."""
    page = ForgingPage.of(besieged.url)
    yield page
    page.close()


def people_of(store: Store) -> dict[str, Person]:
    """Everyone here by their handle."""
    with store.reading() as session:
        return {row.handle: person_of(session, row) for row in session.scalars(select(PersonRow))}


@pytest.fixture
def at_the_editor(besieged: Besieged, wren: ForgingPage) -> tuple[ForgingPage, str]:
    """wren before the points of photo 2, and the id of the attempt."""
    with records_of(besieged.data) as store:
        person = people_of(store)["wren"]
        attempt = class_work.start_slot(store, person, besieged.work, 2)
        save_step(store, person, attempt.id, Step.MEASURE)
    wren.open("practise", attempt=attempt.id)
    return wren, attempt.id
