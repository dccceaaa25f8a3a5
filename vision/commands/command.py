"""The command line, and its command `measure`: photos in, one JSON line or one small table of measures a photo out.

Exit code 0; 1 where some of several photos could not be measured, each with its reason on its own line; 2 for wrong
usage or where the only photo is refused, with one sentence on stderr.
"""

import argparse
import json
import math
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import IO, TYPE_CHECKING, NoReturn

from vision.bench.command import add_bench
from vision.commands.batch import add_batch_options, run_batch
from vision.commands.measuring import detected, of_landmarks
from vision.commands.output import Measured, OverlayFolder, as_json, as_text
from vision.commands.scale_card import add_scale_card
from vision.errors import CannotDo, InvalidLandmarks, ModelUnavailable, UnreadablePhoto
from vision.images import MAX_BYTES, Photo, read_photo
from vision.landmark_files import read_landmarks
from vision.landmarks import LANDMARK_NAMES, LandmarkSet

if TYPE_CHECKING:
    from vision.detect import Detector


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
        if options.act is not None:
            options.act(options, out)
            return 0
        if options.out is not None:
            return run_batch(options, err)
        if options.processes is not None or options.scheduler is not None:
            raise CannotDo("--processes and --scheduler go with --out.")
        sources = _Sources(options, detector or _shipped_detector)
        overlays = None if options.overlay is None else OverlayFolder(options.overlay)
        faults = [_report(path, options, sources, overlays, out) for path in options.photos]
    except (CannotDo, ModelUnavailable) as fault:
        err.write(f"{fault}\n")
        return 2
    bad = len([fault for fault in faults if fault is not None])
    if bad:
        only = len(faults) == 1
        err.write(f"{faults[0]}\n" if only else f"{bad} of {len(faults)} photos could not be measured.\n")
        return 2 if only else 1
    return 0


class _Sources:
    """Where landmarks come from: the file, read once, or the detector, loaded at the first photo that needs it."""

    def __init__(self, options: argparse.Namespace, detector: "Callable[[], Detector]") -> None:
        self._box, self._detector, self._given = options.box, detector, None
        if options.landmarks is None:
            return
        if len(options.photos) != 1 or options.box is not None:
            raise CannotDo("--landmarks goes with exactly one photo and without --box.")
        try:
            self._given = read_landmarks(options.landmarks)
        except InvalidLandmarks as fault:
            raise CannotDo(str(fault)) from fault

    def landmarks(self, photo: Photo) -> tuple[LandmarkSet, tuple[str, ...]]:
        """The points of this photo, and what the detector says about those it left out."""
        if self._given is not None:
            _check_inside(self._given, photo)
            return self._given, ()
        return detected(photo, self._detector(), self._box)


def _report(
    path: Path, options: argparse.Namespace, sources: _Sources, overlays: OverlayFolder | None, out: IO[str]
) -> str | None:
    """Measure one photo and write what there is to say; the reason where it could not be done."""
    try:
        said = _measured(path, sources)
    except (UnreadablePhoto, InvalidLandmarks) as fault:
        if len(options.photos) > 1:
            error = {"photo": path.name, "error": str(fault)}
            out.write(f"{json.dumps(error)}\n" if options.json else f"{path.name}: {fault}\n")
        return str(fault)
    if overlays is not None:
        overlays.write(said)
    out.write(json.dumps(as_json(said), allow_nan=False) if options.json else as_text(said))
    out.write("\n")
    return None


def _measured(path: Path, sources: _Sources) -> Measured:
    photo = read_photo(_bytes_of(path), name=path.name)
    return of_landmarks(path.name, photo, *sources.landmarks(photo))


def _bytes_of(path: Path) -> bytes:
    try:
        with path.open("rb") as file:
            return file.read(MAX_BYTES + 1)
    except OSError as fault:
        raise UnreadablePhoto(f"{path.name} cannot be read: {fault.strerror or fault}.") from fault


def _check_inside(landmarks: LandmarkSet, photo: Photo) -> None:
    for name, point in landmarks.points.items():
        if not (0 <= point.x <= photo.width and 0 <= point.y <= photo.height):
            raise InvalidLandmarks(
                f"The point {LANDMARK_NAMES[name]} at {point.x:.6g}, {point.y:.6g} lies outside the photo"
                f" of {photo.width} × {photo.height} pixels."
            )


def _shipped_detector() -> "Detector":
    from vision.detect import default_detector  # late, as above

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
        raise CannotDo(f"{message} (see python -m vision --help).")


def _parser() -> argparse.ArgumentParser:
    parser = _Parser(prog="python -m vision", description="Measures of attachment and body line from a photo.")
    commands = parser.add_subparsers(required=True, metavar="COMMAND", parser_class=_Parser)
    measure = commands.add_parser("measure", help="measure photos: practice measurements, not a diagnosis")
    measure.set_defaults(act=None)
    measure.add_argument(
        "photos", nargs="+", type=Path, metavar="PHOTO", help="JPEG, PNG, WebP, TIFF or HEIC; with --out also folders"
    )
    measure.add_argument("--landmarks", type=Path, metavar="FILE.json", help="points of one photo; loads no model")
    measure.add_argument("--box", type=_box, metavar="X,Y,W,H", help="where the baby is, in pixels of each photo")
    measure.add_argument("--overlay", type=Path, metavar="DIR", help="write a picture with the measures drawn on it")
    measure.add_argument("--json", action="store_true", help="print one JSON object a line in place of a table")
    add_batch_options(measure)
    add_scale_card(commands)
    add_bench(commands)
    return parser
