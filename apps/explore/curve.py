"""The hero on the right: opening of the hand against current, with the present point."""

from __future__ import annotations

import time
from typing import Any

import numpy as np
import panel as pn
from bokeh.models import ColumnDataSource, Range1d, Span

from graspwave.apps.desk.pause import AfterPause
from graspwave.apps.desk.state import DeskState
from graspwave.apps.explore.arms_view import arms_sentences, put_arms
from graspwave.apps.explore.curve_words import CurveWords
from graspwave.apps.explore.meanings import LeftOut, Meanings
from graspwave.apps.look import plots
from graspwave.apps.told.arms import spoken_words
from graspwave.apps.told.marks import turn_words
from graspwave.apps.web.source import sheet
from graspwave.apps.web.tokens import paint
from graspwave.simulator.answers import CURVE_MA

__all__ = ["CurveView"]

_USUAL_HIGH_PX = 300.0
_TICK_LETTERS = 2.0
"""A low plot has fewer numbers: each has so much room upright, in letters."""

_SILENT_S = 1.0
"""What is read aloud is told no more often."""


def _broken(parts: list[tuple[list[float], list[float]]]) -> dict[str, list[float]]:
    """Several lines as one, with gaps between."""
    gap = [float("nan")]
    return {axis: [v for part in parts for v in (*part[k], *gap)] for k, axis in enumerate(("x", "y"))}


class CurveView(pn.viewable.Viewer):
    """Opening against current; builds its figure once and updates the data."""

    def __init__(self, state: DeskState, theme: str, **params: Any) -> None:
        super().__init__(**params)
        self._state, self._theme = state, theme
        self._spoken_at = 0.0
        self._marked: Any = None
        self._shaded: Any = None
        self._without_place: list[dict[str, str]] = []
        self._build()
        pane = pn.pane.Bokeh(self.figure, sizing_mode="stretch_both", margin=0, stylesheets=[sheet("explore/curve.css")])
        self.left_out = LeftOut(margin=0)
        self._pane = pn.Column(
            pane, self.left_out, Meanings(margin=0), sizing_mode="stretch_both", margin=0,
            styles={"position": "relative", "min-height": "0"})
        put_arms(state, self._pane)
        self._say_later = AfterPause(self._say, round(1000.0 * _SILENT_S))
        state.param.watch(self._update, ["scene", "pinned", "marks", "arms"])
        state.param.watch(self._play, "played_s")
        state.param.watch(self._lay, ["letter_px", "plot_px"])
        state.param.watch(self._tell, ["arms_asked", "arms_told"])
        self._update()

    def __panel__(self) -> pn.viewable.Viewable:
        return self._pane

    def _build(self) -> None:
        theme = self._theme
        self.figure = fig = plots.plain_figure(
            theme, x_name="Current [mA]", y_name="Opening [mm]", x_quantity="current", y_quantity="opening",
            spoken="Opening against current", size_px=15, name="curve", x_range=Range1d(0, 60), y_range=Range1d(0, 120),
        )
        empty: dict[str, list[float]] = {"x": [], "y": []}
        self.past, self.rest, self.kept, self.now, self.widest, self.back, self.ends, self.fits, self.fits_legs = (
            ColumnDataSource(dict(empty)) for _ in range(9)
        )
        self.band = ColumnDataSource({"x": [], "low": [], "high": []})
        plots.band(fig, theme, self.band, "opening_f")
        self._object = Span(location=0, dimension="width", line_dash="dotted", line_width=1.5)
        fig.add_layout(paint(self._object, theme, line_color="ink2"))
        plots.line(fig, theme, self.kept, "x", "y", "ink2", 2.0, line_dash=[7, 5])
        plots.line(fig, theme, self.rest, "x", "y", "opening_f", 2.0, line_alpha=0.75)
        plots.line(fig, theme, self.past, "x", "y", "opening_f", 4.0)
        plots.line(fig, theme, self.back, "x", "y", "opening_t", 1.8, line_dash=[2, 4])
        open_ends = fig.scatter("x", "y", source=self.ends, size=7, line_width=1.8)
        paint(open_ends.glyph, theme, line_color="opening_t", fill_color="surface")
        plots.line(fig, theme, self.fits_legs, "x", "y", "ink2", 1.0)
        plots.line(fig, theme, self.fits, "x", "y", "ink", 3.0)
        self.drop_x, self.drop_y = ColumnDataSource(dict(empty)), ColumnDataSource(dict(empty))
        for source, token in ((self.drop_x, "current_f"), (self.drop_y, "opening_f")):
            plots.line(fig, theme, source, "x", "y", token, 1.5)
        top = fig.scatter("x", "y", source=self.widest, size=8, line_width=2)
        paint(top.glyph, theme, line_color="opening_t", fill_color="surface")
        self.playhead = ColumnDataSource({"x": [], "y": []})
        plots.line(fig, theme, self.playhead, "x", "y", "ink2", 1.5)
        moving = fig.scatter("x", "y", source=self.playhead, size=9, line_width=2)
        paint(moving.glyph, theme, line_color="ink2", fill_color="surface")
        ring = fig.scatter("x", "y", source=self.now, size=15, line_width=3)
        paint(ring.glyph, theme, line_color="ink", fill_color="surface")
        dot = fig.scatter("x", "y", source=self.now, size=6, line_color=None)
        paint(dot.glyph, theme, fill_color="opening_f")
        self.words = CurveWords(fig, theme, self._state)

    def _update(self, *_: object) -> None:
        self._shade()
        state = self._state
        curve, point, task = state.curve, state.point, state.scene.task
        x, y, now, gap = curve.amplitude_ma, curve.opening_mm, state.amplitude_ma, float(point.opening_mm[0])
        kept = state.pinned_curve
        x, y = state.curve_with_folds
        before = x < now
        self.past.data = {"x": np.append(x[before], now), "y": np.append(y[before], gap)}
        self.rest.data = {"x": np.insert(x[~before], 0, now), "y": np.insert(y[~before], 0, gap)}
        self.kept.data = {"x": [], "y": []} if kept is None else {"x": kept.amplitude_ma, "y": kept.opening_mm}
        self.now.data = {"x": [now], "y": [gap]}
        self.drop_x.data = {"x": [now, now], "y": [0, gap]}
        self.drop_y.data = {"x": [0, now], "y": [gap, gap]}
        highest = max(float(y.max()), task.diameter_mm, 0.0 if kept is None else float(kept.opening_mm.max()),
                      0.0 if state.arms is None else float(state.arms.high_mm.max()))
        self.figure.y_range.end = max(80.0, 20.0 * np.ceil((highest + 10.0) / 20.0))
        top = self.words.top
        self.widest.data = {"x": [], "y": []} if top is None else {"x": [top[0]], "y": [top[1]]}
        self._object.location = task.diameter_mm
        self._mark()
        self._lay()
        # a screen reader is not to be flooded during a drag, and is told in the end where it led
        if time.monotonic() - self._spoken_at > _SILENT_S:
            self._say()
        else:
            self._say_later()

    def _shade(self) -> None:
        """Where eight in ten of other arms lie, for as long as they are of this very curve."""
        arms = self._state.arms
        if arms is self._shaded:
            return
        self._shaded = arms
        none: list[float] = []
        self.band.data = {"x": none, "low": none, "high": none} if arms is None else {
            "x": CURVE_MA, "low": arms.low_mm, "high": arms.high_mm}

    def _say(self) -> None:
        """What a screen reader says of the plot."""
        state, marks = self._state, self._state.marks
        self._spoken_at = time.monotonic()
        spoken = (f"Opening against current. {state.finding}. At {state.amplitude_ma:.0f} mA the opening is "
                  f"{float(state.point.opening_mm[0]):.0f} mm.")
        if marks is not None and marks.folds:
            spoken = f"{spoken} {' '.join(turn_words(marks))}"
        if state.arms is not None:
            spoken = f"{spoken} {spoken_words(state.arms, state.amplitude_ma)}"
        self.figure.html_attributes = {"role": "img", "aria-label": spoken}

    def _lay(self, *_: object) -> None:
        """Words stand where there is room for them as large as the page and its letters are; the others are told below."""
        state = self._state
        high = state.plot_px.get("curve", (0.0, _USUAL_HIGH_PX))[1]
        ticks = int(np.clip(high / (_TICK_LETTERS * state.letter_px), 2, 5))
        if self.figure.yaxis[0].ticker.desired_num_ticks != ticks:
            self.figure.yaxis[0].ticker.desired_num_ticks = ticks
        self._without_place = self.words.lay()
        self._tell()

    def _tell(self, *_: object) -> None:
        """What stands below: what found no place, then other arms."""
        self.left_out.param.update(
            said=[*self._without_place, *arms_sentences(self._state)], rows=self.words.rows, letter=self._state.letter_px)

    def _play(self, *_: object) -> None:
        """Where the cycle that is played has come to: an upright line at its current, up to its opening."""
        state = self._state
        if state.played_s < 0.0:
            self.playhead.data = {"x": [], "y": []}
            return
        run = state.cycle.run
        i = min(int(np.searchsorted(run.time_s, state.played_s)), run.time_s.size - 1)
        at, gap = float(run.current[0][i]), float(run.opening_mm[i])
        self.playhead.data = {"x": [at, at], "y": [0.0, gap]}

    def _mark(self) -> None:
        """The currents that clear the object, and where the hand goes over into another posture, from both sides."""
        state = self._state
        size, ranges = state.scene.task.diameter_mm, state.fits_ma
        if self._marked == (size, ranges, state.marks):
            return  # only the current has changed
        self._marked = (size, ranges, state.marks)
        self.fits.data = _broken([([a, b], [size, size]) for a, b in ranges])
        self.fits_legs.data = _broken([([at, at], [0.0, size]) for ends in ranges for at in ends])
        found = () if state.marks is None else state.marks.folds
        self.back.data = _broken([([*f.back_ma], [*f.back_mm]) for f in found])
        ends = [end for f in found for end in ((f.rising_ma, f.before_mm), f.last_there)]
        self.ends.data = {"x": [at for at, _ in ends], "y": [mm for _, mm in ends]}
