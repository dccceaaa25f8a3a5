"""The printed consent form: its words, its boxes and its lines, read back from the file itself."""

import re

import pytest

from screens.ledger import consent_form_words as words
from screens.ledger.consent_form import FORM_VERSION, consent_form_pdf

SCHOOL = "Hollowmere School of Midwifery"
#: ISO 216: A4 is 210 mm × 297 mm; PDF 1.3, user space: 72 units an inch of 25.4 mm.
A4_UNITS = (210 / 25.4 * 72, 297 / 25.4 * 72)


def pages(pdf: bytes) -> list[str]:
    """The drawing operators of each page; the file keeps them in plain text."""
    streams = [found.decode("latin-1") for found in re.findall(rb"stream\r?\n(.*?)endstream", pdf, re.S)]
    return [stream for stream in streams if " Tf " in stream]


def text_of(page: str) -> str:
    """All words of a page in their order, as a reader selects them."""
    parts = [re.sub(r"\\([()\\])", r"\1", part) for part in re.findall(r"\(((?:\\.|[^()\\])*)\) Tj", page)]
    return " ".join(" ".join(parts).split())


def whole_text(pdf: bytes) -> str:
    return " ".join(text_of(page) for page in pages(pdf))


@pytest.fixture(scope="module")
def form() -> bytes:
    return consent_form_pdf(school=SCHOOL)


def test_the_form_is_two_pages_of_a4(form: bytes) -> None:
    boxes = re.findall(rb"/MediaBox \[ 0 0 ([\d.]+) ([\d.]+) \]", form)
    assert [tuple(map(float, box)) for box in boxes] == [pytest.approx(A4_UNITS, abs=0.1)] * 2
    assert len(pages(form)) == 2
    assert [text_of(page).count("page 1 of 2") + text_of(page).count("page 2 of 2") for page in pages(form)] == [1, 1]


def test_its_words_can_be_selected_and_every_font_is_in_the_file(form: bytes) -> None:
    fonts = re.findall(rb"<<[^<>]*/BaseFont[^<>]*>>", form)
    assert len(fonts) >= 2
    assert all(b"/ToUnicode" in font for font in fonts)
    assert form.count(b"/FontFile2") == len(fonts)


def test_everything_that_the_words_say_stands_on_the_form(form: bytes) -> None:
    text = whole_text(form)
    for point in words.POINTS:
        assert point.heading in text
        assert point.text in text
    said = [words.TEMPLATE, words.LEDE, words.CHILD_INTRO, words.FACE_INTRO, words.USES_INTRO, words.COPY]
    said += [*words.CONTACT_FIELDS, *words.ADULT_TICKS, *words.FACE_TICKS, *words.CHILD_TICKS, *words.TIME_FIELDS]
    assert [sentence for sentence in said if sentence not in text] == []


@pytest.mark.parametrize(
    "promise",
    [
        "adapt it to the law of your country and to the policy of your school",
        "Taking part is voluntary",
        "Your care and your baby's care do not depend on it",
        "You are not asked during labour",
        "does not ask you alone",
        "Software measures the photo",
        "not used to train any model",
        "Your baby's face stays in sight",
        "You can take your consent back at any time, without a reason",
        "Prints that were handed out, and copies that had already gone to another school",
        "kept apart from the photo",
        "My face is to be covered",
        "My face may be shown",
        "Own practice",
        "This class",
        "Teaching sets",
        "Printed or exported material",
        "Last day of use",
    ],
)
def test_the_form_promises_what_a_consent_needs(form: bytes, promise: str) -> None:
    assert promise in whole_text(form)


def test_each_use_has_a_box_of_its_own_for_the_adult_and_for_the_child(form: bytes) -> None:
    first, second = pages(form)
    side = rf"{3.6 / 25.4 * 72:.4f}"[:6]
    squares = re.findall(r"^n ([-\d.]+) ([-\d.]+) ([\d.]+) ([\d.]+) re S", second, re.M)
    boxes = [square for square in squares if square[2].startswith(side) and square[2] == square[3]]
    one_each = len(words.ADULT_TICKS) + len(words.FACE_TICKS) + len(words.CHILD_TICKS)
    assert len(boxes) == one_each + 2 * len(words.USES)
    assert side not in first, "nothing is ticked before it has been read"


def test_the_adult_and_the_person_who_decides_for_the_child_sign_apart(form: bytes) -> None:
    text = text_of(pages(form)[1])
    assert text.count("Signature") == text.count("Place and date") + 1 == 4, "the heading and three lines"
    assert "Adult in the photo" in text
    assert "Person who decides for the child" in text
    assert "and relation to the child" in text


def test_the_version_that_the_ledger_keeps_stands_on_both_pages(form: bytes) -> None:
    assert FORM_VERSION == words.FORM_VERSION
    assert [f"form version {FORM_VERSION}" in text_of(page) for page in pages(form)] == [True, True]


def test_the_same_school_gives_the_same_bytes(form: bytes) -> None:
    assert consent_form_pdf(school=SCHOOL) == form


@pytest.mark.parametrize("school", [None, "", "   ", "Ωδεῖον 助産"])
def test_without_a_name_that_can_be_printed_the_school_is_a_line_to_write_on(school: str | None) -> None:
    text = whole_text(consent_form_pdf(school=school))
    assert "School This is a template" in text
    assert "School:" not in text


@pytest.mark.parametrize("school", ["A <b>bold</b> & (odd) school", "x" * 500, "École d'été"])
def test_any_other_name_is_printed_as_it_is_and_the_form_stays_two_pages(school: str) -> None:
    pdf = consent_form_pdf(school=school)
    assert len(pages(pdf)) == 2
    if school.isascii():
        # Marks such as < are drawn as pieces of their own.
        assert f"School:{school[:80]}".replace(" ", "") in whole_text(pdf).replace(" ", "")


def test_its_sentences_are_short_enough_for_a_tired_reader() -> None:
    text = " ".join([words.TEMPLATE, words.LEDE, *(point.text for point in words.POINTS)])
    lengths = [len(sentence.split()) for sentence in re.split(r"[.:]\s", text)]
    # A plain-language rule of thumb, from memory: 15 to 20 words on average, none much above 25.
    assert sum(lengths) / len(lengths) <= 14
    assert max(lengths) <= 30


def test_the_form_gives_no_verdict_and_names_no_condition() -> None:
    text = whole_text(consent_form_pdf(school=None)).lower()
    assert [word for word in ("good latch", "bad", "poor", "abnormal", "normal", "diagnos") if word in text] == []
