"""Own measures and points beside the reference: how far apart, and what the uncertainty allows to say."""

from collections.abc import Mapping
from dataclasses import dataclass
from math import hypot, log, sqrt
from types import MappingProxyType

from rubric.evidence import PLAIN_NAMES, EvidenceValue, number_text, plain_name
from rubric.said import Said, together

#: 95 % of the distances between two clicks on the same place, in standard deviations of one coordinate's difference:
#: the quantile of a Rayleigh distribution, sqrt(-2 ln 0.05).
_RAYLEIGH_95 = sqrt(-2 * log(0.05))

#: To whom a sentence speaks.
YOUR, STUDENTS = Said("Your"), Said("The student's")

#: Half of the last decimal shown: differences below it read as none.
_SMALLEST = MappingProxyType({"deg": 0.5, "%": 0.5, "% of face size": 0.5, "mm": 0.05, "share": 0.005})


@dataclass(frozen=True, kw_only=True)
class MeasureFeedback:
    """One measure of the student beside the same measure from the reference points.

    Parameters
    ----------
    name : str
        Name of the measure in data.
    own, reference : EvidenceValue or None
        None where that side has no such measure at all.
    difference : float or None
        Own minus reference, in the measure's unit; None unless both have a value.
    text : str
        One or two sentences for the student.
    """

    name: str
    own: EvidenceValue | None
    reference: EvidenceValue | None
    difference: float | None
    text: str


@dataclass(frozen=True, kw_only=True)
class PointFeedback:
    """One landmark of the student beside the reference landmark.

    Parameters
    ----------
    name : str
        Id of the landmark.
    percent_of_face : float or None
        Distance in percent of the size of the face; None where it is not known.
    text : str
        One sentence for the student.
    """

    name: str
    percent_of_face: float | None
    text: str


def compare_measures(
    own: Mapping[str, EvidenceValue], reference: Mapping[str, EvidenceValue], *, whose: str = YOUR
) -> tuple[MeasureFeedback, ...]:
    """Set the student's measures beside the reference's, in the order of PLAIN_NAMES, other names after them.

    `whose` says to whom the sentences speak: YOUR to the student, STUDENTS to whoever reviews the work.

    The two are held apart only where their difference is larger than its own 95 % interval, built from both intervals
    with the ends that face each other (Zou & Donner 2008, Stat Med 27:1693-1702, from memory): the difference of a and
    b, a < b, is explained by uncertainty while ``b - a <= sqrt((a_high - a)**2 + (b - b_low)**2)``. Both come from one
    photo and share the error of the head's turn, so this is on the cautious side.
    """
    names = dict.fromkeys([*PLAIN_NAMES, *own, *reference])
    shown = [name for name in names if name in own or name in reference]
    return tuple(_measure_feedback(name, own.get(name), reference.get(name), whose) for name in shown)


def _measure_feedback(
    name: str, own: EvidenceValue | None, reference: EvidenceValue | None, whose: str
) -> MeasureFeedback:
    difference = None
    if own is None or own.value is None or reference is None or reference.value is None:
        text = _unknown_text(name, own, reference, whose)
    else:
        difference = own.value - reference.value
        text = _both_text(own, own.value, reference, reference.value, whose)
    return MeasureFeedback(name=name, own=own, reference=reference, difference=difference, text=text)


def _unknown_text(name: str, own: EvidenceValue | None, reference: EvidenceValue | None, whose: str) -> str:
    plain = plain_name(name)
    return together([_own_text(plain, own, whose), _key_text(plain, reference)])


def _own_text(plain: str, value: EvidenceValue | None, whose: str) -> str:
    if value is None:
        return Said("{whose} {measure} was not measured.", whose=whose, measure=plain)
    if value.value is None:
        return Said(
            "{whose} {measure} is unknown: {reason}", whose=whose, measure=plain, reason=_ended(value.reason or "")
        )
    return Said(
        "{whose} {measure} is {number}.", whose=whose, measure=plain, number=number_text(value.value, value.unit)
    )


def _key_text(plain: str, value: EvidenceValue | None) -> str:
    if value is None:
        return Said("The key's {measure} was not measured.", measure=plain)
    if value.value is None:
        return Said("The key's {measure} is unknown: {reason}", measure=plain, reason=_ended(value.reason or ""))
    return Said("The key's {measure} is {number}.", measure=plain, number=number_text(value.value, value.unit))


def _ended(reason: str) -> str:
    return reason if reason.endswith((".", "!", "?", "…")) else together([reason, ""], between=".")


def _both_text(own: EvidenceValue, mine: float, reference: EvidenceValue, theirs: float, whose: str) -> str:
    apart = abs(mine - theirs)
    shown = {"whose": whose, "own": number_text(mine, own.unit), "key": number_text(theirs, reference.unit)}
    if apart < _SMALLEST.get(own.unit, 0.05):
        return Said("{whose} {own} and the key's {key} do not differ in what is shown here.", **shown)
    shown["apart"] = number_text(apart, own.unit)
    explained = _explained(own, mine, reference, theirs)
    if explained is None:
        return Said(
            "{whose} {own} and the key's {key} differ by {apart}; no uncertainty is known, so it stays open whether the photo "
            "tells them apart.",
            **shown,
        )
    if apart <= explained:
        return Said(
            "{whose} {own} and the key's {key} differ by {apart}; with this uncertainty the photo cannot tell them apart.",
            **shown,
        )
    return Said(
        "{whose} {own} and the key's {key} differ by {apart}, more than the uncertainty of the two explains.", **shown
    )


def _explained(own: EvidenceValue, mine: float, reference: EvidenceValue, theirs: float) -> float | None:
    lower, lower_value, upper, upper_value = own, mine, reference, theirs
    if mine > theirs:
        lower, lower_value, upper, upper_value = reference, theirs, own, mine
    if lower.high is None or upper.low is None:
        return None
    return hypot(lower.high - lower_value, upper_value - upper.low)


def compare_points(
    percent_of_face: Mapping[str, float | None],
    *,
    names: Mapping[str, str] = MappingProxyType({}),
    sigma_percent: Mapping[str, float] = MappingProxyType({}),
    whose: str = YOUR,
) -> tuple[PointFeedback, ...]:
    """Put distances between own and reference points into words, in the order given.

    Parameters
    ----------
    percent_of_face : mapping of landmark id to float or None
        Distance in percent of the size of the face; None where there is no face to compare with or a point is missing.
    names : mapping of landmark id to str
        What the screen calls each; without an entry the id is shown with spaces.
    sigma_percent : mapping of landmark id to float
        Standard deviation of one coordinate of the difference, in percent of the size of the face, where it is known:
        sqrt(own sigma ** 2 + reference sigma ** 2). Two clicks on one place lie within 2.45 of them in 95 % of cases.
    whose : str
        As in `compare_measures`.
    """
    return tuple(
        PointFeedback(
            name=name,
            percent_of_face=percent,
            text=_point_text(names.get(name, name.replace("_", " ")), percent, sigma_percent.get(name), whose),
        )
        for name, percent in percent_of_face.items()
    )


def _point_text(plain: str, percent: float | None, sigma: float | None, whose: str) -> str:
    if percent is None:
        return Said("{whose} point for {point} cannot be compared with the key's.", whose=whose, point=plain)
    if sigma is None:
        return Said(
            "{whose} point for {point} lies {percent:.1f} % of the size of the face from the key's.",
            whose=whose,
            point=plain,
            percent=percent,
        )
    if percent <= _RAYLEIGH_95 * sigma:
        return Said(
            "{whose} point for {point} lies {percent:.1f} % of the size of the face from the key's, within what two careful "
            "clicks differ by.",
            whose=whose,
            point=plain,
            percent=percent,
        )
    return Said(
        "{whose} point for {point} lies {percent:.1f} % of the size of the face from the key's, more than two careful clicks "
        "usually differ by.",
        whose=whose,
        point=plain,
        percent=percent,
    )
