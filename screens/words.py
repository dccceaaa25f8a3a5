"""The words of `rubric.words` as the screens show them on buttons, and the two questions that come before the signs."""

from rubric.answers import Phase, View
from rubric.words import ANSWER_WORDS, SETTLES_WORDS


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


ANSWERS = {answer: _capital(words) for answer, words in ANSWER_WORDS.items()}

PHASES = {
    Phase.BEFORE: "Before the latch: the mouth is not on the breast yet",
    Phase.AT_BREAST: "At the breast: the mouth is on it",
}

VIEWS = {
    View.SIDE: "Side: square to the baby's own side",
    View.OBLIQUE: "Oblique: slanting, between side and front",
    View.FRONT: "Front: the baby's face or front towards you",
    View.BACK: "From behind the baby",
}

SETTLES = {settles: _capital(words) for settles, words in SETTLES_WORDS.items()}
