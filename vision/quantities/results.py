"""What a measurement comes to: a value with its 95 % interval, or the reason why there is none."""

from dataclasses import dataclass
from math import isfinite

from vision.said import Said

#: How many standard deviations a 95 % interval reaches to either side.
Z95 = 1.96

#: name -> unit, in the order in which measures are listed everywhere.
UNITS: dict[str, str] = {
    "gape_angle": "deg",
    "alignment_angle": "deg",
    "head_deviation": "deg",
    "line_offset": "%",
    "nose_gap": "% of face size",
    "chin_gap": "% of face size",
    "nose_gap_mm": "mm",
    "chin_gap_mm": "mm",
    "areola_balance": "share",
    "mouth_opening": "mm",
}

MEASURE_NAMES: tuple[str, ...] = tuple(UNITS)


@dataclass(frozen=True, kw_only=True)
class Measure:
    """A value with its 95 % interval.

    Parameters
    ----------
    name, unit : str
        As in `UNITS`.
    value, low, high : float
        In that unit, `low <= value <= high`, all finite.
    sd : float
        Standard deviation before the interval was cut to what is possible (angles to 0–180, lengths to 0 and above).
    notes : tuple of str
        What a reader should know about this value, one sentence each.

    Raises
    ------
    ValueError
        For a number that is not finite or an interval that does not hold the value.
    """

    name: str
    value: float
    low: float
    high: float
    unit: str
    sd: float
    notes: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if not all(isfinite(number) for number in (self.value, self.low, self.high, self.sd)):
            raise ValueError(
                f"{self.name} must have finite numbers, got {self.value}, {self.low}, {self.high}, {self.sd}"
            )
        if not (self.low <= self.value <= self.high and self.sd >= 0):
            raise ValueError(
                f"{self.name}: low <= value <= high, got {self.low}, {self.value}, {self.high}, sd {self.sd}"
            )


@dataclass(frozen=True, kw_only=True)
class NotMeasurable:
    """An expected absence: the reason is one sentence for a student."""

    name: str
    unit: str
    reason: str


Result = Measure | NotMeasurable


def not_measurable(name: str, reason: str) -> NotMeasurable:
    """Why a measure of `UNITS` has no value.

    >>> not_measurable("gape_angle", "Not placed: lower lip.").unit
    'deg'
    """
    return NotMeasurable(name=name, unit=UNITS[name], reason=reason)


NOWHERE = Said("The points lie where this cannot be worked out.")


def measured(
    name: str,
    value: float,
    sd: float,
    *,
    unit: str | None = None,
    low: float = float("-inf"),
    high: float = float("inf"),
    notes: tuple[str, ...] = (),
) -> Result:
    """The value with the interval value ± 1.96 sd, cut to `low` and `high`.

    >>> measured("gape_angle", 170.0, 10.0, low=0, high=180).high
    180.0
    >>> measured("gape_angle", 170.0, float("nan"), low=0, high=180).reason
    'The points lie where this cannot be worked out.'
    """
    unit = UNITS[name] if unit is None else unit
    value, sd = float(value), float(sd)
    ends = (value - Z95 * sd, value + Z95 * sd)
    if not (isfinite(sd) and all(isfinite(number) for number in (value, *ends))):
        return NotMeasurable(name=name, unit=unit, reason=NOWHERE)
    value = min(max(value, low), high)
    ends = (min(max(ends[0], low), value), max(min(ends[1], high), value))
    return Measure(name=name, value=value, low=float(ends[0]), high=float(ends[1]), unit=unit, sd=sd, notes=notes)


def measure_to_json(result: Result) -> dict[str, float | str | None]:
    """`{"value", "low", "high", "unit", "reason"}`: either numbers or a reason, the other is null."""
    if isinstance(result, NotMeasurable):
        return {"value": None, "low": None, "high": None, "unit": result.unit, "reason": result.reason}
    return {"value": result.value, "low": result.low, "high": result.high, "unit": result.unit, "reason": None}
