"""`python -m rubric agreement RATINGS.csv [--json]`: how well raters agree.

Exit code 0, or 2 with one sentence on stderr for input that breaks a rule.
"""

import argparse
import json
import sys
from collections.abc import Mapping, Sequence
from typing import NoReturn

from rubric.agreement import Agreement, cohen_kappa, percent_agreement
from rubric.checklist import shipped_checklist
from rubric.errors import RubricError
from rubric.ratings import read_ratings, without_ask_items

_HEADINGS = {"percent_agreement": "Percent agreement", "cohen_kappa": "Cohen's kappa"}


class _Parser(argparse.ArgumentParser):
    def error(self, message: str) -> NoReturn:
        self.exit(2, f"{message} (see {self.prog} --help)\n")


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command line and return its exit code."""
    options = _parser().parse_args(arguments)
    try:
        ratings = read_ratings(options.ratings)
    except RubricError as error:
        print(error, file=sys.stderr)
        return 2
    table = without_ask_items(ratings, shipped_checklist())
    left_out = [item for item in ratings.items if item not in table.items]
    if left_out:
        print(f"Left out, because no photo shows it: {', '.join(left_out)}.", file=sys.stderr)
    results = {"percent_agreement": percent_agreement(table.rows), "cohen_kappa": cohen_kappa(table.rows)}
    print(_as_json(results) if options.json else _as_text(results))
    return 0


def _parser() -> argparse.ArgumentParser:
    parser = _Parser(prog="python -m rubric", description="How well raters agree about visible signs.")
    commands = parser.add_subparsers(required=True, metavar="COMMAND", parser_class=_Parser)
    agreement = commands.add_parser("agreement", help="percent agreement and Cohen's kappa of a ratings table")
    agreement.add_argument(
        "ratings", metavar="RATINGS.csv", help="UTF-8, a column item and one column a rater; an empty cell is a blank"
    )
    agreement.add_argument("--json", action="store_true", help="print one JSON object instead of a table")
    return parser


def _as_json(results: Mapping[str, Agreement]) -> str:
    names = ("value", "low", "high", "n_items", "n_raters", "reason")
    return json.dumps(
        {key: {name: getattr(result, name) for name in names} for key, result in results.items()}, allow_nan=False
    )


def _as_text(results: Mapping[str, Agreement]) -> str:
    lines = [f"{'':<20}{'value':>8}{'95 % interval':>20}{'items':>8}{'raters':>8}"]
    for key, result in results.items():
        low, high = _number(result.low), _number(result.high)
        interval = f"{low} to {high}" if low and high else "–"
        value = _number(result.value) or "–"
        lines.append(f"{_HEADINGS[key]:<20}{value:>8}{interval:>20}{result.n_items:>8}{result.n_raters:>8}")
    lines += [f"{_HEADINGS[key]}: {result.reason}." for key, result in results.items() if result.reason]
    lines.append("1 is full agreement. Blanks are left out; can't tell counts as an answer.")
    return "\n".join(lines)


def _number(value: float | None) -> str:
    return "" if value is None else f"{value + 0.0:.3f}"


if __name__ == "__main__":
    sys.exit(main())
