"""Keys by several experts: how far they agree, where they part, and a consensus key with who changed what.

An item on which the experts part is *disputed*: it may be shown and talked about, and grades nobody. They part where two who
answered it gave different answers, whatever they also accept; who left it out does not count.
"""

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from rubric.agreement import Agreement, CodedTable, KappaAndAc1, kappa_and_ac1, krippendorff_alpha, percent_agreement
from rubric.answers import Answer, KeyAnswer, ReferenceKey
from rubric.items import Checklist
from rubric.review.table import ANSWERS, BLANK, KeyTable
from rubric.scoring import answer_to

#: A photo's keys by expert.
Keys = Mapping[str, ReferenceKey]


@dataclass(frozen=True, kw_only=True)
class PanelItem:
    """One item on one photo, as the experts see it.

    Parameters
    ----------
    photo, item : str
    answers : mapping of expert to Answer
        Only who answered it.
    most_given : Answer or None
        None where two answers are given equally often.
    share : float
        Of those who answered, how many gave the answer most given, above 0 and up to 1.
    agreed : bool
        All who answered gave one answer.
    """

    photo: str
    item: str
    answers: Mapping[str, Answer]
    most_given: Answer | None
    share: float
    agreed: bool


@dataclass(frozen=True, kw_only=True)
class PanelReview:
    """The keys of a set by several experts.

    Parameters
    ----------
    experts : tuple of str
    items : tuple of PanelItem
        Photo by photo in the order of the checklist; the ask group stays out.
    percent, alpha : Agreement
    beyond_chance : KappaAndAc1
    disputed : mapping of photo id to frozenset of item ids
        For `rubric.review.table.key_table`.
    """

    experts: tuple[str, ...]
    items: tuple[PanelItem, ...]
    percent: Agreement
    beyond_chance: KappaAndAc1
    alpha: Agreement
    disputed: Mapping[str, frozenset[str]]


@dataclass(frozen=True, kw_only=True)
class KeyChange:
    """What one expert gave up for the consensus; None stands for no answer.

    Parameters
    ----------
    expert, item : str
    own, consensus : Answer or None
    """

    expert: str
    item: str
    own: Answer | None
    consensus: Answer | None


def review_panel(checklist: Checklist, keys: Mapping[str, Keys]) -> PanelReview:
    """Compare the experts' keys, by photo id and expert."""
    experts = tuple(dict.fromkeys(expert for by_expert in keys.values() for expert in by_expert))
    items = tuple(
        _panel_item(photo, item.id, by_expert)
        for photo, by_expert in keys.items()
        for item in checklist.items
        if item.visible and any(item.id in key.answers for key in by_expert.values())
    )
    codes = [
        [ANSWERS.index(item.answers[expert]) if expert in item.answers else BLANK for expert in experts]
        for item in items
    ]
    table = CodedTable(
        codes=np.array(codes, dtype=np.int32).reshape(len(items), len(experts)),
        categories=tuple(answer.value for answer in ANSWERS),
    )
    disputed = {photo: frozenset(one.item for one in items if one.photo == photo and not one.agreed) for photo in keys}
    return PanelReview(
        experts=experts,
        items=items,
        percent=percent_agreement(table),
        beyond_chance=kappa_and_ac1(table),
        alpha=krippendorff_alpha(table),
        disputed=MappingProxyType(disputed),
    )


def _panel_item(photo: str, item: str, keys: Keys) -> PanelItem:
    answers = {expert: key.answers[item].answer for expert, key in keys.items() if item in key.answers}
    ranked = Counter(answers.values()).most_common()
    tied = len(ranked) > 1 and ranked[0][1] == ranked[1][1]
    return PanelItem(
        photo=photo,
        item=item,
        answers=MappingProxyType(answers),
        most_given=None if tied else ranked[0][0],
        share=ranked[0][1] / len(answers),
        agreed=len(ranked) == 1,
    )


def expert_shares(panel: PanelReview, key: KeyTable) -> NDArray[np.float64]:
    """For `rubric.review.teach_next`: experts' share of the key's answer, shape (photos, items); 1 where none gave one."""
    shares = np.ones(key.answers.shape)
    for one in panel.items:
        if one.photo in key.photos and one.item in key.items:
            place = key.photos.index(one.photo), key.items.index(one.item)
            same = [ANSWERS.index(answer) == key.answers[place] for answer in one.answers.values()]
            shares[place] = sum(same) / len(same)
    return shares


def consensus_key(keys: Keys) -> ReferenceKey:
    """A key to begin with: the phase and view most given, and the answers on which all agree.

    An answer keeps all reasons that the experts gave, the other answers that all of them accept, and the first spot. Items on which
    they part are left out, for the experts to talk about.

    Raises
    ------
    ValueError
        Without a key.
    """
    if not keys:
        raise ValueError("a consensus needs at least one expert's key, got none")
    items = dict.fromkeys(item for key in keys.values() for item in key.answers)
    merged = {item: _merged([key.answers[item] for key in keys.values() if item in key.answers]) for item in items}
    return ReferenceKey(
        phase=Counter(key.phase for key in keys.values()).most_common(1)[0][0],
        view=Counter(key.view for key in keys.values()).most_common(1)[0][0],
        answers={item: answer for item, answer in merged.items() if answer is not None},
    )


def _merged(answers: list[KeyAnswer]) -> KeyAnswer | None:
    if len({one.answer for one in answers}) > 1:
        return None
    return KeyAnswer(
        answer=answers[0].answer,
        why=" ".join(dict.fromkeys(one.why.strip() for one in answers if one.why.strip())),
        accepted=frozenset.intersection(*(one.accepted for one in answers)),
        spot=next((one.spot for one in answers if one.spot is not None), None),
        settles=next((one.settles for one in answers if one.settles is not None), None),
    )


def key_changes(keys: Keys, consensus: ReferenceKey) -> tuple[KeyChange, ...]:
    """Who changed what: each expert's answers that differ from the consensus, expert by expert."""
    return tuple(
        KeyChange(expert=expert, item=item, own=answer_to(key, item), consensus=answer_to(consensus, item))
        for expert, key in keys.items()
        for item in dict.fromkeys([*key.answers, *consensus.answers])
        if answer_to(key, item) != answer_to(consensus, item)
    )
