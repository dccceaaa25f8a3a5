"""Reports, worksheets and overlays speak the language of whoever asks, with the same numbers; tables for programs stay English."""

import re
from datetime import date

import numpy as np
import pytest
from doll_drawing import doll_landmarks, doll_photo
from simulated_classes import demo_cohort, simulated_work

from rubric.checklist import shipped_checklist
from rubric.reports import Report, class_report, report_csv, report_pdf, student_report
from rubric.review.whole import review_class
from screens.language import _, spoken
from screens.sets.worksheet_parts import Boxes, letters_of_the_font
from tests import make_catalogues
from tests.paper import words_of
from vision.drawing.labels import font_of, printable
from vision.measures import measure_all
from vision.overlay import draw_overlay

PLANTED = {"weak_items": {"lips_out": 0.4}, "over_claimers": {"student 05": 0.9}, "angle_bias": {"student 05": 12.0}}
MADE_ON = date(2026, 3, 2)


@pytest.fixture(scope="module")
def reports() -> dict[str, Report]:
    review = review_class(simulated_work(3, demo_cohort(12, **PLANTED), n_photos=12))
    checklist = shipped_checklist()
    return {
        "class": class_report(review, checklist, title="Linden Room", made_on=MADE_ON),
        "student": student_report(review, "student 05", checklist, title="Linden Room", made_on=MADE_ON),
    }


def in_german(report: Report) -> str:
    with spoken("de"):
        return words_of(report_pdf(report, say=_, language="de"))


HEADINGS = {
    "class": ("Was auffällt", "Merkmale", "Fotos nach Merkmalen", "Lernende", "Bitte beachten", "Seite 1"),
    "student": ("Ihre Antworten neben der Referenz", "Merkmal für Merkmal", "Bitte beachten", "Seite 1"),
}


@pytest.mark.parametrize("name", HEADINGS)
def test_a_report_in_german_has_german_headings_and_signs(reports: dict[str, Report], name: str) -> None:
    german = in_german(reports[name])
    for heading in HEADINGS[name]:
        assert heading in german
    for english in ("Sign by sign", "What stands out", "Students", "Mind", "page 1", "can't tell"):
        assert english not in german
    # Cells break their lines, so a sign is looked for by its first words.
    assert "Die Lippen sind nach" in german
    assert "stellen keine Diagnose" in german


@pytest.mark.parametrize("name", HEADINGS)
def test_a_report_has_the_same_numbers_in_both_languages(reports: dict[str, Report], name: str) -> None:
    def numbers(text: str) -> list[str]:
        return sorted(re.findall(r"\d+(?:\.\d+)?", text))

    english, german = words_of(report_pdf(reports[name])), in_german(reports[name])
    assert len(numbers(english)) > 100
    # Sentences stand in another order, and pages break elsewhere: the foot's page numbers apart, the numbers are the same.
    without_pages = [re.sub(r"(page|Seite) \d+", "", text) for text in (english, german)]
    assert numbers(without_pages[0]) == numbers(without_pages[1])


def test_making_a_report_in_german_leaves_the_one_for_programs_english(reports: dict[str, Report]) -> None:
    before = report_csv(reports["class"])
    in_german(reports["class"])
    assert report_csv(reports["class"]) == before
    assert b"What stands out" in before


def test_the_overlay_asks_for_every_word_that_it_draws() -> None:
    said = []

    def upper(sentence: str) -> str:
        said.append(str(sentence))
        return str(sentence).upper()

    landmarks, photo = doll_landmarks(), doll_photo(1600, 1200)
    drawn = draw_overlay(photo, landmarks, measure_all(landmarks), say=upper)
    plain = draw_overlay(photo, landmarks, measure_all(landmarks))
    assert {
        "mouth corner",
        "gape",
        "Mouth gape",
        "Practice measurement, not a diagnosis. In brackets: 95 % interval.",
    } <= {*said}
    assert drawn.pixels.shape != plain.pixels.shape or not np.array_equal(drawn.pixels, plain.pixels)


def test_the_overlay_is_drawn_in_german_with_the_same_numbers() -> None:
    landmarks, said = doll_landmarks(), dict[str, str]()

    def german(sentence: str) -> str:
        said[str(sentence)] = _(sentence)
        return said[str(sentence)]

    with spoken("de"):
        draw_overlay(doll_photo(1600, 1200), landmarks, measure_all(landmarks), say=german)
    assert said["mouth corner"] == "Mundwinkel"
    assert len(said) > 15
    for english, other in said.items():
        assert re.findall(r"\d+", english) == re.findall(r"\d+", other), english


def test_every_letter_of_german_is_in_the_fonts_of_pictures_and_paper() -> None:
    font = font_of(40.0)
    missing = bytes(font.getmask("\U0001f9ff"))
    entries = [str(entry.string) for entry in make_catalogues.read("de", "messages") if entry.id]
    letters = {letter for text in entries for letter in text} & set("äöüÄÖÜß„“–…éèàç×°%’")
    assert {"ä", "ö", "ü", "ß", "„"} <= letters
    assert [letter for letter in letters if bytes(font.getmask(printable(letter))) == missing] == []
    assert [letter for letter in letters if ord(letter) not in letters_of_the_font()] == []


def test_boxes_to_tick_give_long_words_their_room() -> None:
    short, long = Boxes(["seen", "not seen"]), Boxes(["zu sehen", "auf diesem Foto nicht zu erkennen"])
    assert long.width > short.width + 60
