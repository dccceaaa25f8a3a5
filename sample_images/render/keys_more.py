"""The reference keys of the variants, written after looking at each picture."""

from .keys import ADULT_OUT_OF_PICTURE
from .scene import KeyLine


def seen(at: str | tuple[float, float], why: str, *accepted: str) -> KeyLine:
    """It is seen there."""
    return KeyLine(answer="seen", at=at, why=why, accepted=accepted)


def missed(at: str | tuple[float, float], why: str, *accepted: str) -> KeyLine:
    """It is not seen; there is where one looks."""
    return KeyLine(answer="not_seen", at=at, why=why, accepted=accepted)


def unsure(settles: str, why: str, *accepted: str) -> KeyLine:
    """This picture does not tell."""
    return KeyLine(answer="cant_tell", settles=settles, why=why, accepted=accepted)


OPEN = "cant_tell"

KEYS_MORE: dict[str, dict[str, KeyLine]] = {
    "side_lying_top": {
        "body_line": seen(
            "shoulder", "Hip, shoulder and ear lie nearly on one line; the head is bent forward a little."
        ),
        "close": seen("hip", "Belly and thighs lie against the adult's clothes.", OPEN),
        "supported": seen("hip", "The mattress carries the whole doll."),
        "adult_relaxed": ADULT_OUT_OF_PICTURE,
        "stays_wide": unsure(
            "other_moment",
            "The tucked lip makes the opening small; how far the jaw is down it hides.",
            "seen",
            "not_seen",
        ),
        "lips_out": missed("lower_lip_edge", "The lower lip is rolled inwards: its red does not show."),
        "chin_touch": seen("chin", "Chin and breast meet in a line without a gap.", OPEN),
        "nose_free": seen("nose_tip", "The sheet shows between the nose and the breast."),
        "areola_above": unsure(
            "closer", "Dark ring and dark skin are hard to part, so its lower end is a guess.", "seen", "not_seen"
        ),
        "cheeks_round": seen("mouth_corner", "The highlight runs over the cheek without a hollow.", OPEN),
    },
    "side_lying_behind": {
        "no_twist": unsure("oblique", "The back of the head hides where the face points.", "seen"),
        "faces_breast": seen("shoulder", "The whole back is towards us, the front towards the adult.", OPEN),
        "close": unsure("oblique", "What lies between belly and adult is behind the doll.", "seen"),
        "supported": seen("hip", "Trunk and legs rest on the mattress.", OPEN),
        "adult_relaxed": ADULT_OUT_OF_PICTURE,
    },
    "cross_cradle_twist": {
        "body_line": seen(
            "shoulder", "In the picture the three places lie nearly on one line, though the head is turned.", "not_seen"
        ),
        "close": missed((0.49, 0.43), "The chest points past the adult; cushion shows between the two.", "seen"),
        "supported": seen("hip", "The trunk lies on the cushion and a hand holds the neck.", OPEN),
        "adult_relaxed": ADULT_OUT_OF_PICTURE,
        "stays_wide": seen("mouth_corner", "The lips part widely round the breast.", OPEN),
        "lips_out": seen("lower_lip_edge", "The lower lip lies rolled out on the breast.", OPEN),
        "chin_touch": seen("chin", "No gap is left between chin and breast."),
        "nose_free": seen("nose_tip", "Cushion shows between the nose and the breast."),
        "areola_above": seen("areola_above", "The ring reaches further beyond the upper lip than beyond the lower."),
        "cheeks_round": seen("mouth_corner", "The cheek is full up to the mouth.", OPEN),
    },
    "cradle_tucked_side": {
        "body_line": missed("shoulder", "At the shoulder the line bends: the head is brought to the chest."),
        "close": seen("hip", "Chest and thighs meet the adult's clothes along the trunk.", OPEN),
        "supported": seen("hip", "A hand holds the bottom; back and head rest on the cushion."),
        "adult_relaxed": ADULT_OUT_OF_PICTURE,
        "stays_wide": missed("mouth_corner", "The lips part to about a right angle, not further.", OPEN),
        "lips_out": seen("lower_lip_edge", "The lower lip rolls outwards under the ring.", OPEN),
        "chin_touch": missed("chin", "The chin ends a little before the breast.", "seen", OPEN),
        "nose_free": seen("nose_tip", "The nose stands clear of the breast.", OPEN),
        "areola_above": seen("areola_above", "Much more of the ring shows towards the nose than towards the chin."),
        "cheeks_round": seen("mouth_corner", "The cheek is round without a hollow."),
    },
    "before_twisted_oblique": {
        "no_twist": missed("shoulder", "The chest faces the camera and the face is turned away to the breast."),
        "faces_breast": missed("shoulder", "Chest and belly point upwards, past the adult."),
        "close": seen((0.51, 0.50), "From the chest down the doll's far side meets the adult's clothes.", OPEN),
        "supported": seen("hip", "The trunk lies on the cushion, a hand behind neck and shoulder.", OPEN),
        "adult_relaxed": ADULT_OUT_OF_PICTURE,
        "hands_clear": seen(
            "shoulder", "The one hand in sight holds neck and shoulder and stays off the breast.", OPEN
        ),
    },
    "nose_pressed_side": {
        "body_line": missed("shoulder", "The head comes forward at the shoulder.", "seen"),
        "close": missed((0.54, 0.55), "A strip of cushion shows from the chest down to the hip."),
        "supported": seen("hip", "Trunk and hip rest on the cushion, a hand lies behind neck and shoulder.", OPEN),
        "adult_relaxed": ADULT_OUT_OF_PICTURE,
        "stays_wide": missed("mouth_corner", "The lips part to about a right angle, not further.", OPEN),
        "lips_out": unsure("closer", "The upper lip is buried and the lower one shows only its outside."),
        "chin_touch": missed("chin", "Cushion shows under the lower lip, between chin and breast.", OPEN),
        "nose_free": missed((0.475, 0.22), "The nose is sunk into the breast: its tip is out of sight."),
        "areola_above": missed("areola_below", "More of the ring shows below the mouth than above it."),
        "cheeks_round": seen("mouth_corner", "The cheek is full, pushed a little by the breast.", OPEN),
    },
    "areola_below_side": {
        "body_line": seen("shoulder", "Hip, shoulder and ear can be joined by one straight line."),
        "close": seen("hip", "Belly and legs lie on the adult's body; only under the neck is there room.", OPEN),
        "supported": seen("hip", "The adult's body carries the legs and belly, a hand lies behind the back."),
        "adult_relaxed": ADULT_OUT_OF_PICTURE,
        "stays_wide": missed("mouth_corner", "The lips part little further than a right angle.", "seen", OPEN),
        "lips_out": seen("lower_lip_edge", "The lower lip lies rolled out against the ring.", OPEN),
        "chin_touch": missed("chin", "A gap is left between the chin and the breast.", "seen", OPEN),
        "nose_free": seen("nose_tip", "Wall shows between nose and breast."),
        "areola_above": missed("areola_below", "The ring reaches far below the lower lip and hardly above the upper."),
        "cheeks_round": seen("mouth_corner", "The cheek is round and full."),
    },
    "before_oblique": {
        "no_twist": unsure("back", "The adult's body hides most of the chest.", "seen"),
        "faces_breast": seen("shoulder", "What shows of the chest points to the adult.", OPEN),
        "close": unsure("side", "The adult's body stands before the place where the two meet.", "seen"),
        "supported": unsure("side", "Bottom and legs lie behind the adult's body."),
        "adult_relaxed": ADULT_OUT_OF_PICTURE,
        "hands_clear": seen("ear", "The hand lies behind neck and shoulder and stays off the breast.", OPEN),
    },
    "cradle_turned_away": {
        "no_twist": seen("shoulder", "Back of the head and back of the trunk point the same way.", OPEN),
        "faces_breast": seen("shoulder", "The back is towards us and the front lies against the adult."),
        "close": seen("hip", "Along the trunk no cushion shows between doll and adult.", OPEN),
        "supported": seen("hip", "A forearm lies behind the back and a hand holds the bottom."),
        "adult_relaxed": ADULT_OUT_OF_PICTURE,
        "hands_clear": seen("hip", "The hand in sight holds the bottom; nothing touches head or ring.", OPEN),
        "lips_out": unsure("side", "The cheek stands in front of both lips."),
        "cheeks_round": unsure("side", "Only the cheek's back half can be seen.", "seen"),
    },
    "under_arm_narrow_portrait": {
        "body_line": unsure("other_moment", "The hip lies behind the adult's arm, so the line has no lower end."),
        "close": missed((0.60, 0.55), "Cushion shows between the chest and the adult."),
        "supported": unsure("back", "A hand holds neck and head; what holds the bottom is behind the arm.", "seen"),
        "adult_relaxed": ADULT_OUT_OF_PICTURE,
        "stays_wide": missed("mouth_corner", "The lips close round the nipple alone."),
        "lips_out": missed("lower_lip_edge", "Both lips point straight ahead; neither rolls outwards.", OPEN),
        "chin_touch": missed("chin", "Cushion shows between chin and breast."),
        "nose_free": seen("nose_tip", "A gap shows between nose and breast.", OPEN),
        "areola_above": missed("areola_below", "The ring shows about as far below the mouth as above it.", OPEN),
        "cheeks_round": seen("mouth_corner", "The cheek is full; no hollow shows.", OPEN),
    },
    "laid_back_turned_picture": {
        "body_line": seen("shoulder", "Turned the right way up, hip, shoulder and ear follow one sweep.", "not_seen"),
        "close": seen("hip", "Belly and legs lie on the adult's body.", OPEN),
        "supported": seen("hip", "The adult's body carries the trunk and a hand lies on the back."),
        "adult_relaxed": ADULT_OUT_OF_PICTURE,
        "stays_wide": seen("mouth_corner", "The lips part widely as far as they can be seen.", OPEN),
        "lips_out": unsure("closer", "The lower lip is buried in the breast.", "seen"),
        "chin_touch": seen("chin", "The chin is pressed into the breast."),
        "nose_free": seen("nose_tip", "Wall shows between nose and breast."),
        "areola_above": seen("areola_above", "The darkest ring lies on the side of the nose.", OPEN),
        "cheeks_round": seen("mouth_corner", "The cheek is round with no hollow.", OPEN),
    },
    "dim_side": {
        "body_line": seen("shoulder", "Even in the dark, hip, shoulder and ear make one line.", OPEN),
        "close": seen("hip", "The light romper meets the adult's darker clothes along the trunk without a gap.", OPEN),
        "supported": seen("shoulder", "A hand lies behind neck and shoulder, the rest lies on the cushion.", OPEN),
        "adult_relaxed": ADULT_OUT_OF_PICTURE,
        "stays_wide": unsure("closer", "The corner can be made out, the lips hardly.", "seen"),
        "lips_out": unsure("closer", "Shadow hides both lips."),
        "chin_touch": unsure("closer", "Chin and breast run together in the shadow.", "seen"),
        "nose_free": seen("nose_tip", "Lighter cushion shows between nose and breast.", OPEN),
        "areola_above": unsure("closer", "Ring and shadow cannot be told apart.", "seen"),
        "cheeks_round": unsure("closer", "Too little light falls on the cheek.", "seen"),
    },
    "blurred_side": {
        "body_line": seen("shoulder", "The outline is soft, but the three places still make one line.", OPEN),
        "close": seen("hip", "Romper and the adult's clothes meet along the trunk.", OPEN),
        "supported": seen("hip", "A forearm and hand lie behind back and bottom.", OPEN),
        "adult_relaxed": ADULT_OUT_OF_PICTURE,
        "stays_wide": unsure("closer", "The lips' edges are smeared.", "seen", "not_seen"),
        "lips_out": unsure("closer", "The lips cannot be parted from the breast in the blur."),
        "chin_touch": seen("chin", "No lighter strip shows between chin and breast.", OPEN),
        "nose_free": seen("nose_tip", "Cushion shows beside the nose.", OPEN),
        "areola_above": seen("areola_above", "A redder patch lies on the side of the nose only.", OPEN),
        "cheeks_round": seen("mouth_corner", "The cheek's outline is round.", OPEN),
    },
    "laid_back_face_in_frame": {
        "body_line": seen("shoulder", "Hip, shoulder and ear follow one sweep.", "not_seen"),
        "close": seen("hip", "Belly and legs lie on the adult's body."),
        "supported": seen("hip", "The adult's body carries the trunk and a hand lies on the back."),
        "adult_relaxed": unsure("front", "Part of the face is in the picture, the shoulders are not."),
        "stays_wide": seen("mouth_corner", "The lips part widely.", OPEN),
        "lips_out": unsure("closer", "The lower lip is buried in the breast.", "seen"),
        "chin_touch": seen("chin", "The chin is pressed into the breast."),
        "nose_free": seen("nose_tip", "Wall shows between nose and breast."),
        "areola_above": seen("areola_above", "The ring reaches beyond the upper lip only.", OPEN),
        "cheeks_round": seen("mouth_corner", "The cheek is round.", OPEN),
    },
    "scale_card_side": {
        "body_line": seen("shoulder", "Ear, shoulder and hip can be joined by nearly one line."),
        "close": seen("hip", "Belly and thighs lie against the adult.", OPEN),
        "supported": seen("shoulder", "A hand lies behind neck and shoulder, the trunk on the cushion.", OPEN),
        "adult_relaxed": ADULT_OUT_OF_PICTURE,
        "nose_level": seen("nose_tip", "The nipple points at the nose and upper lip."),
        "opens_wide": seen("mouth_corner", "The lips stand wide apart before they touch."),
        "chin_first": seen("chin", "The head tips back a little and the lower jaw leads.", OPEN),
    },
    "before_wide_side": {
        "body_line": seen("shoulder", "Ear, shoulder and hip can be joined by one straight line."),
        "close": seen("hip", "Arm and belly meet the adult's clothes.", OPEN),
        "supported": seen("shoulder", "Trunk and head lie on the cushion, a hand holds neck and shoulder.", OPEN),
        "adult_relaxed": ADULT_OUT_OF_PICTURE,
        "nose_level": missed("nose_tip", "The nipple points into the mouth; the nose lies beyond it.", OPEN),
        "opens_wide": seen("mouth_corner", "The upper lip is lifted and the jaw hangs low: very wide."),
        "chin_first": seen("chin", "Chin and lower lip reach nearer to the breast than the nose.", OPEN),
    },
    "before_narrow_side": {
        "body_line": missed("shoulder", "The head is bent to the chest, so the line has a corner."),
        "close": missed((0.45, 0.60), "Cushion shows between chest and adult."),
        "supported": seen("shoulder", "The doll lies on the cushion and a hand is near the neck.", OPEN),
        "adult_relaxed": ADULT_OUT_OF_PICTURE,
        "nose_level": missed("nose_tip", "The nipple stands opposite the chin; the nose has gone past it.", OPEN),
        "opens_wide": missed("mouth_corner", "The lips are nearly closed."),
        "chin_first": missed("chin", "The nose is nearer to the breast than the chin."),
    },
    "close_up_side": {
        "body_line": unsure("other_moment", "The hip lies outside the picture."),
        "close": unsure("other_moment", "Only head and neck are in the picture."),
        "supported": unsure("other_moment", "Only the hand at the neck is in the picture."),
        "adult_relaxed": ADULT_OUT_OF_PICTURE,
        "stays_wide": seen("mouth_corner", "The lips stand very far apart round the breast."),
        "lips_out": seen((0.615, 0.63), "The upper lip is turned up on the breast.", OPEN),
        "chin_touch": seen("chin", "The chin is sunk into the breast.", OPEN),
        "nose_free": seen("nose_tip", "Cushion shows beside the nose."),
        "areola_above": seen("areola_above", "The pink ring shows only on the side of the nose."),
        "cheeks_round": seen("mouth_corner", "The cheek bulges without a hollow."),
    },
    "medium_side": {
        "body_line": seen("shoulder", "Hip, shoulder and ear follow one line."),
        "close": seen("hip", "The trunk lies close to the adult's clothes.", "not_seen"),
        "supported": seen("shoulder", "The trunk lies on the cushion and a hand holds neck and head.", OPEN),
        "adult_relaxed": ADULT_OUT_OF_PICTURE,
        "stays_wide": missed("mouth_corner", "The lips part to about a right angle, not further.", "seen"),
        "lips_out": seen("lower_lip_edge", "The lower lip lies rolled out on the breast.", OPEN),
        "chin_touch": seen("chin", "The chin just meets the breast.", OPEN),
        "nose_free": seen("nose_tip", "Cushion shows between nose and breast."),
        "areola_above": seen("areola_above", "The darker ring shows on the side of the nose only."),
        "cheeks_round": seen("mouth_corner", "The cheek is round up to the mouth."),
    },
    "before_front": {
        "close": unsure("side", "From in front the space between the bodies cannot be judged.", "not_seen"),
        "supported": unsure("side", "Bottom and legs are partly behind the adult.", "seen"),
        "adult_relaxed": ADULT_OUT_OF_PICTURE,
    },
}
