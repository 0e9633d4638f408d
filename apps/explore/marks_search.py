"""A second look at the curve in a process of its own, after a pause; a new scene ends the look at the old one."""

from __future__ import annotations

import contextlib
import os
import subprocess
import sys
import threading
from collections import OrderedDict
from collections.abc import Callable
from pathlib import Path
from typing import Any

import panel as pn

from graspwave.apps.desk.pause import AfterPause
from graspwave.apps.desk.state import DeskState
from graspwave.apps.told.marks import Marks, marks_from
from graspwave.apps.told.scenes import without_amplitude

__all__ = ["MarksSearch"]

_PAUSE_MS = 700
_KEPT_MOST = 200

_at_once = threading.Semaphore(max(1, (os.cpu_count() or 2) - 1))
_known: OrderedDict[str, Marks] = OrderedDict()


class MarksSearch:
    """Keeps `state.marks` in step with `state.scene`.

    Parameters
    ----------
    state : DeskState
    pause_ms : int, optional
        How long a scene has to stand still before it is looked at.

    Notes
    -----
    What was found for a scene is kept for all visitors. A look does not hold the page up: it runs in another process, at
    low priority, and only as many run as the machine has processors to spare.
    """

    def __init__(self, state: DeskState, pause_ms: int = _PAUSE_MS) -> None:
        self._state = state
        self._look: _Look | None = None
        self._begin = AfterPause(self._start, pause_ms)
        self._text = ""
        state.param.watch(self._follow, "scene")
        self._follow()

    def _follow(self, *_: object) -> None:
        text = without_amplitude(self._state.scene).dumps()
        if text == self._text:
            return
        self._text = text
        self.stop()
        self._state.marks = _known.get(text)
        if self._state.marks is None and pn.state.curdoc is not None:
            self._begin()

    def stop(self) -> None:
        """End the look that is going on."""
        if self._look is not None:
            self._look.stop()
            self._look = None

    def _start(self) -> None:
        text, document = self._text, pn.state.curdoc
        if self._state.marks is not None or self._look is not None or document is None:
            return

        def show(marks: Marks) -> None:
            _known[text] = marks
            while len(_known) > _KEPT_MOST:
                _known.popitem(last=False)
            with contextlib.suppress(RuntimeError):  # the page has gone
                document.add_next_tick_callback(lambda: self._show(text, marks))

        self._look = _Look(text, show)

    def _show(self, text: str, marks: Marks) -> None:
        if text == self._text:
            self._look = None
            self._state.marks = marks


class _Look:
    """One look at one scene, from a thread that only waits for its process."""

    def __init__(self, text: str, found: Callable[[Marks], None]) -> None:
        self._text, self._found = text, found
        self._lock, self._stopped = threading.Lock(), False
        self._process: Any = None
        threading.Thread(target=self._run, daemon=True, name="second look").start()

    def stop(self) -> None:
        with self._lock:
            self._stopped = True
            if self._process is not None:
                self._process.kill()

    def _run(self) -> None:
        with _at_once:
            with self._lock:
                if self._stopped:
                    return
                self._process = subprocess.Popen(
                    [sys.executable, "-m", "graspwave.apps.told.marks"], stdin=subprocess.PIPE, stdout=subprocess.PIPE,
                    stderr=subprocess.DEVNULL, text=True, encoding="utf-8", env=_surroundings(),
                )
            out, _ = self._process.communicate(self._text)
        if self._process.returncode == 0 and not self._stopped:
            self._found(marks_from(out))


def _surroundings() -> dict[str, str]:
    root = str(Path(__file__).parents[2])
    path = os.environ.get("PYTHONPATH", "")
    return {**os.environ, "PYTHONPATH": f"{root}{os.pathsep}{path}" if path else root, "OPENBLAS_NUM_THREADS": "1",
            "PYTHONIOENCODING": "utf-8"}
