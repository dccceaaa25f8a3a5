"""Loads the screens and opens the store while the browser still fetches the page, so that the first page comes sooner."""

import threading
from contextlib import suppress
from importlib import import_module

from records.errors import RecordsError
from screens.data import store


def _warm_up() -> None:
    import_module("screens.pages")
    # What cannot be opened is said on the page, which tries again.
    with suppress(RecordsError):
        store()


def warm_up_beside() -> None:
    """Begin in a thread of its own; the first page waits for it where it needs the store."""
    threading.Thread(target=_warm_up, name="warm-up", daemon=True).start()
