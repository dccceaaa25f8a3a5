"""The words of `rubric.words` as the screens show them on buttons, and the two questions that come before the signs."""

import re

from rubric.answers import Phase, View
from rubric.words import ANSWER_WORDS, SETTLES_WORDS
from screens.language import N_, Spoken, _

ANSWERS = Spoken(ANSWER_WORDS, capital=True)

PHASES = Spoken(
    {
        Phase.BEFORE: N_("Before the latch: the mouth is not on the breast yet"),
        Phase.AT_BREAST: N_("At the breast: the mouth is on it"),
    }
)

VIEWS = Spoken(
    {
        View.SIDE: N_("Side: square to the baby's own side"),
        View.OBLIQUE: N_("Oblique: slanting, between side and front"),
        View.FRONT: N_("Front: the baby's face or front towards you"),
        View.BACK: N_("From behind the baby"),
    }
)

_LABEL = re.compile(r"Student (\d+)")


def shown_label(label: str) -> str:
    """What a student goes by where names are not shown, in the language of the page.

    >>> shown_label("Student 8")
    'Student 8'
    """
    found = _LABEL.fullmatch(label)
    return _("Student {n}").format(n=found[1]) if found else label


SETTLES = Spoken(SETTLES_WORDS, capital=True)
