"""Plain words for what the packages name by id, each explained where it first stands."""

from rubric.answers import Answer, Phase, Settles, View

ANSWERS = {
    Answer.SEEN: "Seen",
    Answer.NOT_SEEN: "Not seen",
    Answer.CANT_TELL: "Can't tell from this photo",
}

PHASES = {
    Phase.BEFORE: "Before the latch: the mouth is not on the breast yet",
    Phase.AT_BREAST: "At the breast: the mouth is on it",
}

VIEWS = {
    View.SIDE: "Side: square to the baby's own side",
    View.OBLIQUE: "Oblique: between side and front",
    View.FRONT: "Front: the baby's face or front towards you",
    View.BACK: "From behind the baby",
}

SETTLES = {
    Settles.SIDE: "A side view",
    Settles.OBLIQUE: "An oblique view",
    Settles.FRONT: "A view from the front",
    Settles.BACK: "A view from behind the baby",
    Settles.CLOSER: "A closer picture",
    Settles.OTHER_MOMENT: "Another moment",
    Settles.NO_PHOTO: "No photo: ask or watch",
}
