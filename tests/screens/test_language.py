"""The language of a page and of a request: chosen, asked for, or English; and how a sentence is said in it."""

from http.cookies import SimpleCookie

import httpx
import pytest
from hypothesis import given
from hypothesis import strategies as st

from records.errors import InvalidRecord, NotAllowed
from records.rights import Right
from rubric.said import Said
from screens.door.cookies import set_cookie
from screens.door.languages import own_address
from screens.language import COOKIE, LANGUAGES, _, _n, browser_words, current, language_for, said, spoken, told
from screens.samples import shipped_titles, shown_title
from screens.words import ANSWERS, PHASES


def test_outside_a_page_and_a_request_the_language_is_english() -> None:
    assert current() == "en"
    assert _("Hand in") == "Hand in"
    assert browser_words() == {}


def test_a_request_is_answered_in_its_own_language_and_the_next_one_in_english() -> None:
    with spoken("de"):
        assert (current(), _("Hand in")) == ("de", "Abgeben")
    assert _("Hand in") == "Hand in"


def test_a_language_that_nobody_translated_is_english() -> None:
    with spoken("xx"):
        assert (current(), _("Hand in")) == ("en", "Hand in")


def test_a_sentence_without_a_translation_stands_as_it_is_and_an_empty_one_stays_empty() -> None:
    with spoken("de"):
        assert _("Nobody ever wrote this sentence.") == "Nobody ever wrote this sentence."
        assert _("") == ""


@pytest.mark.parametrize(("n", "words"), [(1, "1 Foto"), (0, "0 Fotos"), (5, "5 Fotos")])
def test_a_sentence_follows_its_number(n: int, words: str) -> None:
    with spoken("de"):
        assert _n("{n} photo", "{n} photos", n).format(n=n) == words


def test_what_was_filled_in_already_is_filled_in_anew() -> None:
    filled = Said("Feedback: {photo}", photo=Said("a photo that is no longer here"))
    with spoken("de"):
        assert _(filled) == "Rückmeldung: ein Foto, das nicht mehr da ist"
        assert said(ValueError(filled)) == _(filled)


def test_a_refusal_that_was_filled_in_is_said_in_the_readers_language() -> None:
    refused = InvalidRecord("Please give the title of the photo in 1 to 80 plain characters, got 95.")
    assert said(refused) == str(refused)
    with spoken("de"):
        assert said(refused) == "Bitte geben Sie an: den Titel des Fotos, mit 1 bis 80 einfachen Zeichen; es sind 95."
        with pytest.raises(NotAllowed) as caught:
            raise NotAllowed(
                f"Your roles here do not let you {Right.PRACTISE.value}; whoever runs this school's page can change them."
            )
        assert "erlauben das nicht: üben." in said(caught.value)


def test_what_is_no_refusal_of_ours_is_said_as_it_stands() -> None:
    with spoken("de"):
        assert said(OSError("No space left on device")) == "No space left on device"


def test_braces_in_what_a_person_wrote_are_no_places() -> None:
    with spoken("de"):
        assert _(Said("Feedback: {photo}", photo="{n} {oops")) == "Rückmeldung: {n} {oops"
        assert _(Said("{not a place}")) == "{not a place}"


def test_tables_of_words_are_read_in_the_language_of_the_moment() -> None:
    english = (list(ANSWERS.values()), list(PHASES.values()))
    with spoken("de"):
        assert list(PHASES) == list(PHASES.english)
        assert not {*PHASES.values()} & {*english[1]}
        assert all(text[:1].isupper() for text in ANSWERS.values())
    assert (list(ANSWERS.values()), list(PHASES.values())) == english


def test_titles_of_shipped_photos_are_translated_and_a_persons_own_is_not() -> None:
    titles = list(shipped_titles().values())
    with spoken("de"):
        shown = [shown_title(title) for title in titles]
        assert shown_title("Pair 3, before the latch") == "Pair 3, before the latch"
    assert all(text.startswith("Puppe ") for text in shown)
    assert len(set(shown)) == len(titles)
    assert [shown_title(title) for title in titles] == titles


def test_a_choice_counts_before_what_the_browser_asks_for() -> None:
    assert language_for("en", "de-CH, de;q=0.9") == "en"
    assert language_for("de", "en") == "de"
    assert language_for("klingon", "de") == "de"


@pytest.mark.parametrize(
    ("asked", "language"),
    [("de", "de"), ("de-AT,en;q=0.4", "de"), ("fr,de;q=0.5,en;q=0.4", "de"), ("fr, it", "en"), ("", "en"),
     ("de;q=0", "en"), ("de;q=nonsense,en", "en"), ("EN-gb, de", "en")],
)  # fmt: skip
def test_the_browser_is_heard_in_the_order_of_its_wishes(asked: str, language: str) -> None:
    assert language_for(None, asked) == language


@given(st.text(), st.text())
def test_whatever_a_browser_sends_the_language_is_one_that_we_have(cookie: str, asked: str) -> None:
    assert language_for(cookie, asked) in LANGUAGES


@given(st.text())
def test_a_choice_of_language_never_leads_to_another_site(back: str) -> None:
    own = own_address(back)
    assert own.startswith("/")
    assert not own.startswith(("//", "/\\"))
    assert httpx.URL("http://here.example/").join(own).host == "here.example"


@pytest.mark.parametrize(
    "back", ["//elsewhere.example/x", "https://elsewhere.example", "/\\elsewhere.example", "x", ""]
)
def test_an_address_elsewhere_leads_to_the_first_page(back: str) -> None:
    assert own_address(back) == "/"


def test_the_choice_lasts_a_year_and_scripts_cannot_read_it() -> None:
    kept = SimpleCookie(set_cookie(COOKIE, "de", secure=True, days=365).decode())[COOKIE]
    assert (kept.value, kept["max-age"], bool(kept["httponly"]), kept["samesite"], bool(kept["secure"])) == (
        "de", str(365 * 86_400), True, "Strict", True,
    )  # fmt: skip


def test_why_a_key_waits_is_told_in_the_readers_language() -> None:
    with spoken("de"):
        assert (
            told("The key is shown when your instructor opens it.")
            == "Die Referenz wird gezeigt, wenn die Kursleitung sie öffnet."
        )
        assert (
            told("The key is shown after 5 June 2026, 14:00.") == "Die Referenz wird gezeigt nach: 5 June 2026, 14:00."
        )
