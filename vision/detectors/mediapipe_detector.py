"""The detector built on mediapipe's models: whose face it is, then its mesh, then the body that goes with it."""

from dataclasses import dataclass
from math import dist

import numpy as np
from numpy.typing import NDArray

from vision.detect import Box, Detection, merge
from vision.detectors import face_mesh, pose
from vision.detectors.face_reading import FaceReading, take_reading
from vision.detectors.turned_copies import Square, Turn, back, cut
from vision.landmarks import LandmarkSet
from vision.mediapipe_models import BodyModel, Corners
from vision.said import Said

#: The whole photo, or the box, is reduced to this size for finding faces and the body.
LOOK_SIZE = 640
#: How much more than the box is looked at: a box drawn close round a head needs air for the face finder.
BOX_MARGINS = (1.3, 2.2)
#: Nose of the pose and of the mesh may lie this many face sizes apart in one and the same person.
SAME_HEAD = 0.8

NO_FACE = Said(
    "No face was found that the face model can read; in a side view that is usual. "
    "Place the points of the face by hand, or draw a box around the baby."
)
NO_FACE_IN_BOX = Said(
    "No face was found in the box that the face model can read; in a side view that is usual. Place the points by hand."
)
WHOSE_FACE = Said(
    "No box was drawn, so the smallest face found was taken: if that is not the baby's, draw a box around the baby."
)
WHOSE_BODY = Said(
    "Whose body is in the photo could not be told; draw a box around the baby, or place ear, shoulder and hip by hand."
)


@dataclass(frozen=True)
class MediaPipeDetector:
    """Proposes what face mesh and pose say surely; see `face_mesh` and `pose` beside this for how sure that is."""

    models: BodyModel

    def detect(self, pixels: NDArray[np.uint8], box: Box | None) -> Detection:
        """See `Detector.detect`."""
        square = _whole_photo(pixels) if box is None else _around(box, BOX_MARGINS[0])
        picture = cut(pixels, square, LOOK_SIZE)
        places = self._places(picture, square, box)
        if box is not None and not places:
            wider = _around(box, BOX_MARGINS[1])
            places = self._places(cut(pixels, wider, LOOK_SIZE), wider, box)
        reading, face = self._face(pixels, places, box)
        sure = reading if reading is not None and reading.agrees else None
        # Without a box and without a face nobody knows whose body is meant.
        body = None if box is None and sure is None else pose.take_reading(self.models, picture, square)
        if body is not None and not _same_person(body, box, sure):
            body = None
        if sure is not None and body is not None and not _chin_towards_shoulders(sure, body):
            return Detection(landmarks=LandmarkSet(), notes=(face_mesh.UNSURE, pose.NO_BODY))
        if body is None and box is None:
            return merge([face, Detection(landmarks=LandmarkSet(), notes=(WHOSE_BODY,))])
        return merge([face, pose.read_body(body, sure)])

    def _places(self, picture: NDArray[np.uint8], square: Square, box: Box | None) -> list[Corners]:
        """Where faces are in a square cut, in pixels of the photo; with a box only those whose middle lies in it."""
        found = [back(place, Turn(), square, picture.shape[0]) for place in self.models.face_places(picture)]
        return [place for place in found if box is None or box.holds(*place.mean(axis=0))]

    def _face(
        self, pixels: NDArray[np.uint8], places: list[Corners], box: Box | None
    ) -> tuple[FaceReading | None, Detection]:
        if not places:
            return None, Detection(landmarks=LandmarkSet(), notes=(NO_FACE if box is None else NO_FACE_IN_BOX,))
        reading = take_reading(
            self.models, pixels, min(places, key=lambda corners: float(np.ptp(corners, axis=0).max()))
        )
        face = face_mesh.read_face(reading)
        if box is None and face.landmarks.points:
            face = Detection(landmarks=face.landmarks, notes=(*face.notes, WHOSE_FACE))
        return reading, face


def _same_person(body: pose.BodyReading, box: Box | None, face: FaceReading | None) -> bool:
    if face is not None:
        return dist(body.nose, face.nose) <= SAME_HEAD * face.face_px
    return box is not None and box.holds(*body.nose)


def _chin_towards_shoulders(face: FaceReading, body: pose.BodyReading) -> bool:
    """Whether the face is the same way up as the body; true too where no shoulder is seen."""
    shoulders = body.middle("shoulder")
    return shoulders is None or float(np.dot(face.down, shoulders - np.array(face.nose))) > 0


def _whole_photo(pixels: NDArray[np.uint8]) -> Square:
    height, width = pixels.shape[:2]
    return Square(left=0, top=0, side=max(height, width))


def _around(box: Box, margin: float) -> Square:
    corners = np.array([[box.x, box.y], [box.x + box.width, box.y + box.height]])
    return Square.around(corners, margin)
