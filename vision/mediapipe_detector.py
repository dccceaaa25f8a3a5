"""The detector built on mediapipe's models: whose face it is, then its mesh, then the body that goes with it."""

from dataclasses import dataclass
from math import dist

import numpy as np
from numpy.typing import NDArray

from vision import face_mesh, pose
from vision.detect import Box, Detection, merge
from vision.landmarks import LandmarkSet
from vision.mediapipe_models import BodyModel, Mesh
from vision.turned_copies import Square, Turn, back, cut

#: The whole photo, or the box, is reduced to this size for finding faces, each part of it to the smaller one.
LOOK_SIZE = 1280
PART_SIZE = 512
#: The face finder misses faces below an eighth of its picture, so nine overlapping parts are looked through too.
PART_SHARE = 0.4
#: How much more than the box is looked at: a box drawn close round a head needs air for the face finder.
BOX_MARGINS = (1.3, 2.2)
#: Nose of the pose and of the mesh may lie this many face sizes apart in one and the same person.
SAME_HEAD = 0.8

_NOSE = 4

NO_FACE = (
    "No face was found that the face model can read; in a side view that is usual. "
    "Place the points of the face by hand, or draw a box around the baby."
)
NO_FACE_IN_BOX = (
    "No face was found in the box that the face model can read; in a side view that is usual. Place the points by hand."
)
WHOSE_FACE = (
    "No box was drawn, so the smallest face found was taken: if that is not the baby's, draw a box around the baby."
)
WHOSE_BODY = (
    "Whose body is in the photo could not be told; draw a box around the baby, or place ear, shoulder and hip by hand."
)


@dataclass(frozen=True)
class MediaPipeDetector:
    """Proposes what face mesh and pose say surely; see `vision.face_mesh` and `vision.pose` for how sure that is."""

    models: BodyModel

    def detect(self, pixels: NDArray[np.uint8], box: Box | None) -> Detection:
        """See `Detector.detect`."""
        mesh = _smallest(self._faces(pixels, box))
        if mesh is None:
            reading = None
            face = Detection(landmarks=LandmarkSet(), notes=(NO_FACE if box is None else NO_FACE_IN_BOX,))
        else:
            reading = face_mesh.take_reading(self.models, pixels, mesh)
            face = face_mesh.read_face(reading)
            if box is None and face.landmarks.points:
                face = Detection(landmarks=face.landmarks, notes=(*face.notes, WHOSE_FACE))
        sure = reading if reading is not None and reading.agrees else None
        body = self._body(pixels, box, sure)
        if sure is not None and body is not None and not _chin_towards_shoulders(sure, body):
            return Detection(landmarks=LandmarkSet(), notes=(face_mesh.UNSURE, pose.NO_BODY))
        return merge([face, self._read_body(body, box, sure)])

    def _faces(self, pixels: NDArray[np.uint8], box: Box | None) -> list[Mesh]:
        """Meshes in pixels of the photo; with a box only those whose nose lies in it."""
        if box is None:
            return self._look(pixels, _whole_photo(pixels))
        for margin in BOX_MARGINS:
            found = [mesh for mesh in self._look(pixels, _around(box, margin)) if box.holds(*mesh[_NOSE, :2])]
            if found:
                return found
        return []

    def _look(self, pixels: NDArray[np.uint8], square: Square) -> list[Mesh]:
        """Every face in a square of the photo and in its parts, each once."""
        size = min(LOOK_SIZE, max(1, round(square.side)))
        picture = cut(pixels, square, size)
        found: list[Mesh] = []
        for part in _parts(size):
            part_size = min(PART_SIZE, max(1, round(part.side)))
            for mesh in self.models.faces(cut(picture, part, part_size)):
                on_photo = back(back(mesh, Turn(), part, part_size), Turn(), square, size)
                if not any(_same_face(on_photo, other) for other in found):
                    found.append(on_photo)
        return found

    def _body(
        self, pixels: NDArray[np.uint8], box: Box | None, face: face_mesh.FaceReading | None
    ) -> pose.BodyReading | None:
        """The body of the face that was read; without a face, of the person in the box; else nobody's."""
        if box is None and face is None:
            return None
        square = _whole_photo(pixels) if box is None else _around(box, BOX_MARGINS[0])
        body = pose.take_reading(self.models, pixels, square)
        return body if body is not None and _same_person(body, box, face) else None

    def _read_body(
        self, body: pose.BodyReading | None, box: Box | None, face: face_mesh.FaceReading | None
    ) -> Detection:
        if body is None and box is None:
            return Detection(landmarks=LandmarkSet(), notes=(WHOSE_BODY,))
        return pose.read_body(body, face)


def _same_person(body: pose.BodyReading, box: Box | None, face: face_mesh.FaceReading | None) -> bool:
    if face is not None:
        return dist(body.nose, face.nose) <= SAME_HEAD * face.face_px
    return box is not None and box.holds(*body.nose)


def _chin_towards_shoulders(face: face_mesh.FaceReading, body: pose.BodyReading) -> bool:
    """Whether the face is the same way up as the body; true too where no shoulder is seen."""
    shoulders = body.middle("shoulder")
    return shoulders is None or float(np.dot(face.down, shoulders - np.array(face.nose))) > 0


def _smallest(meshes: list[Mesh]) -> Mesh | None:
    return min(meshes, key=lambda mesh: float(np.ptp(mesh[:, :2], axis=0).max()), default=None)


def _same_face(mesh: Mesh, other: Mesh) -> bool:
    size = float(np.ptp(other[:, :2], axis=0).max())
    return dist(mesh[_NOSE, :2], other[_NOSE, :2]) < size / 2


def _parts(size: int) -> list[Square]:
    """A picture as a whole, then its nine overlapping parts."""
    side = size * PART_SHARE
    starts = (0.0, (size - side) / 2, size - side)
    corners = [(left, top) for top in starts for left in starts]
    return [Square(left=0, top=0, side=size), *(Square(left=left, top=top, side=side) for left, top in corners)]


def _whole_photo(pixels: NDArray[np.uint8]) -> Square:
    height, width = pixels.shape[:2]
    return Square(left=0, top=0, side=max(height, width))


def _around(box: Box, margin: float) -> Square:
    corners = np.array([[box.x, box.y], [box.x + box.width, box.y + box.height]])
    return Square.around(corners, margin)
