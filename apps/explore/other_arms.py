"""Keeps the arms beside the curve in step with the scene while they are asked for; those of another curve go at once."""

from __future__ import annotations

import contextlib
from typing import Any

import panel as pn

from graspwave.apps.computing import Busy
from graspwave.apps.desk.pause import AfterPause
from graspwave.apps.desk.state import DeskState
from graspwave.apps.explore.arms_line import ArmsLine, Told, arms_line
from graspwave.apps.told.arms import ARMS, curve_key
from graspwave.simulator import Scene

__all__ = ["OtherArms"]

_PAUSE_MS = 300


class OtherArms:
    """Writes `state.arms` and `state.arms_told`; watches the scene and whether arms are asked for.

    Parameters
    ----------
    state : DeskState
    line : ArmsLine, optional
        The server's own where not given.

    Notes
    -----
    It is made before the views, so that none of them sees a new curve beside old arms. Another current, task or timing has the
    same curve and keeps them.
    """

    def __init__(self, state: DeskState, line: ArmsLine | None = None) -> None:
        self._state, self._line = state, line or arms_line()
        self._key: Scene | None = None
        self._listener: Any = None
        self._begin = AfterPause(self._start, _PAUSE_MS)
        state.param.watch(self._follow, ["scene", "arms_asked"])

    def _follow(self, *_: object) -> None:
        state = self._state
        key = curve_key(state.scene) if state.arms_asked else None
        if key == self._key:
            return
        self._key = key
        self.stop()
        known = None if key is None else self._line.known(key)
        state.param.update(arms=known, arms_told=_progress(Told()) if key is not None and known is None else "")
        if key is not None and known is None:
            self._begin()

    def stop(self) -> None:
        """Wait for no arms any more."""
        if self._listener is not None:
            self._line.leave(self._listener)
            self._listener = None

    def _start(self) -> None:
        key, document = self._key, pn.state.curdoc
        if key is None or self._state.arms is not None or self._listener is not None:
            return

        def listener(told: Told) -> None:
            if document is None:
                self._show(key, told)
                return
            with contextlib.suppress(RuntimeError, AttributeError):  # the page has gone
                document.add_next_tick_callback(lambda: self._show(key, told))

        self._listener = listener
        try:
            self._line.ask(key, listener)
        except Busy as why:
            self._show(key, Told(failed=str(why)))

    def _show(self, key: Scene, told: Told) -> None:
        if key != self._key:
            return  # an answer for a setting that is no longer there
        if told.failed:
            self.stop()
        if told.arms is not None:
            self._listener = None
        self._state.param.update(arms=told.arms, arms_told="" if told.arms is not None else _progress(told))


def _progress(told: Told) -> str:
    if told.failed:
        return told.failed
    if told.wait_s:
        return f"{ARMS} other arms: others are first, about {max(told.wait_s, 1.0):.0f} s."
    return f"Working out {ARMS} other arms: {told.done} of {ARMS}."
