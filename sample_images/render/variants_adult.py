"""Sample scenes about the adult's hands and shoulders, with their keys."""

from dataclasses import replace

from .adult_body import AdultBody
from .adult_head import AdultHead
from .arm import Arm
from .keys import ADULT_OUT_OF_PICTURE
from .keys_more import OPEN, missed, seen, unsure
from .samples import mouth
from .scene import KeyLine
from .variants import BEFORE, DOLL_OF_TONE, LAID, cushion, ground, shape, sleeved

KEYS: dict[str, dict[str, KeyLine]] = {
    "before_hand_on_head_oblique": {
        "no_twist": unsure("back", "The adult's body hides most of the chest.", "seen"),
        "faces_breast": seen("shoulder", "What shows of the chest points to the adult.", OPEN),
        "close": unsure("side", "The adult's body stands before the place where the two meet.", "seen"),
        "supported": unsure("side", "Bottom and legs lie behind the adult's body."),
        "adult_relaxed": ADULT_OUT_OF_PICTURE,
        "hands_clear": missed((0.36, 0.26), "The palm lies on the back of the skull, the fingers reach over its top."),
    },
    "laid_back_shoulders_side": {
        "body_line": seen("shoulder", "Hip, shoulder and ear follow one sweep.", "not_seen"),
        "close": seen("hip", "Belly and legs lie on the adult's body."),
        "supported": seen("hip", "The adult's body carries the trunk and a hand lies on the back."),
        "adult_relaxed": seen(
            (0.9, 0.6), "The shoulder lies far below the ear, and the back leans on the cushion.", OPEN
        ),
        "stays_wide": seen("mouth_corner", "The lips part widely.", OPEN),
        "lips_out": unsure("closer", "The lower lip is buried in the breast.", "seen"),
        "chin_touch": seen("chin", "The chin is pressed into the breast."),
        "nose_free": seen("nose_tip", "Wall shows between nose and breast."),
        "areola_above": unsure("closer", "Ring and skin are nearly of one colour at this distance.", "seen"),
        "cheeks_round": seen("mouth_corner", "The cheek is round.", OPEN),
    },
    "laid_back_shoulders_up_side": {
        "body_line": seen("shoulder", "Hip, shoulder and ear follow one sweep.", "not_seen"),
        "close": seen("hip", "Belly and legs lie on the adult's body."),
        "supported": seen("hip", "The adult's body carries the trunk and a hand lies on the back."),
        "adult_relaxed": missed(
            (0.92, 0.36), "The shoulder is drawn up until it meets the jaw, though the back leans."
        ),
        "stays_wide": missed("mouth_corner", "The lips part less widely than in the others.", "seen", OPEN),
        "lips_out": unsure("closer", "The lower lip is buried in the breast.", "seen"),
        "chin_touch": seen("chin", "The chin is pressed into the breast."),
        "nose_free": seen("nose_tip", "Wall shows between nose and breast.", OPEN),
        "areola_above": unsure("closer", "At this distance ring and skin can hardly be parted.", "seen"),
        "cheeks_round": seen("mouth_corner", "The cheek is round.", OPEN),
    },
}

ABOUT_THE_ADULT = [
    replace(
        BEFORE, name="before_hand_on_head_oblique", title="Before the latch, a hand behind the head",
        teaches="The palm lies on the back of the skull and pushes it forward: the head cannot tip back.",
        view_name="oblique", hold="cross_cradle", skin_tone=6, seed=731, contrast=0.5, body_view="turned",
        shape=shape(mouth(0.3, 0.7)),
        pose=replace(BEFORE.pose, head_flexion_deg=-2, neck_flexion_deg=-14),
        garment=replace(BEFORE.garment, colour=(196, 150, 170), colour2=(248, 236, 240), material="romper_dots"),
        light=replace(BEFORE.light, exposure=2.0),
        arms=(
            Arm(side="left", elbow=(-0.21, -0.06, 0.0), wrist=(-0.118, 0.178, 0.004), palm=(1.0, -0.2, 0.0),
                curl_deg=26, bend_deg=4, colour=(92, 116, 104)),
        ),
        torso_colour=(92, 116, 104),
        slabs=(cushion("right", (214, 206, 186), (128, 150, 160), "linen_leaves"), ground("right", (120, 112, 116))),
        view=replace(BEFORE.view, towards_front_deg=32, towards_head_deg=6, picture_up=(-0.15, 1, 0), fov_deg=11.4,
                     target=(0.025, 0.195, 0)),
    ),
    replace(
        LAID, name="laid_back_shoulders_side", title="Lying back, the adult's shoulder and back in the picture",
        teaches="The adult leans back on a cushion and the shoulder hangs low: the baby came to the breast.",
        skin_tone=8, seed=732, shape=shape(mouth(0.5)),
        garment=replace(LAID.garment, colour=(214, 186, 120), colour2=(246, 236, 206), material="romper_leaves"),
        adult_head=AdultHead(at=(0.235, 0.685, -0.05), faces=(-0.62, -0.78, 0.12), crown=(-0.75, 0.65, 0.0)),
        adult_body=AdultBody(neck=(0.355, 0.565, -0.05), faces=(-1.0, 0.25, 0.05), up=(0.25, 1.0, 0.0), colour=(96, 112, 128)),
        torso=replace(LAID.torso, extent=0.17, bend_w=0.14), light=replace(LAID.light, exposure=1.9),
        view=replace(LAID.view, fov_deg=21.5, target=(0.075, 0.275, 0.0), lens=0.006), **sleeved(LAID, (96, 112, 128)),
    ),
    replace(
        LAID, name="laid_back_shoulders_up_side", title="Lying back, the adult's shoulder drawn up",
        teaches="The shoulder is drawn up to the ear and the head pushed forward: the adult holds instead of leaning.",
        skin_tone=5, seed=733, shape=shape(mouth(0.4, 0.8)),
        garment=replace(LAID.garment, colour=(120, 150, 150), colour2=(232, 240, 238), material="romper_stripes"),
        adult_head=AdultHead(at=(0.185, 0.685, -0.05), faces=(-0.55, -0.83, 0.1), crown=(-0.8, 0.6, 0.0)),
        adult_body=AdultBody(neck=(0.33, 0.555, -0.05), faces=(-1.0, 0.25, 0.05), up=(0.25, 1.0, 0.0), shrug=0.06,
                             colour=(96, 132, 112)),
        torso=replace(LAID.torso, extent=0.17, bend_w=0.14), light=replace(LAID.light, exposure=1.6),
        view=replace(LAID.view, fov_deg=21.0, target=(0.07, 0.262, 0.0), lens=0.006, picture_up=(-0.6, 0.78, 0)),
        **sleeved(LAID, (96, 132, 112)),
    ),
]  # fmt: skip
ABOUT_THE_ADULT = [replace(s, answers=KEYS[s.name], doll=DOLL_OF_TONE[s.skin_tone]) for s in ABOUT_THE_ADULT]
