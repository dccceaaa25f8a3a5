"""Sigma factors: a detector whose spread is known is told by how much it overrates itself."""

from dataclasses import replace

import numpy as np
import pytest
from bench_scenes_known import known_pictures

from vision.bench.calibration import SigmaFactors, calibrate, sigma_factors, with_sigma_factors
from vision.bench.markdown import calibration_as_markdown
from vision.bench.renders import BenchPicture
from vision.landmarks import GapeReading, HeadYaw, LandmarkSet, Point, Visibility

#: The made-up detector says 1 px and 2°, and errs by so many times more.
EAR_FACTOR, OTHER_FACTOR, YAW_FACTOR = 12.0, 4.0, 3.0
#: Its own reading of the gape errs by half of what it says.
GAPE_FACTOR = 0.5


def overconfident(picture: BenchPicture) -> LandmarkSet:
    rng = np.random.default_rng([7, round(1000 * picture.head_yaw_deg)])

    def found(name: str, point: Point) -> Point:
        dx, dy = rng.normal(0, EAR_FACTOR if name == "ear" else OTHER_FACTOR, 2)
        return replace(point, x=point.x + float(dx), y=point.y + float(dy), sigma=1.0, by="made-up")

    points = {name: found(name, point) for name, point in picture.truth.points.items()}
    yaw = HeadYaw(deg=float(np.clip(picture.head_yaw_deg + rng.normal(0, 2 * YAW_FACTOR), 0, 180)), sigma_deg=2.0)
    return replace(picture.truth, points=points, head_yaw=yaw)


def reading(picture: BenchPicture) -> LandmarkSet:
    """The made-up detector, reading the gape by itself with a spread of 10° that is 5° in truth."""
    rng = np.random.default_rng([9, round(1000 * picture.head_yaw_deg)])
    assert picture.gape_deg is not None
    deg = float(np.clip(picture.gape_deg + rng.normal(0, 10 * GAPE_FACTOR), 0, 180))
    return replace(overconfident(picture), gape=GapeReading(deg=deg, sigma_deg=10.0, by="made-up"))


def test_the_factors_are_those_that_the_detector_errs_by() -> None:
    """A 95 % quantile of 600 normal coordinates has a standard error of about 4 %."""
    pictures = known_pictures(300)
    factors = sigma_factors([(picture, overconfident(picture)) for picture in pictures])
    assert factors.points["ear"] == pytest.approx(EAR_FACTOR, rel=0.15)
    assert factors.points["chin"] == pytest.approx(OTHER_FACTOR, rel=0.15)
    assert factors.head_yaw == pytest.approx(YAW_FACTOR, rel=0.2)


def test_factors_from_one_half_put_the_coverage_of_the_other_half_right() -> None:
    pictures = known_pictures(600, gape=(40, 80))
    found = calibrate(pictures, [overconfident(picture) for picture in pictures], "made-up")
    assert (found.n_learned, found.n_tried) == (300, 300)
    for measure in ("gape_angle", "alignment_angle"):
        before, after = found.before[measure]["all"]["all"], found.after[measure]["all"]["all"]
        assert before.coverage < 0.7
        assert 0.91 <= after.coverage <= 0.99
        assert after.n == before.n == 300
    assert set(found.after["gape_angle"]) == {"all", "yaw", "skin tone"}
    assert sum(summary.n for summary in found.after["gape_angle"]["yaw"].values()) == 300


def test_the_gape_that_a_detector_read_itself_has_a_factor_of_its_own() -> None:
    pictures = known_pictures(600, gape=(60, 120))
    found = calibrate(pictures, [reading(picture) for picture in pictures], "made-up")
    assert found.factors.gape == pytest.approx(GAPE_FACTOR, rel=0.15)
    before, after = found.before["gape_angle"]["all"]["all"], found.after["gape_angle"]["all"]["all"]
    assert before.coverage > 0.99
    assert 0.92 <= after.coverage <= 0.98
    assert after.width_over_error == pytest.approx(GAPE_FACTOR * before.width_over_error, rel=0.15)


def test_a_reading_that_a_person_made_void_teaches_nothing() -> None:
    def touched(picture: BenchPicture) -> LandmarkSet:
        answer = reading(picture)
        return answer.with_points({"mouth_corner": replace(answer.points["mouth_corner"], by="student")})

    assert sigma_factors([(picture, touched(picture)) for picture in known_pictures(60)]).gape == 1.0


def test_the_calibration_is_printed_by_group_with_how_many_answers_there_were() -> None:
    pictures = known_pictures(120, gape=(60, 120))
    text = calibration_as_markdown(calibrate(pictures, [reading(picture) for picture in pictures], "made-up"))
    assert "factors for sigma from 60 pictures, tried on the 60 of the other dolls" in text
    assert "gape reading 0." in text
    rows = [line for line in text.splitlines() if line.startswith("| ") and not line.startswith("| group")]
    assert len([row for row in rows if row.startswith("| all | 60 | 100 % |")]) == 2
    assert {row.split(" ")[1] for row in rows} == {"all", "yaw", "skin", "---"}


def test_no_doll_is_in_both_halves() -> None:
    """Pictures of one doll are alike; learning from one and trying on the other would flatter."""
    pictures = known_pictures(60)
    asked: list[int] = []

    def answer(picture: BenchPicture) -> LandmarkSet:
        asked.append(picture.doll)
        return overconfident(picture)

    found = calibrate(pictures, [answer(picture) for picture in pictures], "made-up")
    even = sum(doll % 2 == 0 for doll in asked)
    assert (found.n_learned, found.n_tried) == (even, 60 - even)


def test_landmarks_seen_too_seldom_keep_their_sigma() -> None:
    few = [(picture, overconfident(picture)) for picture in known_pictures(6)]
    factors = sigma_factors(few)
    assert factors == SigmaFactors(points={}, head_yaw=1.0)
    assert with_sigma_factors(few[0][1], factors) == few[0][1]


def test_hidden_points_teach_nothing() -> None:
    def hiding(picture: BenchPicture) -> BenchPicture:
        hidden = replace(picture.truth.points["ear"], visibility=Visibility.HIDDEN)
        return replace(picture, truth=picture.truth.with_points({"ear": hidden}))

    pairs = [(hiding(picture), overconfident(picture)) for picture in known_pictures(60)]
    assert "ear" not in sigma_factors(pairs).points


def test_factors_multiply_sigmas_and_leave_places_alone() -> None:
    answer = overconfident(known_pictures(1)[0])
    scaled = with_sigma_factors(answer, SigmaFactors(points={"ear": 2.5}, head_yaw=3.0))
    assert scaled.points["ear"] == replace(answer.points["ear"], sigma=2.5)
    assert scaled.points["chin"] == answer.points["chin"]
    assert scaled.head_yaw == HeadYaw(deg=answer.head_yaw.deg, sigma_deg=6.0)
