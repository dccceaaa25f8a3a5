"""Colours, materials and light of a batch."""

import torch
from torch import Tensor

from vision.training.rng import Draws, unit
from vision.training.solids import (
    ADULT_HAIR,
    ADULT_LIP,
    ADULT_SKIN,
    AREOLA,
    BLUSH,
    BREAST_SKIN,
    CAVITY,
    CLOTH,
    CUFF,
    DRESS,
    EYE,
    HAIR,
    HAT,
    IRIS,
    LIP,
    N_MATERIALS,
    PILLOW,
    SKIN,
    SLEEVE,
    TONGUE,
)  # fmt: skip

#: Display colours from light to dark; a scene's tone lies anywhere between two of them.
SKIN_TONES = (
    (250, 224, 208), (241, 206, 184), (230, 187, 158), (214, 166, 132), (192, 141, 106), (165, 113, 80),
    (134, 88, 63), (104, 68, 50), (76, 51, 40), (56, 39, 33),
)  # fmt: skip


def linear(display: Tensor) -> Tensor:
    """Linear light of display values 0 to 255."""
    return (display / 255).clamp(0, 1) ** 2.2


def tone_colour(tone: Tensor) -> Tensor:
    """(n, 3) linear colour of a tone 0 (light) to 9 (dark)."""
    table = linear(torch.tensor(SKIN_TONES, dtype=torch.float32, device=tone.device))
    low = tone.floor().clamp(0, 8).long()
    share = (tone - low)[:, None]
    return table[low] * (1 - share) + table[low + 1] * share


def _cloth(d: Draws) -> Tensor:
    hue = d.uniform(0, 1)
    k = torch.tensor([0.0, 2.0, 4.0], device=d.device)
    colour = 0.5 + 0.5 * torch.cos(2 * torch.pi * (hue[:, None] - k / 6))
    grey, light = d.uniform(0, 1, 1), d.uniform(0.03, 0.85, 1)
    return (colour * (1 - grey) + grey) * light


def materials(d: Draws) -> tuple[Tensor, Tensor]:
    """(n, 24, 12) and the doll's tone 0 to 9 (n,)."""
    mats = torch.zeros(d.n, N_MATERIALS, 12, device=d.device)
    tone = torch.where(
        d.chance(0.2), d.uniform(6, 9), d.uniform(0, 9)
    )  # the dark, whose features show least, more often
    vinyl = d.chance(0.4)
    shine = torch.where(vinyl, d.uniform(0.1, 0.6), d.uniform(0.0, 0.15))
    gloss = torch.where(vinyl, d.uniform(15, 90), d.uniform(5, 20))
    tint = 1 + d.normal(0, 0.06, 3)
    skin = tone_colour(tone) * tint
    reddish = torch.tensor([1.0, 0.55, 0.55], device=d.device)
    odd = torch.where(d.chance(0.06)[:, None], d.uniform(0.1, 0.8, 3), skin)

    def put(index: int, colour: Tensor, *, grain: Tensor | float = 0.0, shiny: float = 1.0) -> None:
        mats[:, index, 0:3], mats[:, index, 7:10] = colour, colour
        mats[:, index, 3], mats[:, index, 4], mats[:, index, 10] = shine * shiny, gloss, grain

    grain = d.uniform(0.0, 0.25)
    put(SKIN, odd, grain=grain)
    blush = d.uniform(0, 0.45, 1)
    put(BLUSH, odd * (1 - blush + blush * reddish), grain=grain)
    red = d.uniform(0.1, 1.0, 1)
    put(LIP, odd * (1 - red + red * reddish * d.uniform(0.5, 1.0, 1)), grain=grain, shiny=1.5)
    put(CAVITY, odd * reddish * d.uniform(0.1, 0.6, 1))
    put(TONGUE, torch.tensor([0.5, 0.2, 0.2], device=d.device) * d.uniform(0.4, 1.2, 1), shiny=1.5)
    hair = torch.tensor([0.6, 0.45, 0.3], device=d.device) ** d.uniform(0.4, 5, 1) * (1 + d.normal(0, 0.1, 3))
    put(HAIR, hair, grain=0.5)
    put(EYE, torch.full_like(skin, 0.85) * d.uniform(0.6, 1, 1), shiny=2)
    put(IRIS, d.uniform(0.01, 0.2, 3) * d.uniform(0.1, 1, 1), shiny=2)
    for index in (CLOTH, CUFF, PILLOW, SLEEVE, DRESS, HAT):
        put(index, _cloth(d), grain=d.uniform(0, 0.5), shiny=0.1)
        mats[:, index, 5] = torch.where(d.chance(0.5), d.pick([1.0, 2.0, 3.0, 4.0, 5.0]), 0.0)
        mats[:, index, 6] = torch.where(mats[:, index, 5] == 2, d.log_uniform(1.5, 6), d.log_uniform(4, 40))
        mats[:, index, 7:10] = _cloth(d)
    same = d.chance(0.65)
    model_tone = torch.where(same, tone, d.uniform(0, 9))
    breast = tone_colour(model_tone) * torch.where(same[:, None], tint, 1 + d.normal(0, 0.06, 3))
    put(BREAST_SKIN, breast, grain=d.uniform(0, 0.25), shiny=0.5)
    dark = torch.tensor([0.72, 0.5, 0.45], device=d.device) ** d.uniform(0.1, 2.2, 1)
    put(AREOLA, breast * dark, grain=d.uniform(0, 0.3), shiny=0.5)
    adult = tone_colour(torch.where(d.chance(0.6), model_tone, d.uniform(0, 9)))
    put(ADULT_SKIN, adult, grain=0.15)
    put(ADULT_LIP, adult * reddish)
    put(ADULT_HAIR, hair.roll(1, 0), grain=0.5)
    return mats, tone


def light(d: Draws, cam: Tensor) -> Tensor:
    """(n, 20)."""
    right, up, back = cam[:, 3:6], cam[:, 6:9], -cam[:, 9:12]
    direction = unit(back * d.uniform(-0.1, 1.2, 1) + up * d.normal(0.35, 0.6, 1) + right * d.normal(0, 0.7, 1))
    warm = d.normal(0, 0.12, 1)
    key = d.uniform(0.2, 1.6, 1) * torch.cat([1 + warm, torch.ones_like(warm), 1 - warm], dim=1)
    sky = d.uniform(0.15, 0.9, 1) * (1 + d.normal(0, 0.06, 3))
    ground = sky * d.uniform(0.3, 1.0, 1) * (1 + d.normal(0, 0.06, 3))
    out = torch.zeros(d.n, 20, device=d.device)
    out[:, 0:3], out[:, 3:6], out[:, 6:9], out[:, 9:12] = direction, key, sky, ground
    out[:, 12], out[:, 13], out[:, 14] = d.uniform(0.3, 1.1), d.uniform(0.3, 1.0), d.log_uniform(2.5, 24)
    out[:, 15:18] = unit(up + d.normal(0, 0.5, 3))
    return out
