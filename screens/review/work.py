"""From what a class handed in to what `rubric.review.whole` reads. Knows no page: records in, arrays out.

Photos are named by their place in the assignment ("1", "2", ...): a photo that comes again is no photo of its own in the
figures, since its second answers are not independent of the first.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from records.classroom.class_answer_values import ClassAnswers, ClassSlot, Submission
from records.classroom.class_values import AssignmentRecord
from records.classroom.class_work import answers_of, answers_to_report
from records.identity.people import Person
from records.key.panel_keys import panel_keys
from records.store import Store
from rubric.answers import AnswerSheet, ReferenceKey
from rubric.items import Checklist
from rubric.panel import PanelReview, expert_shares, review_panel
from rubric.review.angles import AngleTable
from rubric.review.findings import ClassWork
from rubric.review.patterns import suggested_answers
from rubric.review.points import PointTable
from rubric.review.table import BLANK, ClassTable, Codes, KeyTable, class_table, key_table
from rubric.review.whole import ClassReview, review_class
from screens.language import _
from screens.samples import shown_title
from screens.words import shown_label
from vision.landmarks import LANDMARK_IDS, LandmarkSet
from vision.measures import Measure, measure_all, with_default_sigmas

#: Measures whose angles are compared with the key's; the others depend on scale or have no fixed unit.
ANGLES = ("gape_angle", "alignment_angle", "head_deviation")
#: Signs that a measure can tempt to answer by its number, and the measure.
_BY_NUMBER = {"opens_wide": "gape_angle", "stays_wide": "gape_angle", "body_line": "alignment_angle"}


@dataclass(frozen=True, kw_only=True)
class ReviewedWork:
    """The review of one assignment, and what its page needs beside it.

    Parameters
    ----------
    answers : ClassAnswers
    slots : mapping of photo name to ClassSlot
        Only places that count; in the order of the assignment.
    review : ClassReview
    angles : tuple of AngleTable
    panel : PanelReview or None
        None where fewer than two experts read any photo.
    """

    answers: ClassAnswers
    slots: Mapping[str, ClassSlot]
    review: ClassReview
    angles: tuple[AngleTable, ...]
    panel: PanelReview | None

    @property
    def assignment(self) -> AssignmentRecord:
        """What was given."""
        return self.answers.assignment

    def photo_name(self, photo: str) -> str:
        """A photo as the page calls it."""
        title = self.slots[photo].title
        return (
            _("Photo {photo}: {title}").format(photo=photo, title=shown_title(title))
            if title
            else _("Photo {photo}, no longer here").format(photo=photo)
        )

    def attempt_of(self, label: str, photo: str) -> str | None:
        """The try that counts of that student at that photo; None where nothing is handed in."""
        return next(
            (
                one.attempt_id
                for one in self.answers.latest()
                if str(one.slot) == photo and self.answers.students[one.student].label == label
            ),
            None,
        )

    def student_name(self, label: str) -> str:
        """A student as the page may call them: by name only where names were asked for."""
        found = next((one for one in self.answers.students if one.label == label), None)
        return shown_label(label) if found is None or found.handle is None else found.handle


def reviewed(
    store: Store, person: Person, assignment_id: str, checklist: Checklist, *, with_names: bool = False
) -> ReviewedWork:
    """Read and review what a class handed in to one assignment. Raises NotFound, NotAllowed."""
    return _reviewed(store, person, checklist, answers_of(store, person, assignment_id, with_names=with_names))


def reviewed_to_report(store: Store, person: Person, assignment_id: str, checklist: Checklist) -> ReviewedWork:
    """The same with names, for a report; the audit log then tells that it was made. Raises NotFound, NotAllowed."""
    return _reviewed(store, person, checklist, answers_to_report(store, person, assignment_id))


def _reviewed(store: Store, person: Person, checklist: Checklist, answers: ClassAnswers) -> ReviewedWork:
    slots = {str(slot.slot): slot for slot in answers.slots if slot.repeats is None and slot.key is not None}
    keys = {photo: slot.key for photo, slot in slots.items() if slot.key is not None}
    panel = _panel(checklist, keys, panel_keys(store, person, answers.assignment.id))
    key = key_table(checklist, keys, disputed={} if panel is None else panel.disputed)
    work, points = _work(answers, key, slots, checklist)
    review = review_class(work, points=points, expert_agreement=None if panel is None else expert_shares(panel, key))
    return ReviewedWork(answers=answers, slots=slots, review=review, angles=work.angles, panel=panel)


def _panel(
    checklist: Checklist, keys: Mapping[str, ReferenceKey], readings: Mapping[int, Sequence[ReferenceKey]]
) -> PanelReview | None:
    read = {
        photo: {f"expert {number}": key for number, key in enumerate(readings.get(int(photo), ()), start=1)}
        for photo in keys
    }
    read = {photo: by_expert for photo, by_expert in read.items() if len(by_expert) > 1}
    return review_panel(checklist, read) if read else None


def _work(
    answers: ClassAnswers, key: KeyTable, slots: Mapping[str, ClassSlot], checklist: Checklist
) -> tuple[ClassWork, PointTable]:
    last = {(one.student, str(one.slot)): one for one in answers.latest() if str(one.slot) in slots}
    labels = tuple(student.label for student in answers.students)
    first = _table(key, labels, {place: one.first for place, one in last.items()})
    second = _table(key, labels, {place: one.final for place, one in last.items()})
    angles = tuple(_angles(name, labels, last, slots) for name in ANGLES)
    two_looks = any(one.first != one.final for one in last.values())
    work = ClassWork(
        first=first,
        second=second if two_looks else None,
        suggested=_suggested(key, angles, checklist) if two_looks else None,
        angles=angles,
    )
    return work, _points(labels, last, slots)


def _table(key: KeyTable, labels: Sequence[str], sheets: Mapping[tuple[int, str], AnswerSheet]) -> ClassTable:
    by_student: dict[str, dict[str, AnswerSheet]] = {label: {} for label in labels}
    for (student, photo), sheet in sheets.items():
        by_student[labels[student]][photo] = sheet
    return class_table(key, by_student)


def _angles(
    name: str,
    labels: tuple[str, ...],
    last: Mapping[tuple[int, str], Submission],
    slots: Mapping[str, ClassSlot],
) -> AngleTable:
    photos = tuple(slots)
    values = np.full((len(labels), len(photos)), np.nan)
    for (student, photo), one in last.items():
        told = one.measures.get(name)
        if isinstance(told, Mapping) and isinstance(told.get("value"), int | float):
            values[student, photos.index(photo)] = told["value"]
    key = np.array([_key_angle(name, slot.key_landmarks) for slot in slots.values()], dtype=np.float64)
    return AngleTable(name=name, students=labels, photos=photos, values=values, key=key.reshape(len(photos)))


def _key_angle(name: str, landmarks: LandmarkSet | None) -> float:
    if landmarks is None or not landmarks.points:
        return np.nan
    told = measure_all(with_default_sigmas(landmarks))[name]
    return told.value if isinstance(told, Measure) else np.nan


def _suggested(key: KeyTable, angles: Sequence[AngleTable], checklist: Checklist) -> Codes:
    by_name = {table.name: table for table in angles}
    shape = (len(angles[0].students), *key.answers.shape)
    codes = np.full(shape, BLANK, dtype=np.int8)
    for item, measure in _BY_NUMBER.items():
        bands = checklist.bands.get(measure, ())
        if item in key.items and len(bands) > 1 and bands[-1].low is not None and bands[0].high is not None:
            codes[:, :, key.items.index(item)] = suggested_answers(
                by_name[measure].values, seen_from=bands[-1].low, not_seen_below=bands[0].high
            )
    return codes


def _points(
    labels: tuple[str, ...], last: Mapping[tuple[int, str], Submission], slots: Mapping[str, ClassSlot]
) -> PointTable:
    photos, names = tuple(slots), tuple(LANDMARK_IDS)
    points = np.full((len(labels), len(photos), len(names), 2), np.nan)
    key = np.full((len(photos), len(names), 2), np.nan)
    for (student, photo), one in last.items():
        _place(points[student, photos.index(photo)], one.landmarks, names)
    for number, slot in enumerate(slots.values()):
        _place(key[number], slot.key_landmarks or LandmarkSet(), names)
    return PointTable(students=labels, photos=photos, landmarks=names, points=points, key=key)


def _place(into: NDArray[np.float64], landmarks: LandmarkSet, names: Sequence[str]) -> None:
    for number, name in enumerate(names):
        point = landmarks.points.get(name)
        if point is not None:
            into[number] = point.x, point.y


def without_names(work: ReviewedWork) -> ReviewedWork:
    """The same for everyone's eyes."""
    students = tuple(replace(one, person_id=None, handle=None) for one in work.answers.students)
    return replace(work, answers=replace(work.answers, students=students))
