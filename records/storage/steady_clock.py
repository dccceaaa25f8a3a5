"""A clock that never goes back, whatever is done to the computer's own.

Where that one falls behind the newest moment on record (an empty battery, a slip of the hand), time goes on from there
at its usual pace: what has ended stays ended, and whoever has to wait does not wait for ever.
"""

import threading
import time
from collections.abc import Callable
from datetime import datetime, timedelta


class SteadyClock:
    """The present moment, with a time zone.

    Parameters
    ----------
    clock : callable
        The computer's own.
    newest : datetime or None
        The newest moment on record; nothing earlier is ever told.
    elapsed : callable
        Seconds that went by, from any beginning, which nobody can set.

    Examples
    --------
    >>> from datetime import UTC
    >>> own = [datetime(2030, 3, 4, tzinfo=UTC)]
    >>> steady = SteadyClock(lambda: own[0], None, elapsed=lambda: 0.0)
    >>> steady().day
    4
    >>> own[0] = datetime(2029, 1, 1, tzinfo=UTC)
    >>> steady().day, steady.behind.days
    (4, 427)
    """

    def __init__(
        self, clock: Callable[[], datetime], newest: datetime | None, elapsed: Callable[[], float] = time.monotonic
    ) -> None:
        self.clock = clock
        self._elapsed = elapsed
        self._lock = threading.Lock()
        self._newest = clock() if newest is None else newest
        self._since = elapsed()
        self._lags = False

    def __call__(self) -> datetime:
        """The present moment."""
        with self._lock:
            own, went_by = self.clock(), timedelta(seconds=self._elapsed() - self._since)
            # A clock that has not been set back may be slower than the seconds that go by, as one turned by hand is.
            least = self._newest + went_by if self._lags else self._newest
            if own >= least:
                self._newest, self._since, self._lags = own, self._elapsed(), False
                return own
            self._lags = True
            return self._newest + went_by

    @property
    def behind(self) -> timedelta:
        """How far the computer's own clock is behind; nothing where it is not."""
        told = self()
        return max(told - self.clock(), timedelta(0)) if self._lags else timedelta(0)
