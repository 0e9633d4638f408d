"""Where the command begins: before anything heavy is loaded, so that beginning anew costs next to nothing."""

from __future__ import annotations

import gc
import os
import platform
import sys
from collections.abc import Sequence

__all__ = ["lean", "main"]

_LEAN = "GRASPWAVE_LEAN"

_SELDOM = (20_000, 20, 50)
"""How many objects more than before, and so on upwards, Python looks for garbage: as it would, a fifth of a start was that."""


def main() -> int:
    """The command; pages are served from a process that was begun anew for it."""
    if sys.argv[1:2] == ["open"]:
        lean(sys.argv[1:])
    gc.set_threshold(*_SELDOM)
    from graspwave.apps.command import main as command

    return command()


def lean(arguments: Sequence[str]) -> None:
    """Begin this process anew with the system's own allocator, where that is glibc's.

    Python's own keeps blocks of a megabyte for as long as one object lives in them: of sixty visitors who have left, half of the
    memory stayed. What the system's allocator holds is given back page by page (`apps.sessions.Giving`). It is asked for once:
    whatever this process begins itself has Python's own again.
    """
    if os.environ.get(_LEAN):
        del os.environ[_LEAN], os.environ["PYTHONMALLOC"]
    elif "PYTHONMALLOC" not in os.environ and platform.libc_ver()[0] == "glibc":
        os.environ.update({_LEAN: "1", "PYTHONMALLOC": "malloc"})
        sys.stdout.flush()
        os.execv(sys.executable, [sys.executable, "-m", "graspwave.apps.begin", *arguments])


if __name__ == "__main__":
    sys.exit(main())
