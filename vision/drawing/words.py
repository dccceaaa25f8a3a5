"""Measures in short words for the overlay: what it is, the number, the interval, or why there is no number."""

from collections.abc import Mapping

from vision.quantities.contact import TOUCHING_NOTE
from vision.quantities.results import Measure, NotMeasurable, Result
from vision.said import Said, together

CAUTION = Said("Practice measurement, not a diagnosis. In brackets: 95 % interval.")

#: The measures that are shown, with their short names; the line offset stays in the data.
SHOWN: dict[str, str] = {
    "gape_angle": Said("Mouth gape"),
    "alignment_angle": Said("Body line"),
    "head_deviation": Said("Head from the body line"),
    "nose_gap": Said("Nose to breast"),
    "chin_gap": Said("Chin to breast"),
    "nose_gap_mm": Said("Nose to breast"),
    "chin_gap_mm": Said("Chin to breast"),
    "areola_balance": Said("Areola in sight above the upper lip"),
    "mouth_opening": Said("Mouth opening"),
}
#: Left out without a word where they cannot be measured: most photos have no scale.
_ONLY_WITH_SCALE = ("nose_gap_mm", "chin_gap_mm", "mouth_opening")


def short_words(measure: Measure) -> Said:
    """The value with its interval.

    >>> short_words(Measure(name="gape_angle", value=118.2, low=101, high=135, unit="deg", sd=8.6))
    '118° (101° to 135°)'
    """
    value, low, high = (_number(measure.name, number) for number in (measure.value, measure.low, measure.high))
    touching = Said("touching or nearly, ") if TOUCHING_NOTE in measure.notes else ""
    if measure.unit == "% of face size":
        return Said(
            "{touching}{value} of face size ({low} to {high})", touching=touching, value=value, low=low, high=high
        )
    unit = " mm" if measure.unit == "mm" else ""
    return Said(
        "{touching}{value}{unit} ({low} to {high})", touching=touching, value=value, unit=unit, low=low, high=high
    )


def value_rows(measures: Mapping[str, Result]) -> list[tuple[str, str]]:
    """(short name, words) of every shown measure that has a value."""
    found = ((name, measures.get(name)) for name in SHOWN)
    return [(SHOWN[name], short_words(result)) for name, result in found if isinstance(result, Measure)]


def reason_rows(measures: Mapping[str, Result]) -> list[tuple[str, str]]:
    """(short names, reason) of the shown measures without a value, those with the same reason in one row."""
    names: dict[str, list[str]] = {}
    for name, result in ((name, measures.get(name)) for name in SHOWN):
        if isinstance(result, NotMeasurable) and name not in _ONLY_WITH_SCALE:
            names.setdefault(result.reason, []).append(SHOWN[name])
    return [(together(shown, between=", "), reason) for reason, shown in names.items()]


def shared_notes(measures: Mapping[str, Result]) -> list[str]:
    """What a reader should know of the shown values, each note once."""
    results = [measures.get(name) for name in SHOWN]
    notes = [note for result in results if isinstance(result, Measure) for note in result.notes]
    return [note for note in dict.fromkeys(notes) if note != TOUCHING_NOTE]


def _number(name: str, number: float) -> str:
    if name == "head_deviation":
        size = f"{abs(number):.0f}°"
        return (
            Said("{size} forward", size=size)
            if number >= 0.5
            else Said("{size} back", size=size)
            if number <= -0.5
            else size
        )
    if name.endswith("_angle"):
        return f"{number:.0f}°"
    if name == "areola_balance":
        return f"{100 * number:.0f} %"
    return f"{number:.0f}" if name.endswith("_mm") or name == "mouth_opening" else f"{number:.0f} %"
