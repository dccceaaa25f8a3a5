"""Reports: one source, the same numbers in CSV, XLSX and PDF, and cells that stay what they are."""

import csv
import io
import math
import re
from datetime import UTC, date, datetime

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from openpyxl import load_workbook
from simulated_classes import demo_cohort, simulated_work

from rubric.agreement import percent_agreement
from rubric.checklist import shipped_checklist
from rubric.feedback import Outcome
from rubric.practice_plan import Attempt, practice_plan
from rubric.reports import (
    CAUTIONS,
    NOT_A_DIAGNOSIS,
    Column,
    Report,
    ReportTable,
    class_report,
    report_csv,
    report_pdf,
    report_xlsx,
    safe_text,
    set_report,
    student_report,
)
from rubric.review.whole import review_class
from tests.paper import words_of

MADE_ON = date(2026, 3, 2)
PLANTED = {
    "weak_items": {"lips_out": 0.4},
    "angle_bias": {"student 05": 12.0},
    "over_claimers": {"student 05": 0.9},
}


def _table(rows, *columns, title="Figures"):
    return ReportTable(title=title, columns=columns, rows=tuple(rows))


def _report(*tables, **given_):
    return Report(title="A title", subtitle="a class", made_on=MADE_ON, tables=tables, **given_)


TEXT, NUMBER = Column(title="name"), Column(title="bias", unit="°", decimals=1)


@pytest.fixture(scope="module")
def review():
    return review_class(simulated_work(3, demo_cohort(12, **PLANTED), n_photos=12))


@pytest.fixture(scope="module")
def reports(review):
    checklist = shipped_checklist()
    photos = {photo: f"Doll {n}" for n, photo in enumerate(review.table.key.photos)}
    one = Attempt(item="lips_out", photo="photo 01", outcome=Outcome.DIFFERS, at=datetime(2026, 3, 1, tzinfo=UTC))
    plan = practice_plan([one], {"lips_out": ["photo 01", "photo 02"]}, now=datetime(2026, 3, 2, tzinfo=UTC))
    given_ = {"title": "Linden Room", "made_on": MADE_ON, "photo_names": photos}
    return {
        "class": class_report(review, checklist, **given_),
        "named": class_report(review, checklist, student_names={"student 05": "Wren"}, **given_),
        "student": student_report(review, "student 05", checklist, plan=plan, **given_),
        "set": set_report(
            review.table.key,
            checklist,
            experts={"percent agreement": percent_agreement([["a", "a"], ["a", "b"]])},
            photos=review.photos,
            **given_,
        ),
    }


def _csv_rows(report):
    text = report_csv(report).decode("utf-8-sig")
    return list(csv.reader(io.StringIO(text, newline=""), strict=True))


def _numbers_of(report):
    """Every number of the report as it reads on a page."""
    return [
        f"{cell:.{column.decimals}f}"
        for table in report.tables
        for row in table.rows
        for cell, column in zip(row, table.columns, strict=True)
        if cell is not None and not isinstance(cell, str)
    ]


@pytest.mark.parametrize("name", ["class", "named", "student", "set"])
def test_csv_xlsx_and_pdf_hold_the_same_numbers(reports, name):
    report = reports[name]
    numbers = _numbers_of(report)
    assert len(numbers) > 30

    rows = _csv_rows(report)
    for table in report.tables:
        start = rows.index([table.title]) + 2
        for row, written in zip(table.rows, rows[start:], strict=False):
            for cell, column, text in zip(row, table.columns, written, strict=True):
                assert text == (
                    "" if cell is None else safe_text(cell) if isinstance(cell, str) else f"{cell:.{column.decimals}f}"
                )

    book = load_workbook(io.BytesIO(report_xlsx(report)))
    assert book.sheetnames[0] == "About"
    assert len(book.sheetnames) == 1 + len(report.tables)
    for table, sheet in zip(report.tables, book.worksheets[1:], strict=True):
        for place, row in enumerate(table.rows, start=2):
            values = [sheet.cell(place, at).value for at in range(1, len(row) + 1)]
            assert values == [(safe_text(cell) or None) if isinstance(cell, str) else cell for cell in row]

    shown = words_of(report_pdf(report)).split()
    for number in set(numbers):
        assert shown.count(number) >= numbers.count(number), number


@pytest.mark.parametrize("name", ["class", "student", "set"])
def test_the_line_on_diagnosis_and_the_cautions_stand_in_every_form(reports, name):
    report = reports[name]
    lines = [row[0] for row in _csv_rows(report) if row]
    book = load_workbook(io.BytesIO(report_xlsx(report)))
    about = [row[0].value for row in book["About"].iter_rows()]
    text = " ".join(words_of(report_pdf(report)).split())
    for sentence in (NOT_A_DIAGNOSIS, *CAUTIONS):
        assert sentence in lines
        assert sentence in about
        assert sentence in text
    for sheet in book.worksheets[1:]:
        assert any(cell.value == NOT_A_DIAGNOSIS for row in sheet.iter_rows() for cell in row)
    pages = words_of(report_pdf(report)).split("\f")[:-1]
    assert len(pages) >= 2
    for number, page in enumerate(pages, start=1):
        assert "they diagnose nothing" in " ".join(page.split())
        assert f"page {number}" in page


def test_no_report_judges_or_names_a_condition(reports):
    judging = {
        "good",
        "bad",
        "poor",
        "poorly",
        "fail",
        "failed",
        "correct",
        "abnormal",
        "normal",
        "weak",
        "lazy",
        "diagnosis",
    }
    for report in reports.values():
        words = set(re.findall(r"[a-z]+", words_of(report_pdf(report)).casefold()))
        assert words & judging == set()


def test_students_have_no_names_unless_the_instructor_asks(reports):
    for form in (report_csv, lambda report: b"".join(map(str.encode, _all_text(report)))):
        assert b"Wren" not in form(reports["class"])
        assert b"Wren" in form(reports["named"])


def _all_text(report):
    book = load_workbook(io.BytesIO(report_xlsx(report)))
    return [str(cell.value) for sheet in book.worksheets for row in sheet.iter_rows() for cell in row]


def test_the_numbers_of_the_students_do_not_follow_the_class_list(review, reports):
    table = next(one for one in reports["class"].tables if one.title == "Students")
    shown = [row[4] for row in table.rows]
    listed = [100 * one.agrees.low for one in review.students]
    assert shown != [round(low) for low in listed]
    assert sorted(shown) == sorted(round(low) for low in listed)


def test_a_students_report_holds_nothing_of_another_student(review, reports):
    """The same student in a class whose other students answered otherwise gets the same own tables."""
    text = report_csv(reports["student"]).decode()
    assert not re.search(r"student 0[1-46-9]|student 1\d", text)
    place = review.table.students.index("student 05")
    row = reports["student"].tables[0].rows[0]
    assert row[1] == round(100 * review.students[place].agrees.value)
    assert "12 ° wider" not in text
    assert "wider than the others on the same photos" in text


def test_the_planted_sign_stands_first_among_what_stands_out_and_its_photos_are_named(reports):
    table = reports["class"].tables[0]
    row = next(row for row in table.rows if "lower lip" in row[0])
    assert row[3].startswith("Doll ")
    assert row[3].count(";") == 2


def test_what_the_experts_part_on_is_said_to_grade_nobody(review):
    key = review.table.key
    disputed = key.disputed.copy()
    disputed[0, :2] = True
    parted = type(key)(
        photos=key.photos, items=key.items, answers=key.answers, accepted=key.accepted, disputed=disputed
    )
    report = set_report(parted, shipped_checklist(), title="A set", made_on=MADE_ON)
    assert "On 2 the experts part; these are for talking about, and nobody is compared." in report.notes
    assert report.tables[0].rows[0][-1] == 2


PAYLOADS = [
    '=HYPERLINK("http://example.org","x")',
    "=1+1",
    "+1",
    "-1+2",
    "@SUM(A1)",
    "\t=1",
    "\r=1",
    "\n=1",
    "\0=1",
    "  =1",
    "＝1+1",
    'say "hello"',
    "=cmd|' /C calc'!A0",
]


@pytest.mark.parametrize("payload", PAYLOADS)
def test_text_that_a_spreadsheet_could_take_for_a_formula_begins_with_an_apostrophe(payload):
    report = _report(_table([(payload, -3.5)], TEXT, NUMBER, title=payload), notes=(payload,))
    for row in _csv_rows(report):
        for cell in row:
            assert not cell.lstrip().startswith(("=", "+", "@", "＝"))
    cells = [row for row in _csv_rows(report) if len(row) == 2][-1]
    assert cells[0].startswith("'")
    assert cells[1] == "-3.5"  # a negative number stays a number
    sheet = load_workbook(io.BytesIO(report_xlsx(report))).worksheets[1]
    name, number = sheet.cell(2, 1), sheet.cell(2, 2)
    assert (name.data_type, number.data_type, number.value) == ("s", "n", -3.5)
    assert name.value.startswith("'")


def test_all_text_is_quoted_and_no_number_is():
    lines = report_csv(_report(_table([("chin", -1.25)], TEXT, NUMBER))).decode("utf-8-sig").split("\r\n")
    assert '"chin",-1.2' in lines
    assert '"name","bias (°)"' in lines


CELLS = st.tuples(st.text(max_size=30), st.none() | st.floats(-1e6, 1e6))


@settings(max_examples=30)
@given(st.lists(CELLS, max_size=4), st.text(max_size=40))
def test_any_text_and_number_comes_through_all_three_forms(rows, title):
    report = _report(_table(rows, TEXT, NUMBER, title=title))
    written = _csv_rows(report)[-len(rows) :] if rows else []
    for (text, number), cells in zip(rows, written, strict=True):
        assert cells[0] == safe_text(text)
        assert cells[1] == ("" if number is None else f"{round(number, 1) + 0.0:.1f}")
    sheet = load_workbook(io.BytesIO(report_xlsx(report))).worksheets[1]
    for place, (text, number) in enumerate(rows, start=2):
        assert (sheet.cell(place, 1).value or "").strip() == safe_text(text).strip()
        assert sheet.cell(place, 2).value == (None if number is None else round(number, 1))
    assert report_pdf(report).startswith(b"%PDF-")


@given(st.text(max_size=20))
def test_safe_text_never_begins_like_a_formula_and_else_changes_nothing(text):
    safe = safe_text(text)
    assert not safe.lstrip().startswith(("=", "+", "-", "@"))
    if re.fullmatch(r"[\w .]*", text):
        assert safe == text


@pytest.mark.parametrize(
    ("row", "rule"),
    [
        (("chin",), "a row needs 2 cells, got 1"),
        (("chin", math.nan), "a finite number or None"),
        (("chin", math.inf), "a finite number or None"),
        (("chin", "1"), "a finite number or None"),
        ((1.0, 1.0), "text of at most"),
        (("x" * 32_001, 1.0), "text of at most"),
    ],
)
def test_a_table_takes_only_what_its_columns_say(row, rule):
    with pytest.raises(ValueError, match=rule):
        _table([row], TEXT, NUMBER)


def test_numbers_are_rounded_once_and_minus_zero_is_zero():
    table = _table([("a", -0.04), ("b", 2.25), ("c", None)], TEXT, NUMBER)
    assert [str(row[1]) for row in table.rows] == ["0.0", "2.2", "None"]


def test_the_same_report_is_the_same_file(reports):
    for form in (report_csv, report_pdf):
        assert form(reports["student"]) == form(reports["student"])


def test_sheets_with_the_same_or_forbidden_names_get_names_of_their_own():
    tables = [
        _table([("a", 1.0)], TEXT, NUMBER, title=title) for title in ("A/B?" * 12, "A/B?" * 12, "about", "'x'", "")
    ]
    names = load_workbook(io.BytesIO(report_xlsx(_report(*tables)))).sheetnames
    assert len({name.casefold() for name in names}) == 6
    assert all(0 < len(name) <= 31 for name in names)


def test_letters_of_other_scripts_are_in_the_pdf():
    report = _report(_table([("Žofia Ψ Ирина", 1.0)], TEXT, NUMBER))
    assert "Žofia Ψ Ирина" in words_of(report_pdf(report))


def test_markup_in_a_name_is_text_in_the_pdf():
    report = _report(_table([("<b>Bo</b> & <para>", 1.0)], TEXT, NUMBER))
    assert "<b>Bo</b> & <para>" in words_of(report_pdf(report))


def test_a_table_without_rows_says_so():
    assert "Nothing to show." in words_of(report_pdf(_report(_table([], TEXT, NUMBER))))
