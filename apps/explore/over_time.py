"""Current, force and joint angle through one cycle, one under the other on the same time."""

from __future__ import annotations

from typing import Any

import numpy as np
import panel as pn
import param
from bokeh.models import ColumnDataSource, Range1d, Span

from graspwave.apps.desk.aside import Aside, dims
from graspwave.apps.desk.pause import AfterPause
from graspwave.apps.desk.state import Cycle, DeskState, cycle_of
from graspwave.apps.look import plots
from graspwave.apps.web.source import sheet
from graspwave.apps.web.tokens import paint

__all__ = ["OverTimeView"]

_MUSCLES = (("EDC", "opener", "solid"), ("ECRB", "wrist lifter", "dashed"), ("FDS", "closer", "dotted"))
_JOINTS = (("wrist", "wrist", "solid"), ("MCP", "knuckles", "dashed"), ("PIP", "middle", "dotted"))
_SHEETS = ("explore/over_time.css", "desk/late.css")
_POINTS = 400
_TEXT = 13.0 / 15.0
"""Height of the words' letters, in rem."""

_USUAL_PX = 170.0
"""Height of the drawn part before the page has told it."""

_PAUSE_MS = 120


class OverTimeView(pn.viewable.Viewer):
    """Four small plots over one cycle; which line is which stands at its end, told apart by dash and word."""

    active = param.Boolean(default=True, doc="Whether it is looked at; if not, nothing is worked out.")

    def __init__(self, state: DeskState, theme: str, **params: Any) -> None:
        super().__init__(**params)
        self._state, self._theme = state, theme
        self._time = Range1d(0, 1)
        self.sources: dict[str, ColumnDataSource] = {}
        self._ends: dict[str, Any] = {}
        self.figures = {
            "current": self._figure("Current [mA]", "current", [("ch1", "", "solid")]),
            "force": self._figure("Force [N]", "force", [(m, word, dash) for m, word, dash in _MUSCLES]),
            "angle": self._figure("Angle [°]", "angle", [(j, word, dash) for j, word, dash in _JOINTS]),
            "opening": self._figure("Opening [mm]", "opening", [("gap", "", "solid")]),
        }
        self._heads = [Span(location=0.0, dimension="height", line_width=1.5, visible=False) for _ in self.figures]
        for figure, head in zip(self.figures.values(), self._heads, strict=True):
            figure.add_layout(paint(head, theme, line_color="ink2"))
        panes = [pn.pane.Bokeh(fig, sizing_mode="stretch_both", margin=0, min_width=0) for fig in self.figures.values()]
        self._box = pn.Row(*panes, sizing_mode="stretch_both", margin=0, stylesheets=[sheet(name) for name in _SHEETS])
        self._shown: Any = None
        self._look = Aside(cycle_of, self._show, dims(self._box))
        state.param.watch(self._play, "played_s")
        state.param.watch(AfterPause(self._update, _PAUSE_MS), "scene")
        self.param.watch(lambda *_: self._update(), "active")
        self._laid: tuple[Any, ...] = ()
        state.param.watch(self._lay_again, ["letter_px", "plot_px"])
        self._update()

    def __panel__(self) -> pn.viewable.Viewable:
        return self._box

    def _lay_again(self, *_: object) -> None:
        """The page has told the size of the plots, or of its letters."""
        if self._laid:
            self._place_words(*self._laid)

    def _figure(self, name: str, quantity: str, lines: list[tuple[str, str, str]]) -> Any:
        fig = plots.plain_figure(
            self._theme, x_name="Time [s]", y_name=name, y_quantity=quantity, spoken=f"{name} over one cycle", size_px=14,
            x_range=self._time, y_range=Range1d(0, 1), name=f"cycle {quantity}",
        )
        for key, word, dash in lines:
            self.sources[key] = ColumnDataSource({"x": [], "y": []})
            plots.line(fig, self._theme, self.sources[key], "x", "y", f"{quantity}_f", 2.5, line_dash=dash)
            self._ends[key] = plots.word(fig, self._theme, word, f"{quantity}_t", 13, text_align="left", y_offset=2)
        return fig

    def _play(self, *_: object) -> None:
        """Where the cycle that is played has come to."""
        at = self._state.played_s
        for head in self._heads:
            head.update(location=max(at, 0.0), visible=at >= 0.0)

    def _update(self) -> None:
        if not self.active or self._shown is self._state.scene:
            return
        self._shown = self._state.scene
        self._look(self._state.scene)

    def _show(self, cycle: Cycle) -> None:
        run = cycle.run
        keep = np.unique(np.linspace(0, run.time_s.size - 1, min(_POINTS, run.time_s.size)).astype(int))
        time = run.time_s[keep]
        self._time.end = float(time[-1])
        series = {"ch1": run.current[0], "gap": run.opening_mm, **{m: run.force_n[m] for m, _, _ in _MUSCLES if m in run.force_n},
                  **{j: run.angle_deg[j] for j, _, _ in _JOINTS}}
        late = int(0.75 * min(cycle.on_s, time[-1]) / time[-1] * (keep.size - 1))
        for key, source in self.sources.items():
            values = series.get(key)
            source.data = {"x": [], "y": []} if values is None else {"x": time, "y": values[keep]}
        for name, keys in (("current", ["ch1"]), ("force", [m for m, _, _ in _MUSCLES]), ("opening", ["gap"])):
            top = max(float(series[key].max()) for key in keys if key in series)
            self.figures[name].y_range.update(start=0.0, end=max(1.15 * top, 1.0))
        angles = np.concatenate([series[j] for j, _, _ in _JOINTS])
        self.figures["angle"].y_range.update(
            start=float(min(angles.min() - 8, -5)), end=float(angles.max() + 0.2 * np.ptp(angles) + 5),
        )
        self._laid = (series, keep, time, late)
        self._place_words(*self._laid)

    def _place_words(self, series: dict[str, Any], keep: Any, time: Any, late: int) -> None:
        """Words right of where the current ends, at the height each line had before; moved apart where they would meet."""
        past = float(time[late]) + 0.17 * float(time[-1])
        high = self._state.plot_px.get("cycle force", (0.0, _USUAL_PX))[1]
        line = 1.35 * _TEXT * self._state.letter_px / high  # share of the plot's height
        for name, group in (("force", [m for m, _, _ in _MUSCLES]), ("angle", [j for j, _, _ in _JOINTS])):
            axis = self.figures[name].y_range
            apart = line * (axis.end - axis.start)
            heights = {key: float(series[key][keep][late]) for key in group if key in series}
            lowest = axis.start + 0.1 * apart
            for key in sorted(heights, key=lambda name: heights[name]):
                lowest = max(heights[key], lowest)
                self._ends[key].update(x=past, y=lowest, visible=True)
                lowest += apart
            # what has been pushed out at the top goes down again, and the ones below it make room
            highest = axis.end - apart
            for key in sorted(heights, key=lambda name: -self._ends[name].y):
                self._ends[key].y = highest = min(self._ends[key].y, highest)
                highest -= apart
            for key in set(group) - set(heights):
                self._ends[key].visible = False
