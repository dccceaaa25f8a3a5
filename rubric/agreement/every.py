"""Every statistic of one ratings file, and their JSON form."""

from collections.abc import Mapping, Sequence

from rubric.agreement.bland_altman import BlandAltman, bland_altman
from rubric.agreement.chance import fleiss_kappa, gwet_ac1
from rubric.agreement.coding import CodedTable, Rating, Table, coded, numbers
from rubric.agreement.cohen import cohen_kappa
from rubric.agreement.icc import ICC_NAMES, icc
from rubric.agreement.krippendorff import Level, krippendorff_alpha
from rubric.agreement.percent import percent_agreement
from rubric.errors import InvalidRatings
from rubric.estimates import Agreement
from rubric.said import Said

Results = Mapping[str, Agreement | BlandAltman]

_OF_CATEGORIES = ("percent_agreement", "cohen_kappa", "fleiss_kappa", "krippendorff_alpha", "gwet_ac1")

#: Items times different values that are counted at most, so that memory holds them.
_MOST_COUNTS = 20_000_000

_FIELDS = ("value", "low", "high", "n_items", "n_raters", "reason")


def every_statistic(table: Table, level: Level = "nominal", order: Sequence[str] | None = None) -> Results:
    """Each statistic by name, in the order of the command line's output.

    Where all ratings are numbers, the intraclass correlations come too, and Bland-Altman. Only alpha uses the level: the
    others compare categories.

    Parameters
    ----------
    table : rows of text or None
    level : "nominal", "ordinal" or "interval"
    order : sequence of str, for ordinal labels
        All labels from low to high.

    Raises
    ------
    InvalidRatings
        For labels that the level or the order does not allow.
    """
    readings = _as_numbers(table)
    if level == "interval" and readings is None:
        numbers(table)  # says which cell is no number
    if level == "ordinal" and readings is None and order is None:
        raise InvalidRatings("ordinal labels need their order, from low to high: --order low,middle,high")
    rows = table if readings is None or order else readings
    ratings = _in_order(rows, order)
    results: dict[str, Agreement | BlandAltman] = dict.fromkeys(_OF_CATEGORIES, _too_many(ratings))
    if len(ratings.codes) * len(ratings.categories) <= _MOST_COUNTS:
        results["percent_agreement"] = percent_agreement(ratings)
        results["cohen_kappa"] = cohen_kappa(ratings)
        results["fleiss_kappa"] = fleiss_kappa(ratings)
        if level != "interval":
            results["krippendorff_alpha"] = krippendorff_alpha(ratings, level)
        results["gwet_ac1"] = gwet_ac1(ratings)
    if readings is not None and level == "interval":
        results["krippendorff_alpha"] = krippendorff_alpha(readings, level)
    if readings is not None:
        results.update({name: icc(readings, name) for name in ICC_NAMES})
        results["bland_altman"] = bland_altman(readings)
    return results


def statistics_json(results: Results) -> dict[str, dict[str, object]]:
    """`{"statistic": {"value", "low", "high", "n_items", "n_raters", "reason"}}`, with `limits` for Bland-Altman."""
    entries: dict[str, dict[str, object]] = {}
    for name, result in results.items():
        main = result.bias if isinstance(result, BlandAltman) else result
        entries[name] = {field: getattr(main, field) for field in _FIELDS}
        if isinstance(result, BlandAltman):
            entries[name]["limits"] = {
                end: {field: getattr(limit, field) for field in ("value", "low", "high")}
                for end, limit in (("lower", result.lower), ("upper", result.upper))
            }
    return entries


def _too_many(ratings: CodedTable) -> Agreement:
    n_items, n_values = len(ratings.codes), len(ratings.categories)
    reason = Said(
        "{n_items} items with {n_values} different values are too many to count as categories; round the numbers",
        n_items=n_items,
        n_values=n_values,
    )
    return Agreement(value=None, n_items=n_items, n_raters=ratings.n_raters, reason=reason)


def _as_numbers(table: Table) -> list[list[Rating]] | None:
    """The table with numbers for text, blanks as None; None where some cell is no number, or all are blank."""
    try:
        values = numbers(table)
    except InvalidRatings:
        return None
    rows = [[None if value != value else value for value in row] for row in values.tolist()]
    return rows if any(value is not None for row in rows for value in row) else None


def _in_order(rows: Table, order: Sequence[str] | None) -> CodedTable:
    """The categories in their order, or as rising numbers; of labels without an order as they come."""
    if order is not None:
        return coded(rows, order)
    used = {cell for row in rows for cell in row if isinstance(cell, float)}
    return coded(rows, sorted(used) or None)
