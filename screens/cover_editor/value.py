"""What the cover editor gives back. Frame: pixels of the upright photo, x right, y down."""

from dataclasses import dataclass

from vision.covering.areas import CoverArea

#: Left, top, width, height in pixels.
Crop = tuple[float, float, float, float]


@dataclass(frozen=True, kw_only=True)
class CoverEditorValue:
    """The state of a cover editor after an edit.

    Parameters
    ----------
    areas : tuple of CoverArea
        What is to be covered. An area that nobody changed is the one that the caller gave, maker and reason included.
    proposals : tuple of CoverArea
        Those that the person has neither accepted nor removed yet: ask for a decision before the photo is kept.
    crop : Crop or None
        The part to keep, None for the whole photo. Cover first, then crop: the areas are in pixels of the whole photo.
    revision : int
        The caller's revision that it builds on.
    edit : int
        Grows with each edit.
    fault : str or None
        One sentence where the browser sent nonsense; all else is then what the caller gave.
    """

    areas: tuple[CoverArea, ...]
    proposals: tuple[CoverArea, ...]
    crop: Crop | None
    revision: int
    edit: int
    fault: str | None = None
