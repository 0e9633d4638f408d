"""How many visitors at once: a ceiling by the memory that their sessions take."""

from __future__ import annotations

import asyncio
import ctypes
import gc
import os
import time
from typing import Any

from bokeh.util.token import get_session_id

__all__ = ["SESSION_MB", "Ceiling", "Giving", "keep", "left", "most_sessions", "used"]

SESSION_MB = 8.0
"""Memory that one session is reckoned with: 3.8 MB were measured with everything looked at once, and a first load takes more."""

QUIET_S, LONGEST_S = 2.0, 240.0
"""How long nothing must have been asked for before memory is looked through; how long that is waited for at most."""

MANY = 20
"""Visitors who have left that are not waited beyond: 80 MB."""

_used_at = [0.0]
_left = [0]
_FEWEST, _MOST = 20, 400
_FALLBACK_MB = 2048.0


def free_mb() -> float:
    """Memory that this machine, or the container it is kept in, has to spare."""
    try:
        with open("/proc/meminfo", encoding="ascii") as lines:
            free = next(float(line.split()[1]) / 1024.0 for line in lines if line.startswith("MemAvailable:"))
    except (OSError, StopIteration):
        free = _FALLBACK_MB
    for limit, used in (("/sys/fs/cgroup/memory.max", "/sys/fs/cgroup/memory.current"),):
        try:
            with open(limit, encoding="ascii") as most, open(used, encoding="ascii") as now:
                free = min(free, (float(most.read()) - float(now.read())) / 2.0**20)
        except (OSError, ValueError):  # none, or "max"
            continue
    return free


def most_sessions() -> int:
    """Sessions that fit in half of the memory that is free now; ``GRASPWAVE_SESSIONS`` sets another number."""
    given = os.environ.get("GRASPWAVE_SESSIONS", "")
    if given.isdigit() and int(given) > 0:
        return int(given)
    return int(min(max(0.5 * free_mb() / SESSION_MB, _FEWEST), _MOST))


class Ceiling:
    """Counts sessions of all pages of a server.

    Parameters
    ----------
    most : int
    """

    def __init__(self, most: int) -> None:
        self.most = most
        # one page at a time is built: two at once would each take twice as long, and the loop would wait for both
        self.turn = asyncio.Lock()

    def now(self, application: Any) -> int:
        """Sessions that there are, those being made included."""
        contexts = application.applications.values()
        return sum(len(context._sessions) + len(context._pending_sessions) for context in contexts)

    def room_for_one(self, application: Any) -> bool:
        """Whether one more may be made."""
        return self.now(application) < self.most

    def knows(self, application: Any, token: str) -> bool:
        """Whether a line's session is there already."""
        try:
            name = get_session_id(token)
        except (ValueError, KeyError, UnicodeError):
            return False
        return any(name in context._sessions for context in application.applications.values())


class Giving:
    """Gives memory of visitors who have left back to the system; to be called now and then in the serving loop.

    A page is a web of objects that refer to each other, freed late, and in pieces that the allocator keeps for itself.

    Notes
    -----
    To find such webs Python looks at every object there is, a tenth of a second and more in which nobody is answered. It is
    not left to do so whenever it likes: what stays is set aside (`keep`), and the look is taken here, while nobody asks for
    anything; where somebody always does, once `MANY` have left, or some minutes after the first.
    """

    def __init__(self) -> None:
        self._seen = _left[0]
        self._left_at: float | None = None
        try:
            self._trim: Any = ctypes.CDLL(None).malloc_trim
        except (AttributeError, OSError, TypeError):  # not this allocator
            self._trim = None

    def __call__(self) -> bool:
        """Whether anything was given back: only where somebody has left since, and nothing goes on or many have."""
        at, left = time.monotonic(), _left[0] - self._seen
        if left and self._left_at is None:
            self._left_at = at
        if self._left_at is None:
            return False
        if at - _used_at[0] < QUIET_S and at - self._left_at < LONGEST_S and left < MANY:
            return False
        self._left_at, self._seen = None, _left[0]
        gc.unfreeze()
        gc.collect()
        keep()
        if self._trim is not None:
            self._trim(0)
        return True


def keep() -> None:
    """Set all that there is now aside, so that no look for what can be freed goes through it until `Giving` does."""
    gc.freeze()


def used() -> None:
    """Somebody asked for something just now."""
    _used_at[0] = time.monotonic()


def left() -> None:
    """A session has ended."""
    _left[0] += 1
