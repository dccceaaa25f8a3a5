"""A set on paper: what is on each page, what is left out and why, and that only those who may get it."""

import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest
from records_scene import someone_else
from set_scene import KEY, POINTS, data_folder, draft, keyed_photo, published, samples

from records.classroom import assignments, classes
from records.classroom.membership import add_member
from records.consent.consents import NewConsent, Scope
from records.consent.withdrawal import withdraw
from records.errors import InvalidRecord, NotAllowed
from records.identity.people import Role
from records.key.reference_keys import write_key
from screens import data
from screens.sets.worksheet import worksheet_pdf
from tests.paper import words_of


@pytest.fixture(autouse=True)
def own_data_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    monkeypatch.setenv("LATCH_AND_LINE_DATA", str(tmp_path / "data"))
    with data_folder():
        yield


def consent(*scopes: Scope) -> NewConsent:
    today = date.today()
    return NewConsent(
        shown="pair 3",
        given_by="the adult shown",
        scopes=frozenset({Scope.OWN_PRACTICE, Scope.TEACHING_SETS, *scopes}),
        faces_covered=True,
        given_on=today,
        expires_on=today + timedelta(days=9),
        form_version="1",
    )


def pages(pdf: bytes) -> list[str]:
    """The words of each page, spaces and line breaks as one space."""
    return [re.sub(r"\s+", " ", page) for page in words_of(pdf).split("\f")[:-1]]


def test_each_photo_has_a_page_with_boxes_and_lines_and_nothing_of_the_key() -> None:
    version = published(keyed_photo(), *samples(2))
    found = pages(worksheet_pdf(data.store(), data.me(), version.id, with_key=False))
    assert len(found) == 3
    assert [f"Photo {n} of 3" in page for n, page in enumerate(found, start=1)] == [True] * 3
    assert found[0].count("not seen") == 10
    assert "Mouth opens, degrees: ____" in found[0]
    assert not [page for page in found if "no light" in page or "also:" in page or "reference key" in page]


def test_the_sheet_with_the_key_says_answers_what_is_also_accepted_and_why() -> None:
    version = published(keyed_photo())
    [page] = pages(worksheet_pdf(data.store(), data.me(), version.id, with_key=True))
    assert "no light <between> them & “close”" in page
    assert "also: seen" in page
    assert "not in the key" in page
    assert "Measures from the key's points" in page
    assert "reference key" in page


@pytest.mark.parametrize("with_key", [False, True])
def test_every_page_says_that_it_diagnoses_nothing_and_what_to_mind(with_key: bool) -> None:
    version = published(keyed_photo(1), keyed_photo(2, consent()), *samples(3))
    for page in pages(worksheet_pdf(data.store(), data.me(), version.id, with_key=with_key)):
        assert "it diagnoses nothing" in page
        assert "stop and get help now" in page
        assert "Local guidance" in page


def test_photos_whose_consent_does_not_cover_print_are_listed_and_not_printed() -> None:
    gone = keyed_photo(3, consent(Scope.PRINTED))
    version = published(keyed_photo(1), keyed_photo(2, consent()), gone)
    withdraw(data.store(), data.me(), gone.consent_id)
    found = pages(worksheet_pdf(data.store(), data.me(), version.id, with_key=True))
    assert len(found) == 2
    assert "2 of the 3 photos are not printed here" in found[1]
    assert "Photo 2: The consent on record does not cover printed or exported material." in found[1]
    assert "Photo 3: It was removed." in found[1]


def test_a_draft_or_a_set_without_a_printable_photo_makes_no_sheet() -> None:
    for version in (draft(keyed_photo(1)), published(keyed_photo(2, consent()))):
        with pytest.raises(InvalidRecord):
            worksheet_pdf(data.store(), data.me(), version.id, with_key=False)


@pytest.mark.parametrize("role", [Role.STUDENT, Role.INSTRUCTOR])
def test_whoever_does_not_build_sets_and_was_not_given_it_gets_no_sheet(role: Role) -> None:
    version = published(keyed_photo())
    with pytest.raises(NotAllowed):
        worksheet_pdf(data.store(), someone_else(data.store(), role), version.id, with_key=True)


def test_an_instructor_prints_what_was_given_to_an_own_class_as_long_as_it_is_an_own_class() -> None:
    store = data.store()
    instructor, colleague = someone_else(store, Role.INSTRUCTOR), someone_else(store, Role.INSTRUCTOR)
    given, other = published(keyed_photo(1), keyed_photo(2, consent())), published(keyed_photo(3))
    group = classes.new_class(store, instructor, title="Linden Room", keep_until=date.today() + timedelta(days=9))
    assignments.give(store, instructor, group.id, given.id, title="Week 1")
    classes.add_instructor(store, instructor, group.id, handle=colleague.handle)
    student = someone_else(store, Role.STUDENT)
    with store.writing() as session:
        add_member(session, group.id, student.id, "student", at=store.now())
    for with_key in (False, True):
        assert worksheet_pdf(store, instructor, given.id, with_key=with_key).startswith(b"%PDF-")
        assert worksheet_pdf(store, colleague, given.id, with_key=with_key).startswith(b"%PDF-")
        for person, version in ((instructor, other), (someone_else(store, Role.INSTRUCTOR), given), (student, given)):
            with pytest.raises(NotAllowed):
                worksheet_pdf(store, person, version.id, with_key=with_key)
    classes.leave(store, colleague, group.id)
    with pytest.raises(NotAllowed):
        worksheet_pdf(store, colleague, given.id, with_key=False)


def test_an_instructor_s_sheet_leaves_out_what_may_not_be_printed() -> None:
    store, instructor = data.store(), someone_else(data.store(), Role.INSTRUCTOR)
    version = published(keyed_photo(1), keyed_photo(2, consent()))
    group = classes.new_class(store, instructor, title="Linden Room", keep_until=date.today() + timedelta(days=9))
    assignments.give(store, instructor, group.id, version.id, title="Week 1")
    found = pages(worksheet_pdf(store, instructor, version.id, with_key=False))
    assert len(found) == 2
    assert "1 of the 2 photos is not printed here" in found[1]


def test_letters_that_the_font_lacks_are_shown_as_question_marks_and_break_nothing() -> None:
    photo = keyed_photo()
    odd = replace(KEY, answers={"close": replace(KEY.answers["close"], why="見える & <b>unclosed")})
    write_key(data.store(), data.me(), photo.id, odd, POINTS, expected_revision=1)
    version = published(photo)
    assert worksheet_pdf(data.store(), data.me(), version.id, with_key=True).startswith(b"%PDF-")
