"""How answers, phases, views and what would settle an item read on a screen."""

from collections.abc import Mapping
from types import MappingProxyType

from rubric.answers import Answer, Phase, Settles, View
from rubric.said import Said

ANSWER_WORDS: Mapping[Answer, str] = MappingProxyType(
    {Answer.SEEN: Said("seen"), Answer.NOT_SEEN: Said("not seen"), Answer.CANT_TELL: Said("can't tell from this photo")}
)

PHASE_WORDS: Mapping[Phase, str] = MappingProxyType(
    {Phase.BEFORE: Said("before the latch"), Phase.AT_BREAST: Said("at the breast")}
)

VIEW_WORDS: Mapping[View, str] = MappingProxyType(
    {
        View.SIDE: Said("a view of the baby's side"),
        View.OBLIQUE: Said("a slanting view"),
        View.FRONT: Said("a view from the front"),
        View.BACK: Said("a view from behind the baby"),
    }
)

SETTLES_WORDS: Mapping[Settles, str] = MappingProxyType(
    {
        Settles.SIDE: Said("a photo square to the baby's side"),
        Settles.OBLIQUE: Said("a slanting view"),
        Settles.FRONT: Said("a photo from the front"),
        Settles.BACK: Said("a photo from behind the baby"),
        Settles.CLOSER: Said("a closer photo"),
        Settles.OTHER_MOMENT: Said("a photo of another moment"),
        Settles.NO_PHOTO: Said("no photo; ask, watch or listen instead"),
    }
)


def sentence(text: str) -> str:
    """The text with white space tidied, a capital at its start and a full stop where it has no end mark.

    >>> sentence("the lip is hidden")
    'The lip is hidden.'
    """
    tidy = " ".join(text.split())
    return tidy[:1].upper() + tidy[1:] + ("" if tidy.endswith((".", "!", "?", "…")) else ".")
