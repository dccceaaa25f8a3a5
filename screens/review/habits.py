"""What each kind of finding means and what helps, in a sentence each; the three habits by their names."""

from collections.abc import Mapping
from types import MappingProxyType

from rubric.review.findings import FindingKind

#: Habits that go by a name.
HABITS: Mapping[FindingKind, str] = MappingProxyType(
    {
        FindingKind.OVER_CLAIMING: "Over-claiming",
        FindingKind.STUDENT_OVER_CLAIMS: "Over-claiming",
        FindingKind.HALO: "Halo",
        FindingKind.FOLLOWS_NUMBER: "Scoring the number",
    }
)

#: What a habit is.
MEANINGS: Mapping[str, str] = MappingProxyType(
    {
        "Over-claiming": "Saying more than the photo shows: seen or not seen where the picture cannot tell.",
        "Halo": "One impression of the whole photo answers for all its signs, instead of each sign for itself.",
        "Scoring the number": "The measured angle decides the sign, instead of the eye with the angle beside it.",
    }
)

HELPS: Mapping[FindingKind, str] = MappingProxyType(
    {
        FindingKind.ITEM: "Let students say where they look, then look there together; a photo with the sign beside one without "
        "it shows more than words.",
        FindingKind.PHOTO: "Take its signs one at a time. It may also be the key that is in doubt here.",
        FindingKind.ITEM_ON_PHOTO: "Let both sides say what they see before the key is shown. It may also be the key that is in "
        "doubt.",
        FindingKind.OVER_CLAIMING: "Ask before each answer: which part of the picture tells me this, and is it in sight? Then: "
        "which view would settle it?",
        FindingKind.STUDENT_OVER_CLAIMS: "Ask before each answer: which part of the picture tells me this, and is it in sight? "
        "Then: which view would settle it?",
        FindingKind.STUDENT_UNDER_CLAIMS: "Go through one photo together and name what is in sight, before the answer.",
        FindingKind.CLASS_READS_OFF: "Look at the rings under “Points on the photos”: mostly one point lies on another spot than "
        "the key's.",
        FindingKind.STUDENT_READS_OFF: "Place the points of one photo together and say for each where it belongs; a habit of the "
        "hand shows at once.",
        FindingKind.CHANGE_OF_MIND: "Ask what changed the answer: another look, or the number beside it.",
        FindingKind.HALO: "Cover the photo but for one part, and ask one sign at a time; mix photos in which one sign is there and "
        "the next is not.",
        FindingKind.FOLLOWS_NUMBER: "Ask for the answer and its reason before any measure is shown, then what the measure adds.",
    }
)
