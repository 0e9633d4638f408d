"""Getting ready: slow, gentle stretches before the task, what they change in this hand, and how long it lasts."""

from __future__ import annotations

from functools import lru_cache
from typing import Any, ClassVar

import numpy as np
import panel as pn
import param

from graspwave import simulator as sim
from graspwave.apps.controls import PlainButton, Slider
from graspwave.apps.controls.base import Control
from graspwave.apps.desk.aside import Aside, dims
from graspwave.apps.desk.pause import AfterPause
from graspwave.apps.desk.state import DeskState
from graspwave.apps.told.mark_words import MARK_WORDS
from graspwave.apps.told.scenes import curve_of, without_amplitude
from graspwave.apps.web.source import component, sheet
from graspwave.simulator.facts import fact, number, sources
from graspwave.simulator.hand.readying import FACT_NAMES

__all__ = ["ReadyTable", "ReadyView", "known_lines", "lasting_lines", "ready_rows", "ready_settings"]

_CHANGED = ("flexor_length_factor", "finger_tone", "wrist_tone", "reflex_gain")
_PAUSE_MS = 250
_NEAR = 21



def ready_settings(scene: sim.Scene, stretches: float, minutes: float) -> dict[str, object]:
    """Settings of the hand after so many slow stretches and so many minutes, by path."""
    hand = sim.readied(scene.hand, stretches, minutes)
    return {f"hand.{name}": getattr(hand, name) for name in _CHANGED}


def _readied(scene: sim.Scene, stretches: float, minutes: float) -> sim.Scene:
    for path, value in ready_settings(scene, stretches, minutes).items():
        scene = scene.replace(path, value)
    return scene


@lru_cache(maxsize=64)
def _widest(scene: sim.Scene) -> tuple[float, float]:
    """Widest opening and where: the curve's step is too coarse for a top that ends in a fall, so it is looked at closely."""
    curve = curve_of(scene)
    best = float(curve.amplitude_ma[int(np.argmax(curve.opening_mm))])
    low, high = sim.setting("channel.0.pulse.amplitude_ma").range or (0.0, 60.0)
    near = np.linspace(max(low, best - 0.5), min(high, best + 0.5), _NEAR)
    gap = sim.opening_curve(scene, near).opening_mm
    top = int(np.argmax(gap))
    return float(gap[top]), float(near[top])


def ready_rows(scene: sim.Scene, stretches: float, minutes: float) -> list[dict[str, str]]:
    """Rows of the table: what is changed in the hand, and what that does to its opening."""
    after = _readied(scene, stretches, minutes)
    (mm, ma), (after_mm, after_ma) = _widest(without_amplitude(scene)), _widest(without_amplitude(after))
    one, other = scene.hand, after.hand
    now = scene.channel[0].pulse.amplitude_ma
    here, there = (float(sim.opening_curve(s, [now]).opening_mm[0]) for s in (scene, after))
    rows = [
        (f"Opening at {now:.0f}\N{NO-BREAK SPACE}mA", f"{here:.0f} mm", f"{there:.0f} mm", "opening"),
        ("Widest opening", f"{mm:.0f} mm", f"{after_mm:.0f} mm", "opening"),
        ("at this current", f"{ma:.1f} mA", f"{after_ma:.1f} mA", "current"),
        ("Length of closers", _percent(one.flexor_length_factor), _percent(other.flexor_length_factor), "ink"),
        ("Tone of closers", _percent(one.finger_tone, 2), _percent(other.finger_tone, 2), "force"),
        ("Stretch reflex", f"{one.reflex_gain:.2f}", f"{other.reflex_gain:.2f}", "force"),
    ]
    return [dict(zip(("words", "before", "after", "quantity"), row, strict=True)) for row in rows]


def _percent(share: float, digits: int = 1) -> str:
    return f"{100.0 * share:.{digits}f} %"


def lasting_lines(scene: sim.Scene, stretches: float) -> list[str]:
    """How long it lasts, in sentences."""
    before = _widest(without_amplitude(scene))[0]
    told = [(t, _widest(without_amplitude(_readied(scene, stretches, t)))[0]) for t in fact("pages.ready.told_min").value]
    if max(abs(mm - before) for _, mm in told) < 0.5:
        first = f"Widest opening: {before:.0f} mm before and after. Little is to be gained in this hand."
    else:
        first = _told(told, before)
    return [
        first,
        f"Half of the loosening is gone after {number('readying.stretch.half_time_min'):.0f} min, half of the calm after "
        f"{number('readying.calming.half_time_min'):.0f} min. Nothing here is lasting.",
        "Slow and gentle only: a fast stretch wakes the reflex.",
    ]


def _told(told: list[tuple[float, float]], before: float) -> str:
    later = ", ".join(f"{mm:.0f} mm after {t:.0f} min" for t, mm in told[1:])
    return f"Widest opening: {told[0][1]:.0f} mm right after the last stretch, {later}; {before:.0f} mm before."


def known_lines() -> list[str]:
    """The numbers behind it, each with its mark and source."""
    lines = []
    for name in FACT_NAMES:
        record = fact(name)
        unit = "" if record.unit == "1" else f" {record.unit}"
        source = f" Source: {sources()[record.source]}." if record.source else ""
        lines.append(f"{record.value:g}{unit}, {MARK_WORDS[record.mark]}: {record.note}.{source}")
    return lines


def _worked_out(scene: sim.Scene, stretches: float, minutes: float) -> dict[str, Any]:
    return {"rows": ready_rows(scene, stretches, minutes), "lasts": lasting_lines(scene, stretches), "known": known_lines()}


class ReadyTable(Control):
    """Before and after, how long it lasts, and how that is known.

    Parameters
    ----------
    rows
        One mapping a row: `words`, `before`, `after`, and the `quantity` whose colour the numbers take.
    lasts, known
        Sentences.
    """

    rows = param.List(default=[])
    lasts = param.List(default=[])
    known = param.List(default=[])

    _esm: ClassVar[str] = component("desk/ready.js")
    _stylesheets: ClassVar[list[str]] = [*Control._stylesheets, sheet("desk/ready.css"), sheet("desk/late.css")]


class ReadyView(pn.viewable.Viewer):
    """A fold among the settings; works only while it is open."""

    def __init__(self, state: DeskState, **params: Any) -> None:
        super().__init__(**params)
        self._state = state
        self.open = PlainButton(label="Getting ready", pressed="false")
        self.stretches = Slider(
            label="Slow, gentle stretches", start=0, end=number("pages.ready.stretches_most"), step=1,
            value=number("readying.stretch.counted"),
        )
        self.minutes = Slider(
            label="Since the last one", unit="min", start=0, end=number("pages.ready.minutes_most"), step=5, value=0,
        )
        self.table = ReadyTable()
        self.use = PlainButton(label="Take the readied hand")
        self.fold = pn.Column(
            self.stretches, self.minutes, self.table, self.use, visible=False, sizing_mode="stretch_width", margin=0,
            styles={"gap": "12px"},
        )
        self._box = pn.Column(self.open, self.fold, sizing_mode="stretch_width", margin=0, styles={"gap": "12px"})
        self.open.on_click(self._turn)
        self.use.on_click(self._take)
        self._look = Aside(_worked_out, lambda found: self.table.param.update(**found), dims(self.table))
        later = AfterPause(self._update, _PAUSE_MS)
        for control in (self.stretches, self.minutes):
            control.param.watch(later, "value")
        state.param.watch(later, "scene")

    def __panel__(self) -> pn.viewable.Viewable:
        return self._box

    def _turn(self) -> None:
        self.fold.visible = not self.fold.visible
        self.open.pressed = str(self.fold.visible).lower()
        self._update()

    def _update(self) -> None:
        if not self.fold.visible:
            return
        self._look(self._state.scene, self.stretches.value, self.minutes.value)

    def _take(self) -> None:
        """Set the readied hand as one change, and keep the hand before it for comparison where none is kept."""
        state, before = self._state, self._state.scene
        settings = ready_settings(before, self.stretches.value, self.minutes.value)
        if state.change_all(settings, "getting ready") and state.scene != before and state.pinned is None:
            state.pinned = before
