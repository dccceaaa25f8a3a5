"""What the editor takes and gives back, as values.

Frame: pixels of the upright photo, x right, y down; pins are shares of its width and height.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from rubric.answers import Spot
from vision.landmarks import LandmarkSet


@dataclass(frozen=True, kw_only=True)
class Pin:
    """Where a sign is seen or missed.

    Parameters
    ----------
    spot : Spot
    short : str
        The number or letter in the pin.
    label : str
        What it stands for, for people who do not see the picture.
    of_reference : bool
        True for the key's pin in feedback: drawn in another shape.
    """

    spot: Spot
    short: str
    label: str
    of_reference: bool = False


@dataclass(frozen=True, kw_only=True)
class PinItem:
    """The checklist item that the next click on the photo pins."""

    id: str
    label: str
    short: str = ""


@dataclass(frozen=True, kw_only=True)
class EditorValue:
    """The state of an editor after an edit.

    Parameters
    ----------
    landmarks : LandmarkSet
        Points in pixels of the upright photo.
    revision : int
        The caller's revision that it builds on.
    edit : int
        Grows with each edit, also over a reload: a new number is a new edit, the same number an echo.
    pins : mapping of item id to Spot
    box : (left, top, width, height) in pixels, or None
        Where the person marked the baby's head.
    fault : str or None
        One sentence where the browser sent nonsense; landmarks, pins and box are then those that the caller gave.
    """

    landmarks: LandmarkSet
    revision: int
    edit: int
    pins: Mapping[str, Spot] = field(default_factory=dict)
    box: tuple[float, float, float, float] | None = None
    fault: str | None = None

    def __post_init__(self) -> None:
        object.__setattr__(self, "pins", MappingProxyType(dict(self.pins)))
