"""The report on a class and a set, for its instructor."""

from datetime import date

import numpy as np

from rubric.items import Checklist
from rubric.natural_order import natural
from rubric.reports.report import Report, ReportTable
from rubric.reports.tables import (
    NO_NAMES,
    Names,
    agreement_table,
    bias_table,
    group_table,
    item_words,
    number,
    percent,
    share_cells,
    share_columns,
    text,
)
from rubric.review.table import FEWEST_TOLD
from rubric.review.whole import ClassReview, Rate, TeachingPoint

#: Which student is which must not follow from the order of the list.
_SHUFFLE_SEED = 20_260_102


def class_report(
    review: ClassReview,
    checklist: Checklist,
    *,
    title: str,
    made_on: date,
    photo_names: Names = NO_NAMES,
    student_names: Names | None = None,
) -> Report:
    """Everything of a review that an instructor may want on paper.

    Parameters
    ----------
    photo_names : mapping of photo id to what it is called
    student_names : mapping of student id to name, or None
        None, the default: students are numbered in an order that tells nothing. Names only where the instructor asks.
    """
    labels = _student_labels(review, student_names)
    photos = [photo_names.get(photo, photo) for photo in review.table.key.photos]
    items = [item_words(checklist, item) for item in review.table.key.items]
    return Report(
        title=title,
        subtitle=f"{len(review.table.students)} students, {len(photos)} photos, {len(items)} signs",
        made_on=made_on,
        notes=_notes(review),
        tables=(
            _points_table(review, checklist, photo_names, labels),
            group_table("Signs", "sign", review.items, items),
            group_table("Photos", "photo", review.photos, photos),
            _heat_map(review, photos),
            _agreement(review),
            bias_table("Angles of the class", review.class_angles, ["the class"] * len(review.class_angles)),
            _students_table(review, labels),
            _student_angles(review, labels),
        ),
    )


def _student_labels(review: ClassReview, names: Names | None) -> dict[str, str]:
    students = review.table.students
    if names is not None:
        return {student: names.get(student, student) for student in students}
    numbers = np.random.default_rng(_SHUFFLE_SEED).permutation(len(students)) + 1
    return {student: f"student {n:02}" for student, n in zip(students, numbers, strict=True)}


def _notes(review: ClassReview) -> tuple[str, ...]:
    notes = [
        f"Over-claiming, seen or not seen where the key holds that the photo cannot tell: {_rate(review.over_claiming)}.",
        f"Can't tell where the key can: {_rate(review.under_claiming)}.",
    ]
    if len(review.table.students) < FEWEST_TOLD:
        notes.append(f"Fewer than {FEWEST_TOLD} students: nothing is looked for that stands out.")
    if review.n_disputed:
        notes.append(f"Not graded, since the experts part there: {review.n_disputed} of the answers in the keys.")
    return tuple(notes)


def _rate(rate: Rate) -> str:
    if rate.value is None:
        return "no such answers"
    interval = "" if rate.low is None or rate.high is None else f" ({100 * rate.low:.0f} to {100 * rate.high:.0f} %)"
    return f"{100 * rate.value:.0f} %{interval} of {rate.n} answers"


def _points_table(review: ClassReview, checklist: Checklist, photo_names: Names, labels: dict[str, str]) -> ReportTable:
    rows = tuple(
        (
            _about(point, checklist, photo_names, labels),
            point.text,
            point.interval,
            "; ".join(photo_names.get(photo.photo, photo.photo) for photo in point.photos),
        )
        for point in review.points
    )
    note = (
        "Told is only what chance does not explain, over all that was looked at together, and what is large enough to matter. The "
        "interval is that of the difference. The photos have a clear key and part the class."
    )
    columns = (text("about"), text("what was seen"), text("95 % interval"), text("photos that show it"))
    return ReportTable(title="What stands out", columns=columns, rows=rows, note=note)


def _about(point: TeachingPoint, checklist: Checklist, photo_names: Names, labels: dict[str, str]) -> str:
    finding = point.finding
    parts = []
    if finding.student is not None:
        parts.append(labels[finding.student])
    if finding.photo is not None:
        parts.append(photo_names.get(finding.photo, finding.photo))
    if finding.item:
        parts.append(item_words(checklist, finding.item))
    return "; ".join(parts) or "the class"


def _heat_map(review: ClassReview, photos: list[str]) -> ReportTable:
    columns = (text("photo"), *(number(str(place)) for place in range(1, len(review.table.key.items) + 1)))
    rows = tuple(
        (photo, *(None if np.isnan(share) else percent(float(share)) for share in shares))
        for photo, shares in zip(photos, review.agreement_map, strict=True)
    )
    note = "Percent of the class that agrees with the key; a column is a sign, by its number in the table Signs."
    return ReportTable(title="Photos by signs", columns=columns, rows=rows, note=note)


def _agreement(review: ClassReview) -> ReportTable:
    both = review.among_students
    results = (("kappa", both.kappa), ("Gwet's AC1", both.ac1), ("Krippendorff's alpha", review.alpha))
    note = f"How far the students agree with each other, key or no key; 1 is full agreement. {both.note}".strip()
    return agreement_table("Agreement among the students", results, note)


def _student_angles(review: ClassReview, labels: dict[str, str]) -> ReportTable:
    biases = sorted(review.student_angles, key=lambda one: (natural(labels[one.student or ""]), one.measure))
    return bias_table("Angles by student", biases, [labels[one.student or ""] for one in biases])


def _students_table(review: ClassReview, labels: dict[str, str]) -> ReportTable:
    columns = (
        text("student"),
        number("answered"),
        number("asked"),
        *share_columns("agrees"),
        number("over-claimed", "%"),
        number("can't tell where the key can", "%"),
    )
    # By label, so that the order of the class list does not show who is who.
    rows = tuple(
        (
            labels[one.student],
            one.answered,
            one.asked,
            *share_cells(one.agrees),
            percent(one.over_claimed.value),
            percent(one.under_claimed.value),
        )
        for one in sorted(review.students, key=lambda one: natural(labels[one.student]))
    )
    return ReportTable(title="Students", columns=columns, rows=rows, note="In no order of merit.")
