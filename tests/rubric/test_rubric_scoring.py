"""Answer sheets and keys from outside and back, what is missing, what changed."""

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rubric.answers import Answer, AnswerSheet, ItemAnswer, KeyAnswer, Phase, ReferenceKey, Settles, Spot, View
from rubric.checklist import shipped_checklist
from rubric.errors import InvalidAnswer
from rubric.scoring import (
    MAX_ANSWERS,
    Change,
    changes,
    key_from_json,
    key_to_json,
    missing_items,
    sheet_from_json,
    sheet_to_json,
)

SHARE = st.floats(0, 1)
SPOTS = st.none() | st.builds(Spot, x=SHARE, y=SHARE)
SEEN = st.sampled_from([Answer.SEEN, Answer.NOT_SEEN])
ITEM_ANSWERS = st.builds(ItemAnswer, answer=SEEN, spot=SPOTS) | st.builds(
    ItemAnswer, answer=st.just(Answer.CANT_TELL), settles=st.none() | st.sampled_from(Settles)
)
IDS = st.from_regex(r"[a-z][a-z0-9_]{0,39}", fullmatch=True)
SHEETS = st.builds(
    AnswerSheet,
    phase=st.none() | st.sampled_from(Phase),
    view=st.none() | st.sampled_from(View),
    answers=st.dictionaries(IDS, ITEM_ANSWERS, max_size=6),
)


@st.composite
def key_answers(draw):
    own = draw(ITEM_ANSWERS)
    return KeyAnswer(
        answer=own.answer,
        spot=own.spot,
        settles=own.settles,
        why=draw(st.text(max_size=50)),
        accepted=draw(st.frozensets(st.sampled_from(Answer))),
    )


KEYS = st.builds(
    ReferenceKey,
    phase=st.sampled_from(Phase),
    view=st.sampled_from(View),
    answers=st.dictionaries(IDS, key_answers(), max_size=6),
)

JSON = st.recursive(
    st.none() | st.booleans() | st.floats() | st.integers() | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3),
    max_leaves=8,
)


@given(SHEETS)
def test_a_sheet_comes_back_from_json_as_it_was(sheet):
    assert sheet_from_json(json.loads(json.dumps(sheet_to_json(sheet), allow_nan=False))) == sheet


@given(KEYS)
def test_a_key_comes_back_from_json_as_it_was(key):
    assert key_from_json(json.loads(json.dumps(key_to_json(key), allow_nan=False))) == key


def _refusal(read, obj):
    try:
        read(obj)
    except InvalidAnswer as refusal:
        return str(refusal)
    return None


@given(JSON)
def test_whatever_comes_from_outside_is_a_sheet_or_refused_in_a_short_sentence(obj):
    for wrapped in (obj, {"answers": obj}, {"answers": {"close": obj}}, {"answers": {"close": {"answer": obj}}}):
        for read in (sheet_from_json, key_from_json):
            refusal = _refusal(read, wrapped)
            assert refusal is None or (0 < len(refusal) < 300 and "\n" not in refusal)


def _sheet(**entry):
    return {"phase": "before", "view": "side", "answers": {"close": {"answer": "seen", **entry}}}


@pytest.mark.parametrize(
    ("obj", "rule"),
    [
        ([], "an answer sheet must be an object"),
        ({}, "an answer sheet lacks answers"),
        ({"answers": {}, "mark": 7}, "unknown entry 'mark'"),
        ({"answers": []}, "answers must be an object"),
        ({"answers": {"Close": {"answer": "seen"}}}, "an item id is lower-case letters"),
        ({"answers": {"close": "seen"}}, "close must be an object"),
        ({"answers": {"close": {"answer": "maybe"}}}, "must be one of seen, not_seen, cant_tell, got 'maybe'"),
        ({"answers": {}, "phase": "after"}, "phase must be one of before, at_breast"),
        ({"answers": {}, "view": 3}, "view must be one of side"),
        (_sheet(spot={"x": 0.5}), "close: spot lacks y"),
        (_sheet(spot={"x": True, "y": 0.5}), "close: spot x must be a number, got True"),
        (_sheet(spot={"x": "0.5", "y": 0.5}), "close: spot x must be a number"),
        (_sheet(spot={"x": float("nan"), "y": 0.5}), "must lie in 0 to 1, got nan"),
        (_sheet(spot={"x": 1.01, "y": 0.5}), "must lie in 0 to 1, got 1.01"),
        (_sheet(spot={"x": 10**400, "y": 0.5}), "got a far larger number"),
        (_sheet(settles="side"), "goes with can't tell, got seen"),
        ({"answers": {"close": {"answer": "cant_tell", "spot": {"x": 0, "y": 0}}}}, "a spot goes with seen"),
        ({"answers": {f"a{n}": {"answer": "seen"} for n in range(MAX_ANSWERS + 1)}}, "at most 200 answers, got 201"),
    ],
)
def test_a_sheet_that_breaks_a_rule_is_refused_with_the_rule(obj, rule):
    with pytest.raises(InvalidAnswer) as caught:
        sheet_from_json(obj)
    assert rule in str(caught.value)


@pytest.mark.parametrize(
    ("entry", "rule"),
    [
        ({"answer": "seen"}, "close lacks why"),
        ({"answer": "seen", "why": 3}, "why must be text of at most 2000"),
        ({"answer": "seen", "why": "x" * 2001}, "why must be text of at most 2000"),
        ({"answer": "seen", "why": "", "accepted": "seen"}, "accepted must be a list"),
        ({"answer": "seen", "why": "", "accepted": ["yes"]}, "accepted must be one of"),
        ({"answer": "seen", "why": "", "settles": "side"}, "goes with can't tell"),
    ],
)
def test_a_key_that_breaks_a_rule_is_refused_with_the_rule(entry, rule):
    with pytest.raises(InvalidAnswer) as caught:
        key_from_json({"phase": "before", "view": "side", "answers": {"close": entry}})
    assert rule in str(caught.value)


def test_a_why_of_the_greatest_length_is_accepted():
    entry = {"answer": "seen", "why": "x" * 2000}
    assert (
        len(key_from_json({"phase": "before", "view": "side", "answers": {"close": entry}}).answers["close"].why)
        == 2000
    )


def test_a_key_needs_its_phase_and_view():
    with pytest.raises(InvalidAnswer, match="a reference key lacks phase, view"):
        key_from_json({"answers": {}})
    with pytest.raises(InvalidAnswer, match="phase must be one of"):
        key_from_json({"phase": None, "view": "side", "answers": {}})


def test_a_key_that_could_not_be_read_back_is_not_written():
    key = ReferenceKey(
        phase=Phase.BEFORE,
        view=View.SIDE,
        answers={"close": KeyAnswer(answer=Answer.CANT_TELL, why="hidden", spot=Spot(x=0.5, y=0.5))},
    )
    with pytest.raises(InvalidAnswer, match="a spot goes with seen"):
        key_to_json(key)


def test_blank_items_that_apply_are_missing_and_cant_tell_is_no_blank():
    sheet = AnswerSheet(
        phase=Phase.BEFORE,
        view=View.FRONT,
        answers={"close": ItemAnswer(answer=Answer.CANT_TELL), "body_line": ItemAnswer(answer=Answer.SEEN)},
    )
    assert [item.id for item in missing_items(shipped_checklist(), sheet)] == ["supported", "adult_relaxed"]


def test_a_sheet_without_phase_and_view_misses_every_visible_item():
    missing = missing_items(shipped_checklist(), AnswerSheet())
    assert [item.id for item in missing] == [item.id for item in shipped_checklist().items if item.visible]


def test_changes_of_mind_are_told_with_before_and_after():
    first = AnswerSheet(
        answers={
            "close": ItemAnswer(answer=Answer.SEEN),
            "supported": ItemAnswer(answer=Answer.CANT_TELL, settles=Settles.BACK),
            "lips_out": ItemAnswer(answer=Answer.SEEN),
        }
    )
    second = AnswerSheet(
        answers={
            "chin_touch": ItemAnswer(answer=Answer.SEEN),
            "close": ItemAnswer(answer=Answer.NOT_SEEN),
            "supported": ItemAnswer(answer=Answer.CANT_TELL, settles=Settles.SIDE),
        }
    )
    assert changes(first, second) == (
        Change(item_id="close", before=Answer.SEEN, after=Answer.NOT_SEEN),
        Change(item_id="lips_out", before=Answer.SEEN, after=None),
        Change(item_id="chin_touch", before=None, after=Answer.SEEN),
    )


@given(SHEETS, SHEETS)
def test_changes_the_other_way_round_swap_before_and_after(first, second):
    there = {(change.item_id, change.before, change.after) for change in changes(first, second)}
    back = {(change.item_id, change.after, change.before) for change in changes(second, first)}
    assert there == back
    assert changes(first, first) == ()


@pytest.mark.parametrize(("length", "shown"), [(58, "'" + "x" * 58 + "'"), (59, "'" + "x" * 56 + "...")])
def test_what_came_is_shown_in_at_most_60_characters(length, shown):
    with pytest.raises(InvalidAnswer) as caught:
        sheet_from_json({"answers": {}, "phase": "x" * length})
    assert str(caught.value) == f"phase must be one of {', '.join(Phase)}, got {shown}"


@pytest.mark.parametrize(
    ("changed", "sentence"),
    [
        ({"view": "above"}, f"view must be one of {', '.join(View)}, got 'above'"),
        ({"phase": "after"}, f"phase must be one of {', '.join(Phase)}, got 'after'"),
        (
            {"answers": {"close": {"answer": "seen", "why": "", "accepted": 7}}},
            "close: accepted must be a list of answers, got 7",
        ),
        ({"answers": {"close": {"answer": 1, "why": ""}}}, f"close: answer must be one of {', '.join(Answer)}, got 1"),
    ],
)
def test_a_key_that_breaks_a_rule_is_refused_in_a_whole_sentence(changed, sentence):
    with pytest.raises(InvalidAnswer) as caught:
        key_from_json({"phase": "before", "view": "side", "answers": {}, **changed})
    assert str(caught.value) == sentence


@pytest.mark.parametrize(
    ("obj", "sentence"),
    [
        (7, "an answer sheet must be an object, got 7"),
        ({"answers": ["close"]}, "answers must be an object of item ids, got ['close']"),
        ({"answers": {"Close": {}}}, "an item id is lower-case letters, digits and _, got 'Close'"),
        ({"answers": {"a" * 41: {}}}, f"an item id is lower-case letters, digits and _, got '{'a' * 41}'"),
        (_sheet(spot={"x": 0.5, "y": "low"}), "close: spot y must be a number, got 'low'"),
        (_sheet(spot={"x": 0.5, "y": 10**400}), "close: spot y must lie in 0 to 1, got a far larger number"),
        (_sheet(spot=[0.5, 0.5]), "close: spot must be an object, got [0.5, 0.5]"),
        (_sheet(spot={"x": 0, "y": 0, "z": 0}), "close: spot has an unknown entry 'z'"),
        (_sheet(settles="below"), f"close: settles must be one of {', '.join(Settles)}, got 'below'"),
        (_sheet(mark=1), "close has an unknown entry 'mark'"),
    ],
)
def test_a_sheet_that_breaks_a_rule_is_refused_in_a_whole_sentence(obj, sentence):
    with pytest.raises(InvalidAnswer) as caught:
        sheet_from_json(obj)
    assert str(caught.value) == sentence


def test_a_sheet_of_the_greatest_size_and_the_longest_id_are_accepted():
    answers = {f"a{n}": {"answer": "seen"} for n in range(MAX_ANSWERS - 1)} | {"a" * 40: {"answer": "cant_tell"}}
    assert len(sheet_from_json({"answers": answers}).answers) == MAX_ANSWERS


def test_a_sheet_whose_view_alone_is_not_said_misses_the_items_of_its_phase_only():
    missing = missing_items(shipped_checklist(), AnswerSheet(phase=Phase.BEFORE, view=None, answers={}))
    assert {item.id for item in missing} >= {"opens_wide", "chin_first", "nose_level"}
    assert not {item.id for item in missing} & {"chin_touch", "stays_wide", "areola_above"}
