"""Runs a coroutine from a test: in a thread of its own, since a browser that is open keeps this thread's loop."""

import asyncio
from collections.abc import Coroutine
from concurrent.futures import ThreadPoolExecutor
from typing import Any, TypeVar

T = TypeVar("T")


def run_beside(coroutine: Coroutine[Any, Any, T]) -> T:
    """What the coroutine returns."""
    with ThreadPoolExecutor(1) as thread:
        return thread.submit(asyncio.run, coroutine).result()
