"""How many visitors at once: a ceiling by the memory that their sessions take."""

from __future__ import annotations

import os
from typing import Any

from bokeh.util.token import get_session_id

__all__ = ["SESSION_MB", "Ceiling", "most_sessions"]

SESSION_MB = 8.0
"""Memory that one session is reckoned with: 3.8 MB were measured with everything looked at once, and a first load takes more."""

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
