"""The reference keys of the sample pictures: what each picture shows, written after looking at it."""

from .scene import KeyLine

ADULT_OUT_OF_PICTURE = KeyLine(
    answer="cant_tell",
    settles="front",
    why="The picture ends below the adult's shoulders, so how they sit is not in it.",
)

KEYS: dict[str, dict[str, KeyLine]] = {
    "cradle_front": {
        "no_twist": KeyLine(
            answer="cant_tell",
            settles="back",
            accepted=("seen",),
            why="The chest lies out of sight, so where it points can only be guessed.",
        ),
        "faces_breast": KeyLine(
            answer="seen",
            at="shoulder",
            accepted=("cant_tell",),
            why="The doll's back is towards us and its front against the adult.",
        ),
        "close": KeyLine(
            answer="seen",
            at="shoulder",
            accepted=("cant_tell",),
            why="Along the whole trunk the romper meets the adult's clothes.",
        ),
        "supported": KeyLine(
            answer="seen",
            at="hip",
            why="A forearm runs along the back, a hand holds the bottom, the head lies on the cushion.",
        ),
        "adult_relaxed": ADULT_OUT_OF_PICTURE,
        "hands_clear": KeyLine(
            answer="seen",
            at="hip",
            accepted=("cant_tell",),
            why="The one hand in sight holds the bottom; nothing touches head or areola.",
        ),
        "lips_out": KeyLine(answer="cant_tell", settles="side", why="The cheek stands in front of both lips."),
        "cheeks_round": KeyLine(
            answer="seen",
            at="mouth_corner",
            accepted=("cant_tell",),
            why="The cheek's outline bulges outwards without a hollow.",
        ),
    },
    "cradle_side": {
        "body_line": KeyLine(
            answer="seen",
            at="shoulder",
            why="A line from the hip through the shoulder runs on to the ear with hardly a bend.",
        ),
        "close": KeyLine(
            answer="seen",
            at="breast_at_chin",
            why="The chest lies against the adult's body and no cushion shows between the two.",
        ),
        "supported": KeyLine(
            answer="seen", at="hip", why="Head, back and bottom all rest on the cushion; nothing hangs down."
        ),
        "adult_relaxed": ADULT_OUT_OF_PICTURE,
        "stays_wide": KeyLine(
            answer="seen", at="mouth_corner", why="From the corner the two lips part widely round the breast."
        ),
        "lips_out": KeyLine(
            answer="seen",
            at="lower_lip_edge",
            accepted=("cant_tell",),
            why="Both lips roll outwards on to the breast; some lip red shows.",
        ),
        "chin_touch": KeyLine(answer="seen", at="chin", why="The chin is sunk into the breast without a gap."),
        "nose_free": KeyLine(answer="seen", at="nose_tip", why="A strip of background shows between nose and breast."),
        "areola_above": KeyLine(
            answer="seen",
            at="areola_above",
            why="Darker skin shows beyond the upper lip and none beyond the lower.",
        ),
        "cheeks_round": KeyLine(answer="seen", at="mouth_corner", why="The cheek bulges evenly, with no hollow."),
    },
    "before_latch_side": {
        "body_line": KeyLine(
            answer="seen", at="shoulder", why="Ear, shoulder and hip can be joined by one straight line."
        ),
        "close": KeyLine(
            answer="seen",
            at="hip",
            why="Belly and thighs lie against the adult; only the space before the face is open.",
        ),
        "supported": KeyLine(
            answer="cant_tell",
            settles="other_moment",
            accepted=("seen",),
            why="What the picture shows rests on the cushion, but the legs leave it at the edge.",
        ),
        "nose_level": KeyLine(answer="seen", at="nose_tip", why="The nipple points at the nose, not at the mouth."),
        "opens_wide": KeyLine(answer="seen", at="mouth_corner", why="The lips stand wide apart before they touch."),
        "chin_first": KeyLine(
            answer="seen",
            at="chin",
            why="The head tips back a little and the chin is nearer to the breast than the nose.",
        ),
        "adult_relaxed": ADULT_OUT_OF_PICTURE,
    },
    "narrow_side": {
        "body_line": KeyLine(
            answer="not_seen",
            at="shoulder",
            why="From hip to shoulder the line runs one way, then it bends forward to the ear.",
        ),
        "close": KeyLine(
            answer="not_seen",
            at=(0.535, 0.44),
            accepted=("seen",),
            why="Cushion shows between chest and adult; only lower down do the two meet.",
        ),
        "supported": KeyLine(
            answer="seen",
            at="hip",
            accepted=("cant_tell",),
            why="Trunk and bottom rest on the cushion, a hand lies behind neck and head.",
        ),
        "adult_relaxed": ADULT_OUT_OF_PICTURE,
        "stays_wide": KeyLine(
            answer="not_seen", at="mouth_corner", why="The lips stand close together round the nipple alone."
        ),
        "lips_out": KeyLine(
            answer="not_seen",
            at="lower_lip_edge",
            accepted=("cant_tell",),
            why="The lips point straight at the nipple; neither rolls outwards.",
        ),
        "chin_touch": KeyLine(answer="not_seen", at="chin", why="Cushion shows between the chin and the breast."),
        "nose_free": KeyLine(answer="seen", at="nose_tip", why="The nose stands clear of the breast."),
        "areola_above": KeyLine(
            answer="not_seen",
            at="areola_below",
            accepted=("cant_tell",),
            why="About as much of the darker ring shows below the lips as above them.",
        ),
        "cheeks_round": KeyLine(
            answer="seen",
            at="mouth_corner",
            accepted=("cant_tell",),
            why="The cheek is full; a highlight runs over it without a hollow.",
        ),
    },
    "under_arm_side": {
        "body_line": KeyLine(
            answer="cant_tell",
            settles="other_moment",
            why="The hip lies behind the adult's arm, so the line has no lower end.",
        ),
        "close": KeyLine(
            answer="not_seen",
            at=(0.62, 0.55),
            accepted=("cant_tell",),
            why="Cushion shows between the doll's chest and the adult's side.",
        ),
        "supported": KeyLine(
            answer="cant_tell",
            settles="back",
            accepted=("seen",),
            why="A hand holds neck and head, but what holds the bottom is behind the arm.",
        ),
        "adult_relaxed": ADULT_OUT_OF_PICTURE,
        "stays_wide": KeyLine(
            answer="not_seen",
            at="mouth_corner",
            accepted=("cant_tell",),
            why="The lips part to about a right angle, not further.",
        ),
        "lips_out": KeyLine(
            answer="seen",
            at="lower_lip_edge",
            accepted=("cant_tell",),
            why="The lower lip rolls outwards on to the breast.",
        ),
        "chin_touch": KeyLine(answer="seen", at="chin", why="No gap is left between chin and breast."),
        "nose_free": KeyLine(answer="seen", at="nose_tip", why="A narrow gap shows between nose and breast."),
        "areola_above": KeyLine(
            answer="seen",
            at="areola_above",
            accepted=("cant_tell",),
            why="More of the darker ring shows by the nose than by the chin.",
        ),
        "cheeks_round": KeyLine(answer="seen", at="mouth_corner", why="The cheek bulges evenly up to the mouth."),
    },
    "laid_back_side": {
        "body_line": KeyLine(
            answer="seen",
            at="shoulder",
            accepted=("not_seen",),
            why="Hip, shoulder and ear follow one sweep; the head only tips back a little.",
        ),
        "close": KeyLine(answer="seen", at="hip", why="Belly and legs lie on the adult's body."),
        "supported": KeyLine(
            answer="seen", at="hip", why="The adult's body carries the trunk and a hand lies on the back."
        ),
        "adult_relaxed": ADULT_OUT_OF_PICTURE,
        "stays_wide": KeyLine(
            answer="seen",
            at="mouth_corner",
            accepted=("cant_tell",),
            why="The lips part widely, as far as the sunken lower one lets us see.",
        ),
        "lips_out": KeyLine(
            answer="cant_tell", settles="closer", accepted=("seen",), why="The lower lip is buried in the breast."
        ),
        "chin_touch": KeyLine(answer="seen", at="chin", why="The chin is pressed into the breast."),
        "nose_free": KeyLine(answer="seen", at="nose_tip", why="Wall shows between nose and breast."),
        "areola_above": KeyLine(
            answer="seen",
            at="areola_above",
            accepted=("cant_tell",),
            why="The pink ring reaches further beyond the upper lip than beyond the lower.",
        ),
        "cheeks_round": KeyLine(answer="seen", at="mouth_corner", why="The cheek is round with no hollow."),
    },
}
