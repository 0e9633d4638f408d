"""A loop of its own for what a test awaits."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Coroutine
from concurrent.futures import ThreadPoolExecutor
from typing import Any, TypeVar

__all__ = ["in_own_loop"]

T = TypeVar("T")


def in_own_loop(work: Callable[[], Coroutine[Any, Any, T]]) -> T:
    """What `work` gives, run in a thread of its own: that of the tests has a running loop once a browser has been used."""
    with ThreadPoolExecutor(1) as thread:
        return thread.submit(lambda: asyncio.run(work())).result()
