"""Reports come by the program's own routes, to whoever may have them at that moment, with the numbers of the page."""

import csv
from collections.abc import Iterator
from io import BytesIO, StringIO
from pathlib import Path

import httpx
import pytest
from openpyxl import load_workbook
from own_loop import run_beside
from records_scene import Clock, Scene, someone_else
from review_scene import Handed, all_handed_in, simulated_class
from set_scene import data_folder
from starlette.applications import Starlette

from records.auditing.audit import AuditEntry, Outcome, last_entries
from records.identity import accounts
from records.identity.people import Person, Role
from records.identity.sessions import begin_session
from records.key.expert_keys import set_expert_key
from records.models import PersonRow, PhotoRow
from rubric.reports import CAUTIONS, NOT_A_DIAGNOSIS
from rubric.reports.tables import item_words
from screens import data
from screens.door.cookies import MARK, SESSION, new_mark
from screens.door.middleware import DoorMiddleware
from screens.door.routes import door_routes
from screens.door.visitor import secret_of
from screens.review.report_routes import report_routes
from screens.review.work import reviewed
from tests.paper import words_of
from vision.landmarks import LandmarkSet

PASSWORD = "quiet river stones"
HOST = "http://localhost:8501"


@pytest.fixture(autouse=True)
def own_data_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    monkeypatch.setenv("LATCH_AND_LINE_DATA", str(tmp_path / "data"))
    with data_folder():
        yield


@pytest.fixture
def handed(tmp_path: Path) -> Handed:
    """A class of the person at this computer."""
    clock = Clock(data.store().now())
    scene = Scene(store=data.store(), person=data.me(), clock=clock, folder=tmp_path / "data")
    return all_handed_in(simulated_class(scene, n_students=6, n_photos=3))


class InThisProcess(httpx.BaseTransport):
    """Hands requests to the routes without a network, as if they came from this computer."""

    app = Starlette(routes=[*report_routes(), *door_routes()], middleware=[DoorMiddleware.entry()])

    def handle_request(self, request: httpx.Request) -> httpx.Response:
        async def answer() -> httpx.Response:
            transport = httpx.ASGITransport(app=self.app, client=("127.0.0.1", 50000))
            got = await transport.handle_async_request(request)
            return httpx.Response(got.status_code, headers=got.headers, content=await got.aread())

        return run_beside(answer())


def browser() -> httpx.Client:
    return httpx.Client(transport=InThisProcess(), base_url=HOST)


def at_this_computer() -> httpx.Client:
    """A browser that has opened a page here and so carries this computer's mark."""
    here = browser()
    here.cookies.set(MARK, new_mark(secret_of(data.store())))
    return here


def signed_in(person: Person) -> httpx.Client:
    other = browser()
    with data.store().writing() as session:
        token = begin_session(data.store(), session, person.id)
    other.cookies.set(SESSION, token)
    return other


def path(handed: Handed, ending: str) -> str:
    return f"/reports/class/{handed.made.work.id}/report.{ending}"


def rows_of(csv_bytes: bytes) -> list[list[str]]:
    return list(csv.reader(StringIO(csv_bytes.decode("utf-8-sig"))))


def test_all_forms_hold_the_numbers_of_the_page(handed: Handed) -> None:
    work = reviewed(data.store(), data.me(), handed.made.work.id, data.checklist())
    here = at_this_computer()
    rows = rows_of(here.get(path(handed, "csv")).content)
    book = load_workbook(BytesIO(here.get(path(handed, "xlsx")).content))
    cells = [[cell.value for cell in row] for sheet in book for row in sheet.iter_rows()]
    pdf = here.get(path(handed, "pdf"))
    assert pdf.headers["content-type"] == "application/pdf"
    on_paper = words_of(pdf.content)
    for item, group in zip(work.review.table.key.items, work.review.items, strict=True):
        words, value = item_words(data.checklist(), item), group.agrees.value
        assert value is not None
        [in_csv] = [row for row in rows if words in row[1:2] and len(row) > 5]
        [in_book] = [row for row in cells if row[1:2] == [words] and isinstance(row[2], int | float)]
        assert float(in_csv[2]) == in_book[2]
        assert abs(float(in_csv[2]) - 100 * value) <= 0.5
        assert f"{in_book[2]:g}" in on_paper
    for sentence in (NOT_A_DIAGNOSIS, CAUTIONS[0]):
        assert any(sentence in str(cell) for row in cells for cell in row)
        assert sentence.split()[0] in on_paper
    assert "Student 1" in on_paper
    assert handed.made.students[0].handle not in on_paper


def test_names_come_into_a_report_only_where_asked_for(handed: Handed) -> None:
    here = at_this_computer()
    handle = handed.made.students[0].handle
    assert handle not in here.get(path(handed, "csv")).text
    assert handle in here.get(f"{path(handed, 'csv')}?names=1").text


def test_the_pdf_speaks_the_language_of_whoever_asks_and_tables_for_programs_stay_english(handed: Handed) -> None:
    here = at_this_computer()
    english = {ending: here.get(path(handed, ending)).content for ending in ("pdf", "csv")}
    here.headers["Accept-Language"] = "de-AT,de;q=0.9"
    on_paper = words_of(here.get(path(handed, "pdf")).content)
    assert "Was auffällt" in on_paper
    assert "What stands out" not in on_paper
    assert "What stands out" in words_of(english["pdf"])
    assert here.get(path(handed, "csv")).content == english["csv"]


@pytest.mark.parametrize("ending", ["pdf", "xlsx", "csv"])
def test_a_report_with_names_is_written_down_by_ids_and_one_without_is_not(handed: Handed, ending: str) -> None:
    def lines() -> list[AuditEntry]:
        with data.store().reading() as session:
            return [one for one in last_entries(session, 1000) if one.action == "report_with_names"]

    here = at_this_computer()
    here.get(path(handed, ending))
    assert lines() == []
    here.get(f"{path(handed, ending)}?names=1")
    [line] = lines()
    assert (line.actor_id, line.object_id, line.outcome) == (data.me().id, handed.made.work.id, Outcome.DONE)


def test_a_stranger_s_wish_for_names_is_written_down_as_refused(handed: Handed) -> None:
    accounts.first_account(data.store(), handle="heron", password=PASSWORD)
    other = someone_else(data.store(), Role.INSTRUCTOR)
    assert signed_in(other).get(f"{path(handed, 'csv')}?names=1").status_code == 404
    with data.store().reading() as session:
        [line] = last_entries(session, 1)
    assert (line.actor_id, line.object_id, line.outcome) == (other.id, handed.made.work.id, Outcome.REFUSED)


def test_a_handle_or_a_title_that_is_a_formula_stays_text(handed: Handed) -> None:
    formula = '=HYPERLINK("http://a.example","x")'
    with data.store().writing() as session:
        session.get_one(PersonRow, handed.made.students[0].id).handle = formula
        session.get_one(PhotoRow, handed.made.photos[0].id).title = "@SUM(1+9)*cmd|' /C calc'!A0"
    here = at_this_computer()
    for row in rows_of(here.get(f"{path(handed, 'csv')}?names=1").content):
        assert not any(cell.startswith(("=", "@", "\t", "\r")) for cell in row)
    book = load_workbook(BytesIO(here.get(f"{path(handed, 'xlsx')}?names=1").content))
    found = [cell for sheet in book for row in sheet.iter_rows() for cell in row if "HYPERLINK" in str(cell.value)]
    assert found
    assert {cell.data_type for cell in found} == {"s"}


def test_nobody_else_gets_it_and_nothing_between_may_keep_it(handed: Handed) -> None:
    assert at_this_computer().get(path(handed, "csv")).headers["cache-control"] == "private, no-store"
    assert browser().get(path(handed, "csv")).status_code == 401
    accounts.first_account(data.store(), handle="heron", password=PASSWORD)
    people = [handed.made.students[0], *(someone_else(data.store(), role) for role in Role)]
    for person in people:
        answer = signed_in(person).get(path(handed, "csv"))
        assert (answer.status_code, answer.text) == (404, "This is not available.")


def test_an_unknown_form_or_work_is_one_answer(handed: Handed) -> None:
    here = at_this_computer()
    assert here.get(path(handed, "doc")).status_code == 404
    assert here.get(f"/reports/class/{'0' * 32}/report.pdf").status_code == 404


def test_ones_own_report_is_for_oneself(handed: Handed) -> None:
    student, other = handed.made.students[:2]
    accounts.first_account(data.store(), handle="heron", password=PASSWORD)
    mine = signed_in(student).get("/reports/mine/report.csv")
    theirs = signed_in(other).get("/reports/mine/report.csv")
    assert mine.status_code == theirs.status_code == 200
    assert "agrees with the key" in mine.text
    assert mine.content != theirs.content
    assert signed_in(someone_else(data.store(), Role.STUDENT)).get("/reports/mine/report.csv").status_code == 404


def test_the_report_on_a_set_tells_the_keys_and_how_far_experts_agree(handed: Handed) -> None:
    version = handed.made.version
    keys = [
        slot.key for slot in reviewed(data.store(), data.me(), handed.made.work.id, data.checklist()).slots.values()
    ]
    assert keys[0] is not None
    for number in range(2):
        person = data.me() if number else someone_else(data.store(), Role.INSTRUCTOR)
        photo_id = handed.made.photos[0].id
        set_expert_key(data.store(), person, photo_id, keys[0], LandmarkSet(), expected_revision=0)
    here = at_this_computer()
    rows = rows_of(here.get(f"/reports/set/{version.id}/report.csv").content)
    n_answers = int((handed.key.answers >= 0).sum())
    assert any(
        f"{n_answers} answers in the keys are compared with students' answers." in cell for row in rows for cell in row
    )
    [percent] = [row for row in rows if row[:1] == ["percent agreement"]]
    assert float(percent[1]) == 1.0
    assert here.get(f"/reports/set/{version.id}/report.pdf").content.startswith(b"%PDF")
    assert here.get(f"/reports/set/{'0' * 32}/report.pdf").status_code == 404
