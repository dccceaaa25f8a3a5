"""Loads the screens and opens the store while the browser still fetches the page, so that the first page comes sooner."""

import gc
import threading
from contextlib import suppress
from functools import cache
from importlib import import_module

from records.errors import RecordsError
from screens.data import store


def spare_what_stays() -> None:
    """Leave everything loaded so far out of later garbage collections.

    Streamlit collects all generations after every run of a page. With the libraries of this program that walks through
    some hundred thousand objects which never go, and was nine tenths of the time of a process with thirty people.
    """
    gc.collect()
    gc.freeze()


@cache
def spare_models() -> None:
    """The same once more after the first detection, which loads models and their libraries."""
    spare_what_stays()


def _warm_up() -> None:
    import_module("screens.pages")
    # What cannot be opened is said on the page, which tries again.
    with suppress(RecordsError):
        store()
    spare_what_stays()


def warm_up_beside() -> None:
    """Begin in a thread of its own; the first page waits for it where it needs the store."""
    threading.Thread(target=_warm_up, name="warm-up", daemon=True).start()
