"""The sample scenes."""

from dataclasses import replace

from .arm import Arm
from .doll import Pose, Shape
from .keys import KEYS
from .props import Breast, Torso
from .scene import Garment, Light, Scene, Slab, Sleeve, View

CLOSED_EYES = {"eyeBlinkLeft": 1.0, "eyeBlinkRight": 1.0}
BABY = {"weight": 0.9, "muscle": 0.4}

#: A small baby: larger head, shorter and rounder limbs.
SMALL = {
    "upperlegs-height-incr": -0.7, "lowerlegs-height-incr": -0.7, "measure-upperarm-length-incr": -0.5,
    "measure-lowerarm-length-incr": -0.5, "l-upperarm-fat-incr": 0.5, "r-upperarm-fat-incr": 0.5,
    "l-lowerarm-fat-incr": 0.6, "r-lowerarm-fat-incr": 0.6, "l-upperleg-fat-incr": 0.4, "r-upperleg-fat-incr": 0.4,
    "l-lowerleg-fat-incr": 0.6, "r-lowerleg-fat-incr": 0.6, "head-fat-incr": 0.3, "l-cheek-volume-incr": 0.5,
    "r-cheek-volume-incr": 0.5, "neck-double-incr": 0.3,
}  # fmt: skip


def mouth(opening: float, flare: float = 1.0) -> dict[str, float]:
    """Facial actions of an open mouth; `opening` up to 0.6, `flare` turns the lips out."""
    return {
        "jawOpen": opening, "jawForward": 0.7, "mouthFunnel": 0.35 * flare, "mouthLowerDownLeft": 0.3 * flare,
        "mouthLowerDownRight": 0.3 * flare, "mouthUpperUpLeft": 0.4 * flare, "mouthUpperUpRight": 0.4 * flare,
        **CLOSED_EYES,
    }  # fmt: skip


#: Arms along the chest, legs bent: the limbs of a doll that lies on its side.
CURLED = {
    "upperarm01.L": (0.25, 0.02, -0.97), "lowerarm01.L": (-0.12, -0.55, -0.82),
    "upperarm01.R": (-0.25, 0.02, -0.97), "lowerarm01.R": (0.12, -0.55, -0.82),
    "upperleg01.L": (0.15, -0.62, -0.77), "lowerleg01.L": (-0.1, 0.62, -0.78),
    "upperleg01.R": (-0.15, -0.5, -0.86), "lowerleg01.R": (0.1, 0.66, -0.74),
}  # fmt: skip


SCENES: list[Scene] = [
    Scene(
        name="cradle_side",
        title="Across the lap, from the side",
        hold="cradle",
        phase="at_breast",
        teaches="The reference: mouth wide round the breast, ear, shoulder and hip in line.",
        view_name="side",
        doll="A",
        skin_tone=3,
        seed=101,
        shape=Shape(phenotype=BABY, local_changes=SMALL, face=mouth(0.58)),
        pose=Pose(head_flexion_deg=-14, neck_flexion_deg=-30, trunk_flexion_deg=-2, limbs=CURLED),
        garment=Garment(colour=(150, 178, 172), cuff=(232, 232, 222)),
        view=View(side="left", distance=2.4, target=(0.05, 0.02, 0.0), picture_up=(1, 0.12, 0), fov_deg=15.5),
        light=Light(key=(0.9, 0.9, -1.3), up=(0.3, 0.2, -1.0), exposure=1.65),
        breast=Breast(apex=-0.003, drawn_in=0.024, areola_centre=(0.007, 0.0), centre=(-0.016, 0), swell=0.012),
        breast_turn_deg=32,
        torso=Torso(),
        torso_colour=(92, 104, 128),
        slabs=(
            Slab(
                name="cushion",
                at=(-0.02, -0.03, 0.05),
                faces=(0, 0, -1),
                along=(0, 1, 0),
                half=(0.46, 0.26),
                colour=(226, 218, 204),
                colour2=(170, 184, 168),
                material="linen_leaves",
                round_edge=0.09,
            ),
            Slab(
                name="sofa",
                at=(0, 0, 0.22),
                faces=(0, 0, -1),
                along=(0, 1, 0),
                half=(1.2, 1.2),
                colour=(128, 116, 106),
                material="towel",
                folds=0.012,
                press=False,
                step=0.01,
            ),
        ),
        arms=(
            Arm(
                side="left",
                elbow=(-0.13, 0.27, 0.04),
                wrist=(-0.072, 0.04, 0.035),
                palm=(1, 0.1, -0.15),
                curl_deg=15,
                colour=(92, 104, 128),
            ),
        ),
        answers=KEYS["cradle_side"],
    ),
    Scene(
        name="before_latch_side",
        title="Just before the latch, from the side",
        hold="cross_cradle",
        phase="before",
        teaches="The moment before: mouth wide, nose opposite the nipple, chin leading.",
        view_name="side",
        doll="B",
        skin_tone=5,
        seed=202,
        shape=Shape(phenotype=BABY, local_changes=SMALL, face=mouth(0.55, 0.8)),
        pose=Pose(head_flexion_deg=-24, neck_flexion_deg=-30, trunk_flexion_deg=-2, limbs=CURLED),
        garment=Garment(colour=(214, 170, 108), cuff=(236, 228, 210), material="romper_dots", colour2=(246, 232, 200)),
        view=View(side="right", distance=2.2, target=(0.06, 0.10, 0.0), picture_up=(0.45, 1, 0), fov_deg=13.5),
        light=Light(key=(0.9, 1.0, 1.3), up=(0.3, 0.3, 1.0), exposure=1.65),
        breast=Breast(apex=-0.022, areola_centre=(0.016, 0.0), centre=(0.0, 0)),
        breast_turn_deg=48,
        torso=Torso(),
        torso_colour=(150, 92, 86),
        slabs=(
            Slab(
                name="cushion",
                at=(-0.02, -0.03, -0.05),
                faces=(0, 0, 1),
                along=(0, 1, 0),
                half=(0.50, 0.30),
                colour=(214, 222, 226),
                colour2=(150, 170, 186),
                material="linen_dots",
                round_edge=0.09,
            ),
            Slab(
                name="sofa",
                at=(0, 0, -0.22),
                faces=(0, 0, 1),
                along=(0, 1, 0),
                half=(1.2, 1.2),
                colour=(92, 104, 92),
                material="towel",
                folds=0.012,
                press=False,
                step=0.01,
            ),
        ),
        arms=(
            Arm(
                side="left",
                elbow=(-0.14, -0.19, -0.03),
                wrist=(-0.112, 0.05, -0.02),
                palm=(1, -0.1, 0.1),
                curl_deg=16,
                colour=(150, 92, 86),
            ),
        ),
        answers=KEYS["before_latch_side"],
    ),
    Scene(
        name="narrow_side",
        title="Mouth round the nipple only, from the side",
        hold="cross_cradle",
        phase="at_breast",
        teaches="A narrow gape with the chin away from the breast, and a head bent to the chest.",
        view_name="side",
        doll="F",
        skin_tone=8,
        seed=303,
        shape=Shape(phenotype=BABY, local_changes=SMALL, face=mouth(0.2, 0.3) | {"jawForward": 0.0}),
        pose=Pose(head_flexion_deg=10, neck_flexion_deg=-6, trunk_flexion_deg=8, limbs=CURLED),
        garment=Garment(
            colour=(236, 226, 206), cuff=(200, 120, 96), material="romper_stripes", colour2=(206, 140, 112)
        ),
        view=View(side="right", distance=2.3, target=(0.075, 0.09, 0.0), picture_up=(-0.55, 1, 0), fov_deg=14.6),
        light=Light(key=(0.7, 1.1, 1.3), up=(0.2, 0.4, 1.0), exposure=1.9),
        breast=Breast(apex=-0.012, drawn_in=0.026, drawn_width=0.0085, areola_radius=0.024, nipple_height=0.0),
        breast_turn_deg=4,
        torso=Torso(),
        torso_colour=(196, 186, 168),
        slabs=(
            Slab(
                name="cushion",
                at=(-0.02, -0.03, -0.05),
                faces=(0, 0, 1),
                along=(0, 1, 0),
                half=(0.50, 0.30),
                colour=(120, 142, 130),
                colour2=(222, 222, 206),
                material="linen_leaves",
                round_edge=0.09,
            ),
            Slab(
                name="sofa",
                at=(0, 0, -0.22),
                faces=(0, 0, 1),
                along=(0, 1, 0),
                half=(1.2, 1.2),
                colour=(150, 132, 110),
                material="towel",
                folds=0.012,
                press=False,
                step=0.01,
            ),
        ),
        arms=(
            Arm(
                side="left",
                elbow=(-0.15, -0.19, -0.03),
                wrist=(-0.115, 0.04, -0.02),
                palm=(1, -0.1, 0.1),
                curl_deg=16,
                colour=(196, 186, 168),
            ),
        ),
        answers=KEYS["narrow_side"],
    ),
    Scene(
        name="under_arm_side",
        title="Under the arm, from above and in front",
        hold="under_arm",
        phase="at_breast",
        teaches="The mouth can be measured, the body line cannot: the hip lies behind the arm.",
        view_name="side",
        doll="D",
        skin_tone=6,
        seed=505,
        shape=Shape(phenotype=BABY, local_changes=SMALL, face=mouth(0.34, 0.7)),
        pose=Pose(head_flexion_deg=-6, neck_flexion_deg=-20, trunk_flexion_deg=2, limbs=CURLED),
        garment=Garment(
            colour=(120, 134, 168), cuff=(230, 226, 216), material="romper_leaves", colour2=(226, 222, 204)
        ),
        view=View(
            side="right",
            distance=2.3,
            target=(0.07, 0.10, 0.0),
            picture_up=(0.75, 1, 0),
            fov_deg=13.5,
            towards_front_deg=6,
        ),
        light=Light(key=(0.9, 0.7, 1.3), up=(0.5, 0.3, 1.0), exposure=1.8),
        breast=Breast(
            apex=-0.003, drawn_in=0.024, drawn_width=0.013, areola_centre=(0.004, 0), centre=(-0.008, 0), swell=0.02
        ),
        breast_turn_deg=20,
        torso=Torso(middle=(0.10, 0.0), bend_u=0.24),
        torso_colour=(94, 120, 104),
        slabs=(
            Slab(
                name="cushion",
                at=(-0.02, -0.03, -0.05),
                faces=(0, 0, 1),
                along=(0, 1, 0),
                half=(0.50, 0.30),
                colour=(224, 206, 190),
                colour2=(190, 150, 132),
                material="linen_dots",
                round_edge=0.09,
            ),
            Slab(
                name="sofa",
                at=(0, 0, -0.22),
                faces=(0, 0, 1),
                along=(0, 1, 0),
                half=(1.2, 1.2),
                colour=(110, 110, 122),
                material="towel",
                folds=0.012,
                press=False,
                step=0.01,
            ),
        ),
        sleeves=(
            Sleeve(
                path=(
                    (0.34, -0.08, 0.22),
                    (0.16, -0.05, 0.17),
                    (0.02, -0.015, 0.135),
                    (-0.09, -0.01, 0.09),
                    (-0.125, 0.0, 0.0),
                    (-0.125, 0.03, -0.03),
                ),
                radii=(0.075, 0.068, 0.058, 0.052, 0.046, 0.040),
                colour=(94, 120, 104),
            ),
        ),
        arms=(
            Arm(
                side="left",
                elbow=(-0.135, -0.10, -0.02),
                wrist=(-0.115, 0.07, -0.02),
                palm=(1, -0.1, 0.1),
                curl_deg=16,
                colour=(94, 120, 104),
            ),
        ),
        answers=KEYS["under_arm_side"],
    ),
    Scene(
        name="laid_back_side",
        title="Lying back, from the side",
        hold="laid_back",
        phase="at_breast",
        teaches="The head tips back a little, so the line is not straight: that is part of this hold.",
        view_name="side",
        doll="E",
        skin_tone=1,
        seed=606,
        shape=Shape(phenotype=BABY, local_changes=SMALL, face=mouth(0.5)),
        pose=Pose(head_flexion_deg=-34, neck_flexion_deg=-56, trunk_flexion_deg=2, limbs=CURLED),
        garment=Garment(colour=(188, 128, 128), cuff=(240, 230, 224), material="romper_dots", colour2=(244, 228, 220)),
        view=View(side="right", distance=2.4, target=(0.02, 0.06, 0.0), picture_up=(-0.8, 0.6, 0), fov_deg=16),
        light=Light(key=(-1.1, 0.5, 1.1), up=(-0.8, 0.6, 0.2), exposure=1.25),
        breast=Breast(apex=0.0, drawn_in=0.024, areola_centre=(0.004, 0), centre=(-0.014, 0), swell=0.014),
        breast_turn_deg=34,
        torso=Torso(middle=(-0.1, 0.0), bend_u=1.2, bend_w=0.19, slope_deg=15),
        torso_colour=(120, 132, 150),
        slabs=(
            Slab(
                name="wall",
                at=(0, 0, -0.9),
                faces=(0, 0, 1),
                along=(0, 1, 0),
                half=(2.2, 2.2),
                colour=(216, 208, 192),
                material="wall",
                press=False,
                step=0.02,
            ),
            Slab(
                name="pillow",
                at=(0.62, 0.1, 0.0),
                faces=(-0.5, 0.0, 0.85),
                along=(0, 1, 0),
                half=(1.2, 0.45),
                colour=(170, 176, 160),
                colour2=(216, 216, 200),
                material="linen_leaves",
                round_edge=0.12,
                press=False,
            ),
        ),
        arms=(
            Arm(
                side="right",
                elbow=(-0.02, -0.12, -0.32),
                wrist=(-0.066, 0.02, -0.10),
                palm=(1, 0, 0.1),
                curl_deg=14,
                upper_arm=(1, 0.1, -0.1),
                colour=(120, 132, 150),
            ),
        ),
        answers=KEYS["laid_back_side"],
    ),
]

_CRADLE = SCENES[0]
SCENES.insert(
    1,
    replace(
        _CRADLE,
        name="cradle_front",
        title="Across the lap, the same pose from in front of the adult",
        teaches="The same pose from another camera: mouth and line cannot be read from here.",
        view_name="oblique",
        view=View(
            side="left",
            distance=2.3,
            target=(0.03, 0.04, 0.0),
            picture_up=(1, 0.1, 0),
            fov_deg=17,
            towards_front_deg=-50,
            towards_head_deg=0,
        ),
        body_view="turned",
        answers=KEYS["cradle_front"],
    ),
)
