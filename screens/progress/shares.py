"""How one piece of own work stands to its key, in percent."""

from dataclasses import dataclass

from rubric.feedback import Outcome, compare_with_key
from rubric.items import Checklist
from screens.progress.own_work import OwnEntry

_SAME = frozenset({Outcome.SAME, Outcome.ACCEPTED})
_COMPARED = _SAME | {Outcome.DIFFERS, Outcome.OVER_CLAIMED, Outcome.UNDER_CLAIMED}


@dataclass(frozen=True, kw_only=True)
class Shares:
    """Percent of the signs that both answered on which the look and the key say the same; None without a key to see."""

    first_percent: float | None
    last_percent: float | None
    over_claimed: int | None


def shares_of(entry: OwnEntry, checklist: Checklist) -> Shares:
    """The first look and the one that counts; signs on which the experts part are left out."""
    if entry.key is None:
        return Shares(first_percent=None, last_percent=None, over_claimed=None)
    looks = []
    for round_ in (1, max(entry.done.sheets)):
        sheet = entry.done.sheets.get(round_)
        items = () if sheet is None else compare_with_key(checklist, sheet, entry.key.key, disputed=entry.parted).items
        looks.append([one.outcome for one in items if one.outcome in _COMPARED])
    first, last = looks
    return Shares(
        first_percent=_percent(first), last_percent=_percent(last), over_claimed=last.count(Outcome.OVER_CLAIMED)
    )


def _percent(outcomes: list[Outcome]) -> float | None:
    return 100 * sum(one in _SAME for one in outcomes) / len(outcomes) if outcomes else None
