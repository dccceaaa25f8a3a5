"""Proposes landmarks in the background: one thread a process looks at one photo after the other.

What it finds is kept beside the photo (`records.photo.photo_readings`) and is shown as a proposal; it never touches a key. A
photo that was waiting when the program stopped is found again by `ask_for_all`.
"""

import logging
import queue
import threading
from collections.abc import Callable

from records.errors import RecordsError
from records.identity.people import Person
from records.photo.photo_readings import keep_proposed_points, photos_to_read
from records.store import Store
from screens.sets import pictures as set_pictures
from screens.warming import spare_models
from vision.detect import Detector, default_detector
from vision.errors import VisionError
from vision.images import read_photo
from vision.landmarks import LandmarkSet

_log = logging.getLogger(__name__)


class PointWorker:
    """A queue of photos and the thread that looks at them.

    Parameters
    ----------
    store : callable
        Gives the store at the moment of working.
    detector : callable
        Gives the detector; called in the thread, since models take seconds to load.
    read : callable
        The full photo for a person; raises RecordsError.
    """

    def __init__(
        self,
        store: Callable[[], Store],
        detector: Callable[[], Detector] = default_detector,
        read: Callable[[Person, str], bytes] = lambda person, photo_id: set_pictures.set_photo(
            person, photo_id, "full"
        ),
    ) -> None:
        self._store = store
        self._detector = detector
        self._read = read
        self._queue: queue.Queue[tuple[Person, str]] = queue.Queue()
        self._lock = threading.Lock()
        self._asked: set[str] = set()
        self._thread: threading.Thread | None = None

    def ask(self, person: Person, photo_id: str) -> None:
        """Look at one of the person's own photos some time soon; asking twice is the same as once."""
        with self._lock:
            if photo_id in self._asked:
                return
            self._asked.add(photo_id)
            self._queue.put((person, photo_id))
            if self._thread is None:
                self._thread = threading.Thread(target=self._work, name="points", daemon=True)
                self._thread.start()

    def ask_for_all(self, person: Person) -> int:
        """Ask for all of the person's photos that were not looked at yet; returns how many those are."""
        waiting = photos_to_read(self._store(), person)
        for photo_id in waiting:
            self.ask(person, photo_id)
        return len(waiting)

    def wait(self) -> None:
        """Return once nothing is waiting any more."""
        self._queue.join()

    def _work(self) -> None:
        while True:
            person, photo_id = self._queue.get()
            try:
                self._look(person, photo_id)
            except Exception:
                # The thread must outlive whatever one photo brings; the log says what it was.
                _log.exception("no points could be proposed for photo %s", photo_id)
            finally:
                with self._lock:
                    self._asked.discard(photo_id)
                self._queue.task_done()

    def _look(self, person: Person, photo_id: str) -> None:
        try:
            found = self._detector().detect(read_photo(self._read(person, photo_id)).pixels, None).landmarks
            spare_models()
        except VisionError:
            # Kept as "looked and found nothing", or it would be tried for ever.
            found = LandmarkSet()
        except RecordsError:
            return
        try:
            keep_proposed_points(self._store(), person, photo_id, found)
        except RecordsError:
            # The photo went, or the disk is full: the next start asks again for what is still there.
            return
