"""Findings in words: what was answered and how it compares, never a verdict and never a name."""

from collections.abc import Callable, Mapping
from types import MappingProxyType

from rubric.answers import Answer
from rubric.evidence import plain_name
from rubric.review.findings import Finding, FindingKind
from rubric.words import ANSWER_WORDS


def finding_text(finding: Finding, *, most_given: str | None = None) -> str:
    """One or two sentences on a finding. Item, photo and student are named by whoever shows it.

    Parameters
    ----------
    most_given : str or None
        The answer most given instead, in data words, as `most_given_instead` tells it.

    Examples
    --------
    >>> finding = Finding(kind=FindingKind.CHANGE_OF_MIND, value=0.04, low=0.02, high=0.06, unit="share", p_value=0.0, n=400)
    >>> finding_text(finding)
    'The second look brought answers to the key: 4 % of all, on balance.'
    """
    text = _TEXTS[finding.kind](finding)
    if most_given is not None and finding.kind in _WITH_ANSWER:
        text += f" Most given instead: {ANSWER_WORDS[Answer(most_given)]}."
    return text


def finding_interval(finding: Finding) -> str:
    """The interval in words, such as "14 to 26 percentage points more"; "" where there is none."""
    if finding.low is None or finding.high is None:
        return ""
    if finding.unit == "share" and finding.kind == FindingKind.FOLLOWS_NUMBER:
        return f"between {_percent(finding.low)} and {_percent(finding.high)}"
    if finding.unit == "share":
        return f"between {100 * finding.low:.0f} and {100 * finding.high:.0f} percentage points"
    if finding.unit == "deg":
        return f"between {finding.low:+.1f}° and {finding.high:+.1f}°"
    return f"between {finding.low:.2f} and {finding.high:.2f}"


def _percent(share: float | None) -> str:
    return "–" if share is None else f"{100 * share:.0f} %"


def _angle(value: float, unit: str) -> str:
    return f"{abs(value):.0f}°" if unit == "deg" else f"{abs(value):.1f} {unit}"


def _way(finding: Finding) -> str:
    more, less = ("wider", "narrower") if finding.measure == "gape_angle" else ("larger", "smaller")
    return more if finding.value > 0 else less


def _item(finding: Finding) -> str:
    return (
        f"{_percent(finding.here)} of the answers to this sign differ from the key, against "
        f"{_percent(finding.elsewhere)} to the other signs on the same photos."
    )


def _photo(finding: Finding) -> str:
    return (
        f"{_percent(finding.here)} of the answers about this photo differ from the key, against "
        f"{_percent(finding.elsewhere)} about the other photos."
    )


def _spot(finding: Finding) -> str:
    return (
        f"{_percent(finding.here)} of the class differ from the key on this sign in this photo; from the sign and the photo "
        f"elsewhere {_percent(finding.elsewhere)} would be expected."
    )


def _over_claiming(finding: Finding) -> str:
    return (
        f"Where the key holds that a photo cannot tell, {_percent(finding.here)} of the answers say seen or not seen; where it "
        f"can tell, {_percent(finding.elsewhere)} differ from it."
    )


def _student_over(finding: Finding) -> str:
    return (
        f"Says seen or not seen in {_percent(finding.here)} of the answers where the key holds that the photo cannot tell; the "
        f"others do so in {_percent(finding.elsewhere)}."
    )


def _student_under(finding: Finding) -> str:
    return (
        f"Says can't tell in {_percent(finding.here)} of the answers where the key can tell; the others do so in "
        f"{_percent(finding.elsewhere)}."
    )


def _class_angle(finding: Finding) -> str:
    name = plain_name(finding.measure or "")
    return f"The class reads the {name} {_angle(finding.value, finding.unit)} {_way(finding)} than the key, on average."


def _student_angle(finding: Finding) -> str:
    name = plain_name(finding.measure or "")
    size = _angle(finding.value, finding.unit)
    return f"Reads the {name} {size} {_way(finding)} than the others on the same photos, on average."


def _change(finding: Finding) -> str:
    share = _percent(abs(finding.value))
    if finding.value > 0:
        return f"The second look brought answers to the key: {share} of all, on balance."
    return f"The second look took answers away from the key: {share} of all, on balance."


def _halo(finding: Finding) -> str:
    return (
        "Signs of halo: the answers about one photo go together more than those of the others do, as if one impression coloured "
        f"them all (mean correlation {finding.value:.2f}). Look at the signs one by one, each with its own question."
    )


def _follows(finding: Finding) -> str:
    who = "Moved" if finding.student else "The class moved"
    return (
        f"{who} {_percent(finding.value)} of the answers to what the measured number suggests, where the key says otherwise. "
        "The number bears on the sign; it does not answer for it."
    )


_TEXTS: Mapping[FindingKind, Callable[[Finding], str]] = MappingProxyType(
    {
        FindingKind.ITEM: _item,
        FindingKind.PHOTO: _photo,
        FindingKind.ITEM_ON_PHOTO: _spot,
        FindingKind.OVER_CLAIMING: _over_claiming,
        FindingKind.STUDENT_OVER_CLAIMS: _student_over,
        FindingKind.STUDENT_UNDER_CLAIMS: _student_under,
        FindingKind.CLASS_READS_OFF: _class_angle,
        FindingKind.STUDENT_READS_OFF: _student_angle,
        FindingKind.CHANGE_OF_MIND: _change,
        FindingKind.HALO: _halo,
        FindingKind.FOLLOWS_NUMBER: _follows,
    }
)

_WITH_ANSWER = {FindingKind.ITEM, FindingKind.PHOTO, FindingKind.ITEM_ON_PHOTO, FindingKind.OVER_CLAIMING}
