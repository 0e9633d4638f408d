"""Work that would hold the loop up: done in a thread, and shown in the page's own turn. What is newest wins."""

from __future__ import annotations

import contextlib
import os
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from functools import cache
from typing import Any

import panel as pn

__all__ = ["Aside", "dims"]


class Aside:
    """Has `work` done beside the loop and hands its result to `show`; both at once where there is no page, as in a test.

    Parameters
    ----------
    work : callable
        Takes what the call is given and touches no page. The compiled loops let other threads go on while they run.
    show : callable
        Takes the result, in the page's own turn.
    late : callable, optional
        Told True when work begins, and False once its result is shown; what failed stays late, for it is not fresh.

    Notes
    -----
    One piece of work at a time for each of these. Of those that were asked for meanwhile only the last is done, and a result is
    shown only if nothing was asked for after it: a late answer never takes the place of a newer one.
    """

    def __init__(
        self, work: Callable[..., Any], show: Callable[[Any], object], late: Callable[[bool], object] = lambda _late: None,
    ) -> None:
        self._work, self._show, self._late = work, show, late
        self._next: tuple[Any, ...] | None = None
        self._busy = False

    def __call__(self, *given: Any) -> None:
        document = pn.state.curdoc
        if document is None:
            self._show(self._work(*given))
            return
        self._next = given
        if not self._busy:
            self._late(True)
            self._begin(document)

    def _begin(self, document: Any) -> None:
        given, self._next = self._next or (), None
        self._busy = True

        def done(future: Future[Any]) -> None:
            with contextlib.suppress(RuntimeError, AttributeError):  # the page has gone; an ended document has lost its parts
                document.add_next_tick_callback(lambda: self._done(document, future))

        _threads().submit(self._work, *given).add_done_callback(done)

    def _done(self, document: Any, future: Future[Any]) -> None:
        self._busy = False
        if self._next is None:
            self._show(future.result())
            self._late(False)
        else:
            self._begin(document)


def dims(view: Any) -> Callable[[bool], object]:
    """What dims a view while it is late; the view needs ``desk/late.css`` among its style sheets."""
    def late(yes: bool) -> None:
        view.css_classes = [*(name for name in view.css_classes if name != "gw-late"), *(["gw-late"] if yes else [])]

    return late


@cache
def _threads() -> ThreadPoolExecutor:
    """The threads of all pages: few, for they share the processors with the loop."""
    return ThreadPoolExecutor(max(2, os.cpu_count() or 2), thread_name_prefix="graspwave-aside")
