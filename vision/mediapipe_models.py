"""The face finder, face mesh and pose model that the mediapipe wheel carries: the only module that imports mediapipe.

Version 0.10.21 has the models inside and sends nothing; later ones carry none and report usage to their maker, which is
nothing for photos of babies. All are asked for single photos (no tracking from one to the next), so the same pixels
give the same answer whatever was seen before.
"""

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import PurePosixPath
from threading import Lock
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

from vision.errors import ModelUnavailable
from vision.installed_files import damaged_files
from vision.machine import APT_LINE, PIP_LINE
from vision.said import Said

#: (x, y, z) of the 468 mesh points in pixels of the picture asked about, z away from the camera, 0 at the head's middle.
Mesh = NDArray[np.float64]
#: Top-left and bottom-right corner of the box around a face, shape (2, 2), pixels of the picture asked about.
Corners = NDArray[np.float64]
#: (x, y, z, visibility) of the 33 pose points, x, y, z in pixels, visibility 0 to 1.
Pose = NDArray[np.float64]

MESH_POINTS = 468
_MODEL_FOLDERS = tuple(
    f"mediapipe/modules/{name}/" for name in ("face_detection", "face_landmark", "pose_detection", "pose_landmark")
)
_ANEW = "pip install --force-reinstall --no-deps mediapipe==0.10.21"
MOST_FACES = 4


class FaceModel(Protocol):
    """What finds faces and their meshes."""

    def faces(self, pixels: NDArray[np.uint8]) -> list[Mesh]:
        """The mesh of each face in a picture, shape (468, 3)."""
        ...


class BodyModel(FaceModel, Protocol):
    """What finds small faces and a body too."""

    def face_places(self, pixels: NDArray[np.uint8]) -> list[Corners]:
        """Where faces are, also those too small for `faces`."""
        ...

    def pose(self, pixels: NDArray[np.uint8]) -> Pose | None:
        """The pose of the most prominent person, shape (33, 4), or None."""
        ...


@contextmanager
def _stderr_silenced() -> Iterator[None]:
    """Keep the C++ side's start-up lines off the terminal: it writes to the file descriptor and has no switch for that.

    Only until each model has once found something, since another thread's lines are lost meanwhile.
    """
    kept = os.dup(2)
    nowhere = os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(nowhere, 2)
        yield
    finally:
        os.dup2(kept, 2)
        os.close(nowhere)
        os.close(kept)


def _squared(pixels: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """Padded to a square at the right and bottom: in an oblong picture a turned face is projected back wrongly."""
    height, width = pixels.shape[:2]
    if height == width:
        return np.ascontiguousarray(pixels)
    side = max(height, width)
    square = np.zeros((side, side, 3), np.uint8)
    square[:height, :width] = pixels
    return square


def _rows(landmarks: Any, names: tuple[str, ...], side: int) -> NDArray[np.float64]:
    """Shares of the picture's side to pixels; visibility stays as it is."""
    scale = [1.0 if name == "visibility" else side for name in names]
    return np.array([[getattr(mark, name) for name in names] for mark in landmarks.landmark]) * scale


class MediaPipeModels:
    """The models, loaded at first use and kept; one question at a time, from whichever thread.

    Raises
    ------
    ModelUnavailable
        From every question, where the library or a system library that it needs is missing.
    """

    def __init__(self) -> None:
        self._lock = Lock()
        self._face_mesh: Any = None
        self._pose: Any = None
        self._finder: Any = None
        self._quiet: set[str] = set()

    def faces(self, pixels: NDArray[np.uint8]) -> list[Mesh]:
        """See `FaceModel.faces`; at most four faces."""
        square = _squared(pixels)
        with self._lock:
            self._load()
            found = self._ask(self._face_mesh, "multi_face_landmarks", square) or ()
        return [_rows(mesh, ("x", "y", "z"), square.shape[0]) for mesh in found]

    def face_places(self, pixels: NDArray[np.uint8]) -> list[Corners]:
        """See `BodyModel.face_places`; faces from about a twentieth of the picture's longest side."""
        square = _squared(pixels)
        with self._lock:
            self._load()
            found = self._ask(self._finder, "detections", square) or ()
        boxes = [detection.location_data.relative_bounding_box for detection in found]
        corners = [[[box.xmin, box.ymin], [box.xmin + box.width, box.ymin + box.height]] for box in boxes]
        return [np.array(pair, dtype=np.float64) * square.shape[0] for pair in corners]

    def pose(self, pixels: NDArray[np.uint8]) -> Pose | None:
        """See `BodyModel.pose`."""
        square = _squared(pixels)
        with self._lock:
            self._load()
            found = self._ask(self._pose, "pose_landmarks", square)
        return None if found is None else _rows(found, ("x", "y", "z", "visibility"), square.shape[0])

    def _ask(self, model: Any, output: str, square: NDArray[np.uint8]) -> Any:
        if output in self._quiet:
            return getattr(model.process(square), output)
        with _stderr_silenced():
            found = getattr(model.process(square), output)
        if found:
            self._quiet.add(output)
        return found

    def close(self) -> None:
        """Free the models; the next question loads them again."""
        with self._lock:
            for model in (self._face_mesh, self._finder, self._pose):
                if model is not None:
                    model.close()
            self._face_mesh = self._finder = self._pose = None
            self._quiet.clear()

    def _load(self) -> None:
        if self._pose is not None:
            return
        if damaged := damaged_files("mediapipe", _MODEL_FOLDERS, (".tflite", ".binarypb")):
            raise ModelUnavailable(
                Said(
                    "The general face and body model cannot be used: its file {file} is missing or damaged; place the points "
                    "by hand, or run: {command}",
                    file=PurePosixPath(damaged[0]).name,
                    command=_ANEW,
                )
            )
        try:
            with _stderr_silenced():
                from mediapipe.python import solutions  # late: it takes most of a second and 200 MB

                face_mesh = solutions.face_mesh.FaceMesh(static_image_mode=True, max_num_faces=MOST_FACES)
                # The second finder sees up to 5 m: smaller faces than the one inside the mesh's own graph.
                finder = solutions.face_detection.FaceDetection(model_selection=1, min_detection_confidence=0.5)
                pose = solutions.pose.Pose(static_image_mode=True, model_complexity=1)
                # The models go on loading, and talking, until the first question has been answered.
                blank = np.zeros((64, 64, 3), np.uint8)
                for model in (face_mesh, finder, pose):
                    model.process(blank)
        except Exception as error:
            # A broken installation fails in many ways, and a second try in others: half-imported modules stay.
            raise ModelUnavailable(_why(error)) from error
        self._face_mesh, self._finder, self._pose = face_mesh, finder, pose


def _why(error: Exception) -> Said:
    if isinstance(error, ModuleNotFoundError):
        return Said(
            "The general face and body model cannot be used: the package {package} is missing; run: {command}",
            package=error.name,
            command=PIP_LINE,
        )
    if isinstance(error, ImportError | OSError) and ".so" in str(error):
        library = str(error).split(":")[0]
        return Said(
            "The general face and body model cannot be used: the system library {library} is missing; install it with: "
            "{command}",
            library=library,
            command=APT_LINE,
        )
    return Said(
        "The general face and body model could not be started, so it proposes nothing; place the points by hand."
    )
