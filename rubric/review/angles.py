"""A measure read by a class, beside the key's: the class's bias and limits, and each student's own."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rubric.errors import InvalidRatings

Floats = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True, eq=False)
class AngleTable:
    """One measure, by student and photo.

    Parameters
    ----------
    name : str
        The measure's name in data, such as "gape_angle".
    unit : str
        "deg", or the measure's own unit.
    students, photos : tuple of str
    values : array of float, shape (students, photos)
        NaN where a student has no such measure on a photo.
    key : array of float, shape (photos,)
        NaN where the key has none.
    """

    name: str
    unit: str = "deg"
    students: tuple[str, ...]
    photos: tuple[str, ...]
    values: Floats
    key: Floats

    def __post_init__(self) -> None:
        shape = (len(self.students), len(self.photos))
        for field, wanted in (("values", shape), ("key", shape[1:])):
            own = np.array(getattr(self, field), dtype=np.float64)
            if own.shape != wanted or np.isinf(own).any():
                raise InvalidRatings(f"{field} must be finite numbers of shape {wanted}, got shape {own.shape}")
            own.flags.writeable = False
            object.__setattr__(self, field, own)

    @property
    def difference(self) -> Floats:
        """Student minus key, shape (students, photos); NaN where one of them is missing."""
        return self.values - self.key
