"""The one worker of this process that proposes points in the background."""

from functools import cache

from screens.data import me, store
from screens.uploads.point_worker import PointWorker


@cache
def worker() -> PointWorker:
    """The worker; its thread starts with the first photo."""
    return PointWorker(store)


def ask_for_points() -> int:
    """Have all photos of whoever is here looked at; returns how many are waiting."""
    return worker().ask_for_all(me())
