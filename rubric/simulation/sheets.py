"""Answer sheets of a simulated class on real keys, for the example class."""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from rubric.answers import Answer, AnswerSheet, ItemAnswer, ReferenceKey
from rubric.items import Checklist
from rubric.review.table import ANSWERS, BLANK, ClassTable, key_table
from rubric.simulation.classes import Cohort, simulate_answers, simulate_second_look

#: Sheets by student and photo.
Sheets = Mapping[str, Mapping[str, AnswerSheet]]


@dataclass(frozen=True, kw_only=True)
class SimulatedSheets:
    """What a simulated class answered at both looks.

    Parameters
    ----------
    first, second : mapping of student to mapping of photo id to AnswerSheet
        Phase and view are those of the key. Blanks are left out.
    """

    first: Sheets
    second: Sheets


def simulated_sheets(
    checklist: Checklist, keys: Mapping[str, ReferenceKey], cohort: Cohort, seed: int
) -> SimulatedSheets:
    """Sheets for the photos of these keys, by photo id; the same for the same seed.

    Items and photos that the cohort plants something on must be among those of the keys. The ask group is not answered.
    """
    first = simulate_answers(key_table(checklist, keys), cohort, seed)
    second = simulate_second_look(first, cohort, seed)
    return SimulatedSheets(first=_sheets(first, keys), second=_sheets(second, keys))


def _sheets(table: ClassTable, keys: Mapping[str, ReferenceKey]) -> Sheets:
    return MappingProxyType(
        {
            student: MappingProxyType(
                {photo: _sheet(table, place, row, keys[photo]) for row, photo in enumerate(table.key.photos)}
            )
            for place, student in enumerate(table.students)
        }
    )


def _sheet(table: ClassTable, student: int, photo: int, key: ReferenceKey) -> AnswerSheet:
    said: dict[str, Answer] = {
        item: ANSWERS[code]
        for item, code in zip(table.key.items, table.answers[student, photo].tolist(), strict=True)
        if code != BLANK
    }
    answers = {item: ItemAnswer(answer=answer) for item, answer in said.items()}
    return AnswerSheet(phase=key.phase, view=key.view, answers=answers)
