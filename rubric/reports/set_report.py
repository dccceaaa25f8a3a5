"""The report on a teaching set: its keys, where the experts part, and, where a class has worked on it, how it parted."""

from collections.abc import Mapping
from datetime import date
from types import MappingProxyType

import numpy as np

from rubric.estimates import Agreement
from rubric.items import Checklist
from rubric.reports.report import Report, ReportTable
from rubric.reports.tables import NO_NAMES, Names, agreement_table, answer_words, group_table, item_words, number, text
from rubric.review.figures import GroupFigures
from rubric.review.table import ANSWERS, BLANK, CANT_TELL, KeyTable
from rubric.said import Said, together

_NO_RESULTS: Mapping[str, Agreement] = MappingProxyType({})


def set_report(
    key: KeyTable,
    checklist: Checklist,
    *,
    title: str,
    made_on: date,
    photo_names: Names = NO_NAMES,
    experts: Mapping[str, Agreement] = _NO_RESULTS,
    photos: tuple[GroupFigures, ...] = (),
) -> Report:
    """The keys of a set.

    Parameters
    ----------
    experts : mapping of a statistic's name to its result
        Agreement among the experts who made the keys.
    photos : tuple of GroupFigures
        How a class answered, in the order of the set.
    """
    names = [photo_names.get(photo, photo) for photo in key.photos]
    n_disputed = int(key.disputed.sum())
    notes = [Said("{n} answers in the keys are compared with students' answers.", n=int(key.graded.sum()))]
    if n_disputed:
        notes.append(
            Said("On {n} the experts part; these are for talking about, and nobody is compared.", n=n_disputed)
        )
    tables = [_photos(key, names), _answers(key, checklist, names)]
    tables += [agreement_table(Said("Agreement among the experts"), tuple(experts.items()))] if experts else []
    tables += [group_table(Said("How the class answered"), Said("photo"), photos, names)] if photos else []
    return Report(
        title=title,
        subtitle=Said("{photos} photos, {signs} signs", photos=len(key.photos), signs=len(key.items)),
        made_on=made_on,
        notes=tuple(notes),
        tables=tuple(tables),
    )


def _photos(key: KeyTable, names: list[str]) -> ReportTable:
    rows = tuple(
        (
            name,
            int((key.answers[row] != BLANK).sum()),
            int((key.answers[row] == CANT_TELL).sum()),
            int(key.accepted[row].any(axis=1).sum()),
            int(key.disputed[row].sum()),
        )
        for row, name in enumerate(names)
    )
    columns = (
        text(Said("photo")),
        number(Said("signs")),
        number(Said("of these: can't tell")),
        number(Said("another answer accepted")),
        number(Said("experts part")),
    )
    return ReportTable(title=Said("Photos"), columns=columns, rows=rows)


def _answers(key: KeyTable, checklist: Checklist, names: list[str]) -> ReportTable:
    rows = tuple(
        (
            names[row],
            item_words(checklist, key.items[column]),
            answer_words(ANSWERS[key.answers[row, column]]),
            together(
                (answer_words(ANSWERS[code]) or "" for code in np.nonzero(key.accepted[row, column])[0]), between=", "
            ),
            Said("the experts part") if key.disputed[row, column] else "",
        )
        for row, column in zip(*np.nonzero(key.answers != BLANK), strict=True)
    )
    columns = (
        text(Said("photo")),
        text(Said("sign")),
        text(Said("key")),
        text(Said("also accepted")),
        text(Said("note")),
    )
    return ReportTable(title=Said("Keys"), columns=columns, rows=rows)
