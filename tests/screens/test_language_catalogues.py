"""The catalogues hold every sentence as it stands in the sources, and a translation says the same with the same places."""

import re
from collections.abc import Iterator
from pathlib import Path
from string import Formatter

import pytest
from babel.messages.catalog import Message

from screens.language import LANGUAGES, SOURCE_LANGUAGE
from tests import make_catalogues

TRANSLATED = sorted(set(LANGUAGES) - {SOURCE_LANGUAGE})
DOMAINS = ("messages", "browser", "refusals")
#: What a student meets on the way from the door to the feedback, and on what came of it.
MAIN_JOB = (
    "screens/start.py", "screens/header.py", "screens/main.py", "screens/look.py", "screens/words.py", "screens/faults.py",
    "screens/local_time.py", "screens/data.py", "screens/samples.py", "screens/choosing_language.py", "screens/photo_routes.py",
    "screens/practice/", "screens/progress/", "screens/door/", "screens/frame/", "screens/editor/", "screens/cover_editor/",
    "screens/classes/my_work.py", "screens/classes/feedback.py", "screens/classes/words.py", "screens/classes/example_offer.py",
    "screens/uploads/adding.py", "screens/uploads/consent_fields.py", "screens/account/own_data.py", "screens/account/page.py",
    "rubric/checklist.toml", "rubric/words.py", "rubric/evidence.py", "rubric/feedback.py", "rubric/measure_feedback.py",
    "rubric/practice_plan.py", "sample_images", "vision/landmarks.py", "vision/refusals.py", "vision/quantities/",
    "vision/detectors/",
)  # fmt: skip
#: Words that would judge a baby, a parent, a student or an answer.
VERDICTS = r"\b(gut|guten?|gutes|schlecht\w*|falsch\w*|fehlerhaft\w*|mangelhaft\w*|un?normal\w*|abnormal\w*|krankhaft\w*|faul\w*)\b"


def places(text: str) -> set[str]:
    """The named places of a sentence."""
    return {name for _text, name, _spec, _conversion in Formatter().parse(text) if name is not None}


def translated(language: str, domain: str) -> Iterator[tuple[Message, list[str], list[str]]]:
    """Every sentence that is translated: the entry, its English forms, and the other language's."""
    for message in make_catalogues.read(language, domain):
        english = [message.id] if isinstance(message.id, str) else list(message.id)
        other = [message.string] if isinstance(message.string, str) else list(message.string)
        if message.id and all(other):
            yield message, english, other


@pytest.mark.parametrize("domain", DOMAINS)
def test_the_template_holds_the_sentences_as_they_stand_in_the_sources(domain: str) -> None:
    kept = (make_catalogues.LOCALE / f"{domain}.pot").read_bytes()
    made = make_catalogues.as_po(make_catalogues.template(make_catalogues.found_messages()[domain]))
    assert kept == made, "python tests/make_catalogues.py brings it up to date"


@pytest.mark.parametrize("domain", DOMAINS)
@pytest.mark.parametrize("language", TRANSLATED)
def test_each_language_holds_the_same_sentences(language: str, domain: str) -> None:
    messages = make_catalogues.found_messages()[domain]
    made = make_catalogues.updated(make_catalogues.read(language, domain), messages, language)
    folder = make_catalogues.LOCALE / language / "LC_MESSAGES"
    assert (folder / f"{domain}.po").read_bytes() == make_catalogues.as_po(made)
    assert (folder / f"{domain}.mo").read_bytes() == make_catalogues.as_mo(made)


def test_every_language_that_can_be_chosen_has_a_catalogue() -> None:
    assert make_catalogues.languages() == TRANSLATED


@pytest.mark.parametrize("domain", DOMAINS)
@pytest.mark.parametrize("language", TRANSLATED)
def test_a_translation_has_the_places_of_the_sentence(language: str, domain: str) -> None:
    entries = list(translated(language, domain))
    assert len(entries) > 25
    for _message, english, other in entries:
        # A form for one may do without the number.
        wanted = [places(english[0]), places(english[-1])]
        for text in other:
            assert places(text) in wanted, f"{english} -> {text}"
        assert places(other[-1]) == wanted[-1], f"{english} -> {other}"


@pytest.mark.parametrize("domain", DOMAINS)
@pytest.mark.parametrize("language", TRANSLATED)
def test_a_translation_fills_its_places_in_the_same_way(language: str, domain: str) -> None:
    for _message, english, other in translated(language, domain):
        specs = {(name, spec) for _t, name, spec, _c in Formatter().parse(english[-1]) if name}
        assert {(name, spec) for _t, name, spec, _c in Formatter().parse(other[-1]) if name} == specs


@pytest.mark.parametrize("domain", DOMAINS)
@pytest.mark.parametrize("language", TRANSLATED)
def test_no_translation_judges(language: str, domain: str) -> None:
    found = [text for _message, _english, other in translated(language, domain) for text in other]
    assert [text for text in found if re.search(VERDICTS, text, re.IGNORECASE)] == []


@pytest.mark.parametrize("domain", DOMAINS)
@pytest.mark.parametrize("language", TRANSLATED)
def test_a_sentence_ends_as_the_english_one_does(language: str, domain: str) -> None:
    ends = (".", "?", ":", "!", "…")
    for _message, english, other in translated(language, domain):
        if english[-1].endswith(ends):
            assert other[-1].endswith(ends), f"{english[-1]} -> {other[-1]}"


@pytest.mark.parametrize("language", TRANSLATED)
def test_the_main_job_is_translated_whole(language: str) -> None:
    found = make_catalogues.found_messages()
    left = {
        str(message)
        for domain in DOMAINS
        for message, file in found[domain]
        if file.startswith(MAIN_JOB) and not _has(make_catalogues.read(language, domain), message)
    }
    assert left == set()


def _has(catalogue: make_catalogues.Catalog, message: str | tuple[str, str]) -> bool:
    entry = catalogue.get(message)
    return entry is not None and all([entry.string] if isinstance(entry.string, str) else entry.string)


def test_sentences_inside_f_strings_and_of_errors_are_found(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "screens").mkdir()
    source = 'def show(e):\n    st.html(f"<p>{escape(_(\'Hand in\'))}</p>")\n    raise Gone("This is gone.")\n'
    (tmp_path / "screens" / "one.py").write_text(source, encoding="utf-8")
    monkeypatch.setattr(make_catalogues, "PROJECT", tmp_path)
    assert [message for message, _file in make_catalogues._of_python()] == ["Hand in"]
    assert [message for message, _file in make_catalogues._of_errors()] == ["This is gone."]
