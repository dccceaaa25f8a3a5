"""Own measures and points beside the reference ones."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rubric.evidence import EvidenceValue
from rubric.feedback import compare_measures, compare_points


def _deg(value, reach=None, name="gape_angle"):
    low, high = (None, None) if reach is None else (value - reach, value + reach)
    return EvidenceValue(name=name, value=value, low=low, high=high, unit="deg")


def _text(own, reference):
    (feedback,) = compare_measures({own.name: own}, {reference.name: reference})
    return feedback.text


def test_a_difference_within_the_uncertainty_is_not_told_as_one():
    assert _text(_deg(118, 8), _deg(126, 6)) == (
        "Your 118° and the key's 126° differ by 8°; with this uncertainty the photo cannot tell them apart."
    )


def test_a_difference_beyond_the_uncertainty_is_told():
    assert _text(_deg(98, 8), _deg(126, 6)) == (
        "Your 98° and the key's 126° differ by 28°, more than the uncertainty of the two explains."
    )


def test_the_uncertainties_add_as_squares():
    # intervals of ±3 and ±4 make ±5 for the difference
    assert "cannot tell" in _text(_deg(100, 3), _deg(104.9, 4))
    assert "more than" in _text(_deg(100, 3), _deg(105.1, 4))


def test_only_the_ends_that_face_each_other_count():
    high = EvidenceValue(name="gape_angle", value=175, low=165, high=180, unit="deg")
    low = EvidenceValue(name="gape_angle", value=164, low=100, high=166, unit="deg")
    assert "more than" in _text(low, high)  # 11 > sqrt(2² + 10²) = 10.2, though the far end lies 64 away
    assert "more than" in _text(high, low)


def test_without_an_interval_it_stays_open():
    assert _text(_deg(100), _deg(110, 4)).endswith("it stays open whether the photo tells them apart.")


def test_a_difference_too_small_to_show_is_told_as_none():
    assert _text(_deg(100.1, 4), _deg(100.4, 4)).endswith("do not differ in what is shown here.")


@pytest.mark.parametrize(
    ("unit", "too_small", "enough"),
    [("deg", 0.4, 0.6), ("%", 0.4, 0.6), ("% of face size", 0.4, 0.6), ("mm", 0.04, 0.06), ("share", 0.004, 0.006)],
)
def test_what_is_too_small_to_show_depends_on_the_unit(unit, too_small, enough):
    def value(number):
        return EvidenceValue(name="measure", value=number, low=number - 9, high=number + 9, unit=unit)

    assert "do not differ" in _text(value(10), value(10 + too_small))
    assert "cannot tell them apart" in _text(value(10), value(10 + enough))


def test_an_unknown_on_either_side_says_why():
    unknown = EvidenceValue(name="gape_angle", value=None, unit="deg", reason="the corner is buried")
    (feedback,) = compare_measures({"gape_angle": unknown}, {"gape_angle": _deg(100, 4)})
    assert feedback.difference is None
    assert feedback.text == "Your mouth gape is unknown: the corner is buried. The key's mouth gape is 100°."
    (missing,) = compare_measures({"gape_angle": _deg(100, 4)}, {})
    assert missing.text == "Your mouth gape is 100°. The key's mouth gape was not measured."
    assert missing.reference is None


def test_measures_come_in_one_order_whatever_order_they_are_given_in():
    own = {name: _deg(10, 2, name) for name in ("other", "head_deviation", "gape_angle")}
    names = [feedback.name for feedback in compare_measures(own, {"alignment_angle": _deg(170, 2, "alignment_angle")})]
    assert names == ["gape_angle", "alignment_angle", "head_deviation", "other"]


@given(st.floats(0, 180), st.floats(0, 180), st.floats(0, 40), st.floats(0, 40))
def test_swapping_the_sides_turns_the_sign_and_keeps_the_verdict_on_uncertainty(a, b, reach_a, reach_b):
    (there,) = compare_measures({"gape_angle": _deg(a, reach_a)}, {"gape_angle": _deg(b, reach_b)})
    (back,) = compare_measures({"gape_angle": _deg(b, reach_b)}, {"gape_angle": _deg(a, reach_a)})
    assert there.difference == -back.difference
    assert ("more than" in there.text) == ("more than" in back.text)


def test_two_measures_of_one_angle_are_held_apart_in_one_case_of_twenty():
    """The promise of a 95 % interval: simulated with two known, unequal standard deviations."""
    rng = np.random.default_rng(7)
    own, reference = rng.normal(100, 3, 4000), rng.normal(100, 5, 4000)
    apart = sum("more than" in _text(_deg(a, 1.96 * 3), _deg(b, 1.96 * 5)) for a, b in zip(own, reference, strict=True))
    assert apart / 4000 == pytest.approx(0.05, abs=0.011)  # three standard errors of a share of 0.05 in 4000


def test_points_are_told_in_percent_of_the_face_with_their_plain_names():
    texts = [
        point.text
        for point in compare_points(
            {"chin": 4.25, "nose_tip": None, "upper_lip_edge": 6.3, "ear": 6.0},
            names={"chin": "chin", "nose_tip": "nose tip", "ear": "ear"},
            sigma_percent={"upper_lip_edge": 2.5, "ear": 2.4},
        )
    ]
    assert texts == [
        "Your point for chin lies 4.2 % of the size of the face from the key's.",
        "Your point for nose tip cannot be compared with the key's.",
        # 2.4477 standard deviations: 6.12 for 2.5, 5.87 for 2.4
        "Your point for upper lip edge lies 6.3 % of the size of the face from the key's, "
        "more than two careful clicks usually differ by.",
        "Your point for ear lies 6.0 % of the size of the face from the key's, "
        "more than two careful clicks usually differ by.",
    ]


def test_two_clicks_on_one_place_lie_within_the_limit_in_95_of_100_cases():
    rng = np.random.default_rng(11)
    distances = np.hypot(*rng.normal(0, 2.0, (2, 4000)))
    points = compare_points(
        {f"p{n}": float(d) for n, d in enumerate(distances)}, sigma_percent={f"p{n}": 2.0 for n in range(4000)}
    )
    within = sum("within what two careful clicks" in point.text for point in points) / 4000
    assert within == pytest.approx(0.95, abs=0.011)
