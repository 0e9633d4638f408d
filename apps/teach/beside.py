"""Works all lessons out beside the server, in a process of its own that stands back, so that the first to open one need not wait.

What is worked out lies on disk, where the server finds it; where all lies there already the process ends at once. It ends with
the server. Stage ``apps``.
"""

from __future__ import annotations

import contextlib
import os
import subprocess
import sys
import threading
import time

__all__ = ["Beside", "beside", "work_out"]

_WORTH_TELLING_S = 1.0
"""Lessons that lie ready on disk are there sooner, and nothing is said."""

_BACK = 10
"""How far the process stands back from the server's own."""


class Beside:
    """The process, and the thread that passes on what it tells.

    Parameters
    ----------
    process : subprocess.Popen
    """

    def __init__(self, process: subprocess.Popen[str]) -> None:
        self._process = process
        threading.Thread(target=self._pass_on, daemon=True, name="graspwave-lessons").start()

    def _pass_on(self) -> None:
        assert self._process.stdout is not None
        for line in self._process.stdout:
            sys.stderr.write(f"graspwave: {line.rstrip()}\n")
            sys.stderr.flush()

    def end(self) -> None:
        """Stop it, wherever it is."""
        self._process.kill()
        self._process.wait()


def beside() -> Beside:
    """Begin the process."""
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(filter(None, sys.path))}
    return Beside(subprocess.Popen(
        [sys.executable, "-m", "graspwave.apps.teach.beside"], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
        env=environment,
    ))


def work_out() -> None:
    """Work out every lesson, and print a line for each once it takes longer than a moment."""
    from graspwave import lessons
    from graspwave.apps.teach.compiled import compiled
    from graspwave.lessons.quiz import QUIZZES

    names, start, failed = (*lessons.names(), *QUIZZES), time.monotonic(), []
    for count, slug in enumerate(names, 1):
        try:
            compiled(slug)
        except lessons.LessonError:
            failed.append(slug)
        if time.monotonic() - start > _WORTH_TELLING_S:
            _say(f"lessons worked out: {count} of {len(names)}")
    if failed:
        _say(f"lessons that cannot be worked out: {', '.join(failed)}")


def _say(line: str) -> None:
    sys.stdout.write(f"{line}\n")
    sys.stdout.flush()


def _main() -> None:
    """The process: it stands back, and ends when its standard input does, which is when the server has ended."""
    def until_closed() -> None:
        while os.read(0, 4096):
            pass
        os._exit(0)

    threading.Thread(target=until_closed, daemon=True).start()
    with contextlib.suppress(AttributeError, OSError):
        os.nice(_BACK)
    with contextlib.suppress(BrokenPipeError):
        work_out()


if __name__ == "__main__":
    _main()
