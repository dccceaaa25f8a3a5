"""A scene seen in a mirror: the doll's left becomes its right."""

from dataclasses import replace

from .doll import Pose
from .scene import Scene


def _flip(v):
    return None if v is None else (v[0], v[1], -v[2])


def _other(side: str) -> str:
    return {"left": "right", "right": "left"}[side]


def mirrored_pose(pose: Pose) -> Pose:
    """Limbs change sides; turns, tilts and twists change their sign."""
    limbs = {
        f"{bone[:-1]}{'R' if bone.endswith('L') else 'L'}": (-to[0], to[1], to[2]) for bone, to in pose.limbs.items()
    }
    return replace(
        pose, head_turn_deg=-pose.head_turn_deg, head_tilt_deg=-pose.head_tilt_deg,
        trunk_twist_deg=-pose.trunk_twist_deg, limbs=limbs,
    )  # fmt: skip


def mirrored(scene: Scene) -> Scene:
    """The scene with its z axis turned round."""
    view = scene.view
    return replace(
        scene,
        pose=mirrored_pose(scene.pose),
        view=replace(view, side=_other(view.side), target=_flip(view.target), picture_up=_flip(view.picture_up)),
        light=replace(scene.light, key=_flip(scene.light.key), up=_flip(scene.light.up)),
        torso=replace(scene.torso, middle=(scene.torso.middle[0], -scene.torso.middle[1])),
        slabs=tuple(replace(s, at=_flip(s.at), faces=_flip(s.faces), along=_flip(s.along)) for s in scene.slabs),
        sleeves=tuple(replace(s, path=tuple(map(_flip, s.path))) for s in scene.sleeves),
        arms=tuple(
            replace(
                a, side=_other(a.side), elbow=_flip(a.elbow), wrist=_flip(a.wrist), palm=_flip(a.palm),
                upper_arm=_flip(a.upper_arm),
            )
            for a in scene.arms
        ),
    )  # fmt: skip
