"""The command `bench`."""

import argparse
import json
import sys
from collections.abc import Callable, Sequence
from dataclasses import asdict
from datetime import UTC, datetime
from functools import cache
from pathlib import Path
from typing import IO, TYPE_CHECKING, Any

from vision.bench import renders
from vision.errors import CannotDo

if TYPE_CHECKING:
    from vision.bench.calibration import Calibration
    from vision.bench.columns import Column

#: "general" shows what the side-view network adds, or takes: this version's detector without it.
COLUMNS = ("ours", "plain", "clicks", "general")
_DEFAULT_COLUMNS = COLUMNS[:3]


def add_bench(commands: "argparse._SubParsersAction[Any]") -> None:
    """Add the command `bench`."""
    command = commands.add_parser(
        "bench",
        help="how well landmarks and measures are found on rendered dolls with known truth",
        description=(
            "Renders dolls once (in an environment of its own, see --render-python), asks each column for the "
            f"landmarks and compares with the truth. {renders.SIZE_AND_TIME}; asking the detector takes another few "
            "minutes each time."
        ),
    )
    command.add_argument("--json", action="store_true", help="print every row as one JSON object")
    command.add_argument(
        "--markdown", action="store_true", help="print the tables over all pictures only, for a README"
    )
    command.add_argument("--n", type=_count, default=renders.DEFAULT_N, help="pictures (500)")
    command.add_argument("--seed", type=int, default=renders.DEFAULT_SEED, help="which set of pictures (20)")
    command.add_argument("--cache", type=Path, metavar="DIR", help="where the pictures are kept (the user's cache)")
    command.add_argument("--plots", type=Path, metavar="DIR", help="also write a PNG for each grouping")
    command.add_argument(
        "--calibrate", type=Path, metavar="OUT.json", help="also learn sigma factors for the first column"
    )
    command.add_argument(
        "--columns",
        type=_columns,
        default=_DEFAULT_COLUMNS,
        help="who is asked (ours,plain,clicks; there is also general)",
    )
    command.add_argument(
        "--render-python", metavar="PATH", help=f"the Python that renders (or {renders.RENDER_PYTHON})"
    )
    command.set_defaults(act=_bench)


def _bench(options: argparse.Namespace, out: IO[str]) -> None:
    folder = renders.cache_folder(options.cache, options.seed)
    renders.make_pictures(folder, options.n, options.seed, options.render_python)
    pictures = renders.load_pictures(folder, options.n)
    out.write(report(options, pictures, columns_of(options.columns, options.seed)))


def report(options: argparse.Namespace, pictures: Sequence[renders.BenchPicture], columns: "Sequence[Column]") -> str:
    """Run the bench, write what the options ask for, and return what is to be printed."""
    from vision.bench.markdown import as_markdown, calibration_as_markdown  # late: statistics take a second to load
    from vision.bench.tables import BenchResult, run_bench, summarise, to_json

    kept = _keeping(columns)
    cases = run_bench(pictures, kept, said=_progress)
    today = datetime.now(UTC).date().isoformat()
    result = BenchResult(seed=options.seed, n=len(pictures), date=today, rows=summarise(cases))
    if options.plots is not None:
        from vision.bench.plots import draw_plots

        draw_plots(result, options.plots)
    found = None if options.calibrate is None else _calibrate(options.calibrate, pictures, kept[0])
    if options.json:
        more = {} if found is None else {"calibration": asdict(found)}
        return json.dumps(to_json(result) | more, allow_nan=False) + "\n"
    tables = as_markdown(result, every_grouping=not options.markdown)
    return tables if found is None else f"{tables}\n{calibration_as_markdown(found)}"


def columns_of(names: Sequence[str], seed: int) -> "tuple[Column, ...]":
    """The columns of these names."""
    from vision.bench.columns import clicks_column, detector_column, general_detector, plain_column
    from vision.detect import default_detector

    @cache
    def plain_models() -> Any:
        from vision.mediapipe_models import MediaPipeModels

        return MediaPipeModels()

    made: dict[str, Callable[[], Column]] = {
        "ours": lambda: detector_column("ours", default_detector),
        "plain": lambda: plain_column(plain_models),
        "clicks": lambda: clicks_column(seed),
        "general": lambda: detector_column("general", lambda: general_detector(plain_models())),
    }
    return tuple(made[name]() for name in names)


def _keeping(columns: "Sequence[Column]") -> "tuple[Column, ...]":
    """Columns that answer each picture once, however often they are asked."""
    from vision.bench.columns import Column

    return tuple(Column(name=column.name, answer=cache(column.answer)) for column in columns)


def _calibrate(path: Path, pictures: Sequence[renders.BenchPicture], column: "Column") -> "Calibration":
    from vision.bench.calibration import calibrate

    found = calibrate(pictures, [column.answer(picture) for picture in pictures], column.name)
    try:
        path.write_text(json.dumps(asdict(found), allow_nan=False, indent=2) + "\n", encoding="utf-8")
    except OSError as fault:
        raise CannotDo(f"The factors cannot be written to {path}: {fault.strerror or fault}.") from fault
    return found


def _progress(text: str) -> None:
    if sys.stderr.isatty():
        sys.stderr.write(f"{text}\n")


def _count(text: str) -> int:
    number = int(text)
    if number < 1:
        raise argparse.ArgumentTypeError(f"must be 1 or more, got {number}")
    return number


def _columns(text: str) -> tuple[str, ...]:
    names = tuple(text.split(","))
    unknown = [name for name in names if name not in COLUMNS]
    if unknown or not names:
        raise argparse.ArgumentTypeError(f"must be some of {','.join(COLUMNS)}, got {text!r}")
    return names
