"""The cases that Python and the browser share: points built from known answers."""

import json

import make_angle_cases
import pytest

from vision.landmark_files import landmarks_from_json
from vision.measures import Measure, measure_all

CASES = json.loads(make_angle_cases.TARGET.read_text(encoding="utf-8"))


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["name"])
def test_measures_find_the_answer_that_the_points_were_built_from(case) -> None:  # type: ignore[no-untyped-def]
    results = measure_all(landmarks_from_json(case["landmarks"]))
    for name, expected in case["expected"].items():
        result = results[name]
        if expected is None:
            assert not isinstance(result, Measure), f"{name} should be refused, got {result}"
        else:
            assert isinstance(result, Measure), f"{name} should be {expected}, got {result}"
            assert result.value == pytest.approx(expected, abs=1e-6)
            assert result.low <= expected <= result.high


def test_the_file_of_cases_is_what_its_script_makes() -> None:
    assert make_angle_cases.TARGET.read_text(encoding="utf-8") == make_angle_cases.as_text()


def test_there_are_enough_cases_of_every_kind() -> None:
    assert len(CASES) >= 30
    assert len({case["name"] for case in CASES}) == len(CASES)
    for name in ("gape_angle", "alignment_angle", "head_deviation", "line_offset"):
        answers = [case["expected"][name] for case in CASES]
        assert None in answers
        assert len({answer for answer in answers if answer is not None}) >= 4
