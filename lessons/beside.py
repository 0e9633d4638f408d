"""Checks one lesson in a process whose time and memory are bounded, and says every mistake on a line of its own."""

from __future__ import annotations

import sys

from graspwave.lessons.check import check_file

__all__ = ["MOST_BYTES", "MOST_S", "bounded", "main"]

MOST_S = 330
"""Seconds of work: a little more than all runs of a lesson may take, see `expressions.Budget`."""

MOST_BYTES = 1 << 30
"""Memory of its own."""


def bounded(seconds: int = MOST_S, most_bytes: int = MOST_BYTES) -> None:
    """Bound what this process may take from now on, where the system can."""
    try:
        import resource
    except ImportError:  # Windows; the walker's own bounds hold there too
        return
    resource.setrlimit(resource.RLIMIT_CPU, (seconds, seconds))
    resource.setrlimit(resource.RLIMIT_DATA, (most_bytes, most_bytes))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


def main(file: str) -> int:
    """Check a file; 0 where all is well, 1 with mistakes, 2 where it is no file that can be read as text."""
    bounded()
    mistakes = check_file(file)
    for mistake in mistakes:
        sys.stdout.write(" ".join(str(mistake).splitlines()) + "\n")
    return 2 if any(mistake.what.startswith("'file' ") for mistake in mistakes) else 1 if mistakes else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
