"""More sample scenes, each made from one of the first by other poses, mouths, views, light, cloth and tones."""

from dataclasses import replace

from .adult_head import AdultHead
from .card import Card
from .doll import Shape
from .keys_more import KEYS_MORE
from .mirror import mirrored
from .props import Breast, Torso
from .samples import BABY, SCENES, SMALL, mouth
from .scene import Garment, Light, Scene, Slab, View

_BY_NAME = {scene.name: scene for scene in SCENES}
CRADLE, BEFORE, NARROW = (_BY_NAME[n] for n in ("cradle_side", "before_latch_side", "narrow_side"))
UNDER, LAID = _BY_NAME["under_arm_side"], _BY_NAME["laid_back_side"]

Colour = tuple[int, int, int]

#: Each doll of the school has one tone.
DOLL_OF_TONE = {1: "E", 2: "C", 3: "A", 4: "G", 5: "B", 6: "D", 7: "H", 8: "F"}


def cushion(side: str, colour: Colour, colour2: Colour, material: str = "linen_leaves", **more) -> Slab:
    """The nursing pillow under the doll."""
    sign = 1.0 if side == "right" else -1.0
    return Slab(
        name="cushion", at=(-0.02, -0.03, -0.05 * sign), faces=(0, 0, sign), along=(0, 1, 0), colour=colour,
        colour2=colour2, material=material, **({"half": (0.50, 0.30), "round_edge": 0.09} | more),
    )  # fmt: skip


def ground(side: str, colour: Colour, material: str = "towel", depth: float = 0.22) -> Slab:
    """What shows beyond the pillow."""
    sign = 1.0 if side == "right" else -1.0
    return Slab(
        name="sofa", at=(0, 0, -depth * sign), faces=(0, 0, sign), along=(0, 1, 0), half=(1.2, 1.2), colour=colour,
        material=material, folds=0.012, press=False, step=0.01,
    )  # fmt: skip


def shape(face: dict[str, float], **phenotype: float) -> Shape:
    """The small baby with this face."""
    return Shape(phenotype=BABY | phenotype, local_changes=SMALL, face=face)


def pair(**values: float) -> dict[str, float]:
    """A facial action of both sides."""
    return {name + side: value for name, value in values.items() for side in ("Left", "Right")}


def sleeved(scene: Scene, colour: Colour, **arm) -> dict:
    """The adult's cloth in another colour: torso and sleeves of the arms."""
    return {"torso_colour": colour, "arms": tuple(replace(a, colour=colour, **arm) for a in scene.arms)}


#: Wider than a jaw alone opens: the upper lip lifted, the corners drawn down, the lips turned out.
WIDE = mouth(0.6) | pair(mouthUpperUp=1.0, mouthFrown=0.6, mouthLowerDown=0.6) | {"mouthShrugUpper": 0.3}
TUCKED_LIP = mouth(0.36) | pair(mouthLowerDown=0.0) | {"mouthRollLower": 1.0, "mouthFunnel": 0.0}

BRIGHT_RIGHT = Light(
    key=(0.9, 0.9, 1.3), up=(0.3, 0.2, 1.0), exposure=2.0, sky=(0.56, 0.58, 0.62), ground=(0.38, 0.34, 0.3)
)

CRADLE_RIGHT = mirrored(CRADLE)
#: The opposite arm across the lap: the wide mouth of the first scene, a hand behind the neck.
CROSS = replace(
    CRADLE_RIGHT, hold="cross_cradle", arms=BEFORE.arms, light=BRIGHT_RIGHT, contrast=0.5,
    slabs=(cushion("right", (224, 214, 196), (150, 120, 104)), ground("right", (120, 124, 128))),
    view=replace(BEFORE.view, picture_up=(0.9, 0.5, 0)),
)  # fmt: skip
LAID = replace(LAID, contrast=0.5, light=replace(LAID.light, exposure=1.5))

VARIANTS: list[Scene] = [
    replace(
        CROSS, name="side_lying_top", title="Side by side lying down, from straight above", hold="side_lying",
        teaches="The lower lip is tucked in, and on dark skin the ring is hard to part from what surrounds it.",
        skin_tone=7, seed=711, shape=shape(TUCKED_LIP), arms=(), model_tone=7,
        pose=replace(CRADLE_RIGHT.pose, head_flexion_deg=-8, neck_flexion_deg=-24, trunk_flexion_deg=4),
        garment=Garment(colour=(228, 208, 150), cuff=(246, 240, 226), material="romper_leaves", colour2=(150, 140, 92)),
        slabs=(cushion("right", (206, 214, 220), (170, 186, 200), "linen_leaves", half=(0.9, 0.9), round_edge=0.0),
               ground("right", (90, 90, 96))),
        breast=replace(
            CRADLE.breast, apex=-0.012, drawn_width=0.012, swell=0.006, areola_radius=0.019, areola_centre=(0.002, 0.0)
        ),
        torso_colour=(176, 172, 188), light=replace(BRIGHT_RIGHT, exposure=2.3),
        view=View(side="right", distance=2.4, target=(0.075, 0.06, 0.0), picture_up=(0, 1, 0), fov_deg=10.2, aspect=1.3333),
    ),
    replace(
        CROSS, name="side_lying_behind", title="Side by side lying down, from the bedside", hold="side_lying",
        teaches="From the bedside only the back shows: mouth, lips and line need the camera above.",
        view_name="back", skin_tone=4, seed=712, arms=(), body_view="turned",
        garment=Garment(colour=(196, 120, 98), cuff=(240, 228, 214), material="romper_stripes", colour2=(238, 220, 200)),
        slabs=(cushion("right", (222, 222, 214), (180, 176, 160), "linen", half=(1.0, 0.9), round_edge=0.0),),
        torso_colour=(96, 128, 128),
        light=Light(key=(-1.2, 0.6, 1.1), up=(0, 0, 1.0), exposure=1.9, sky=(0.6, 0.62, 0.66)),
        view=View(side="right", distance=2.3, target=(0.05, 0.05, 0.02), picture_up=(0, 0, 1), fov_deg=17,
                  towards_front_deg=-58, towards_head_deg=8),
    ),
    replace(
        CROSS, name="cross_cradle_twist", title="Opposite arm across the lap, head turned against the chest",
        teaches="Ear, shoulder and hip lie nearly on one line, and yet face and chest point different ways.",
        skin_tone=4, seed=713, shape=shape(mouth(0.5)),
        pose=replace(CRADLE_RIGHT.pose, head_turn_deg=26, head_flexion_deg=-38, neck_flexion_deg=-52, trunk_flexion_deg=-12),
        garment=Garment(colour=(108, 132, 150), cuff=(234, 230, 220), material="romper_stripes", colour2=(222, 222, 212)),
        slabs=(cushion("right", (232, 216, 188), (196, 150, 110), "linen_dots"), ground("right", (110, 100, 92))),
        view=replace(CROSS.view, towards_front_deg=20, towards_head_deg=8),
        **sleeved(CROSS, (128, 100, 128), wrist=(-0.13, 0.04, -0.046), elbow=(-0.165, -0.2, -0.046)),
    ),
    replace(
        CRADLE, name="cradle_tucked_side", title="Across the lap, head bent to the chest",
        teaches="The head is bent forward: a medium gape, and the line has a corner at the shoulder.",
        skin_tone=2, seed=714, contrast=0.5, shape=shape(mouth(0.36, 0.7)),
        pose=replace(CRADLE.pose, head_flexion_deg=14, neck_flexion_deg=-4, trunk_flexion_deg=12),
        breast=replace(CRADLE.breast, apex=-0.008, swell=0.0, areola_centre=(0.003, 0)), breast_turn_deg=10,
        garment=Garment(colour=(120, 150, 190), cuff=(240, 240, 236), material="romper_dots", colour2=(236, 238, 240)),
        slabs=(cushion("left", (236, 226, 226), (206, 160, 160), "linen_dots"), ground("left", (116, 124, 118))),
        light=replace(CRADLE.light, exposure=1.95), **sleeved(CRADLE, (158, 160, 122)),
        view=replace(CRADLE.view, picture_up=(1, -0.5, 0), fov_deg=15, target=(0.06, 0.05, 0)),
    ),
    replace(
        BEFORE, name="before_twisted_oblique", title="Before the latch, the trunk turned up", hold="cradle",
        teaches="The doll lies on its back and turns only the head: face and chest point different ways.",
        view_name="oblique", skin_tone=3, seed=715, contrast=0.5, body_view="turned",
        shape=shape(mouth(0.4, 0.8)),
        pose=replace(BEFORE.pose, head_turn_deg=40, head_flexion_deg=-24, trunk_twist_deg=-10),
        garment=Garment(colour=(222, 190, 120), cuff=(246, 240, 226), material="romper_dots", colour2=(150, 120, 80)),
        light=replace(BEFORE.light, exposure=1.95),
        view=replace(BEFORE.view, towards_front_deg=30, picture_up=(0.2, 1, 0), target=(0.05, 0.09, 0), fov_deg=14.5),
        slabs=(cushion("right", (196, 208, 196), (120, 146, 124)), ground("right", (140, 124, 116))),
        **sleeved(BEFORE, (92, 110, 140)),
    ),
    replace(
        CROSS, name="nose_pressed_side", title="Opposite arm across the lap, nose in the breast",
        teaches="The nose sinks into the breast while the chin stands off: the reverse of chin first.",
        skin_tone=5, seed=716, shape=shape(mouth(0.4, 0.6)),
        pose=replace(CRADLE_RIGHT.pose, head_flexion_deg=4, neck_flexion_deg=-12, trunk_flexion_deg=6),
        breast=Breast(apex=0.002, drawn_in=0.022, drawn_width=0.014, areola_centre=(-0.004, 0), swell=0.024, swell_u=0.030),
        breast_turn_deg=-6,
        garment=Garment(colour=(172, 116, 140), cuff=(240, 230, 234), material="romper_leaves", colour2=(240, 222, 228)),
        slabs=(cushion("right", (206, 214, 200), (128, 148, 120), "linen_dots"), ground("right", (96, 96, 108))),
        view=replace(CROSS.view, picture_up=(0.2, 1, 0), fov_deg=12.5, target=(0.07, 0.11, 0)), **sleeved(CROSS, (70, 92, 112)),
    ),
    replace(
        LAID, name="areola_below_side", title="Lying back, the breast taken from below",
        teaches="More of the areola shows below the lower lip than above the upper one.",
        skin_tone=2, seed=717, shape=shape(mouth(0.42, 0.8)),
        pose=replace(LAID.pose, head_flexion_deg=-18, neck_flexion_deg=-40),
        breast=replace(LAID.breast, areola_centre=(-0.014, 0), areola_radius=0.026, swell=0.0, apex=-0.005, centre=(-0.004, 0)),
        breast_turn_deg=14,
        garment=Garment(colour=(130, 160, 130), cuff=(236, 236, 224), material="romper_leaves", colour2=(228, 232, 212)),
        view=replace(LAID.view, picture_up=(-0.6, 0.75, 0), fov_deg=14), **sleeved(LAID, (146, 120, 110)),
    ),
    replace(
        BEFORE, name="before_oblique", title="Before the latch, from in front at an angle",
        teaches="A wide mouth from an angle: what an angle on the picture is worth must be corrected for the view.",
        view_name="oblique", skin_tone=4, seed=718, contrast=0.5, shape=shape(WIDE),
        garment=Garment(colour=(110, 150, 150), cuff=(236, 236, 226), material="romper"),
        light=replace(BEFORE.light, exposure=1.95), breast=replace(BEFORE.breast, apex=-0.034),
        view=replace(BEFORE.view, towards_front_deg=32, towards_head_deg=6, picture_up=(-0.2, 1, 0), fov_deg=10.2,
                     target=(0.075, 0.19, 0)), body_view="turned",
        slabs=(cushion("right", (226, 208, 190), (190, 140, 120)), ground("right", (150, 140, 130))),
        **sleeved(BEFORE, (110, 96, 84)),
    ),
    replace(
        CRADLE, name="cradle_turned_away", title="Across the lap, the face turned away from the camera",
        teaches="The camera stands behind the doll's side: closeness and hands show, the mouth only at its very edge.",
        view_name="oblique", skin_tone=7, seed=719, contrast=0.5, body_view="turned",
        garment=Garment(colour=(236, 214, 160), cuff=(250, 244, 230), material="romper_leaves", colour2=(190, 130, 80)),
        slabs=(cushion("left", (196, 204, 214), (110, 130, 156), "linen_dots"), ground("left", (120, 104, 96))),
        light=replace(CRADLE.light, exposure=2.1, key=(-0.6, 0.9, -1.5)), **sleeved(CRADLE, (170, 110, 96)),
        view=View(side="left", distance=2.3, target=(0.04, 0.05, 0.0), picture_up=(1, 0.3, 0), fov_deg=15.5,
                  towards_front_deg=-30, towards_head_deg=12),
    ),
    replace(
        UNDER, name="under_arm_narrow_portrait", title="Under the arm, a narrow gape, upright format",
        teaches="The narrow gape can be read; the body line cannot, as the hip lies behind the arm.",
        skin_tone=4, seed=720, contrast=0.5, shape=shape(mouth(0.2, 0.4) | {"jawForward": 0.0}),
        breast=replace(NARROW.breast, nipple_height=0.0), breast_turn_deg=6,
        garment=Garment(colour=(206, 150, 150), cuff=(244, 234, 230), material="romper_stripes", colour2=(244, 228, 220)),
        slabs=(cushion("right", (190, 200, 206), (120, 136, 150), "linen_leaves"), ground("right", (134, 122, 110))),
        sleeves=tuple(replace(s, colour=(84, 92, 110)) for s in UNDER.sleeves), **sleeved(UNDER, (84, 92, 110)),
        view=replace(UNDER.view, picture_up=(-0.2, 1, 0), aspect=1.3333, fov_deg=10.6, target=(0.06, 0.10, 0), towards_front_deg=0),
        light=replace(UNDER.light, exposure=2.0),
    ),
    replace(
        mirrored(LAID), name="laid_back_turned_picture", title="Lying back, the picture upside down",
        teaches="The camera was held the other way up: with itself the doll is as much in line as before.",
        skin_tone=7, seed=721, shape=shape(mouth(0.46)),
        garment=Garment(colour=(226, 224, 214), cuff=(120, 140, 160), material="romper_stripes", colour2=(120, 146, 172)),
        light=replace(mirrored(LAID).light, exposure=1.9), view=replace(mirrored(LAID).view, roll_deg=170),
        **sleeved(mirrored(LAID), (190, 160, 110)),
    ),
    replace(
        CROSS, name="dim_side", title="Opposite arm across the lap, in little light",
        teaches="Little light and a warm lamp: with much grain the lips' edges are less sure.",
        skin_tone=8, seed=722, shape=shape(mouth(0.52)), contrast=0.2, noise=0.035, tint=(1.08, 0.98, 0.82),
        garment=Garment(colour=(150, 160, 200), cuff=(230, 230, 230), material="romper"),
        light=Light(key=(-0.9, 1.1, 0.9), up=(0.3, 0.2, 1.0), exposure=1.7, key_strength=3.0, key_radius=0.12,
                    key_colour=(1.0, 0.82, 0.6), sky=(0.30, 0.28, 0.28), ground=(0.2, 0.18, 0.16)),
        slabs=(cushion("right", (200, 190, 176), (150, 140, 124), "linen"), ground("right", (90, 84, 80))),
        view=replace(CROSS.view, picture_up=(0.4, -1, 0), target=(0.07, 0.15, 0)), **sleeved(CROSS, (110, 116, 104)),
    ),
    replace(
        CRADLE, name="blurred_side", title="Across the lap, camera moved",
        teaches="Out of focus: points can be placed, with wider ranges.",
        skin_tone=2, seed=723, shape=shape(mouth(0.44)), contrast=0.5, blur_px=5.0,
        garment=Garment(colour=(206, 170, 186), cuff=(244, 240, 240), material="romper_dots", colour2=(250, 240, 240)),
        slabs=(cushion("left", (170, 190, 186), (230, 230, 216), "linen_leaves"), ground("left", (150, 140, 124))),
        light=replace(CRADLE.light, exposure=1.95), **sleeved(CRADLE, (90, 100, 96)),
        view=replace(CRADLE.view, picture_up=(-0.35, 1, 0), fov_deg=15, target=(0.06, 0.11, 0)),
    ),
    replace(
        LAID, name="laid_back_face_in_frame", title="Lying back, part of the adult's face in the picture",
        teaches="An adult's face reaches into the frame: cover it before the photo is used.",
        skin_tone=3, seed=724, shape=shape(mouth(0.5)),
        garment=Garment(colour=(140, 150, 190), cuff=(236, 236, 240), material="romper_dots", colour2=(232, 232, 240)),
        adult_head=AdultHead(at=(0.11, 0.615, -0.10), faces=(-0.08, -0.94, 0.3), crown=(-1.0, 0.09, 0.1)),
        view=replace(LAID.view, fov_deg=19, target=(0.034, 0.202, 0.0), lens=0.012), **sleeved(LAID, (112, 128, 104)),
    ),
    replace(
        BEFORE, name="scale_card_side", title="Before the latch, with the printed card",
        teaches="The card lies in the plane of the face: mouth opening and gaps can be had in millimetres.",
        skin_tone=2, seed=725, contrast=0.5, shape=shape(mouth(0.5, 0.8)),
        garment=Garment(colour=(150, 178, 150), cuff=(240, 240, 230), material="romper_leaves", colour2=(232, 236, 220)),
        card=Card(at=(-0.02, 0.385, 0.002), faces=(0.03, 0.04, 1.0), along=(1, 0.2, 0)),
        slabs=(cushion("right", (196, 186, 204), (236, 230, 238), "linen_dots"), ground("right", (128, 120, 112)),
               Slab(name="muslin", at=(-0.02, 0.385, -0.004), faces=(0, 0, 1), along=(1, 0.2, 0), half=(0.095, 0.075),
                    colour=(240, 236, 226), material="towel", round_edge=0.03, press=False, step=0.003)),
        light=replace(BEFORE.light, exposure=1.95), **sleeved(BEFORE, (98, 124, 140)),
        view=replace(BEFORE.view, target=(0.05, 0.20, 0), picture_up=(0.25, 1, 0), fov_deg=15.5),
    ),
    replace(
        mirrored(BEFORE), name="before_wide_side", title="Just before the latch, as wide as it goes",
        teaches="A very wide mouth, the camera held upright and turned.",
        skin_tone=4, seed=726, contrast=0.5, shape=shape(WIDE),
        breast=replace(BEFORE.breast, apex=-0.03), light=replace(mirrored(BEFORE).light, exposure=1.95),
        garment=Garment(colour=(226, 226, 220), cuff=(160, 120, 110), material="romper_stripes", colour2=(180, 120, 110)),
        slabs=(cushion("left", (150, 168, 160), (226, 226, 210), "linen_leaves"), ground("left", (120, 112, 104))),
        view=replace(mirrored(BEFORE).view, picture_up=(1, 0.15, 0), aspect=1.3333, fov_deg=11, target=(0.06, 0.15, 0)),
        **sleeved(mirrored(BEFORE), (186, 176, 150)),
    ),
    replace(
        BEFORE, name="before_narrow_side", title="Before the latch, mouth nearly closed and nose leading",
        teaches="Bent to the chest, the nose leads and the mouth opens little: too early to bring the doll closer.",
        hold="cross_cradle", skin_tone=6, seed=727, contrast=0.5, shape=shape(mouth(0.12, 0.2)),
        pose=replace(BEFORE.pose, head_flexion_deg=12, neck_flexion_deg=-4, trunk_flexion_deg=10),
        breast=replace(BEFORE.breast, apex=-0.03, areola_centre=(0.0, 0.0)), breast_turn_deg=2,
        garment=Garment(colour=(120, 170, 176), cuff=(236, 240, 236), material="romper_dots", colour2=(230, 240, 240)),
        slabs=(cushion("right", (232, 220, 190), (206, 170, 100), "linen_dots"), ground("right", (104, 112, 124))),
        light=replace(BEFORE.light, exposure=2.0), **sleeved(BEFORE, (140, 80, 84)),
        view=replace(BEFORE.view, picture_up=(-1, 0.2, 0), fov_deg=14),
    ),
    replace(
        CROSS, name="close_up_side", title="Opposite arm across the lap, close to the mouth",
        teaches="Near enough to see the lips; the hip lies outside the picture, so there is no line.",
        skin_tone=1, seed=728, shape=shape(WIDE), breast=replace(CRADLE.breast, apex=-0.002),
        garment=Garment(colour=(160, 140, 176), cuff=(240, 236, 240)),
        slabs=(cushion("right", (214, 206, 190), (160, 150, 110), "linen_leaves"), ground("right", (120, 124, 128))),
        light=replace(BRIGHT_RIGHT, exposure=1.6), **sleeved(CROSS, (96, 110, 132)),
        view=replace(CROSS.view, picture_up=(-0.6, -0.8, 0), fov_deg=7.5, target=(0.06, 0.185, 0)),
    ),
    replace(
        CROSS, name="medium_side", title="Opposite arm across the lap, a medium gape",
        teaches="Between the two extremes: the lips part to about a right angle, and the chin just touches.",
        skin_tone=6, seed=729, shape=shape(mouth(0.33, 0.7)), breast=replace(CRADLE.breast, apex=-0.006),
        breast_turn_deg=24,
        garment=Garment(colour=(214, 196, 168), cuff=(150, 110, 90), material="romper_dots", colour2=(170, 110, 90)),
        slabs=(cushion("right", (160, 176, 190), (226, 226, 220), "linen_dots"), ground("right", (100, 92, 88))),
        **sleeved(CROSS, (214, 206, 190)), view=replace(CROSS.view, picture_up=(-0.8, -0.35, 0)),
    ),
    replace(
        BEFORE, name="before_front", title="Before the latch, the face from in front", hold="under_arm",
        teaches="From in front the mouth's width and height show, but no gape angle and no line can be read.",
        view_name="front", skin_tone=3, seed=730, contrast=0.5, body_view="turned",
        shape=shape(mouth(0.45, 0.9)), breast=replace(BEFORE.breast, apex=-0.055), torso=Torso(bend_u=0.2, bend_w=0.2),
        garment=Garment(colour=(170, 130, 160), cuff=(244, 236, 240), material="romper_leaves", colour2=(244, 226, 236)),
        light=replace(BEFORE.light, exposure=1.95),
        view=replace(BEFORE.view, towards_front_deg=48, towards_head_deg=34, picture_up=(-0.6, 0.6, 0.4), fov_deg=10.5,
                     target=(0.045, 0.20, 0)),
        slabs=(cushion("right", (220, 226, 214), (146, 170, 130)), ground("right", (140, 130, 124))),
        **sleeved(BEFORE, (150, 130, 104)),
    ),
]  # fmt: skip
VARIANTS = [replace(s, answers=KEYS_MORE[s.name], doll=DOLL_OF_TONE[s.skin_tone]) for s in VARIANTS]
