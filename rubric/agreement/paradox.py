"""Kappa and AC1 side by side, and a sentence on why they part."""

from dataclasses import dataclass

import numpy as np

from rubric.agreement.chance import fleiss_kappa, gwet_ac1
from rubric.agreement.coding import CodedTable, Table, coded
from rubric.agreement.cohen import cohen_kappa
from rubric.estimates import Agreement
from rubric.said import Said

#: Own rule: a category that takes this share of all ratings is "nearly always" chosen.
NEARLY_ALWAYS = 0.8
#: Own rule: a difference that is worth a sentence.
APART = 0.2


#: Categories whose data word is not what people say.
_AS_SAID = {"cant_tell": Said("can't tell")}


@dataclass(frozen=True, kw_only=True)
class KappaAndAc1:
    """Both statistics of one table.

    Parameters
    ----------
    kappa, ac1 : Agreement
        Cohen's kappa for two raters, Fleiss' for more; Gwet's AC1.
    most_given : float or None
        The share of the category chosen most, 0 to 1; None without ratings.
    note : str
        Why they differ, where they do; "" where nothing needs saying.
    """

    kappa: Agreement
    ac1: Agreement
    most_given: float | None
    note: str


def kappa_and_ac1(table: Table | CodedTable) -> KappaAndAc1:
    """Both statistics, with a sentence where one category is nearly always chosen and they part.

    Kappa then takes most agreement for chance, so it falls towards 0 while nearly all ratings agree (Feinstein & Cicchetti
    1990, J Clin Epidemiol 43:543-549, from memory).

    Examples
    --------
    >>> rows = [["seen", "seen"]] * 118 + [["seen", "not_seen"]] * 5 + [["not_seen", "seen"]] * 2
    >>> both = kappa_and_ac1(rows)
    >>> round(both.kappa.value, 2), round(both.ac1.value, 2)
    (-0.02, 0.94)
    """
    ratings = coded(table)
    kappa = cohen_kappa(ratings) if ratings.n_raters == 2 else fleiss_kappa(ratings)
    ac1 = gwet_ac1(ratings)
    totals = ratings.counts().sum(axis=0)
    most = float(totals.max() / totals.sum()) if totals.sum() else None
    return KappaAndAc1(kappa=kappa, ac1=ac1, most_given=most, note=_note(kappa, ac1, most, _most_named(ratings)))


def _most_named(ratings: CodedTable) -> str:
    totals = ratings.counts().sum(axis=0)
    return str(ratings.categories[int(np.argmax(totals))]) if totals.sum() else ""


def _note(kappa: Agreement, ac1: Agreement, most: float | None, name: str) -> str:
    if most is None or most < NEARLY_ALWAYS or ac1.value is None:
        return ""
    shown = {"share": f"{100 * most:.0f} %", "category": _AS_SAID.get(name, name.replace("_", " "))}
    if kappa.value is None:
        return Said(
            "{share} of all answers are “{category}”, so kappa cannot be computed. AC1 does not break down there and can be "
            "read.",
            **shown,
        )
    if ac1.value - kappa.value < APART:
        return ""
    return Said(
        "{share} of all answers are “{category}”. Kappa then takes most of the agreement for chance and comes out low; AC1 "
        "does not. Read AC1 here, and how many agree.",
        **shown,
    )
