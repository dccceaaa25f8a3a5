"""Measures put into words beside the items they bear on. Evidence is shown; it never fills in an answer."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from math import isfinite
from types import MappingProxyType
from typing import Self

from rubric.errors import InvalidAnswer
from rubric.items import Band, Checklist, Item
from rubric.said import Said, together

#: measure name in data -> what a screen calls it
PLAIN_NAMES: Mapping[str, str] = MappingProxyType(
    {
        "gape_angle": Said("mouth gape"),
        "alignment_angle": Said("body line angle"),
        "head_deviation": Said("head against the body line"),
        "line_offset": Said("shoulder off the line"),
        "nose_gap": Said("nose to breast"),
        "chin_gap": Said("chin to breast"),
        "nose_gap_mm": Said("nose to breast in millimetres"),
        "chin_gap_mm": Said("chin to breast in millimetres"),
        "areola_balance": Said("share of areola above"),
        "mouth_opening": Said("mouth opening"),
    }
)

_HEADINGS: Mapping[str, str] = MappingProxyType(
    {
        "gape_angle": Said("Mouth gape"),
        "alignment_angle": Said("Body line angle"),
        "head_deviation": Said("Head against the body line"),
        "line_offset": Said("Shoulder off the line"),
        "nose_gap": Said("Nose to breast"),
        "chin_gap": Said("Chin to breast"),
        "nose_gap_mm": Said("Nose to breast in millimetres"),
        "chin_gap_mm": Said("Chin to breast in millimetres"),
        "areola_balance": Said("Share of areola above"),
        "mouth_opening": Said("Mouth opening"),
    }
)

#: measure name in data -> what its line says, with `{number}` where number and interval stand
_STEMS: Mapping[str, Callable[[str], Said]] = MappingProxyType(
    {
        "gape_angle": lambda number: Said("Mouth opens {number}", number=number),
        "alignment_angle": lambda number: Said("Ear, shoulder and hip make {number}", number=number),
        "head_deviation": lambda number: Said(
            "Head against the body line, plus forward, minus back: {number}", number=number
        ),
        "line_offset": lambda number: Said("Shoulder lies off the line by {number}", number=number),
        "nose_gap": lambda number: Said("Nose to breast: {number}", number=number),
        "chin_gap": lambda number: Said("Chin to breast: {number}", number=number),
        "nose_gap_mm": lambda number: Said("Nose to breast: {number}", number=number),
        "chin_gap_mm": lambda number: Said("Chin to breast: {number}", number=number),
        "areola_balance": lambda number: Said("Share of the areola in sight that lies above: {number}", number=number),
        "mouth_opening": lambda number: Said("Mouth opens {number}", number=number),
    }
)

#: Said in place of the bands where an interval meets all of more than three: a list that long says nothing.
TOO_WIDE = Said("the range is too wide to say which")

#: unit in data -> (what follows a number, decimals shown)
_UNITS: Mapping[str, tuple[str, int]] = MappingProxyType(
    {"deg": ("°", 0), "%": (" %", 0), "% of face size": (" %", 0), "mm": (" mm", 1), "px": (" px", 0), "share": ("", 2)}
)


@dataclass(frozen=True, kw_only=True)
class EvidenceValue:
    """One measure as this package sees it: a value with its 95 % interval, or the reason why there is none.

    Parameters
    ----------
    name : str
        Name of the measure, such as "gape_angle".
    value, low, high : float or None
        In `unit`; low and high are the ends of the 95 % interval, None where no uncertainty is known.
    unit : str
        "deg", "%", "% of face size", "mm" or "share".
    reason : str or None
        Why there is no value, for a student to read; only where value is None.

    Raises
    ------
    InvalidAnswer
        For a number that is not finite, an interval that does not hold its value, or neither value nor reason.
    """

    name: str
    value: float | None
    low: float | None = None
    high: float | None = None
    unit: str = ""
    reason: str | None = None

    def __post_init__(self) -> None:
        for number in (self.value, self.low, self.high):
            if number is not None and not isfinite(number):
                raise InvalidAnswer(f"{self.name} must have finite numbers, got {number}")
        if self.value is None:
            if not self.reason or self.low is not None or self.high is not None:
                raise InvalidAnswer(f"{self.name} has no value: it needs a reason and no interval")
        elif (self.low is None) != (self.high is None):
            raise InvalidAnswer(f"{self.name} needs both ends of its interval or none, got {self.low} and {self.high}")
        elif self.low is not None and self.high is not None and not self.low <= self.value <= self.high:
            raise InvalidAnswer(f"{self.name} must lie in its interval, got {self.value} in {self.low} to {self.high}")

    @classmethod
    def from_json(cls, name: str, obj: Mapping[str, object]) -> Self:
        """From the JSON form of a measure, `{"value", "low", "high", "unit", "reason"}`."""
        numbers = {}
        for key in ("value", "low", "high"):
            number = obj.get(key)
            if isinstance(number, bool) or not (number is None or isinstance(number, int | float)):
                raise InvalidAnswer(f"{name}: {key} must be a number or null, got {number!r}")
            numbers[key] = None if number is None else float(number)
        reason = obj.get("reason")
        return cls(
            name=name, unit=str(obj.get("unit") or ""), reason=None if reason is None else str(reason), **numbers
        )


@dataclass(frozen=True, kw_only=True)
class Evidence:
    """What a screen shows beside an item.

    Parameters
    ----------
    name : str
        Name of the measure in data.
    label : str
        A heading: "Mouth gape".
    text : str
        One line: "Mouth opens 124° (118–130°): medium or wide".
    plain_name : str
        For use within a sentence: "mouth gape".
    """

    name: str
    label: str
    text: str
    plain_name: str


def plain_name(name: str) -> str:
    """What a screen calls a measure; an unknown name is shown with spaces.

    >>> plain_name("gape_angle")
    'mouth gape'
    """
    return PLAIN_NAMES.get(name, name.replace("_", " "))


def measure_heading(name: str) -> str:
    """The same with a capital, for headings.

    >>> measure_heading("gape_angle"), measure_heading("other_one")
    ('Mouth gape', 'Other one')
    """
    plain = plain_name(name)
    return _HEADINGS.get(name, plain[:1].upper() + plain[1:])


def number_text(number: float, unit: str, *, with_unit: bool = True) -> str:
    """A number as a student reads it, with a true minus sign.

    >>> number_text(-12.4, "deg"), number_text(0.625, "share"), number_text(4.26, "mm")
    ('−12°', '0.62', '4.3 mm')
    """
    suffix, decimals = _UNITS.get(unit, (f" {unit}", 1))
    rounded = round(number, decimals) + 0.0  # adding 0.0 turns -0.0 into 0.0
    return f"{rounded:.{decimals}f}".replace("-", "−") + (suffix if with_unit else "")


def interval_text(value: EvidenceValue) -> str:
    """The interval as "118–130°", with "to" between numbers below zero; "" where none is known."""
    if value.low is None or value.high is None:
        return ""
    low, high = number_text(value.low, value.unit, with_unit=False), number_text(value.high, value.unit)
    return Said("{low} to {high}", low=low, high=high) if value.low < 0 else f"{low}–{high}"


def band_words(value: EvidenceValue, bands: Sequence[Band]) -> str:
    """The names of all bands that the interval reaches, in rising order, or the reason why there is no value.

    >>> bands = (Band(name="narrow", low=None, high=90), Band(name="medium", low=90, high=120),
    ...          Band(name="wide", low=120, high=None))
    >>> band_words(EvidenceValue(name="gape_angle", value=124, low=118, high=130, unit="deg"), bands)
    'medium or wide'
    """
    if value.value is None:
        return value.reason or ""
    low = value.value if value.low is None else value.low
    high = value.value if value.high is None else value.high
    names = [band.name for band in bands if band.meets(low, high)]
    if len(names) == len(bands) > 3:
        return TOO_WIDE
    if len(names) < 2:
        return names[0] if names else ""
    return Said("{first} or {last}", first=together(names[:-1], between=", "), last=names[-1])


def evidence_text(value: EvidenceValue, bands: Sequence[Band] = ()) -> str:
    """One line for the screen: number, interval and bands, or why it is unknown.

    >>> evidence_text(EvidenceValue(name="gape_angle", value=None, unit="deg", reason="the mouth corner is not placed"))
    'Mouth gape unknown: the mouth corner is not placed'
    """
    heading = measure_heading(value.name)
    if value.value is None:
        return Said("{measure} unknown: {reason}", measure=heading, reason=value.reason)
    number: str = number_text(value.value, value.unit)
    if value.unit == "% of face size":
        number = Said("{number} of the size of the face", number=number)
    interval = interval_text(value)
    if interval:
        number = Said("{number} ({interval})", number=number, interval=interval)
    stem = _STEMS.get(value.name)
    line = Said("{measure}: {number}", measure=heading, number=number) if stem is None else stem(number)
    words = band_words(value, bands)
    return Said("{line}: {words}", line=line, words=words) if words else line


def evidence_for(item: Item, values: Mapping[str, EvidenceValue], checklist: Checklist) -> tuple[Evidence, ...]:
    """The evidence lines of one item, one for each measure it names, in that order; measures not taken are told too."""
    return tuple(_evidence(name, values.get(name), checklist.bands.get(name, ())) for name in item.evidence)


def _evidence(name: str, value: EvidenceValue | None, bands: Sequence[Band]) -> Evidence:
    shown = value or EvidenceValue(name=name, value=None, reason=Said("not measured yet"))
    return Evidence(
        name=name, label=measure_heading(name), text=evidence_text(shown, bands), plain_name=plain_name(name)
    )
