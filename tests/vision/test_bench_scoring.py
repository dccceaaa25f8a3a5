"""Is the bench itself right? Answers with known errors must come out of its tables as those errors."""

import json
from dataclasses import replace

import numpy as np
import pytest
from bench_scenes_known import known_picture, known_pictures

from vision.bench.columns import Column, clicks_column, detector_column
from vision.bench.groups import GROUPINGS, roll_group
from vision.bench.markdown import as_markdown
from vision.bench.renders import BenchPicture
from vision.bench.scoring import MEASURES, POINTS, MeasureOutcome, score
from vision.bench.tables import BenchResult, run_bench, summarise, summarise_measure, to_json
from vision.detect import FixedDetector
from vision.landmarks import BodyView, HeadYaw, LandmarkSet, Point, Visibility

N = 200


def truth_of(picture: BenchPicture, **changes: object) -> LandmarkSet:
    yaw = HeadYaw(deg=picture.head_yaw_deg, sigma_deg=1.0)
    points = {name: replace(point, sigma=1.0) for name, point in picture.truth.points.items()}
    return replace(picture.truth, points=points, head_yaw=yaw, **changes)


def moved(picture: BenchPicture, percent: float, rng: np.random.Generator) -> LandmarkSet:
    """Every point moved by exactly this much of the face size, in a random direction."""

    def off(point: Point) -> Point:
        step = percent / 100 * picture.face_px * np.exp(1j * rng.uniform(0, 2 * np.pi))
        return replace(point, x=point.x + float(step.real), y=point.y + float(step.imag))

    answer = truth_of(picture)
    return replace(answer, points={name: off(point) for name, point in answer.points.items()})


def whole(column: Column, pictures: tuple[BenchPicture, ...]) -> object:
    rows = summarise(run_bench(pictures, [column]))
    return next(row for row in rows if row.grouping == "all")


def test_a_detector_that_errs_by_seven_percent_has_seven_percent_in_the_table() -> None:
    rng = np.random.default_rng(0)
    row = whole(Column(name="seven", answer=lambda picture: moved(picture, 7.0, rng)), known_pictures(N))
    assert row.points.found == 1
    assert row.points.n_asked == N * len(POINTS)
    assert [row.points.median_percent, row.points.p90_percent] == pytest.approx([7, 7])
    assert all(summary.median_percent == pytest.approx(7) for summary in row.by_point.values())


def test_a_detector_that_leaves_out_a_quarter_of_the_ears_is_seen_to_do_so() -> None:
    def answer(picture: BenchPicture) -> LandmarkSet:
        return truth_of(picture).without(["ear"] if picture.doll % 4 == 0 else [])

    row = whole(Column(name="earless", answer=answer), known_pictures(N))
    assert row.by_point["ear"].found == pytest.approx(0.75)
    assert row.by_point["nose_tip"].found == 1
    assert row.measures["alignment_angle"].found == pytest.approx(0.75)
    assert row.measures["alignment_angle"].bias_deg == pytest.approx(0, abs=1e-6)


def test_true_points_and_direction_give_the_true_measures() -> None:
    row = whole(Column(name="truth", answer=truth_of), known_pictures(N))
    assert row.measures["alignment_angle"].p90_deg == pytest.approx(0, abs=1e-6)
    # The head's own proportions differ from the mean ones that the measure takes: that error stays.
    assert row.measures["gape_angle"].median_deg < 2
    assert row.measures["gape_angle"].found > 0.97
    assert row.measures["gape_angle"].coverage > 0.93
    assert row.measures["gape_angle"].confidently_wrong == 0


def made_up(n: int, *, bias: float, spread: float, told: float, seed: int = 5) -> list[MeasureOutcome]:
    """Errors of N(bias, spread), intervals of ± 1.96 told."""
    errors = np.random.default_rng(seed).normal(bias, spread, n)
    half = 1.96 * told
    return [
        MeasureOutcome(
            asked=True,
            error_deg=float(error),
            half_width_deg=half,
            covered=bool(abs(error) <= half),
            missed_by_deg=max(0.0, float(abs(error)) - half),
        )
        for error in errors
    ]


def test_bias_spread_and_coverage_of_made_up_errors_come_back() -> None:
    """|N(0, 6)| has its median at 0.6745 σ and its 90th percentile at 1.6449 σ (normal table)."""
    honest = summarise_measure(made_up(20_000, bias=0.0, spread=6.0, told=6.0))
    assert honest.median_deg == pytest.approx(0.6745 * 6, rel=0.03)
    assert honest.p90_deg == pytest.approx(1.6449 * 6, rel=0.03)
    assert honest.coverage == pytest.approx(0.95, abs=0.006)
    assert honest.width_over_error == pytest.approx(1.96 / 0.6745, rel=0.03)
    assert honest.spearman is None
    assert summarise_measure(made_up(20_000, bias=4.0, spread=6.0, told=6.0)).bias_deg == pytest.approx(4, abs=0.15)


def test_an_overconfident_detector_is_seen_as_confidently_wrong_at_the_rate_that_the_normal_table_gives() -> None:
    """σ = 20, told 1: an interval misses by more than 15 where |error| > 16.96, 2·Φ(−0.848) = 0.396."""
    summary = summarise_measure(made_up(20_000, bias=0.0, spread=20.0, told=1.0))
    assert summary.confidently_wrong == pytest.approx(0.396, abs=0.012)
    assert summary.coverage == pytest.approx(0.078, abs=0.01)


def test_what_was_not_answered_counts_in_the_share_found_and_not_in_the_errors() -> None:
    answered, silent = made_up(30, bias=0.0, spread=5.0, told=5.0), [MeasureOutcome(asked=True)] * 10
    outside = [MeasureOutcome(asked=False)] * 60
    summary = summarise_measure([*answered, *silent, *outside])
    assert (summary.n, summary.n_asked, summary.found) == (100, 40, 0.75)
    assert summary.median_deg == summarise_measure(answered).median_deg


def test_widths_that_follow_the_errors_have_a_rank_correlation_near_one_and_shuffled_ones_near_none() -> None:
    rng = np.random.default_rng(8)
    errors = rng.exponential(5, 500)

    def outcomes(widths: np.ndarray) -> list[MeasureOutcome]:
        return [
            MeasureOutcome(asked=True, error_deg=float(e), half_width_deg=float(w), covered=True, missed_by_deg=0.0)
            for e, w in zip(errors, widths, strict=True)
        ]

    assert summarise_measure(outcomes(2 * errors + 1)).spearman == pytest.approx(1)
    assert abs(summarise_measure(outcomes(rng.permutation(errors))).spearman or 0) < 0.15


def test_nothing_answered_is_none_and_not_zero() -> None:
    summary = summarise_measure([MeasureOutcome(asked=True)] * 5)
    assert summary.found == 0
    assert (summary.median_deg, summary.coverage, summary.spearman, summary.width_over_error) == (None,) * 4
    assert summarise_measure([]).found is None


def test_an_answer_where_nothing_was_asked_can_still_be_confidently_wrong() -> None:
    picture = replace(known_picture(0), head_yaw_deg=30.0)
    answer = replace(truth_of(picture), head_yaw=HeadYaw(deg=90, sigma_deg=1))
    answer = answer.with_points({"lower_lip_edge": replace(answer.points["upper_lip_edge"], sigma=0.1)})
    outcome = score(picture, answer).measures["gape_angle"]
    assert not outcome.asked
    assert outcome.confidently_wrong


def test_a_steep_camera_a_turned_trunk_and_a_point_outside_the_picture_are_not_asked_for() -> None:
    picture = known_picture(3)
    steep = replace(picture, elevation_deg=21.0)
    turned = replace(picture, truth=replace(picture.truth, body_view=BodyView.TURNED))
    cut = replace(picture, truth=picture.truth.without(["ear"]))
    asked = {
        name: tuple(outcome.asked for outcome in score(one, truth_of(one)).measures.values())
        for name, one in {"plain": picture, "steep": steep, "turned": turned, "cut": cut}.items()
    }
    assert asked == {"plain": (True, True), "steep": (False, True), "turned": (True, False), "cut": (False, False)}


def test_a_hidden_lip_is_no_landmark_to_find_but_the_gape_is_still_asked_for_in_a_group_of_its_own() -> None:
    picture = known_picture(3)
    hidden = replace(picture.truth.points["lower_lip_edge"], visibility=Visibility.HIDDEN)
    covered = replace(picture, truth=picture.truth.with_points({"lower_lip_edge": hidden}))
    case = score(covered, truth_of(covered))
    assert "lower_lip_edge" not in case.points
    assert case.measures["gape_angle"].asked
    assert (GROUPINGS["mouth"](picture), GROUPINGS["mouth"](covered)) == ("all seen", "a part hidden")


def test_every_picture_lies_in_exactly_one_group_of_each_grouping() -> None:
    rows = summarise(run_bench(known_pictures(60), [Column(name="truth", answer=truth_of)]))
    for grouping in GROUPINGS:
        assert sum(row.n for row in rows if row.grouping == grouping) == 60


def test_errors_of_one_tone_only_are_shown_in_that_tone_only() -> None:
    rng = np.random.default_rng(2)

    def answer(picture: BenchPicture) -> LandmarkSet:
        return moved(picture, 20.0 if picture.groups["tone"] in ("7", "8") else 2.0, rng)

    rows = summarise(run_bench(known_pictures(80), [Column(name="uneven", answer=answer)]))
    by_tone = {row.group: row.points.median_percent for row in rows if row.grouping == "skin tone"}
    assert by_tone == pytest.approx({"1–2": 2, "3–4": 2, "5–6": 2, "7–8": 20})


@pytest.mark.parametrize(("degrees", "group"), [(0, "up"), (44, "up"), (46, "right"), (180, "down"), (270, "left")])
def test_the_crown_of_the_head_names_the_roll(degrees: float, group: str) -> None:
    assert roll_group(degrees) == f"crown {group}"


def test_the_roll_of_a_known_head_is_read_from_its_points() -> None:
    """The heads of the model look to the right with the crown up at roll 0; a turn clockwise is positive."""
    upright = known_picture(1)
    turn = upright.head_roll_deg
    assert turn is not None
    points = {
        name: Point(x=-point.y, y=point.x, by="truth") for name, point in upright.truth.points.items()
    }  # a quarter turn clockwise on the screen, x right and y down
    turned = replace(upright, truth=replace(upright.truth, points=points))
    assert (turned.head_roll_deg - turn) % 360 == pytest.approx(90)
    mirrored = {name: replace(point, x=-point.x) for name, point in upright.truth.points.items()}
    flipped = replace(upright, truth=replace(upright.truth, points=mirrored))
    assert (flipped.head_roll_deg + turn) % 360 == pytest.approx(0, abs=1e-6)


def test_clicks_on_heads_that_obey_the_model_are_held_by_their_intervals_93_to_97_times_in_100() -> None:
    """Two standard errors at 700 answers: 1.6 %. Mouths open to 40–80°, so that the lips lie well before the corner."""
    row = whole(clicks_column(seed=3), known_pictures(700, gape=(40, 80)))
    gape, line = row.measures["gape_angle"], row.measures["alignment_angle"]
    assert gape.found > 0.94
    assert abs(gape.bias_deg) < 1
    assert 0.93 <= gape.coverage <= 0.975
    assert gape.confidently_wrong < 0.01
    assert line.found > 0.98
    assert line.coverage >= 0.93


def test_clicks_are_the_same_for_the_same_seed_and_have_the_spread_that_people_have() -> None:
    pictures = known_pictures(400)
    first, again, other = (run_bench(pictures, [clicks_column(seed)])["clicks"] for seed in (1, 1, 2))
    error = [[case.points["nose_tip"].error_percent for case in cases] for cases in (first, again, other)]
    assert error[0] == error[1] != error[2]
    # A distance of two coordinates of 1.8 % each: its root mean square is 1.8 √2 = 2.55 %.
    assert np.sqrt(np.mean(np.square(error[0]))) == pytest.approx(2.55, rel=0.1)


def test_the_result_is_valid_json_without_nan_and_its_markdown_names_every_column() -> None:
    silent = detector_column("silent", lambda: FixedDetector(points={}))
    with_pixels = [replace(picture, path=None) for picture in known_pictures(12)]
    columns = [Column(name="truth", answer=truth_of), clicks_column(1)]
    columns.append(Column(name=silent.name, answer=lambda _: LandmarkSet()))
    result = BenchResult(seed=1, n=12, date="2026-01-02", rows=summarise(run_bench(with_pixels, columns)))
    parsed = json.loads(json.dumps(to_json(result), allow_nan=False))
    assert {row["column"] for row in parsed["rows"]} == {"truth", "clicks", "silent"}
    assert set(parsed["rows"][0]["measures"]) == set(MEASURES)
    text = as_markdown(result)
    assert "| silent | 12 | 0 % | – | – | – | – | – | – | 0.0 % |" in text
    assert "**Gape by skin tone**" in text
    assert "**Gape by skin tone**" not in as_markdown(result, every_grouping=False)
