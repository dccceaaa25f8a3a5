"""Measures in words."""

from math import inf, nan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rubric.checklist import Band, shipped_checklist
from rubric.errors import InvalidAnswer
from rubric.evidence import (
    PLAIN_NAMES,
    TOO_WIDE,
    EvidenceValue,
    band_words,
    evidence_for,
    evidence_text,
    interval_text,
    number_text,
    plain_name,
)

GAPE_BANDS = shipped_checklist().bands["gape_angle"]


def _gape(value, low=None, high=None):
    return EvidenceValue(name="gape_angle", value=value, low=low, high=high, unit="deg")


@pytest.mark.parametrize(
    ("value", "words"),
    [
        (_gape(124, 121, 128), "wide"),
        (_gape(124, 118, 130), "medium or wide"),
        (_gape(100, 80, 120), "narrow, medium or wide"),
        (_gape(100, 90, 119.9), "medium"),
        (_gape(89, 85, 90), "narrow or medium"),
        (_gape(120), "wide"),
        (_gape(89.99), "narrow"),
    ],
)
def test_an_interval_names_every_band_that_it_reaches(value, words):
    assert band_words(value, GAPE_BANDS) == words


@given(st.floats(0, 180), st.floats(0, 60), st.floats(0, 60))
def test_the_band_of_the_value_is_always_among_those_named(value, below, above):
    named = band_words(_gape(value, value - below, value + above), GAPE_BANDS)
    assert band_words(_gape(value), GAPE_BANDS) in named


def test_a_line_of_evidence_gives_number_interval_and_bands():
    assert evidence_text(_gape(124.2, 117.6, 130.4), GAPE_BANDS) == "Mouth opens 124° (118–130°): medium or wide"


def test_an_unknown_measure_says_why():
    unknown = EvidenceValue(name="alignment_angle", value=None, unit="deg", reason="the hip is not placed")
    assert evidence_text(unknown, GAPE_BANDS) == "Body line angle unknown: the hip is not placed"
    assert band_words(unknown, GAPE_BANDS) == "the hip is not placed"


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (
            EvidenceValue(name="head_deviation", value=-12, low=-21.4, high=-3, unit="deg"),
            "Head against the body line, plus forward, minus back: −12° (−21 to −3°)",
        ),
        (
            EvidenceValue(name="nose_gap", value=4.2, low=0, high=9, unit="% of face size"),
            "Nose to breast: 4 % of the size of the face (0–9 %)",
        ),
        (
            EvidenceValue(name="areola_balance", value=0.7, low=0.55, high=0.85, unit="share"),
            "Share of the areola in sight that lies above: 0.70 (0.55–0.85)",
        ),
        (
            EvidenceValue(name="mouth_opening", value=21.26, low=19.9, high=22.5, unit="mm"),
            "Mouth opens 21.3 mm (19.9–22.5 mm)",
        ),
        (EvidenceValue(name="line_offset", value=3.4, unit="%"), "Shoulder lies off the line by 3 %"),
        (EvidenceValue(name="arm_length", value=3, unit="cm"), "Arm length: 3.0 cm"),
    ],
)
def test_each_unit_reads_as_a_person_writes_it(value, text):
    assert evidence_text(value) == text


def test_minus_zero_is_zero_and_no_interval_is_no_text():
    assert number_text(-0.2, "deg") == "0°"
    assert interval_text(_gape(90)) == ""


def test_evidence_of_an_item_keeps_its_order_and_tells_what_is_not_measured():
    checklist = shipped_checklist()
    shown = evidence_for(checklist.get("opens_wide"), {"gape_angle": _gape(95, 91, 99)}, checklist)
    assert [(line.name, line.label, line.text) for line in shown] == [
        ("gape_angle", "Mouth gape", "Mouth opens 95° (91–99°): medium"),
        ("mouth_opening", "Mouth opening", "Mouth opening unknown: not measured yet"),
    ]
    assert shown[0].plain_name == "mouth gape"
    assert evidence_for(checklist.get("close"), {"gape_angle": _gape(95)}, checklist) == ()


def test_every_measure_has_a_plain_name_without_underscores():
    assert [name for name in PLAIN_NAMES.values() if "_" in name] == []
    assert plain_name("something_else") == "something else"


@pytest.mark.parametrize(
    "numbers",
    [
        {"value": nan},
        {"value": inf},
        {"value": 1, "low": 2, "high": 3},
        {"value": 1, "low": 0},
        {"value": None},
        {"value": None, "reason": "hidden", "low": 1, "high": 2},
    ],
)
def test_a_value_that_contradicts_itself_is_refused(numbers):
    with pytest.raises(InvalidAnswer):
        EvidenceValue(name="gape_angle", **numbers)


def test_the_json_form_of_a_measure_is_read_with_its_types_checked():
    obj = {"value": 124, "low": 118.0, "high": 130.0, "unit": "deg", "reason": None}
    assert EvidenceValue.from_json("gape_angle", obj) == _gape(124, 118, 130)
    unknown = {"value": None, "low": None, "high": None, "unit": "deg", "reason": "no corner"}
    assert EvidenceValue.from_json("gape_angle", unknown).reason == "no corner"
    for value in ("124", True, [1]):
        with pytest.raises(InvalidAnswer, match="value must be a number or null"):
            EvidenceValue.from_json("gape_angle", {**obj, "value": value})


def test_a_band_open_on_both_sides_holds_everything():
    assert band_words(_gape(5), (Band(name="any", low=None, high=None),)) == "any"


def test_an_interval_that_meets_all_of_many_bands_is_told_as_too_wide():
    bands = shipped_checklist().bands["head_deviation"]
    assert len(bands) > 3
    wide = EvidenceValue(name="head_deviation", value=0.0, low=-60.0, high=60.0, unit="deg")
    assert band_words(wide, bands) == TOO_WIDE
    narrower = EvidenceValue(name="head_deviation", value=0.0, low=-20.0, high=60.0, unit="deg")
    assert band_words(narrower, bands) == "somewhat back, in line, somewhat forward or far forward"
