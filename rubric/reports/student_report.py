"""The report for one student, on the own answers only."""

from collections.abc import Sequence
from datetime import date

import numpy as np

from rubric.items import Checklist
from rubric.practice_plan import ItemPlan
from rubric.reports.report import Cell, Report, ReportTable
from rubric.reports.tables import (
    NO_NAMES,
    Names,
    answer_words,
    bias_table,
    item_words,
    number,
    percent,
    share_cells,
    share_columns,
    text,
)
from rubric.review.figures import Share
from rubric.review.table import ANSWERS, BLANK
from rubric.review.whole import ClassReview, TeachingPoint
from rubric.said import Said


def student_report(
    review: ClassReview,
    student: str,
    checklist: Checklist,
    *,
    title: str,
    made_on: date,
    photo_names: Names = NO_NAMES,
    plan: Sequence[ItemPlan] = (),
) -> Report:
    """One student's figures, sign by sign, every answer that differs from the key, and what to practise next.

    Nothing of the other students is in it but what a finding about this student compares with: the others' common share.
    """
    place = review.table.students.index(student)
    figures = review.students[place]
    tables = [
        _overall(review, place),
        _by_item(review, place, checklist),
        _differences(review, place, checklist, photo_names),
    ]
    biases = [bias for bias in review.student_angles if bias.student == student]
    tables += [bias_table(Said("Your angles beside the key's"), biases, [Said("you")] * len(biases))] if biases else []
    tables += [_plan_table(plan, checklist, photo_names)] if plan else []
    said = tuple(_said(point) for point in _own(review, student))
    return Report(
        title=title,
        subtitle=Said("{n} of {asked} answers given", n=figures.answered, asked=figures.asked),
        made_on=made_on,
        notes=said,
        tables=tuple(tables),
    )


def _own(review: ClassReview, student: str) -> list[TeachingPoint]:
    return [point for point in review.points if point.finding.student == student]


def _said(point: TeachingPoint) -> str:
    if not point.interval:
        return point.text
    return Said("{text} ({interval})", text=point.text, interval=point.interval)


def _overall(review: ClassReview, place: int) -> ReportTable:
    figures = review.students[place]
    rows: list[tuple[Cell, ...]] = [
        (Said("agrees with the key"), *share_cells(figures.agrees)),
        (Said("said seen or not seen where the photo cannot tell"), *share_cells(figures.over_claimed)),
        (Said("said can't tell where the key can"), *share_cells(figures.under_claimed)),
    ]
    change = review.change
    if change is not None:
        n = int(change.compared[place])
        rows.append((Said("second look: came to the key"), *share_cells(Share(count=int(change.towards[place]), n=n))))
        rows.append((Said("second look: left the key"), *share_cells(Share(count=int(change.away[place]), n=n))))
    columns = (text(Said("your answers")), *share_columns(Said("share")))
    return ReportTable(title=Said("Your answers beside the key"), columns=columns, rows=tuple(rows))


def _by_item(review: ClassReview, place: int, checklist: Checklist) -> ReportTable:
    table = review.table
    compared = table.compared[place].sum(axis=0)
    differs = table.differs[place].sum(axis=0)
    over, under = table.over_claimed[place].sum(axis=0), table.under_claimed[place].sum(axis=0)
    rows = tuple(
        (
            item_words(checklist, item),
            percent(float(1 - differs[at] / compared[at])) if compared[at] else None,
            int(compared[at]),
            int(over[at]),
            int(under[at]),
        )
        for at, item in enumerate(table.key.items)
    )
    columns = (
        text(Said("sign")),
        number(Said("agrees"), "%"),
        number(Said("of")),
        number(Said("over-claimed")),
        number(Said("can't tell where the key can")),
    )
    return ReportTable(title=Said("Sign by sign"), columns=columns, rows=rows)


def _differences(review: ClassReview, place: int, checklist: Checklist, photo_names: Names) -> ReportTable:
    table = review.table
    rows = tuple(
        (
            photo_names.get(table.key.photos[row], table.key.photos[row]),
            item_words(checklist, table.key.items[column]),
            answer_words(ANSWERS[table.answers[place, row, column]]),
            answer_words(ANSWERS[table.key.answers[row, column]]),
        )
        for row, column in zip(*np.nonzero(table.differs[place]), strict=True)
        if table.key.answers[row, column] != BLANK
    )
    columns = (text(Said("photo")), text(Said("sign")), text(Said("you said")), text(Said("the key says")))
    return ReportTable(title=Said("Answers that differ from the key"), columns=columns, rows=rows)


def _plan_table(plan: Sequence[ItemPlan], checklist: Checklist, photo_names: Names) -> ReportTable:
    rows = tuple(
        (
            item_words(checklist, one.item),
            Said("now") if one.is_due or one.due is None else one.due.astimezone().date().isoformat(),
            "; ".join(photo_names.get(photo, photo) for photo in one.photos),
            one.reason,
        )
        for one in plan
    )
    columns = (text(Said("sign")), text(Said("when")), text(Said("on")), text(Said("why")))
    note = Said("Spaced by the published scheduler FSRS: what differs comes back soon, what agrees comes back later.")
    return ReportTable(title=Said("What to practise next"), columns=columns, rows=rows, note=note)
