"""What `measure` prints for people: one small table a photo."""

from collections.abc import Mapping
from typing import Protocol

from vision.landmarks import LandmarkSet
from vision.photo import Photo
from vision.results import Measure, Result


class Said(Protocol):
    """What a table needs to know about one photo."""

    @property
    def name(self) -> str: ...
    @property
    def photo(self) -> Photo: ...
    @property
    def landmarks(self) -> LandmarkSet: ...
    @property
    def measures(self) -> Mapping[str, Result]: ...
    @property
    def notes(self) -> tuple[str, ...]: ...


def table(said: Said) -> str:
    """Lines of text: the photo, each measure with its 95 % interval or the reason why there is none, and notes."""
    yaw = said.landmarks.head_yaw
    direction = f"head direction {yaw.deg:.0f}° ± {yaw.sigma_deg:.0f}°" if yaw else "head direction unknown"
    points = f"{len(said.landmarks.points)} points"
    lines = [f"{said.name}: {said.photo.width} × {said.photo.height} pixels, {points}, {direction}"]
    lines += [f"  {name:<16} {_words(result)}" for name, result in said.measures.items()]
    lines += [f"  {note}" for note in (*said.notes, *_notes(said.measures))]
    lines.append("  Practice measurements with 95 % intervals, not a diagnosis.")
    return "\n".join(lines) + "\n"


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
