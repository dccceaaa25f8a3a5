"""Eight skin tones, light to dark, for doll and breast model."""

from dataclasses import dataclass

import numpy as np


def linear(srgb) -> np.ndarray:
    """Linear light of 0..255 display values."""
    c = np.asarray(srgb, dtype=float) / 255
    return np.where(c <= 0.04045, c / 12.92, ((c + 0.055) / 1.055) ** 2.4)


@dataclass(frozen=True, kw_only=True)
class Tone:
    """Linear RGB of skin, lips, areola and painted hair."""

    skin: np.ndarray
    lip: np.ndarray
    areola: np.ndarray
    hair: np.ndarray


_SKIN = [
    (244, 213, 196), (236, 198, 174), (223, 178, 148), (203, 154, 121),
    (176, 125, 93), (144, 97, 70), (109, 72, 53), (78, 52, 41),
]  # fmt: skip
_LIP = [
    (214, 139, 132), (204, 128, 118), (190, 114, 102), (170, 98, 86),
    (146, 80, 70), (120, 66, 58), (92, 53, 48), (70, 42, 39),
]  # fmt: skip
_AREOLA = [
    (205, 147, 130), (192, 130, 110), (172, 110, 88), (146, 90, 70),
    (118, 71, 54), (90, 54, 42), (58, 35, 28), (34, 22, 19),
]  # fmt: skip
_HAIR = [
    (196, 158, 112), (150, 110, 72), (112, 78, 52), (84, 58, 42),
    (58, 42, 34), (44, 33, 28), (34, 27, 24), (26, 21, 19),
]  # fmt: skip


def tone(number: int) -> Tone:
    """Tone 1 (light) to 8 (dark)."""
    if not 1 <= number <= 8:
        raise ValueError(f"a skin tone is 1 to 8, got {number}")
    i = number - 1
    return Tone(skin=linear(_SKIN[i]), lip=linear(_LIP[i]), areola=linear(_AREOLA[i]), hair=linear(_HAIR[i]))
