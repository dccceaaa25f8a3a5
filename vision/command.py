"""The command `measure`: photos in, one line or one small table of measures a photo out.

Exit code 0; 1 where some of several photos could not be measured, each with its reason on its own line; 2 for wrong
usage or where the only photo is refused, with one sentence on stderr.
"""

import argparse
import json
import math
import sys
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import IO, TYPE_CHECKING, Any, NoReturn

from vision.command_text import table
from vision.errors import ModelUnavailable, UnreadablePhoto, VisionError
from vision.images import MAX_BYTES, Photo, encode_jpeg, read_photo
from vision.landmark_files import point_to_json, read_landmarks
from vision.landmarks import LANDMARK_NAMES, LandmarkSet
from vision.measures import VERSION, Result, measure_all, measure_to_json, with_default_sigmas
from vision.overlay import draw_overlay

if TYPE_CHECKING:
    from vision.detect import Detector


class UsageError(VisionError):
    """The command line asks for something that cannot be done, whatever the photos are."""


@dataclass(frozen=True, kw_only=True)
class Measured:
    """All that is said about one photo."""

    name: str
    photo: Photo
    landmarks: LandmarkSet
    measures: Mapping[str, Result]
    notes: tuple[str, ...]

    def to_json(self) -> dict[str, Any]:
        """The object that `--json` prints."""
        yaw = self.landmarks.head_yaw
        return {
            "photo": self.name,
            "version": VERSION,
            "width": self.photo.width,
            "height": self.photo.height,
            "head_yaw_deg": yaw.deg if yaw else None,
            "landmarks": {name: point_to_json(point) for name, point in self.landmarks.points.items()},
            "measures": {name: measure_to_json(result) for name, result in self.measures.items()},
        }


def run(
    arguments: Sequence[str],
    *,
    out: IO[str] | None = None,
    err: IO[str] | None = None,
    detector: "Callable[[], Detector] | None" = None,
) -> int:
    """Run the command line.

    Parameters
    ----------
    arguments : sequence of str
        Without the program's name.
    out, err : text streams, optional
        In place of stdout and stderr.
    detector : callable, optional
        Gives the detector that is asked where no landmarks are given; by default the one that this version ships.

    Returns
    -------
    int
        The exit code: 0, 1 or 2 as the module says.
    """
    out, err = out or sys.stdout, err or sys.stderr
    try:
        options = _parser().parse_args(arguments)
        sources = _Sources(options, detector or _shipped_detector)
        failures = [_one(path, options, sources, out) for path in options.photos]
    except (UsageError, ModelUnavailable, _OnlyPhotoRefused) as fault:
        err.write(f"{fault}\n")
        return 2
    count = sum(failures)
    if count:
        err.write(f"{count} of {len(failures)} photos could not be measured.\n")
    return 1 if count else 0


class _OnlyPhotoRefused(VisionError):
    """There was one photo and it cannot be measured."""


class _Sources:
    """Where landmarks come from: the file, read once, or the detector, loaded at the first photo that needs it."""

    def __init__(self, options: argparse.Namespace, detector: "Callable[[], Detector]") -> None:
        if options.landmarks is not None and (len(options.photos) != 1 or options.box is not None):
            raise UsageError("--landmarks goes with exactly one photo and without --box.")
        self._box, self._detector, self._given = options.box, detector, None
        if options.landmarks is not None:
            self._given = _from_file(options.landmarks)

    def landmarks(self, photo: Photo) -> tuple[LandmarkSet, tuple[str, ...]]:
        """The points of this photo, and what the detector says about those it left out."""
        if self._given is not None:
            _check_inside(self._given, photo)
            return self._given, ()
        from vision.detect import Box  # late: measuring given points loads no model

        x, y, width, height = self._box or (0.0, 0.0, 1.0, 1.0)
        if self._box and not (x < photo.width and y < photo.height and x + width > 0 and y + height > 0):
            raise VisionError(f"The box lies outside the photo of {photo.width} × {photo.height} pixels.")
        box = Box(x=x, y=y, width=width, height=height) if self._box else None
        found = self._detector().detect(photo.pixels, box)
        return found.landmarks, found.notes


def _one(path: Path, options: argparse.Namespace, sources: _Sources, out: IO[str]) -> bool:
    """Measure and report one photo; True where it could not be done."""
    try:
        found = _measured(path, sources)
    except ModelUnavailable:
        raise
    except VisionError as fault:
        if len(options.photos) == 1:
            raise _OnlyPhotoRefused(str(fault)) from fault
        line = json.dumps({"photo": path.name, "error": str(fault)}) if options.json else f"{path.name}: {fault}"
        out.write(f"{line}\n")
        return True
    if options.overlay is not None:
        _write_overlay(found, options.overlay)
    out.write(f"{json.dumps(found.to_json(), allow_nan=False)}\n" if options.json else table(found))
    return False


def _measured(path: Path, sources: _Sources) -> Measured:
    photo = read_photo(_bytes_of(path), name=path.name)
    landmarks, notes = sources.landmarks(photo)
    landmarks = with_default_sigmas(landmarks)
    measures = measure_all(landmarks)
    return Measured(name=path.name, photo=photo, landmarks=landmarks, measures=measures, notes=notes)


def _bytes_of(path: Path) -> bytes:
    try:
        with path.open("rb") as file:
            return file.read(MAX_BYTES + 1)
    except OSError as fault:
        raise UnreadablePhoto(f"{path.name} cannot be read: {fault.strerror or fault}.") from fault


def _from_file(path: Path) -> LandmarkSet:
    try:
        return read_landmarks(path)
    except VisionError as fault:
        raise UsageError(str(fault)) from fault


def _check_inside(landmarks: LandmarkSet, photo: Photo) -> None:
    for name, point in landmarks.points.items():
        if not (0 <= point.x <= photo.width and 0 <= point.y <= photo.height):
            raise VisionError(
                f"The point {LANDMARK_NAMES[name]} at {point.x:g}, {point.y:g} lies outside the photo of "
                f"{photo.width} × {photo.height} pixels."
            )


def _write_overlay(found: Measured, folder: Path) -> None:
    """Write STEM.overlay.jpg; photos of one name from several folders are numbered, nothing of this run is lost."""
    picture = encode_jpeg(draw_overlay(found.photo, found.landmarks, found.measures), quality=90)
    try:
        folder.mkdir(parents=True, exist_ok=True)
        (folder / f"{Path(found.name).stem}.overlay.jpg").write_bytes(picture)
    except OSError as fault:
        raise UsageError(f"The overlay cannot be written to {folder}: {fault.strerror or fault}.") from fault


def _shipped_detector() -> "Detector":
    from vision.detect import default_detector

    return default_detector()


def _box(text: str) -> tuple[float, float, float, float]:
    try:
        x, y, width, height = (float(part) for part in text.split(","))
    except ValueError:
        raise argparse.ArgumentTypeError(f"must be X,Y,W,H in pixels, got {text!r}") from None
    if not all(math.isfinite(part) for part in (x, y, width, height)) or width <= 0 or height <= 0:
        raise argparse.ArgumentTypeError(f"must have a width and a height above 0, got {text!r}")
    return x, y, width, height


class _Parser(argparse.ArgumentParser):
    def error(self, message: str) -> NoReturn:
        raise UsageError(f"{message} (see python -m vision --help).")


def _parser() -> argparse.ArgumentParser:
    parser = _Parser(prog="python -m vision", description="Measures of attachment and body line from a photo.")
    commands = parser.add_subparsers(required=True, metavar="COMMAND", parser_class=_Parser)
    measure = commands.add_parser("measure", help="measure photos: practice measurements, not a diagnosis")
    measure.add_argument("photos", nargs="+", type=Path, metavar="PHOTO", help="JPEG, PNG, WebP, TIFF or HEIC")
    measure.add_argument("--landmarks", type=Path, metavar="FILE.json", help="points of one photo; loads no model")
    measure.add_argument("--box", type=_box, metavar="X,Y,W,H", help="where the baby is, in pixels of each photo")
    measure.add_argument("--overlay", type=Path, metavar="DIR", help="write a picture with the measures drawn on it")
    measure.add_argument("--json", action="store_true", help="print one JSON object a line in place of a table")
    return parser
