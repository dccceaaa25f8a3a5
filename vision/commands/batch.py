"""`measure --out FILE.jsonl`: many photos, on several processes or a Dask cluster, going on where it was cut off."""

import argparse
import time
from collections.abc import Iterator
from pathlib import Path
from typing import IO

from vision.commands.batch_results import ResultsFile, photo_files
from vision.commands.batch_workers import Said, by_cluster, by_processes
from vision.errors import CannotDo

_TELL_EVERY_SECONDS = 5.0


def add_batch_options(parser: argparse.ArgumentParser) -> None:
    """Add what `measure` takes for a batch."""
    parser.add_argument(
        "--out", type=Path, metavar="FILE.jsonl", help="for many photos or folders: append a line for each; goes on"
    )
    parser.add_argument("--processes", type=int, metavar="N", help="with --out: processes of this machine (1)")
    parser.add_argument("--scheduler", metavar="ADDRESS", help="with --out: a running Dask scheduler, tcp://host:8786")


def run_batch(options: argparse.Namespace, err: IO[str]) -> int:
    """Measure what has no line yet.

    Returns
    -------
    int
        0, or 1 where some photo could not be measured this time.

    Raises
    ------
    CannotDo
        For options that do not go together, and where the results cannot be written.
    """
    if options.landmarks is not None or options.overlay is not None or options.box is not None or options.json:
        raise CannotDo("--out goes without --landmarks, --box, --overlay and --json.")
    if options.processes is not None and options.scheduler is not None:
        raise CannotDo("Either --processes or --scheduler.")
    if options.processes is not None and options.processes < 1:
        raise CannotDo(f"--processes must be 1 or more, got {options.processes}.")
    files = photo_files(options.photos)
    with ResultsFile(options.out) as results:
        todo = [file for file in files if str(file) not in results.done]
        if len(todo) < len(files):
            err.write(f"{len(files) - len(todo)} of {len(files)} photos have their line already.\n")
        bad = _fill(results, _measured(todo, options), len(todo), err)
    if bad:
        err.write(f"{bad} of {len(todo)} photos could not be measured; their lines say why.\n")
    return 1 if bad else 0


def _measured(todo: list[Path], options: argparse.Namespace) -> Iterator[tuple[Path, Said]]:
    if options.scheduler is not None:
        return by_cluster(todo, options.scheduler)
    return by_processes(todo, options.processes or 1)


def _fill(results: ResultsFile, measured: Iterator[tuple[Path, Said]], most: int, err: IO[str]) -> int:
    """Write each line as it comes and tell how far it is; returns how many photos could not be measured."""
    bad, told = 0, time.monotonic()
    for number, (file, said) in enumerate(measured, start=1):
        results.add(file, said)
        bad += "error" in said
        if time.monotonic() - told > _TELL_EVERY_SECONDS:
            told = time.monotonic()
            err.write(f"{number} of {most} photos\n")
            err.flush()
    return bad
