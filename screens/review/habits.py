"""What each kind of finding means and what helps, in a sentence each; the three habits by their names."""

from collections.abc import Mapping
from types import MappingProxyType

from rubric.review.findings import FindingKind
from screens.language import N_

#: Habits that go by a name.
HABITS: Mapping[FindingKind, str] = MappingProxyType(
    {
        FindingKind.OVER_CLAIMING: N_("Over-claiming"),
        FindingKind.STUDENT_OVER_CLAIMS: N_("Over-claiming"),
        FindingKind.HALO: N_("Halo"),
        FindingKind.FOLLOWS_NUMBER: N_("Scoring the number"),
    }
)

#: What a habit is.
MEANINGS: Mapping[str, str] = MappingProxyType(
    {
        "Over-claiming": N_("Saying more than the photo shows: seen or not seen where the picture cannot tell."),
        "Halo": N_("One impression of the whole photo answers for all its signs, instead of each sign for itself."),
        "Scoring the number": N_("The measured angle decides the sign, instead of the eye with the angle beside it."),
    }
)

HELPS: Mapping[FindingKind, str] = MappingProxyType(
    {
        FindingKind.ITEM: N_(
            "Let students say where they look, then look there together; a photo with the sign beside one without it "
            "shows more than words."
        ),
        FindingKind.PHOTO: N_("Take its signs one at a time. It may also be the key that is in doubt here."),
        FindingKind.ITEM_ON_PHOTO: N_(
            "Let both sides say what they see before the key is shown. It may also be the key that is in doubt."
        ),
        FindingKind.OVER_CLAIMING: N_(
            "Ask before each answer: which part of the picture tells me this, and is it in sight? Then: which view "
            "would settle it?"
        ),
        FindingKind.STUDENT_OVER_CLAIMS: N_(
            "Ask before each answer: which part of the picture tells me this, and is it in sight? Then: which view "
            "would settle it?"
        ),
        FindingKind.STUDENT_UNDER_CLAIMS: N_(
            "Go through one photo together and name what is in sight, before the answer."
        ),
        FindingKind.CLASS_READS_OFF: N_(
            "Look at the rings under “Points on the photos”: mostly one point lies on another spot than the key's."
        ),
        FindingKind.STUDENT_READS_OFF: N_(
            "Place the points of one photo together and say for each where it belongs; a habit of the hand shows at "
            "once."
        ),
        FindingKind.CHANGE_OF_MIND: N_("Ask what changed the answer: another look, or the number beside it."),
        FindingKind.HALO: N_(
            "Cover the photo but for one part, and ask one sign at a time; mix photos in which one sign is there and "
            "the next is not."
        ),
        FindingKind.FOLLOWS_NUMBER: N_(
            "Ask for the answer and its reason before any measure is shown, then what the measure adds."
        ),
    }
)
