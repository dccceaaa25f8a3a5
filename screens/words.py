"""The words of `rubric.words` as the screens show them on buttons, and the two questions that come before the signs."""

from rubric.answers import Phase, View
from rubric.words import ANSWER_WORDS, SETTLES_WORDS
from screens.language import N_, Spoken

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

SETTLES = Spoken(SETTLES_WORDS, capital=True)
