"""How answers, phases, views and what would settle an item read on a screen."""

from collections.abc import Mapping
from types import MappingProxyType

from rubric.answers import Answer, Phase, Settles, View

ANSWER_WORDS: Mapping[Answer, str] = MappingProxyType(
    {Answer.SEEN: "seen", Answer.NOT_SEEN: "not seen", Answer.CANT_TELL: "can't tell from this photo"}
)

PHASE_WORDS: Mapping[Phase, str] = MappingProxyType(
    {Phase.BEFORE: "before the latch", Phase.AT_BREAST: "at the breast"}
)

VIEW_WORDS: Mapping[View, str] = MappingProxyType(
    {
        View.SIDE: "a view of the baby's side",
        View.OBLIQUE: "a slanting view",
        View.FRONT: "a view from the front",
        View.BACK: "a view from behind the baby",
    }
)

SETTLES_WORDS: Mapping[Settles, str] = MappingProxyType(
    {
        Settles.SIDE: "a photo square to the baby's side",
        Settles.OBLIQUE: "a slanting view",
        Settles.FRONT: "a photo from the front",
        Settles.BACK: "a photo from behind the baby",
        Settles.CLOSER: "a closer photo",
        Settles.OTHER_MOMENT: "a photo of another moment",
        Settles.NO_PHOTO: "no photo; ask, watch or listen instead",
    }
)


def sentence(text: str) -> str:
    """The text with white space tidied, a capital at its start and a full stop where it has no end mark.

    >>> sentence("the lip is hidden")
    'The lip is hidden.'
    """
    tidy = " ".join(text.split())
    return tidy[:1].upper() + tidy[1:] + ("" if tidy.endswith((".", "!", "?", "…")) else ".")
