"""Work that waits for a pause in a drag, because it takes longer than a frame."""

from __future__ import annotations

import contextlib
from collections.abc import Callable
from typing import Any

import panel as pn

__all__ = ["AfterPause"]


class AfterPause:
    """Calls `work` once no further call has come for `pause_ms`; at once where there is no page, as in a test.

    Parameters
    ----------
    work : callable
    pause_ms : int
    """

    def __init__(self, work: Callable[[], object], pause_ms: int) -> None:
        self._work, self._pause_ms = work, pause_ms
        self._due: Any = None

    def __call__(self, *_: object) -> None:
        document = pn.state.curdoc
        if document is None:
            self._work()
            return
        if self._due is not None:
            with contextlib.suppress(ValueError):  # it has run
                document.remove_timeout_callback(self._due)
        self._due = document.add_timeout_callback(self._work, self._pause_ms)
