"""What `measure` says about one photo: a JSON object for programs, a small table for people, an overlay file."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from vision.errors import CannotDo
from vision.images import Photo, encode_jpeg
from vision.landmark_files import point_to_json
from vision.landmarks import LandmarkSet
from vision.measures import VERSION, Measure, Result, measure_to_json
from vision.overlay import draw_overlay


@dataclass(frozen=True, kw_only=True)
class Measured:
    """One photo with its landmarks and measures.

    Parameters
    ----------
    name : str
        The file's name without its folder.
    photo : Photo
    landmarks : LandmarkSet
        Every point with the sigma that was used.
    measures : mapping of measure name to Measure or NotMeasurable
    notes : tuple of str
        What the detector says about points that it left out, and what there is to say of a scale card, one sentence
        each.
    """

    name: str
    photo: Photo
    landmarks: LandmarkSet
    measures: Mapping[str, Result]
    notes: tuple[str, ...]


def as_json(said: Measured) -> dict[str, Any]:
    """The object that `--json` prints; unknown numbers are null."""
    yaw = said.landmarks.head_yaw
    return {
        "photo": said.name,
        "version": VERSION,
        "width": said.photo.width,
        "height": said.photo.height,
        "head_yaw_deg": yaw.deg if yaw else None,
        "landmarks": {name: point_to_json(point) for name, point in said.landmarks.points.items()},
        "measures": {name: measure_to_json(result) for name, result in said.measures.items()},
        "notes": list(said.notes),
    }


def as_text(said: Measured) -> str:
    """Lines of text: the photo, each measure with its 95 % interval or the reason why there is none, and notes."""
    yaw = said.landmarks.head_yaw
    direction = f"head direction {yaw.deg:.0f}° ± {yaw.sigma_deg:.0f}°" if yaw else "head direction unknown"
    points = f"{len(said.landmarks.points)} points"
    lines = [f"{said.name}: {said.photo.width} × {said.photo.height} pixels, {points}, {direction}"]
    lines += [f"  {name:<16} {_words(result)}" for name, result in said.measures.items()]
    lines += [f"  {note}" for note in (*said.notes, *_notes(said.measures))]
    lines.append("  Practice measurements with 95 % intervals, not a diagnosis.")
    return "\n".join(lines)


@dataclass
class OverlayFolder:
    """Writes STEM.overlay.jpg files; a name that this run has used already gets a number, so that none is lost."""

    folder: Path
    used: set[str] = field(default_factory=set)

    def write(self, said: Measured) -> Path:
        """Draw and write one overlay; raises CannotDo where the folder cannot be written to."""
        picture = encode_jpeg(draw_overlay(said.photo, said.landmarks, said.measures), quality=90)
        target = self.folder / self._free_name(Path(said.name).stem)
        try:
            self.folder.mkdir(parents=True, exist_ok=True)
            target.write_bytes(picture)
        except OSError as fault:
            raise CannotDo(f"The overlay cannot be written to {self.folder}: {fault.strerror or fault}.") from fault
        return target

    def _free_name(self, stem: str) -> str:
        name, number = f"{stem}.overlay.jpg", 1
        while name in self.used:
            number += 1
            name = f"{stem}-{number}.overlay.jpg"
        self.used.add(name)
        return name


def _words(result: Result) -> str:
    if not isinstance(result, Measure):
        return f"–  {result.reason}"
    digits = 2 if result.unit == "share" else 1
    numbers = [f"{number:.{digits}f}" for number in (result.value, result.low, result.high)]
    return f"{numbers[0]} ({numbers[1]} to {numbers[2]}) {result.unit}"


def _notes(measures: Mapping[str, Result]) -> list[str]:
    """Each note once, with the measures that it belongs to."""
    found: dict[str, list[str]] = {}
    for name, result in measures.items():
        for note in result.notes if isinstance(result, Measure) else ():
            found.setdefault(note, []).append(name)
    return [f"{', '.join(names)}: {note}" for note, names in found.items()]
