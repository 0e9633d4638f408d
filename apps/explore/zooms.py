"""Current over time at five zooms, from one pulse to the session, as one picture to drag and to walk with keys."""

from __future__ import annotations

import contextlib
import math
from pathlib import Path
from typing import Any, ClassVar

import panel as pn
import param

from graspwave.apps.desk.state import DeskState
from graspwave.apps.told import zoom_state
from graspwave.apps.told.zoom_state import LONGEST_PX, WORDS, Zooms
from graspwave.apps.web.source import component, sheet
from graspwave.apps.web.tokens import check_theme

__all__ = ["ZoomPicture", "ZoomsView"]

_HERE = Path(__file__).parent
_FIRST_PX = 240
_FRAMES = tuple(f"window_{n}" for n in range(len(WORDS)))


class ZoomPicture(pn.custom.JSComponent):
    """The strip of five windows; draws what it is given and asks Python to move the windows.

    Each window is a parameter of its own, so that only those that changed are sent.
    """

    window_0 = param.Dict(default={})
    window_1 = param.Dict(default={})
    window_2 = param.Dict(default={})
    window_3 = param.Dict(default={})
    window_4 = param.Dict(default={})
    about = param.Dict(default={}, doc="Names, captions and the height that the windows share.")
    answered = param.Integer(default=0, doc="How many requests have been answered; the page then sends the next.")

    _esm: ClassVar[str] = component("explore/zooms.js")
    _stylesheets: ClassVar[list[str]] = [sheet("web/shared.css"), sheet("explore/zooms.css")]

    def __init__(self, **params: Any) -> None:
        super().__init__(**params)
        self.ask: Any = None

    def _handle_msg(self, msg: Any) -> None:
        if self.ask is not None:
            self.ask(msg)


class ZoomsView(pn.viewable.Viewer):
    """One phase, a few pulses, a ramp, a cycle and the session as the same thing, each a slice of the next.

    Parameters
    ----------
    state : DeskState
    theme : str
        ``"light"`` or ``"dark"``; the picture takes its colours from the page, so this is only checked.
    """

    def __init__(self, state: DeskState, theme: str, **params: Any) -> None:
        super().__init__(**params)
        check_theme(theme)
        self._state = state
        self.zooms = Zooms(state.scene)
        self._pixels = [_FIRST_PX] * len(WORDS)
        self._sent: dict[int, tuple[Any, ...]] = {}
        self.picture = ZoomPicture(sizing_mode="stretch_both", margin=0, min_width=0, min_height=0)
        self.picture.ask = self._asked
        state.param.watch(self._follow, "scene")
        self._send()

    def __panel__(self) -> pn.viewable.Viewable:
        return self.picture

    def _follow(self, *_: object) -> None:
        self.zooms.show(self._state.scene)
        self._send()

    def _asked(self, request: Any) -> None:
        """Do what the page asks for; what cannot be read changes nothing, but is answered so that the page goes on."""
        with contextlib.suppress(KeyError, TypeError, ValueError, OverflowError):
            self._do(request)
        self._send(self.picture.answered + 1)

    def _do(self, request: Any) -> None:
        kind = request["kind"]
        if kind == "size":
            widths = [int(width) for width in request["pixels"]]
            if len(widths) == len(WORDS):
                self._pixels = [min(max(width, 20), LONGEST_PX) for width in widths]
            return
        number, value = int(request["panel"]), float(request["value"])
        if not 0 <= number < len(WORDS) or not math.isfinite(value):
            return
        if kind == "brush":
            self.zooms.brush(number, value)
        elif kind == "move":
            self.zooms.move_to(number, value)
        elif kind == "step":
            self.zooms.step(number, value)
        elif kind == "zoom" and 0.1 <= value <= 10.0:
            self.zooms.zoom(number, value)

    def _send(self, answered: int | None = None) -> None:
        zooms, scene = self.zooms, self._state.scene
        changed: dict[str, Any] = {}
        for n, name in enumerate(_FRAMES):
            key = (scene, zooms.start_s[n], zooms.length_s[n], self._pixels[n])
            if self._sent.get(n) != key:
                self._sent[n] = key
                changed[name] = zoom_state.panel(zooms, n, self._pixels[n])
        low, high = zoom_state.height_ma(scene)
        about = {"words": list(WORDS), "captions": zoom_state.captions(scene), "low": low, "high": high, "total": zooms.total_s,
                 "channels": min(len(scene.channel), 2)}
        if about != self.picture.about:
            changed["about"] = about
        if answered is not None:
            changed["answered"] = answered
        if changed:
            self.picture.param.update(**changed)
