"""How surfaces look: relief of the cloth, softness of the light's edge, gloss."""

from collections.abc import Mapping
from dataclasses import dataclass

KNIT, WOVEN, TOWEL, RIBS = 1, 2, 3, 4
STRIPES, DOTS, LEAVES = 1, 2, 3


@dataclass(frozen=True, kw_only=True)
class Material:
    """One surface.

    Parameters
    ----------
    relief_kind, period, relief
        Cloth structure, its size in metres, its strength 0 to 1.
    pattern, pattern_size
        A printed second colour and its size in metres.
    wrap
        How far the light creeps round into the shade (red most), 0 for cloth to about 0.3 for vinyl.
    gloss, gloss_power
        Reflection at normal incidence and sharpness of the highlight.
    sheen
        Brighter rim of a fuzzy cloth.
    blotch
        Strength of the skin's slow colour changes.
    """

    relief_kind: int = 0
    period: float = 0.003
    relief: float = 0.0
    pattern: int = 0
    pattern_size: float = 0.03
    wrap: float = 0.0
    gloss: float = 0.0
    gloss_power: float = 20.0
    sheen: float = 0.0
    blotch: float = 0.0

    def row(self) -> list[float]:
        """The row of the tracer's table."""
        return [
            self.relief_kind, self.period, self.relief, self.pattern, self.pattern_size, self.wrap,
            self.gloss, self.gloss_power, self.sheen, self.blotch, 0.0, 0.0,
        ]  # fmt: skip


MATERIALS: Mapping[str, Material] = {
    "skin": Material(wrap=0.28, gloss=0.035, gloss_power=22, blotch=0.035),
    "lip": Material(wrap=0.28, gloss=0.05, gloss_power=40, blotch=0.03),
    "inside": Material(wrap=0.2, gloss=0.03, gloss_power=30),
    "eye": Material(wrap=0.1, gloss=0.06, gloss_power=220),
    "breast": Material(wrap=0.3, gloss=0.03, gloss_power=18, blotch=0.03),
    "romper": Material(relief_kind=KNIT, period=0.0028, relief=0.28, sheen=0.5),
    "romper_dots": Material(relief_kind=KNIT, period=0.0028, relief=0.22, pattern=DOTS, pattern_size=0.026, sheen=0.5),
    "romper_stripes": Material(
        relief_kind=KNIT, period=0.0028, relief=0.25, pattern=STRIPES, pattern_size=0.02, sheen=0.5
    ),
    "romper_leaves": Material(
        relief_kind=KNIT, period=0.0026, relief=0.2, pattern=LEAVES, pattern_size=0.024, sheen=0.5
    ),
    "seam": Material(sheen=0.5),
    "cuff": Material(relief_kind=RIBS, period=0.0022, relief=0.3, sheen=0.5),
    "jersey": Material(relief_kind=WOVEN, period=0.002, relief=0.18, sheen=0.6),
    "knitwear": Material(relief_kind=KNIT, period=0.006, relief=0.4, sheen=0.7),
    "linen": Material(relief_kind=WOVEN, period=0.0024, relief=0.25, sheen=0.2),
    "linen_leaves": Material(relief_kind=WOVEN, period=0.0024, relief=0.22, pattern=LEAVES, pattern_size=0.055),
    "linen_dots": Material(relief_kind=WOVEN, period=0.0024, relief=0.22, pattern=DOTS, pattern_size=0.05),
    "towel": Material(relief_kind=TOWEL, period=0.004, relief=0.45, sheen=0.6),
    "wall": Material(relief_kind=TOWEL, period=0.006, relief=0.05),
    "wood": Material(gloss=0.03, gloss_power=30),
}
