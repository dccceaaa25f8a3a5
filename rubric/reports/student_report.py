"""The report for one student, on the own answers only."""

from collections.abc import Sequence
from datetime import date

import numpy as np

from rubric.items import Checklist
from rubric.practice_plan import ItemPlan
from rubric.reports.report import Report, ReportTable
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
    tables += [bias_table("Your angles beside the key's", biases, ["you"] * len(biases))] if biases else []
    tables += [_plan_table(plan, checklist, photo_names)] if plan else []
    said = tuple(f"{point.text} ({point.interval})".replace(" ()", "") for point in _own(review, student))
    return Report(
        title=title,
        subtitle=f"{figures.answered} of {figures.asked} answers given",
        made_on=made_on,
        notes=said,
        tables=tuple(tables),
    )


def _own(review: ClassReview, student: str) -> list[TeachingPoint]:
    return [point for point in review.points if point.finding.student == student]


def _overall(review: ClassReview, place: int) -> ReportTable:
    figures = review.students[place]
    rows = [
        ("agrees with the key", *share_cells(figures.agrees)),
        ("said seen or not seen where the photo cannot tell", *share_cells(figures.over_claimed)),
        ("said can't tell where the key can", *share_cells(figures.under_claimed)),
    ]
    change = review.change
    if change is not None:
        n = int(change.compared[place])
        rows.append(("second look: came to the key", *share_cells(Share(count=int(change.towards[place]), n=n))))
        rows.append(("second look: left the key", *share_cells(Share(count=int(change.away[place]), n=n))))
    columns = (text("your answers"), *share_columns("share"))
    return ReportTable(title="Your answers beside the key", columns=columns, rows=tuple(rows))


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
        text("sign"),
        number("agrees", "%"),
        number("of"),
        number("over-claimed"),
        number("can't tell where the key can"),
    )
    return ReportTable(title="Sign by sign", columns=columns, rows=rows)


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
    columns = (text("photo"), text("sign"), text("you said"), text("the key says"))
    return ReportTable(title="Answers that differ from the key", columns=columns, rows=rows)


def _plan_table(plan: Sequence[ItemPlan], checklist: Checklist, photo_names: Names) -> ReportTable:
    rows = tuple(
        (
            item_words(checklist, one.item),
            "now" if one.is_due or one.due is None else one.due.astimezone().date().isoformat(),
            "; ".join(photo_names.get(photo, photo) for photo in one.photos),
            one.reason,
        )
        for one in plan
    )
    columns = (text("sign"), text("when"), text("on"), text("why"))
    note = "Spaced by the published scheduler FSRS: what differs comes back soon, what agrees comes back later."
    return ReportTable(title="What to practise next", columns=columns, rows=rows, note=note)
