"""A switch that works only while it is pressed, and that lets go by itself when nobody tells that it still is."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, ClassVar

import param

from graspwave.apps.controls.base import Control, script
from graspwave.apps.look.pulse import follow_beats

__all__ = ["HoldSwitch"]

_MOST_STEPS = 100.0
"""Arrow keys that one message may tell of."""


class HoldSwitch(Control):
    """Held by mouse, touch, Space or Enter. It never latches: whatever loses the press ends it.

    The page tells `press`, `release`, and a `beat` every 250 ms between them; `on_switch` is called with these words, and with
    `end` where the worker of the page says that the hold is over before the page's own word for it has come. It is for the
    listener to let go when beats stop, since a lost connection can tell nothing; at a `beat` or `end` it may only note the time.

    Parameters
    ----------
    label, held_word
        Words while ready and while held.
    note
        Small words while ready.
    """

    label = param.String(default="Hold to open")
    held_word = param.String(default="Opening")
    note = param.String(default="mouse, touch, or the space bar")
    disabled = param.Boolean(default=False)
    beats = param.String(default="", doc="Name of the beats that a worker of the page sends; set by the switch itself.")

    _esm: ClassVar[str] = script("hold")

    def __init__(self, **params: Any) -> None:
        super().__init__(**params)
        self.beats = follow_beats(self._beat)
        self._count = self._ended = 0
        self._listeners: list[Callable[[str], object]] = []
        self._movers: list[Callable[[float], object]] = []

    def on_switch(self, listener: Callable[[str], object]) -> None:
        """Call `listener` with ``"press"``, ``"beat"``, ``"end"`` or ``"release"``."""
        self._listeners.append(listener)

    def on_arrow(self, mover: Callable[[float], object]) -> None:
        """Call `mover` with steps to the right (1 a key, or 0.2 with Shift; left is negative) for arrow keys on the switch."""
        self._movers.append(mover)

    def let_go(self, why: str = "") -> None:
        """Tell the page that the switch is open again, and why, which it then says on its face."""
        self._send_msg({"kind": "let go", "why": why})

    def _beat(self, ended: int) -> None:
        self._ended = max(self._ended, ended)
        if not ended or ended == self._count:
            self._say("end" if ended else "beat")

    def _say(self, kind: str) -> None:
        for listener in self._listeners:
            listener(kind)

    def _handle_msg(self, message: Any) -> None:
        kind = message.get("kind") if isinstance(message, dict) else None
        if kind in ("press", "beat", "release"):
            count = message.get("count")
            self._count = count if kind == "press" and isinstance(count, int) else self._count
            self._say(kind)
            if kind == "press" and 0 < self._count <= self._ended:  # let go before this was heard
                self._say("end")
        elif kind == "arrow":
            by = message.get("by")
            if isinstance(by, (int, float)) and abs(by) <= _MOST_STEPS:
                for mover in self._movers:
                    mover(float(by))
