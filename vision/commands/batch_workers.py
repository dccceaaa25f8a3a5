"""Where a batch is measured: processes of this machine, or the workers of a Dask cluster that is already running.

Both give `(file, what there is to say)` as it comes, in any order. Only so many photos are under way at once that the
memory stays small. A worker that dies takes its photo with it: that photo is tried again, and told as an error after
three deaths, since it may be what they died of.
"""

import multiprocessing
from collections import Counter, deque
from collections.abc import Callable, Generator, Iterable, Iterator, Mapping
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from functools import cache
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Any

from vision.errors import CannotDo

if TYPE_CHECKING:
    from vision.detect import Detector

Said = Mapping[str, Any]
Work = Callable[[str, bytes], Said]

MOST_DEATHS = 3
_AHEAD = 2


def measure_bytes(name: str, data: bytes) -> Said:
    """What `measure --json` says of a photo, or `{"photo", "error"}` where it is refused; runs in a worker."""
    from vision.commands.measuring import measured
    from vision.commands.output import as_json  # late: only workers need OpenCV and the models
    from vision.errors import UnreadablePhoto

    try:
        return as_json(measured(name, data, _detector()))
    except UnreadablePhoto as fault:
        return {"photo": name, "error": str(fault)}


@cache
def _detector() -> "Detector":
    import cv2

    from vision.detect import default_detector

    # One photo a process: more threads would only make the processes wait for one another.
    cv2.setNumThreads(1)
    return default_detector()


def _read(file: Path) -> bytes | Said:
    from vision.images import MAX_BYTES

    try:
        with file.open("rb") as opened:
            return opened.read(MAX_BYTES + 1)
    except OSError as fault:
        return {"photo": file.name, "error": f"{file.name} cannot be read: {fault.strerror or fault}."}


def _died(file: Path) -> Said:
    return {"photo": file.name, "error": f"{file.name} was given up: the process that measured it ended each time."}


def by_processes(files: Iterable[Path], processes: int, work: Work = measure_bytes) -> Iterator[tuple[Path, Said]]:
    """Measure in `processes` processes of this machine."""
    waiting, suspects = deque(files), deque[Path]()
    deaths: Counter[Path] = Counter()
    while waiting or suspects:
        # After a death each photo that was under way goes alone, so that only the one at fault is blamed.
        alone = bool(suspects)
        n = 1 if alone else processes
        with ProcessPoolExecutor(n, multiprocessing.get_context("spawn")) as pool:
            lost = yield from _through(pool, suspects if alone else waiting, 1 if alone else _AHEAD * n, work)
        if len(lost) == 1:
            deaths.update(lost)
        for file in lost:
            if deaths[file] >= MOST_DEATHS:
                yield file, _died(file)
            else:
                suspects.append(file)


def _through(
    pool: ProcessPoolExecutor, waiting: deque[Path], most: int, work: Work
) -> Generator[tuple[Path, Said], None, list[Path]]:
    """Run through the pool until none waits or a process died; returns the photos that were under way then."""
    under_way: dict[Future[Said], Path] = {}
    while waiting or under_way:
        while waiting and len(under_way) < most:
            file = waiting.popleft()
            data = _read(file)
            if not isinstance(data, bytes):
                yield file, data
                continue
            try:
                under_way[pool.submit(work, file.name, data)] = file
            except BrokenProcessPool:
                return [file, *under_way.values()]
        finished = wait(under_way, return_when=FIRST_COMPLETED).done
        broken = {future for future in finished if isinstance(future.exception(), BrokenProcessPool)}
        for future in finished - broken:
            yield under_way.pop(future), future.result()
        if broken:
            return list(under_way.values())
    return []


def by_cluster(files: Iterable[Path], address: str, work: Work = measure_bytes) -> Iterator[tuple[Path, Said]]:
    """Measure on the workers of a running Dask cluster, which need this program's environment but not the files.

    Raises
    ------
    CannotDo
        Where Dask is not installed, or nothing answers at the address.
    """
    try:
        dask: Any = import_module("distributed")
    except ImportError as fault:
        raise CannotDo("--scheduler needs Dask: pip install distributed.") from fault
    try:
        client = dask.Client(address, timeout="20s", set_as_default=False)
    except (OSError, ValueError, TimeoutError) as fault:
        raise CannotDo(f"No Dask scheduler answers at {address}.") from fault
    with client:
        yield from _on_workers(dask, client, deque(files), work)


def _on_workers(dask: Any, client: Any, waiting: deque[Path], work: Work) -> Iterator[tuple[Path, Said]]:
    under_way: dict[Any, Path] = {}
    finished = dask.as_completed(loop=client.loop)
    while waiting or under_way:
        most = _AHEAD * max(sum(client.nthreads().values()), 1)
        while waiting and len(under_way) < most:
            file = waiting.popleft()
            data = _read(file)
            if not isinstance(data, bytes):
                yield file, data
                continue
            # Dask itself tries again elsewhere when a worker dies, up to its own limit of deaths.
            future = client.submit(work, file.name, data, pure=False)
            under_way[future] = file
            finished.add(future)
        if under_way:
            future = next(finished)
            file = under_way.pop(future)
            fault = future.exception()
            if fault is not None and not isinstance(fault, dask.KilledWorker):
                raise fault
            yield file, (_died(file) if fault is not None else future.result())
