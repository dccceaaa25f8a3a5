"""`python -m rubric agreement RATINGS.csv [--level LEVEL] [--order A,B,C] [--json]`: how well raters agree.

Exit code 0, or 2 with one sentence on stderr for input that breaks a rule.
"""

import argparse
import json
import sys
from collections.abc import Sequence
from typing import NoReturn

from rubric.agreement.bland_altman import BlandAltman
from rubric.agreement.every import Results, every_statistic, statistics_json
from rubric.checklist import shipped_checklist
from rubric.errors import InvalidRatings, RubricError
from rubric.estimates import Agreement
from rubric.ratings import read_ratings, without_ask_items

_HEADINGS = {
    "percent_agreement": "Percent agreement",
    "cohen_kappa": "Cohen's kappa",
    "fleiss_kappa": "Fleiss' kappa",
    "krippendorff_alpha": "Krippendorff's alpha",
    "gwet_ac1": "Gwet's AC1",
    "icc_1_1": "ICC(1,1)",
    "icc_2_1": "ICC(2,1)",
    "icc_3_1": "ICC(3,1)",
    "icc_1_k": "ICC(1,k)",
    "icc_2_k": "ICC(2,k)",
    "icc_3_k": "ICC(3,k)",
    "bland_altman": "Bland-Altman bias",
}


class _Parser(argparse.ArgumentParser):
    def error(self, message: str) -> NoReturn:
        self.exit(2, f"{message} (see {self.prog} --help)\n")


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command line and return its exit code."""
    options = _parser().parse_args(arguments)
    try:
        ratings = read_ratings(options.ratings)
        table = without_ask_items(ratings, shipped_checklist())
        results = every_statistic(table.rows, options.level, _order(options.order, options.level))
    except RubricError as error:
        print(error, file=sys.stderr)
        return 2
    kept = set(table.items)
    left_out = [item for item in ratings.items if item not in kept]
    if left_out:
        print(f"Left out, because no photo shows it: {', '.join(left_out)}.", file=sys.stderr)
    print(json.dumps(statistics_json(results), allow_nan=False) if options.json else _as_text(results))
    return 0


def _parser() -> argparse.ArgumentParser:
    parser = _Parser(prog="python -m rubric", description="How well raters agree about visible signs.")
    commands = parser.add_subparsers(required=True, metavar="COMMAND", parser_class=_Parser)
    agreement = commands.add_parser("agreement", help="every statistic of agreement of a ratings table")
    agreement.add_argument(
        "ratings", metavar="RATINGS.csv", help="UTF-8, a column item and one column a rater; an empty cell is a blank"
    )
    agreement.add_argument(
        "--level",
        choices=("nominal", "ordinal", "interval"),
        default="nominal",
        help="what Krippendorff's alpha takes the ratings for: labels (the default), labels in order, or numbers",
    )
    agreement.add_argument("--order", metavar="A,B,C", help="the labels from low to high, for --level ordinal")
    agreement.add_argument("--json", action="store_true", help="print one JSON object instead of a table")
    return parser


def _order(text: str | None, level: str) -> tuple[str, ...] | None:
    if text is None:
        return None
    if level != "ordinal":
        raise InvalidRatings(f"an order goes with --level ordinal, got {level}")
    labels = tuple(label.strip().casefold() for label in text.split(","))
    if len(labels) < 2 or not all(labels) or len(set(labels)) < len(labels):
        raise InvalidRatings(f"an order names two labels or more, each once, with commas between, got {text[:80]}")
    return labels


def _as_text(results: Results) -> str:
    lines = [f"{'':<22}{'value':>9}{'95 % interval':>22}{'items':>8}{'raters':>8}"]
    for key, result in results.items():
        main = result.bias if isinstance(result, BlandAltman) else result
        lines.append(f"{_line(_HEADINGS[key], main)}{main.n_items:>8}{main.n_raters:>8}")
        if isinstance(result, BlandAltman) and result.lower.value is not None:
            lines += [_line("  lower limit", result.lower), _line("  upper limit", result.upper)]
    for key, result in results.items():
        reason = result.bias.reason if isinstance(result, BlandAltman) else result.reason
        lines += [f"{_HEADINGS[key]}: {reason}."] if reason else []
    lines.append("1 is full agreement, for Bland-Altman 0. Blanks are left out; can't tell counts as an answer.")
    return "\n".join(lines)


def _line(heading: str, result: Agreement) -> str:
    low, high = _number(result.low), _number(result.high)
    interval = f"{low} to {high}" if low and high else "–"
    return f"{heading:<22}{_number(result.value) or '–':>9}{interval:>22}"


def _number(value: float | None) -> str:
    return "" if value is None else f"{value + 0.0:.3f}"


if __name__ == "__main__":
    sys.exit(main())
