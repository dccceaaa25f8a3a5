"""Sentences that were filled in already can be said in another language; `vision` and `rubric` make them in one way."""

import copy
import pickle
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rubric import said as in_rubric
from vision import said as in_vision

BOTH = pytest.mark.parametrize("said", [in_rubric, in_vision], ids=["rubric", "vision"])


def test_vision_and_rubric_which_may_not_know_each_other_say_things_in_the_same_way() -> None:
    one, other = (Path(str(module.__file__)).read_text(encoding="utf-8") for module in (in_rubric, in_vision))
    assert one == other


@BOTH
@given(name=st.text(), n=st.integers())
def test_a_said_is_its_english_sentence_whatever_fills_it(said, name: str, n: int) -> None:
    sentence = said.Said("{name} has {n}", name=name, n=n)
    assert sentence == f"{name} has {n}"
    assert {sentence: 1}[f"{name} has {n}"] == 1
    assert (sentence.template, dict(sentence.fields)) == ("{name} has {n}", {"name": name, "n": n})


@BOTH
def test_an_error_hands_on_the_pattern_and_so_do_copies_and_other_processes(said) -> None:
    sentence = said.Said("Not placed: {points}.", points=said.listed([said.Said("chin"), said.Said("ear")]))
    for again in (str(ValueError(sentence)), copy.deepcopy(sentence), pickle.loads(pickle.dumps(sentence))):
        assert again == "Not placed: chin and ear."
        assert again.template == "Not placed: {points}."
        assert again.fields["points"].template == "{first} and {last}"


@BOTH
def test_a_pattern_without_places_may_hold_braces(said) -> None:
    assert said.Said("{as it stands}") == "{as it stands}"


@BOTH
@pytest.mark.parametrize(
    ("parts", "words"), [(["a"], "a"), (["a", "b"], "a and b"), (["a", "b", "c"], "a, b and c")], ids=len
)
def test_a_list_has_commas_and_a_last_and(said, parts: list[str], words: str) -> None:
    assert said.listed(parts) == words


@BOTH
def test_parts_stay_apart_for_whoever_translates_them(said) -> None:
    both = said.together([said.Said("Why: {why}", why="a shadow"), said.Said("The key pins where to look.")])
    assert both == "Why: a shadow The key pins where to look."
    assert [part.template for part in both.fields.values()] == ["Why: {why}", "The key pins where to look."]
