"""The line ear–shoulder–hip: its bend, on which side, how far, and when it is no line of the body."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from make_angle_cases import body, placed
from skimage.measure import LineModelND

from vision.landmarks import BodyView, LandmarkSet, Point, Visibility
from vision.measures import Measure, NotMeasurable, Result, measure_all

LINE_MEASURES = ("alignment_angle", "head_deviation", "line_offset")


def bent(bend: float, *, sigma: float | None = 4, nose_turn: float = 90, **shape: float) -> LandmarkSet:
    points = placed(body(trunk=400, neck=160, bend=bend, nose_turn=nose_turn), **shape)  # type: ignore[arg-type]
    return LandmarkSet(
        points={name: Point(x=at.real, y=at.imag, sigma=sigma) for name, at in points.items()}, body_view=BodyView.SIDE
    )


def measure(landmarks: LandmarkSet, name: str) -> Measure:
    result: Result = measure_all(landmarks)[name]
    assert isinstance(result, Measure), result
    return result


@given(
    bend=st.floats(-170, 170),
    roll=st.floats(0, 360),
    scale=st.floats(0.5, 3),
    mirror=st.booleans(),
    nose_turn=st.sampled_from([60, 90, 120]),
)
def test_the_signed_deviation_is_positive_towards_the_face_and_nothing_moves_it(
    bend: float, roll: float, scale: float, mirror: bool, nose_turn: float
) -> None:
    landmarks = bent(bend, roll=roll, scale=scale, mirror=mirror, nose_turn=nose_turn)
    assert measure(landmarks, "head_deviation").value == pytest.approx(bend, abs=1e-6)
    assert measure(landmarks, "alignment_angle").value == pytest.approx(180 - abs(bend), abs=1e-6)


@given(bend=st.floats(-170, 170))
def test_turning_the_face_round_flips_the_deviation_and_leaves_the_angle(bend: float) -> None:
    ahead, behind = bent(bend, nose_turn=90), bent(bend, nose_turn=-90)
    there, back = (measure(landmarks, "head_deviation") for landmarks in (ahead, behind))
    assert there.value == pytest.approx(-back.value, abs=1e-9)
    assert (there.low, there.high) == pytest.approx((-back.high, -back.low), abs=1e-9)
    assert measure(ahead, "alignment_angle") == measure(behind, "alignment_angle")


@pytest.mark.parametrize("bend", [0, 2, -2, 15, 60])
def test_the_interval_of_the_angle_is_the_signed_one_folded_at_180(bend: float) -> None:
    angle, signed = measure(bent(bend), "alignment_angle"), measure(bent(bend), "head_deviation")
    straight_inside = signed.low <= 0 <= signed.high
    assert angle.high == pytest.approx(180 if straight_inside else 180 - min(abs(signed.low), abs(signed.high)))
    assert angle.low == pytest.approx(180 - max(abs(signed.low), abs(signed.high)))
    assert angle.low <= angle.value <= angle.high <= 180


def test_the_deviations_standard_deviation_agrees_with_draws() -> None:
    landmarks = bent(20, sigma=6)
    draws = np.random.default_rng(2).normal(0, 6, (50_000, 3, 2)) @ [1, 1j]
    at = {name: complex(point.x, point.y) for name, point in landmarks.points.items()}
    ear, shoulder, hip = (at[name] + draws[:, i] for i, name in enumerate(("ear", "shoulder", "hip")))
    bends = np.degrees(np.angle((ear - shoulder) / (shoulder - hip)))
    assert measure(landmarks, "head_deviation").sd == pytest.approx(bends.std(), rel=0.02)
    offsets = 100 * np.imag((shoulder - ear) / (hip - ear))
    assert measure(landmarks, "line_offset").sd == pytest.approx(offsets.std(), rel=0.02)


def test_a_95_percent_interval_of_the_bend_holds_the_truth_95_times_in_100() -> None:
    rng = np.random.default_rng(4)
    held = 0
    for _ in range(1500):
        bend = rng.uniform(-40, 40)
        landmarks = bent(bend, sigma=9)
        clicked = {
            name: replace(point, x=point.x + rng.normal(0, 9), y=point.y + rng.normal(0, 9))
            for name, point in landmarks.points.items()
        }
        result = measure(replace(landmarks, points=clicked), "alignment_angle")
        held += result.low <= 180 - abs(bend) <= result.high
    assert 0.935 <= held / 1500 <= 0.98


@pytest.mark.parametrize("bend", [178, -178, 165, 90])
def test_a_line_bent_right_back_has_the_spread_of_draws_that_go_on_past_180(bend: float) -> None:
    """179° and −179° are 2° apart: drawn bends are counted from the placed one, either way round."""
    landmarks = bent(bend, sigma=16)
    draws = np.random.default_rng(7).normal(0, 16, (200_000, 3, 2)) @ [1, 1j]
    at = {name: complex(point.x, point.y) for name, point in landmarks.points.items()}
    ear, shoulder, hip = (at[name] + draws[:, i] for i, name in enumerate(("ear", "shoulder", "hip")))
    centre = (at["ear"] - at["shoulder"]) / (at["shoulder"] - at["hip"])
    away = np.degrees(np.angle((ear - shoulder) / (shoulder - hip) / centre))
    signed, angle = measure(landmarks, "head_deviation"), measure(landmarks, "alignment_angle")
    assert signed.value == pytest.approx(bend)
    assert signed.sd == pytest.approx(away.std(), rel=0.015)
    low, high = np.clip(bend + np.quantile(away, (0.025, 0.975)), -180, 180)
    assert (signed.low, signed.high) == pytest.approx((low, high), abs=0.5)
    assert (angle.value, angle.low) == pytest.approx((180 - abs(bend), 180 - max(abs(low), abs(high))), abs=0.5)


def test_a_turned_trunk_refuses_the_line_and_says_how_to_take_the_photo() -> None:
    results = measure_all(replace(bent(10), body_view=BodyView.TURNED))
    for name in LINE_MEASURES:
        result = results[name]
        assert isinstance(result, NotMeasurable)
        assert "square to the baby's side" in result.reason


def test_a_trunk_of_unknown_view_is_measured_with_a_note() -> None:
    result = measure(replace(bent(10), body_view=BodyView.UNKNOWN), "alignment_angle")
    assert result.notes == (
        "It is not said whether the trunk is seen square from its side; a turned trunk changes this.",
    )
    assert measure(bent(10), "alignment_angle").notes == ()
    for name in LINE_MEASURES:
        assert measure(replace(bent(10), body_view=BodyView.UNKNOWN), name).notes == result.notes


def test_points_of_the_line_and_the_nose_that_were_guessed_are_named_where_they_count() -> None:
    guessed = replace(
        bent(10),
        points={name: replace(point, visibility=Visibility.HIDDEN) for name, point in bent(10).points.items()},
    )
    line = "Placed by guess, where it cannot be seen: ear, shoulder, hip."
    assert measure(guessed, "alignment_angle").notes == measure(guessed, "line_offset").notes == (line,)
    assert measure(guessed, "head_deviation").notes == (line, "Placed by guess, where it cannot be seen: nose tip.")


def test_without_a_nose_tip_the_bend_has_no_sign() -> None:
    results = measure_all(bent(10).without(["nose_tip"]))
    assert results["head_deviation"] == NotMeasurable(name="head_deviation", unit="deg", reason="Not placed: nose tip.")
    assert isinstance(results["alignment_angle"], Measure)


def test_a_face_along_the_line_is_refused_in_a_sentence() -> None:
    assert measure_all(bent(10, nose_turn=0))["head_deviation"].reason == (  # type: ignore[union-attr]
        "The face looks along the body line, so forward and back cannot be told apart."
    )


@pytest.mark.parametrize(("nose_turn", "known"), [(9, False), (171, False), (-9, False), (11, True), (-169, True)])
def test_a_face_along_the_line_leaves_forward_and_back_open(nose_turn: float, known: bool) -> None:
    assert isinstance(measure_all(bent(10, nose_turn=nose_turn))["head_deviation"], Measure) is known


@pytest.mark.parametrize("gone", ["ear", "shoulder", "hip"])
def test_every_missing_point_of_the_line_refuses_all_its_measures(gone: str) -> None:
    results = measure_all(bent(10).without([gone]))
    assert {results[name].reason for name in LINE_MEASURES} == {f"Not placed: {gone}."}  # type: ignore[union-attr]


def test_points_hardly_further_apart_than_they_are_unsure_give_a_wide_interval() -> None:
    sure, unsure = (measure(bent(10, sigma=sigma), "alignment_angle") for sigma in (4, 60))
    assert sure.value == unsure.value == pytest.approx(170)
    assert unsure.high - unsure.low > 5 * (sure.high - sure.low)


def test_points_on_each_other_refuse_the_angle() -> None:
    landmarks = bent(10)
    result = measure_all(landmarks.with_points({"ear": landmarks.points["shoulder"]}))["alignment_angle"]
    assert isinstance(result, NotMeasurable)
    assert result.reason == "The ear and the shoulder lie on each other, so there is no angle between them."


def test_ear_and_hip_on_one_place_refuse_the_offset() -> None:
    landmarks = bent(10)
    result = measure_all(landmarks.with_points({"hip": landmarks.points["ear"]}))["line_offset"]
    assert isinstance(result, NotMeasurable)
    assert result.reason == "Ear and hip lie too close together for a line between them."


@pytest.mark.parametrize(
    ("moved", "to", "sentence"),
    [
        ("ear", "shoulder", "The ear and the shoulder lie on each other, so there is no angle between them."),
        ("hip", "shoulder", "The shoulder and the hip lie on each other, so there is no angle between them."),
    ],
)
def test_a_tenth_of_a_standard_deviation_tells_points_on_each_other_from_points_apart(
    moved: str, to: str, sentence: str
) -> None:
    """σ = 4 for both: 0.1 · √(4² + 4²) = 0.57 px."""
    there = bent(10).points[to]
    on, apart = (measure_all(bent(10).with_points({moved: replace(there, x=there.x + d)})) for d in (0.55, 0.58))
    for name in ("alignment_angle", "head_deviation"):
        assert on[name].reason == sentence  # type: ignore[union-attr]
    assert isinstance(apart["alignment_angle"], Measure)


def test_the_offset_needs_ear_and_hip_two_standard_deviations_apart() -> None:
    """σ = 4 for both: 2 · √(4² + 4²) = 11.3 px."""
    ear = bent(10).points["ear"]
    for d, kind in ((11, NotMeasurable), (12, Measure)):
        assert isinstance(measure_all(bent(10).with_points({"hip": replace(ear, y=ear.y + d)}))["line_offset"], kind)


@given(bend=st.floats(-120, 120), roll=st.floats(0, 360), mirror=st.booleans(), neck=st.floats(60, 400))
def test_the_offset_is_the_residual_of_scikit_images_line_over_its_length(
    bend: float, roll: float, mirror: bool, neck: float
) -> None:
    points = placed(body(trunk=400, neck=neck, bend=bend, nose_turn=90), roll=roll, mirror=mirror)
    ear, shoulder, hip = (np.array([points[name].real, points[name].imag]) for name in ("ear", "shoulder", "hip"))
    residual = LineModelND.from_estimate(np.array([ear, hip])).residuals(shoulder[None])[0]
    landmarks = LandmarkSet(points={name: Point(x=at.real, y=at.imag, sigma=4) for name, at in points.items()})
    expected = 100 * residual / np.linalg.norm(ear - hip)
    assert measure(landmarks, "line_offset").value == pytest.approx(expected, abs=1e-6)


def test_a_straight_line_has_offset_zero_and_an_interval_from_there() -> None:
    result = measure(bent(0), "line_offset")
    assert result.value == pytest.approx(0, abs=1e-9)
    assert result.low == 0
    assert result.high == pytest.approx(1.96 * result.sd, abs=1e-6)
