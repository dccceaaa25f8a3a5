"""From the bytes of a photo to its measures: the one way that the command line, batches and nobody else go."""

from typing import TYPE_CHECKING

from vision.commands.output import Measured
from vision.commands.scale_card import with_card_scale
from vision.errors import InvalidLandmarks
from vision.images import Photo, read_photo
from vision.landmarks import LandmarkSet
from vision.measures import measure_all, with_default_sigmas

if TYPE_CHECKING:
    from vision.detect import Detector

Corners = tuple[float, float, float, float]


def measured(name: str, data: bytes, detector: "Detector", box: Corners | None = None) -> Measured:
    """Read, detect and measure one photo.

    Parameters
    ----------
    name : str
        The file's name without its folder.
    data : bytes
        The whole file.
    detector : Detector
    box : tuple of four float, optional
        Where the baby is: x, y, width, height in pixels of the upright photo.

    Raises
    ------
    UnreadablePhoto, InvalidLandmarks
    """
    photo = read_photo(data, name=name)
    landmarks, notes = detected(photo, detector, box)
    return of_landmarks(name, photo, landmarks, notes)


def of_landmarks(name: str, photo: Photo, landmarks: LandmarkSet, notes: tuple[str, ...] = ()) -> Measured:
    """Measure a photo whose landmarks are known."""
    landmarks = with_default_sigmas(landmarks)
    return Measured(name=name, photo=photo, landmarks=landmarks, measures=measure_all(landmarks), notes=notes)


def detected(photo: Photo, detector: "Detector", box: Corners | None) -> tuple[LandmarkSet, tuple[str, ...]]:
    """The detector's points with the scale of a card in the photo, and what there is to say. Raises InvalidLandmarks."""
    from vision.detect import Box  # late: measuring given points loads no model

    area = None
    if box is not None:
        x, y, width, height = box
        if not (x < photo.width and y < photo.height and x + width > 0 and y + height > 0):
            raise InvalidLandmarks(f"The box lies outside the photo of {photo.width} × {photo.height} pixels.")
        area = Box(x=x, y=y, width=width, height=height)
    found = detector.detect(photo.pixels, area)
    landmarks, said = with_card_scale(photo.pixels, found.landmarks)
    return landmarks, (*found.notes, *said)
