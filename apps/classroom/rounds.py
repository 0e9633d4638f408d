"""Work that a process does on its own, again and again, for as long as it serves."""

from __future__ import annotations

import asyncio
import logging
import time
from collections.abc import Callable, Coroutine
from typing import Any

from graspwave.apps.classroom.writer import NotKept

__all__ = ["Rounds"]

_LOG = logging.getLogger(__name__)


class Rounds:
    """Tasks of one loop, all ended together.

    Parameters
    ----------
    trouble : callable
        Told why, where the store did not answer.
    """

    def __init__(self, trouble: Callable[[str], None]) -> None:
        self._trouble = trouble
        self._tasks: set[asyncio.Task[Any]] = set()

    def spawn(self, work: Coroutine[Any, Any, None]) -> asyncio.Task[None]:
        """Begin some work; inside a running loop."""
        task = asyncio.get_running_loop().create_task(work)
        self._tasks.add(task)
        task.add_done_callback(self._tasks.discard)
        return task

    async def forever(self, every_s: float, work: Callable[[], Coroutine[Any, Any, None]]) -> None:
        """Do `work` every so many seconds; what fails is told or logged, and it goes on."""
        while True:
            began = time.monotonic()
            try:
                await work()
            except NotKept as trouble:
                self._trouble(str(trouble))
            except Exception:
                _LOG.exception("the room's own work failed")
            await asyncio.sleep(max(0.01, every_s - (time.monotonic() - began)))

    def stop(self) -> None:
        """End all of them."""
        for task in list(self._tasks):
            task.cancel()
