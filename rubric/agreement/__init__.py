"""How well raters agree: each statistic is a result with its interval, or the reason why it is undefined.

A table has one row an item and one column a rater. None, "" and NaN are blanks: missing, never a category. *Can't
tell* is a category like any other. The ask group stays out: `rubric.ratings.without_ask_items` drops it. Large tables
are handed over as `CodedTable`, an array of codes.
"""

from rubric.agreement.bland_altman import BlandAltman, bland_altman
from rubric.agreement.chance import fleiss_kappa, gwet_ac1
from rubric.agreement.coding import CodedTable, Rating, Table, coded, numbers
from rubric.agreement.cohen import Weights, cohen_kappa
from rubric.agreement.icc import ICC_NAMES, IccName, MeanSquares, icc, mean_squares
from rubric.agreement.krippendorff import Level, krippendorff_alpha
from rubric.agreement.measurement_error import smallest_detectable_change, standard_error_of_measurement
from rubric.agreement.paradox import KappaAndAc1, kappa_and_ac1
from rubric.agreement.percent import percent_agreement
from rubric.estimates import Agreement, Interval

__all__ = [
    "ICC_NAMES",
    "Agreement",
    "BlandAltman",
    "CodedTable",
    "IccName",
    "Interval",
    "KappaAndAc1",
    "Level",
    "MeanSquares",
    "Rating",
    "Table",
    "Weights",
    "bland_altman",
    "coded",
    "cohen_kappa",
    "fleiss_kappa",
    "gwet_ac1",
    "icc",
    "kappa_and_ac1",
    "krippendorff_alpha",
    "mean_squares",
    "numbers",
    "percent_agreement",
    "smallest_detectable_change",
    "standard_error_of_measurement",
]
