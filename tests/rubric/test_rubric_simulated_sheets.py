"""A simulated class on the keys of the shipped doll photos."""

import json
from pathlib import Path

import numpy as np
from simulated_classes import demo_cohort

from rubric.checklist import shipped_checklist
from rubric.review.findings import ClassWork, FindingKind, class_findings
from rubric.review.table import class_table, key_table
from rubric.review.whole import review_class
from rubric.scoring import key_from_json, sheet_from_json, sheet_to_json
from rubric.simulation.sheets import simulated_sheets

SAMPLES = Path(__file__).resolve().parents[2] / "sample_images"


def _shipped_keys():
    found = {}
    for file in sorted(SAMPLES.rglob("*.json")):
        content = json.loads(file.read_text(encoding="utf-8"))
        if isinstance(content, dict) and "key" in content:
            found[file.stem] = key_from_json(content["key"])
    return found


KEYS = _shipped_keys()


def test_the_sheets_of_a_simulated_class_answer_what_the_shipped_keys_ask():
    assert len(KEYS) >= 20
    cohort = demo_cohort(20)
    sheets = simulated_sheets(shipped_checklist(), KEYS, cohort, 1)
    assert tuple(sheets.first) == cohort.students
    for by_photo in (*sheets.first.values(), *sheets.second.values()):
        assert tuple(by_photo) == tuple(KEYS)
        for photo, sheet in by_photo.items():
            assert set(sheet.answers) <= set(KEYS[photo].answers)
            assert (sheet.phase, sheet.view) == (KEYS[photo].phase, KEYS[photo].view)
            assert sheet_from_json(sheet_to_json(sheet)) == sheet


def test_what_is_planted_on_the_shipped_keys_is_found_in_the_review():
    cohort = demo_cohort(20, weak_items={"close": 0.4})
    sheets = simulated_sheets(shipped_checklist(), KEYS, cohort, 2)
    key = key_table(shipped_checklist(), KEYS)
    first, second = (class_table(key, one) for one in (sheets.first, sheets.second))
    assert np.array_equal(first.students, cohort.students)
    found = class_findings(ClassWork(first=first, second=second))
    assert [(one.kind, one.item) for one in found] == [(FindingKind.ITEM, "close")]
    review = review_class(ClassWork(first=first, second=second))
    assert len(review.photos) == len(KEYS)
    # items that do not apply to a photo stay unasked
    assert np.isnan(review.agreement_map).any()


def test_the_same_seed_gives_the_same_sheets():
    first, again, other = (simulated_sheets(shipped_checklist(), KEYS, demo_cohort(3), seed) for seed in (5, 5, 6))
    assert first == again
    assert first != other
