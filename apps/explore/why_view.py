"""Why the opening changed: one sentence, and a row for what each mechanism gave or took."""

from __future__ import annotations

from functools import lru_cache
from typing import Any, ClassVar

import numpy as np
import panel as pn
import param

from graspwave import simulator as sim
from graspwave.apps.controls.base import Control
from graspwave.apps.desk.aside import Aside, dims
from graspwave.apps.desk.pause import AfterPause
from graspwave.apps.desk.state import DeskState
from graspwave.apps.told.numbers import signed
from graspwave.apps.told.why_rows import SHOWN_MM, claw_said, finger_said, how_words, why_rows
from graspwave.apps.web.source import component, sheet
from graspwave.simulator.answers import CURVE_MA
from graspwave.simulator.why import Why, explain_opening

__all__ = ["WhyRows", "WhyView", "before_scene", "signed", "why_rows"]

_NEAR_WIDEST = 0.98
"""The least current that opens this much of the widest is taken for the best: the top of a curve is flat."""

_PAUSE_MS = 250
_AMPLITUDE = "channel.0.pulse.amplitude_ma"
_ASK = "No current opens this hand wider. Change the current, or pin this hand and change it, to see why the opening changes."
_ASK_PINNED = "This is the pinned hand. Change it to see why the opening changes."


@lru_cache(maxsize=32)
def _why(before: sim.Scene, after: sim.Scene) -> Why:
    return explain_opening(before, after)


def _claw(before: sim.Scene, after: sim.Scene) -> str:
    """What became of the middle finger's claw."""
    first, last = (sim.opening_curve(one, [one.channel[0].pulse.amplitude_ma]) for one in (before, after))
    return claw_said(first, last)


_Looked = tuple[Why, str, sim.Scene, sim.Scene, bool]
"""The why, what became of the claw, both scenes, whether the first is the pinned one."""


def _looked(before: sim.Scene, now: sim.Scene, pinned: bool) -> _Looked:
    return _why(before, now), _claw(before, now), before, now, pinned


def before_scene(state: DeskState) -> sim.Scene:
    """The scene that the present one is held against: the pinned one, the one before the last change, or the best current."""
    if state.pinned is not None:
        return state.pinned
    if state.came_from is not None:
        return state.came_from
    opening = state.curve.opening_mm
    best = int(np.argmax(opening >= _NEAR_WIDEST * float(opening.max())))
    return state.scene.replace(_AMPLITUDE, float(CURVE_MA[best]))


class WhyRows(Control):
    """A sentence above rows of bars; the rows are a list, so that they can be heard as well as seen.

    Parameters
    ----------
    text
        The finding.
    fingers
        Whether a claw came or went, as from `claw_said`, and which hold the opening back, as from `finger_said`.
    rows
        As from `why_rows`.
    how
        How the largest share comes about.
    lit
        Tendons that the picture is to show: those of the row that is touched.
    """

    text = param.String(default="")
    fingers = param.String(default="")
    how = param.String(default="")
    how_lit = param.String(default="")
    rows = param.List(default=[])
    lit = param.String(default="")

    _esm: ClassVar[str] = component("explore/why_view.js")
    _stylesheets: ClassVar[list[str]] = [*Control._stylesheets, sheet("explore/why_view.css"), sheet("desk/late.css")]


class WhyView(pn.viewable.Viewer):
    """Why the opening is another than before; works only while it is looked at.

    Parameters
    ----------
    state : DeskState
    theme : str, optional
        Taken for the sake of the other views; the picture takes its colours from the page.
    """

    active = param.Boolean(default=True, doc="Whether it is looked at; if not, nothing is worked out.")

    def __init__(self, state: DeskState, theme: str = "light", **params: Any) -> None:
        super().__init__(**params)
        self._state = state
        self.picture = WhyRows()
        self._look = Aside(_looked, self._show, dims(self.picture))
        state.param.watch(AfterPause(self._update, _PAUSE_MS), ["scene", "pinned"])
        self.param.watch(lambda *_: self._update(), "active")
        self.picture.param.watch(lambda event: setattr(state, "lit", event.new), "lit")
        self._update()

    def __panel__(self) -> pn.viewable.Viewable:
        return self.picture

    def _update(self) -> None:
        if not self.active:
            self._state.lit = ""
            return
        self._look(before_scene(self._state), self._state.scene, self._state.pinned is not None)

    def _show(self, found: _Looked) -> None:
        why, claw, before, now, pinned = found
        fingers = _unbroken(" ".join(filter(None, [claw, finger_said(why)])))
        if not why.shares and abs(why.total_mm) < SHOWN_MM:
            asked = _ASK_PINNED if pinned else _ASK
            self.picture.param.update(text=asked, fingers=fingers, rows=[], how="", lit="")
            return
        first = "Pinned" if pinned else "Before"
        rows = why_rows(why, _at(first, before, now), _at("Now", now, before))
        how, tendons = how_words(why)
        self.picture.param.update(
            text=_unbroken(why.text), fingers=fingers, rows=rows, how=how, how_lit=tendons, lit="",
        )


def _unbroken(text: str) -> str:
    """No line ends between a number and its unit."""
    return text.replace(" mm", "\u00a0mm").replace(" mA", "\u00a0mA")


def _at(word: str, scene: sim.Scene, other: sim.Scene) -> str:
    """The word with the current, to a tenth where whole numbers would look alike."""
    mine, theirs = (s.channel[0].pulse.amplitude_ma for s in (scene, other))
    digits = 1 if mine != theirs and round(mine) == round(theirs) else 0
    return f"{word}, at {mine:.{digits}f} mA"
