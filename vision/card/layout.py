"""The printed scale card: where its marks and its ruler lie.

Frame of the card: millimetres, x right, y down, origin at its top-left corner. The paper is A6 (ISO 216), lying on its
long side; the marks are eight of the 4 × 4 marks of OpenCV's aruco module, chosen so that any two of them, turned in
any way, differ in at least 6 of their 16 fields: two fields can be misread and the mark is still known.
"""

import cv2
import numpy as np
from numpy.typing import NDArray

CARD_MM = (148.0, 105.0)
MARK_MM = 22.0
_COLUMNS_MM = (7.0, 44.0, 82.0, 119.0)
_ROWS_MM = (7.0, 76.0)
#: Top-left corner of each mark.
MARKS_MM: tuple[tuple[float, float], ...] = tuple((x, y) for y in _ROWS_MM for x in _COLUMNS_MM)
#: The ruler: its zero, and its length to the right.
RULER_START_MM, RULER_LENGTH_MM = (24.0, 63.5), 100.0

_IDS_OF_4X4_50 = (3, 6, 10, 11, 12, 13, 16, 18)
MARK_FIELDS = 4
_FIELDS_THAT_MAY_BE_MISREAD = 2

#: One mark could be chance; two that fit one card hardly ever are.
MIN_MARKS = 2


def dictionary() -> cv2.aruco.Dictionary:
    """The card's own marks, ids 0 to 7 in the order of `MARKS_MM`."""
    whole = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)
    chosen = whole.bytesList[list(_IDS_OF_4X4_50)]
    return cv2.aruco.Dictionary(chosen, MARK_FIELDS, _FIELDS_THAT_MAY_BE_MISREAD)


def mark_fields(mark: int) -> NDArray[np.bool_]:
    """The mark with its black border, shape (6, 6), True where it is white."""
    side = MARK_FIELDS + 2
    return np.asarray(dictionary().generateImageMarker(mark, side)) > 127
