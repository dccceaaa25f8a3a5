"""What a finding is, when it is reported, and which kinds there are."""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np


class FindingKind(StrEnum):
    """What a finding is about."""

    ITEM = "item"
    PHOTO = "photo"
    ITEM_ON_PHOTO = "item_on_photo"
    OVER_CLAIMING = "over_claiming"
    STUDENT_OVER_CLAIMS = "student_over_claims"
    STUDENT_UNDER_CLAIMS = "student_under_claims"
    CLASS_READS_OFF = "class_reads_off"
    STUDENT_READS_OFF = "student_reads_off"
    CHANGE_OF_MIND = "change_of_mind"
    HALO = "halo"
    FOLLOWS_NUMBER = "follows_number"


@dataclass(frozen=True, kw_only=True)
class Rules:
    """When a finding is reported: this project's own, editable.

    Parameters
    ----------
    error_rate : float
        For the whole review of a class: how often anything at all may be reported where nothing is to be found.
    share, spot_share : float
        Least difference of shares for items, photos and students; for one item on one photo.
    ordinary_share : float
        By how much more often than the others anybody may say more, or less, than a photo shows: students ordinarily differ.
    class_deg, student_deg : float
        Least bias of an angle of the class against the key, and of a student against the class.
    net_change : float
        Least net share of answers that the second look brought to the key or away from it.
    halo : float
        Least mean correlation within photos.
    followed : float
        Least share of answers that went to what the number suggests.
    """

    error_rate: float = 0.05
    share: float = 0.10
    spot_share: float = 0.25
    ordinary_share: float = 0.05
    class_deg: float = 3.0
    student_deg: float = 4.0
    net_change: float = 0.02
    halo: float = 0.10
    followed: float = 0.25


@dataclass(frozen=True, kw_only=True)
class Finding:
    """One thing that stands out.

    Parameters
    ----------
    kind : FindingKind
    item, photo, student, measure : str or None
        What it is about; None where it is about all of them.
    value, low, high : float or None
        How far it stands out, with a 95 % interval (not corrected for the number of tests): a difference of shares, degrees, or a
        correlation. low and high are None where no formula holds.
    here, elsewhere : float or None
        The two shares that `value` compares, where it does.
    unit : str
        "share", "deg" or "correlation".
    p_value : float
        After Holm's correction within the kind.
    n : int
        Answers, readings or changes that it rests on.
    """

    kind: FindingKind
    item: str | None = None
    photo: str | None = None
    student: str | None = None
    measure: str | None = None
    value: float
    low: float | None
    high: float | None
    here: float | None = None
    elsewhere: float | None = None
    unit: str
    p_value: float
    n: int


@dataclass(frozen=True, kw_only=True)
class Candidate:
    """A finding before its test is corrected, and whether it is large enough to be told."""

    finding: Finding
    large: bool


def or_none(value: float) -> float | None:
    return None if np.isnan(value) else float(value)
