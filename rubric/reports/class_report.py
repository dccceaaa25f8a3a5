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
from rubric.said import Said, together

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
        subtitle=Said(
            "{students} students, {photos} photos, {signs} signs",
            students=len(review.table.students),
            photos=len(photos),
            signs=len(items),
        ),
        made_on=made_on,
        notes=_notes(review),
        tables=(
            _points_table(review, checklist, photo_names, labels),
            group_table(Said("Signs"), Said("sign"), review.items, items),
            group_table(Said("Photos"), Said("photo"), review.photos, photos),
            _heat_map(review, photos),
            _agreement(review),
            bias_table(
                Said("Angles of the class"), review.class_angles, [Said("the class")] * len(review.class_angles)
            ),
            _students_table(review, labels),
            _student_angles(review, labels),
        ),
    )


def _student_labels(review: ClassReview, names: Names | None) -> dict[str, str]:
    students = review.table.students
    if names is not None:
        return {student: names.get(student, student) for student in students}
    numbers = np.random.default_rng(_SHUFFLE_SEED).permutation(len(students)) + 1
    return {student: Said("student {n:02}", n=int(n)) for student, n in zip(students, numbers, strict=True)}


def _notes(review: ClassReview) -> tuple[str, ...]:
    notes = [
        Said(
            "Over-claiming, seen or not seen where the key holds that the photo cannot tell: {rate}.",
            rate=_rate(review.over_claiming),
        ),
        Said("Can't tell where the key can: {rate}.", rate=_rate(review.under_claiming)),
    ]
    if len(review.table.students) < FEWEST_TOLD:
        notes.append(Said("Fewer than {n} students: nothing is looked for that stands out.", n=FEWEST_TOLD))
    if review.n_disputed:
        told = Said("Not graded, since the experts part there: {n} of the answers in the keys.", n=review.n_disputed)
        notes.append(told)
    return tuple(notes)


def _rate(rate: Rate) -> str:
    if rate.value is None:
        return Said("no such answers")
    share = f"{100 * rate.value:.0f} %"
    if rate.low is None or rate.high is None:
        return Said("{share} of {n} answers", share=share, n=rate.n)
    return Said(
        "{share} ({low:.0f} to {high:.0f} %) of {n} answers",
        share=share,
        low=100 * rate.low,
        high=100 * rate.high,
        n=rate.n,
    )


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
    note = Said(
        "Told is only what chance does not explain, over all that was looked at together, and what is large enough to matter. The "
        "interval is that of the difference. The photos have a clear key and part the class."
    )
    columns = (
        text(Said("about")),
        text(Said("what was seen")),
        text(Said("95 % interval")),
        text(Said("photos that show it")),
    )
    return ReportTable(title=Said("What stands out"), columns=columns, rows=rows, note=note)


def _about(point: TeachingPoint, checklist: Checklist, photo_names: Names, labels: dict[str, str]) -> str:
    finding = point.finding
    parts: list[str] = []
    if finding.student is not None:
        parts.append(labels[finding.student])
    if finding.photo is not None:
        parts.append(photo_names.get(finding.photo, finding.photo))
    if finding.item:
        parts.append(item_words(checklist, finding.item))
    return together(parts, between="; ") if parts else Said("the class")


def _heat_map(review: ClassReview, photos: list[str]) -> ReportTable:
    columns = (text(Said("photo")), *(number(str(place)) for place in range(1, len(review.table.key.items) + 1)))
    rows = tuple(
        (photo, *(None if np.isnan(share) else percent(float(share)) for share in shares))
        for photo, shares in zip(photos, review.agreement_map, strict=True)
    )
    note = Said("Percent of the class that agrees with the key; a column is a sign, by its number in the table Signs.")
    return ReportTable(title=Said("Photos by signs"), columns=columns, rows=rows, note=note)


def _agreement(review: ClassReview) -> ReportTable:
    both = review.among_students
    results = (
        (Said("kappa"), both.kappa),
        (Said("Gwet's AC1"), both.ac1),
        (Said("Krippendorff's alpha"), review.alpha),
    )
    told = Said("How far the students agree with each other, key or no key; 1 is full agreement.")
    note = together([told, both.note]) if both.note else told
    return agreement_table(Said("Agreement among the students"), results, note)


def _student_angles(review: ClassReview, labels: dict[str, str]) -> ReportTable:
    biases = sorted(review.student_angles, key=lambda one: (natural(labels[one.student or ""]), one.measure))
    return bias_table(Said("Angles by student"), biases, [labels[one.student or ""] for one in biases])


def _students_table(review: ClassReview, labels: dict[str, str]) -> ReportTable:
    columns = (
        text(Said("student")),
        number(Said("answered")),
        number(Said("asked")),
        *share_columns(Said("agrees")),
        number(Said("over-claimed"), "%"),
        number(Said("can't tell where the key can"), "%"),
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
    return ReportTable(title=Said("Students"), columns=columns, rows=rows, note=Said("In no order of merit."))
