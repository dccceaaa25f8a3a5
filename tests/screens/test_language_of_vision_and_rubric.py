"""Whatever `vision` and `rubric` say to a person is in the catalogues, and in German nothing of it stays English."""

import json
import re
from collections.abc import Iterable, Iterator
from dataclasses import replace
from itertools import product
from pathlib import Path

import pytest

from rubric.answers import Answer, AnswerSheet, ItemAnswer, KeyAnswer, Phase, ReferenceKey, Settles, Spot, View
from rubric.checklist import shipped_checklist
from rubric.evidence import PLAIN_NAMES, EvidenceValue, evidence_text, measure_heading
from rubric.feedback import compare_with_key
from rubric.measure_feedback import STUDENTS, YOUR, compare_measures, compare_points
from rubric.review.finding_words import finding_interval, finding_text
from rubric.review.findings import Finding, FindingKind
from rubric.said import Said
from rubric.words import ANSWER_WORDS, PHASE_WORDS, SETTLES_WORDS, VIEW_WORDS
from screens.language import _, spoken
from tests import make_catalogues
from vision import refusals
from vision.drawing.words import SHOWN
from vision.landmark_files import landmarks_from_json
from vision.landmarks import LANDMARK_NAMES, BodyView, HeadYaw, LandmarkSet, Scale
from vision.measures import NotMeasurable, measure_all, measure_to_json

CASES = json.loads((Path(__file__).parent.parent / "data" / "angle_cases.json").read_text(encoding="utf-8"))
CHECKLIST = shipped_checklist()
#: What stands in a pattern besides words: places, numbers, signs.
NO_WORDS = re.compile(r"\{[^}]*\}|\bmm\b|[^A-Za-z{]+")
#: The same in both languages.
ALIKE = {"JPEG, PNG, WebP, TIFF and HEIC", "“{name}”"}


def patterns_in(sentence: str) -> Iterator[str]:
    """Every pattern that the sentence is made of, and every text with words in it that has none of its own."""
    fields = getattr(sentence, "fields", {})
    yield str.__str__(getattr(sentence, "template", sentence))
    for part in fields.values():
        if isinstance(part, str):
            yield from patterns_in(part)


def in_german() -> dict[str, str]:
    return {str(entry.id): str(entry.string) for entry in make_catalogues.read("de", "messages") if entry.id}


def left_in_english(sentences: Iterable[str]) -> set[str]:
    """The patterns with words in them that German does not have, or has as they are."""
    words = {pattern for sentence in sentences for pattern in patterns_in(sentence) if NO_WORDS.sub("", pattern)}
    german = in_german()
    return {pattern for pattern in words - ALIKE if german.get(pattern, "") in ("", pattern)}


def test_the_search_finds_a_sentence_that_nobody_translated() -> None:
    filled = Said("Not placed: {points}.", points=Said("a knee that nobody named"))
    assert left_in_english([filled, "12 mm"]) == {"a knee that nobody named"}


def landmark_sets() -> Iterator[LandmarkSet]:
    """The shared cases, and each of them with more or less said about it, so that all refusals come about."""
    for case in CASES:
        found = landmarks_from_json(case["landmarks"])
        yield found
        for yaw, elevation, view in product((20.0, 90.0), (None, -30.0, 30.0), (BodyView.TURNED, BodyView.UNKNOWN)):
            yield replace(
                found, head_yaw=HeadYaw(deg=yaw, sigma_deg=4.0), camera_elevation_deg=elevation, body_view=view
            )
        yield replace(found, scale=Scale(mm_per_pixel=0.2))
        for name in found.points:
            yield replace(found, points={one: point for one, point in found.points.items() if one != name})


@pytest.fixture(scope="module")
def told_by_measures() -> set[str]:
    told = set[str]()
    for landmarks in landmark_sets():
        for result in measure_all(landmarks).values():
            told |= {result.reason} if isinstance(result, NotMeasurable) else set(result.notes)
    return told


def test_reasons_and_notes_of_measures_are_in_the_catalogue(told_by_measures: set[str]) -> None:
    assert len(told_by_measures) > 40
    assert left_in_english(told_by_measures) == set()


def test_a_reason_in_german_names_the_points_in_german() -> None:
    reason = measure_all(LandmarkSet())["gape_angle"].reason  # type: ignore[union-attr]
    assert reason == "Not placed: mouth corner, upper lip and lower lip."
    with spoken("de"):
        assert _(reason) == "Nicht gesetzt: Mundwinkel, Oberlippe und Unterlippe."


def test_names_of_landmarks_measures_and_answers_are_in_the_catalogue() -> None:
    tables = (LANDMARK_NAMES, PLAIN_NAMES, SHOWN, ANSWER_WORDS, PHASE_WORDS, VIEW_WORDS, SETTLES_WORDS)
    words = [word for table in tables for word in table.values()]
    assert left_in_english([*words, *(measure_heading(name) for name in PLAIN_NAMES)]) == set()


def test_the_whole_checklist_is_in_the_catalogue() -> None:
    words = [
        text
        for item in CHECKLIST.items
        for text in (item.text, item.group, item.guidance, item.cant_tell_when, item.explain, item.caution)
        if text
    ]
    words += [band.name for bands in CHECKLIST.bands.values() for band in bands] + list(CHECKLIST.band_notes.values())
    assert len(words) > 90
    assert left_in_english(words) == set()


def evidence() -> Iterator[EvidenceValue]:
    """Each measure known with and without a range, below and above 0, and unknown."""
    units = {name: str(value["unit"]) for name, value in _units().items()}
    for name, unit in units.items():
        yield EvidenceValue(name=name, value=0.3, low=-1.0, high=200.0, unit=unit)
        yield EvidenceValue(name=name, value=0.3, low=0.1, high=0.45, unit=unit)
        yield EvidenceValue(name=name, value=100.0, unit=unit)
        yield EvidenceValue(name=name, value=None, unit=unit, reason=measure_all(LandmarkSet())[name].reason)  # type: ignore[union-attr]


def _units() -> dict[str, dict[str, float | str | None]]:
    return {name: measure_to_json(result) for name, result in measure_all(LandmarkSet()).items()}


def test_lines_of_evidence_are_in_the_catalogue() -> None:
    lines = {evidence_text(value, CHECKLIST.bands.get(value.name, ())) for value in evidence()}
    assert len(lines) > 30
    assert left_in_english(lines) == set()


def test_a_number_with_its_range_and_bands_is_said_in_german_with_the_same_numbers() -> None:
    value = EvidenceValue(name="gape_angle", value=124.2, low=118, high=130, unit="deg")
    line = evidence_text(value, CHECKLIST.bands["gape_angle"])
    assert line == "Mouth opens 124° (118–130°): medium or wide"
    with spoken("de"):
        assert _(line) == "Mund geöffnet: 124° (118–130°): mittel oder weit"


def feedback_texts() -> Iterator[str]:
    """Every way in which an answer can stand to a key, with and without spots, reasons and settling views."""
    spot = Spot(x=0.2, y=0.3)
    owns = [None, *(ItemAnswer(answer=answer) for answer in Answer), ItemAnswer(answer=Answer.SEEN, spot=spot)]
    owns += [ItemAnswer(answer=Answer.CANT_TELL, settles=settles) for settles in Settles]
    keys = [KeyAnswer(answer=answer, why="") for answer in Answer]
    keys += [
        KeyAnswer(answer=Answer.SEEN, why="", spot=Spot(x=0.6, y=0.3), accepted=frozenset({Answer.NOT_SEEN})),
        *(KeyAnswer(answer=Answer.CANT_TELL, why="", settles=settles) for settles in Settles),
    ]
    for own, key, disputed in product(owns, [None, *keys], [(), ("chin_touch",)]):
        found = compare_with_key(
            CHECKLIST,
            AnswerSheet(phase=None, view=None, answers={} if own is None else {"chin_touch": own}),
            ReferenceKey(phase=Phase.AT_BREAST, view=View.SIDE, answers={} if key is None else {"chin_touch": key}),
            disputed=disputed,
        )
        yield from (item.text for item in found.items)
        yield from found.notes


def test_feedback_on_answers_is_in_the_catalogue() -> None:
    texts = set(feedback_texts())
    assert len(texts) > 40
    assert left_in_english(texts) == set()


@pytest.mark.parametrize("whose", [YOUR, STUDENTS], ids=str)
def test_feedback_on_measures_and_points_is_in_the_catalogue(whose: str) -> None:
    values = list(evidence())
    texts = {
        entry.text
        for one, other in product(values, values)
        if one.name == other.name
        for entry in compare_measures({one.name: one}, {one.name: other}, whose=whose)
    }
    texts |= {entry.text for value in values for entry in compare_measures({value.name: value}, {}, whose=whose)}
    for percent, sigma in product((None, 1.0, 30.0), ({}, {"chin": 2.0})):
        texts |= {
            entry.text
            for entry in compare_points({"chin": percent}, names=LANDMARK_NAMES, sigma_percent=sigma, whose=whose)
        }
    assert len(texts) > 60
    assert left_in_english(texts) == set()


def findings() -> Iterator[Finding]:
    for kind, value, student, measure in product(
        FindingKind, (-0.4, 0.4), (None, "student 03"), ("gape_angle", "alignment_angle")
    ):
        reads = kind in (FindingKind.CLASS_READS_OFF, FindingKind.STUDENT_READS_OFF)
        for unit in ("deg",) if reads else ("share", "correlation"):
            yield Finding(
                kind=kind, value=value, low=-0.1, high=0.5, here=0.4, elsewhere=0.2, unit=unit, p_value=0.001, n=40,
                student=student, measure=measure,
            )  # fmt: skip


def test_findings_are_in_the_catalogue() -> None:
    told = {finding_text(one, most_given=answer.value) for one in findings() for answer in Answer}
    told |= {finding_interval(one) for one in findings()}
    assert len(told) > 30
    assert left_in_english(told) == set()


def test_refusals_of_files_are_in_the_catalogue() -> None:
    told = []
    for subject in (refusals.called(""), refusals.called("chin.jpg")):
        kinds = (b"GIF89a", b"<svg", b"%PDF", b"\xff\xd8\xff", b"0000ftypavif", b"0000ftypmp42", b"plain", b"\x00\x01")
        told += [refusals.not_a_photo(subject, data) for data in kinds]
        told += [refusals.empty(subject), refusals.too_long(subject, 10**9, 10**7), refusals.damaged(subject)]
        told += [refusals.too_many_pixels(subject, came, 10**7) for came in (None, 10**9)]
        told += [refusals.too_small(subject, (3, 4), 64), refusals.not_single(subject)]
        told += [refusals.odd_samples(subject, "I;16")]
    # What a person called the file is no sentence of ours.
    left = {pattern for pattern in left_in_english(told) if pattern not in ("chin.jpg", "I;16")}
    assert left == set()


def test_what_a_person_wrote_stays_as_it_is() -> None:
    why = "Chin: {brackets} & 100 %"
    key = ReferenceKey(
        phase=Phase.AT_BREAST, view=View.SIDE, answers={"chin_touch": KeyAnswer(answer=Answer.SEEN, why=why)}
    )
    sheet = AnswerSheet(phase=key.phase, view=key.view, answers={"chin_touch": ItemAnswer(answer=Answer.SEEN)})
    (entry,) = compare_with_key(CHECKLIST, sheet, key).items
    with spoken("de"):
        assert _(entry.text) == f"Sie und die Referenz sagen dasselbe: zu sehen. Warum: {why}."
