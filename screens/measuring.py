"""Measures as the rubric takes them: the one place where values go from pixels to words."""

from collections.abc import Mapping

from rubric.evidence import EvidenceValue, evidence_text
from screens.data import checklist
from vision.landmarks import LandmarkSet
from vision.measures import measure_all, measure_to_json

#: Shown even where they cannot be measured; the others appear once there is something to say.
ALWAYS_SHOWN = ("gape_angle", "alignment_angle", "head_deviation")


def measures_json(landmarks: LandmarkSet) -> dict[str, dict[str, float | str | None]]:
    """Every measure in its JSON form, as the command line prints it and the database keeps it."""
    return {name: measure_to_json(result) for name, result in measure_all(landmarks).items()}


def evidence_values(landmarks: LandmarkSet) -> dict[str, EvidenceValue]:
    """Every measure as the rubric takes it."""
    return from_json(measures_json(landmarks))


def from_json(measures: Mapping[str, Mapping[str, object]]) -> dict[str, EvidenceValue]:
    """Stored measures as the rubric takes them."""
    return {name: EvidenceValue.from_json(name, value) for name, value in measures.items()}


def texts(landmarks: LandmarkSet) -> dict[str, str]:
    """One line for each measure, number and interval and band, or why it is unknown."""
    bands = checklist().bands
    return {name: evidence_text(value, bands.get(name, ())) for name, value in evidence_values(landmarks).items()}


def unknown(line: str) -> bool:
    """Whether a line of `texts` says that its measure is unknown."""
    return " unknown: " in line
