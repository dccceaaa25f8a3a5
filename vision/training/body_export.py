"""Export of the parametric body as compact arrays, so that nothing but PyTorch is needed where the training runs.

Needs the environment of `sample_images/render/requirements.txt`. Axes of everything written: forward, up, right of the
baby, metres. Faces, expressions and skinning are linear, so a picture's body is: shape + expressions, then bones.
"""

from pathlib import Path

import numpy as np

#: Expressions that move mouth, cheeks, nose and lids; the rest of the 52 does not matter to the landmarks.
ACTIONS = (
    "jawOpen", "jawForward", "jawLeft", "jawRight", "mouthClose", "mouthFunnel", "mouthPucker", "mouthRollLower",
    "mouthRollUpper", "mouthShrugLower", "mouthShrugUpper", "mouthLowerDownLeft", "mouthLowerDownRight",
    "mouthUpperUpLeft", "mouthUpperUpRight", "mouthStretchLeft", "mouthStretchRight", "mouthSmileLeft",
    "mouthSmileRight", "mouthFrownLeft", "mouthFrownRight", "mouthPressLeft", "mouthPressRight", "cheekPuff",
    "noseSneerLeft", "noseSneerRight", "eyeBlinkLeft", "eyeBlinkRight", "browInnerUp", "browDownLeft",
    "browDownRight", "tongueOut",
)  # fmt: skip

#: Bones that are kept; every other bone goes with the nearest kept one above it.
BONES = (
    "root", "spine05", "spine04", "spine03", "spine02", "spine01", "neck01", "neck02", "neck03", "head",
    "clavicle.L", "upperarm01.L", "lowerarm01.L", "wrist.L", "clavicle.R", "upperarm01.R", "lowerarm01.R", "wrist.R",
    "upperleg01.L", "lowerleg01.L", "foot.L", "upperleg01.R", "lowerleg01.R", "foot.R",
)  # fmt: skip

_BODY_CHANGES = ("arm", "leg", "torso", "stomach", "hip", "buttocks", "foot", "hand", "measure")
_FACE_CHANGES = ("cheek", "chin", "ear", "eye", "forehead", "head", "mouth", "neck", "nose")


def _random_shape(labels: list[str], rng: np.random.Generator) -> tuple[dict[str, float], dict[str, float]]:
    phenotype = {
        "age": float(rng.choice([0.0, rng.uniform(0, 0.06)])), "gender": rng.uniform(), "muscle": rng.uniform(0.2, 0.8),
        "weight": rng.uniform(0.2, 1.0), "height": rng.uniform(0.2, 0.8), "proportions": rng.uniform(0.1, 0.9),
    }  # fmt: skip
    changes: dict[str, float] = {}
    strength = rng.choice([0.25, 0.5, 0.8])
    for label in labels:
        stem = label[2:] if label[:2] in ("l-", "r-") else label
        if label.startswith("r-") or "muscle" in label or stem.startswith(("breast", "nipple", "pelvis")):
            continue
        chance = 0.45 if stem.startswith(_FACE_CHANGES) else 0.3 if "fat" in stem or "length" in stem else 0.15
        if stem.startswith((*_BODY_CHANGES, *_FACE_CHANGES)) and rng.uniform() < chance:
            value = float(np.clip(rng.normal() * 0.5, -1, 1) * strength)
            changes[label] = value
            if label.startswith("l-"):
                changes["r-" + stem] = value
    if rng.uniform() < 0.6:  # a newborn's shorter limbs
        for name in ("upperlegs-height-incr", "lowerlegs-height-incr"):
            changes[name] = -rng.uniform(0.2, 0.9)
    return phenotype, changes


def _reduced_weights(model) -> np.ndarray:
    labels = list(model.bone_labels)

    def kept(i: int) -> int:
        while labels[i] not in BONES:
            i = model.bone_parents[i]
        return BONES.index(labels[i])

    owner = np.array([kept(i) for i in range(len(labels))])
    weights, indices = model.vertex_bone_weights.detach().numpy(), model.vertex_bone_indices.detach().numpy()
    dense = np.zeros((len(weights), len(BONES)))
    np.add.at(dense, (np.arange(len(weights))[:, None], owner[indices]), weights)
    return dense / dense.sum(axis=1, keepdims=True)


def export(out: Path, *, identities: int, seed: int) -> None:
    """Write the arrays to one `.npz` file."""
    from sample_images.render.doll import LANDMARK_VERTICES, LISTED_SIDE, body_model, mirrored_ids, scene_axes
    from sample_images.render.dressing import face_labels, limb_shares
    from sample_images.render.mesh import loop_smooth

    model, rng = body_model(), np.random.default_rng(seed)
    faces = model.faces.detach().numpy()
    labels = list(model.bone_labels)

    def rest(phenotype: dict, changes: dict, face: dict) -> tuple[np.ndarray, np.ndarray]:
        got = model(phenotype_kwargs=phenotype, local_changes_kwargs=changes, facial_actions=face)
        v = scene_axes(got["vertices"][0].detach().numpy())
        heads = scene_axes(got["bone_poses"][0, :, :3, 3].detach().numpy())
        return loop_smooth(v, faces)[0][: len(v)], heads[[labels.index(b) for b in BONES]]

    neutral, _ = rest({"age": 0.0}, {}, {})
    actions = np.stack([rest({"age": 0.0}, {}, {name: 1.0})[0] - neutral for name in ACTIONS])
    shapes, joints = zip(
        *(rest(*_random_shape(model.local_change_labels, rng), {}) for _ in range(identities)), strict=True
    )
    inside, eyes = face_labels()
    arm, leg = limb_shares()
    parents = [-1]
    for bone in BONES[1:]:
        i = model.bone_parents[labels.index(bone)]
        while labels[i] not in BONES:
            i = model.bone_parents[i]
        parents.append(BONES.index(labels[i]))
    marks = np.zeros((2, len(LANDMARK_VERTICES), 2), np.int32)  # [left, right]
    for j, (name, ids) in enumerate(LANDMARK_VERTICES.items()):
        for s, side in enumerate(("left", "right")):
            chosen = [int(i) if LISTED_SIDE.get(name, side) == side else int(mirrored_ids()[i]) for i in ids]
            marks[s, j] = [chosen[0], chosen[-1]]
    np.savez_compressed(
        out, neutral=neutral.astype(np.float32), shapes=np.stack(shapes).astype(np.float16),
        joints=np.stack(joints).astype(np.float32), actions=actions.astype(np.float16),
        weights=_reduced_weights(model).astype(np.float16), parents=np.array(parents, np.int32),
        faces=faces.astype(np.int32), inside=np.asarray(inside), eyes=np.asarray(eyes),
        arm=arm.astype(np.float32), leg=leg.astype(np.float32), marks=marks,
        mark_names=np.array(list(LANDMARK_VERTICES)), action_names=np.array(ACTIONS), bone_names=np.array(BONES),
    )  # fmt: skip
