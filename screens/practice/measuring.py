"""Measures as the rubric takes them: the one place where values go from pixels to words."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from rubric.evidence import EvidenceValue, band_words, evidence_text, interval_text, number_text
from rubric.items import Band
from screens.data import checklist
from screens.language import _
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


def stored_values(measures: Mapping[str, Mapping[str, object]], landmarks: LandmarkSet) -> dict[str, EvidenceValue]:
    """Stored measures of these points: the numbers as they were kept, the reasons so that they can be translated."""
    fresh = evidence_values(landmarks)
    return {
        name: replace(value, reason=fresh[name].reason)
        if name in fresh and value.reason is not None and value.reason == fresh[name].reason
        else value
        for name, value in from_json(measures).items()
    }


def texts(landmarks: LandmarkSet) -> dict[str, str]:
    """One line for each measure, number and interval and band, or why it is unknown."""
    bands = checklist().bands
    return {name: evidence_text(value, bands.get(name, ())) for name, value in evidence_values(landmarks).items()}


def readout(landmarks: LandmarkSet) -> dict[str, str]:
    """What the editor shows: each angle on a card, known or not, and a line for each other measure that is known.

    A card says number and range, then on a second line what a school calls it.
    """
    bands, values = checklist().bands, evidence_values(landmarks)
    cards = {name: _card(values[name], bands.get(name, ())) for name in ALWAYS_SHOWN}
    rest = {name: value for name, value in values.items() if name not in ALWAYS_SHOWN and value.value is not None}
    return {**cards, **{name: _(evidence_text(value, bands.get(name, ()))) for name, value in rest.items()}}


def _card(value: EvidenceValue, bands: Sequence[Band]) -> str:
    if value.value is None:
        return _(value.reason or "")
    if value.name == "head_deviation" and value.low is not None and value.high is not None:
        number = _("{value} ({low} to {high})").format(
            value=_direction(value.value), low=_direction(value.low), high=_direction(value.high)
        )
    else:
        number = f"{number_text(value.value, value.unit)} ({_(interval_text(value))})"
    return f"{number}\n{_(band_words(value, bands))}"


def _direction(degrees: float) -> str:
    if round(degrees) == 0:
        return "0°"
    text = _("{degrees:.0f}° forward") if degrees > 0 else _("{degrees:.0f}° back")
    return text.format(degrees=abs(degrees))


def unknown(line: str) -> bool:
    """Whether a line of `texts` says that its measure is unknown."""
    return " unknown: " in line
