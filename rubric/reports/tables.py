"""Columns and cells that several reports share: shares in whole percent, angles in tenths of a degree."""

from collections.abc import Mapping, Sequence
from types import MappingProxyType

from rubric.answers import Answer
from rubric.estimates import Agreement
from rubric.evidence import plain_name
from rubric.items import Checklist
from rubric.reports.report import Cell, Column, ReportTable
from rubric.review.figures import Bias, GroupFigures, Share
from rubric.said import Said
from rubric.words import ANSWER_WORDS

#: Names as they are shown; an id that is not in it is shown as it is.
Names = Mapping[str, str]
NO_NAMES: Names = MappingProxyType({})


def text(title: str) -> Column:
    """A column of text."""
    return Column(title=title)


def number(title: str, unit: str = "", decimals: int = 0) -> Column:
    """A column of numbers."""
    return Column(title=title, unit=unit, decimals=decimals)


def share_columns(title: str) -> tuple[Column, ...]:
    """Share with both ends of its interval, in percent, and of how many."""
    return (number(title, "%"), number(Said("low"), "%"), number(Said("high"), "%"), number(Said("of")))


def share_cells(share: Share) -> tuple[Cell, ...]:
    """The cells for `share_columns`."""
    return (percent(share.value), percent(share.low), percent(share.high), share.n)


def percent(share: float | None) -> float | None:
    """A share in percent."""
    return None if share is None else 100 * share


def item_words(checklist: Checklist, item_id: str) -> str:
    """The item's wording, or its id where the checklist has no such item."""
    item = checklist.get(item_id)
    return item_id.replace("_", " ") if item is None else item.text


def answer_words(answer: Answer | None) -> str | None:
    """The answer in words."""
    return None if answer is None else ANSWER_WORDS[answer]


def group_table(title: str, heading: str, groups: Sequence[GroupFigures], labels: Sequence[str]) -> ReportTable:
    """Items or photos with how many answers agree with the key, and how the others run."""
    columns = (
        number(Said("no.")),
        text(heading),
        *share_columns(Said("agrees")),
        number(Said("over-claimed"), "%"),
        number(Said("can't tell where the key can"), "%"),
        number(Said("pairs of students that differ"), "%"),
        text(Said("most given instead")),
    )
    rows = tuple(
        (
            place,
            label,
            *share_cells(group.agrees),
            percent(group.over_claimed.value),
            percent(group.under_claimed.value),
            percent(group.split),
            answer_words(group.most_given_instead),
        )
        for place, (group, label) in enumerate(zip(groups, labels, strict=True), start=1)
    )
    note = Said(
        "agrees: the key's answer or an accepted one, with a 95 % interval (low, high), of so many answers. over-claimed: said "
        "seen or not seen, of the answers where the key holds that the photo cannot tell."
    )
    return ReportTable(title=title, columns=columns, rows=rows, note=note)


def bias_table(title: str, biases: Sequence[Bias], labels: Sequence[str]) -> ReportTable:
    """Bland-Altman figures of angles."""
    columns = (
        text(Said("whose")),
        text(Said("measure")),
        text(Said("unit")),
        number(Said("bias"), decimals=1),
        number(Said("low"), decimals=1),
        number(Said("high"), decimals=1),
        number(Said("lower limit"), decimals=1),
        number(Said("upper limit"), decimals=1),
        number(Said("readings")),
    )
    rows = tuple(
        (
            label,
            plain_name(bias.measure),
            "°" if bias.unit == "deg" else bias.unit,
            bias.value,
            bias.low,
            bias.high,
            None if bias.limits is None else bias.limits[0],
            None if bias.limits is None else bias.limits[1],
            bias.n,
        )
        for bias, label in zip(biases, labels, strict=True)
    )
    note = Said(
        "bias: mean of reading minus key, with its 95 % interval; plus reads wider. Between the limits lie about 95 of 100 single "
        "differences."
    )
    return ReportTable(title=title, columns=columns, rows=rows, note=note)


def agreement_table(title: str, results: Sequence[tuple[str, Agreement]], note: str = "") -> ReportTable:
    """Statistics of agreement with their intervals, and the reason where one is missing."""
    columns = (
        text(Said("statistic")),
        number(Said("value"), decimals=2),
        number(Said("low"), decimals=2),
        number(Said("high"), decimals=2),
        number(Said("items")),
        number(Said("raters")),
        text(Said("why missing")),
    )
    rows = tuple(
        (name, one.value, one.low, one.high, one.n_items, one.n_raters, one.reason or "") for name, one in results
    )
    return ReportTable(title=title, columns=columns, rows=rows, note=note)
