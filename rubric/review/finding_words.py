"""Findings in words: what was answered and how it compares, never a verdict and never a name."""

from collections.abc import Callable, Mapping
from types import MappingProxyType

from rubric.answers import Answer
from rubric.evidence import plain_name
from rubric.review.findings import Finding, FindingKind
from rubric.said import Said, together
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
        return together([text, Said("Most given instead: {answer}.", answer=ANSWER_WORDS[Answer(most_given)])])
    return text


def finding_interval(finding: Finding) -> str:
    """The interval in words, such as "between 14 and 26 percentage points"; "" where there is none."""
    low, high = finding.low, finding.high
    if low is None or high is None:
        return ""
    if finding.unit == "share" and finding.kind == FindingKind.FOLLOWS_NUMBER:
        return Said("between {low} and {high}", low=_percent(low), high=_percent(high))
    if finding.unit == "share":
        return Said("between {low:.0f} and {high:.0f} percentage points", low=100 * low, high=100 * high)
    if finding.unit == "deg":
        return Said("between {low} and {high}", low=f"{low:+.1f}°", high=f"{high:+.1f}°")
    return Said("between {low} and {high}", low=f"{low:.2f}", high=f"{high:.2f}")


def _percent(share: float | None) -> str:
    return "–" if share is None else f"{100 * share:.0f} %"


def _angle(value: float, unit: str) -> str:
    return f"{abs(value):.0f}°" if unit == "deg" else f"{abs(value):.1f} {unit}"


#: What compares a share here with the one elsewhere.
_SHARES: Mapping[FindingKind, Said] = MappingProxyType(
    {
        FindingKind.ITEM: Said(
            "{here} of the answers to this sign differ from the key, against {elsewhere} to the other signs on the same "
            "photos."
        ),
        FindingKind.PHOTO: Said(
            "{here} of the answers about this photo differ from the key, against {elsewhere} about the other photos."
        ),
        FindingKind.ITEM_ON_PHOTO: Said(
            "{here} of the class differ from the key on this sign in this photo; from the sign and the photo elsewhere "
            "{elsewhere} would be expected."
        ),
        FindingKind.OVER_CLAIMING: Said(
            "Where the key holds that a photo cannot tell, {here} of the answers say seen or not seen; where it can tell, "
            "{elsewhere} differ from it."
        ),
        FindingKind.STUDENT_OVER_CLAIMS: Said(
            "Says seen or not seen in {here} of the answers where the key holds that the photo cannot tell; the others do "
            "so in {elsewhere}."
        ),
        FindingKind.STUDENT_UNDER_CLAIMS: Said(
            "Says can't tell in {here} of the answers where the key can tell; the others do so in {elsewhere}."
        ),
    }
)


def _shares(finding: Finding) -> Said:
    return Said(_SHARES[finding.kind], here=_percent(finding.here), elsewhere=_percent(finding.elsewhere))


def _reading(finding: Finding, wider: Said, narrower: Said, larger: Said, smaller: Said) -> Said:
    more, less = (wider, narrower) if finding.measure == "gape_angle" else (larger, smaller)
    return Said(
        more if finding.value > 0 else less,
        measure=plain_name(finding.measure or ""),
        size=_angle(finding.value, finding.unit),
    )


def _class_angle(finding: Finding) -> Said:
    return _reading(
        finding,
        Said("The class reads the {measure} {size} wider than the key, on average."),
        Said("The class reads the {measure} {size} narrower than the key, on average."),
        Said("The class reads the {measure} {size} larger than the key, on average."),
        Said("The class reads the {measure} {size} smaller than the key, on average."),
    )


def _student_angle(finding: Finding) -> Said:
    return _reading(
        finding,
        Said("Reads the {measure} {size} wider than the others on the same photos, on average."),
        Said("Reads the {measure} {size} narrower than the others on the same photos, on average."),
        Said("Reads the {measure} {size} larger than the others on the same photos, on average."),
        Said("Reads the {measure} {size} smaller than the others on the same photos, on average."),
    )


def _change(finding: Finding) -> Said:
    share = _percent(abs(finding.value))
    if finding.value > 0:
        return Said("The second look brought answers to the key: {share} of all, on balance.", share=share)
    return Said("The second look took answers away from the key: {share} of all, on balance.", share=share)


def _halo(finding: Finding) -> Said:
    return Said(
        "Signs of halo: the answers about one photo go together more than those of the others do, as if one impression "
        "coloured them all (mean correlation {value:.2f}). Look at the signs one by one, each with its own question.",
        value=finding.value,
    )


def _follows(finding: Finding) -> Said:
    share = _percent(finding.value)
    if finding.student:
        moved = Said(
            "Moved {share} of the answers to what the measured number suggests, where the key says otherwise.",
            share=share,
        )
    else:
        moved = Said(
            "The class moved {share} of the answers to what the measured number suggests, where the key says otherwise.",
            share=share,
        )
    return together([moved, Said("The number bears on the sign; it does not answer for it.")])


_TEXTS: Mapping[FindingKind, Callable[[Finding], Said]] = MappingProxyType(
    {
        **dict.fromkeys(_SHARES, _shares),
        FindingKind.CLASS_READS_OFF: _class_angle,
        FindingKind.STUDENT_READS_OFF: _student_angle,
        FindingKind.CHANGE_OF_MIND: _change,
        FindingKind.HALO: _halo,
        FindingKind.FOLLOWS_NUMBER: _follows,
    }
)

_WITH_ANSWER = {FindingKind.ITEM, FindingKind.PHOTO, FindingKind.ITEM_ON_PHOTO, FindingKind.OVER_CLAIMING}
