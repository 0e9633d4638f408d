"""The hero on the right: opening of the hand against current, with the present point."""

from __future__ import annotations

import dataclasses
import time
from typing import Any

import numpy as np
import panel as pn
from bokeh.models import ColumnDataSource, Range1d, Span

from graspwave.apps.desk.state import DeskState
from graspwave.apps.explore.glossary import WORDS
from graspwave.apps.explore.label_places import Sheet, clear_labels
from graspwave.apps.explore.meanings import Meanings, meaning
from graspwave.apps.look import plots
from graspwave.apps.told import findings
from graspwave.apps.told.findings import Stretch, stretches
from graspwave.apps.told.marks import turn_words
from graspwave.apps.web.tokens import paint

__all__ = ["CurveView"]

_USUAL_PX = (440.0, 300.0)
"""Size of the drawn part before the page has told it."""

_TEXT = 14.0 / 15.0
"""Height of the words' letters, in rem."""

_STROKE_POINTS = 240
"""Points of the drawn curve that words keep clear of."""

_SILENT_S = 1.0
"""What is read aloud is told no more often."""

_WORD_SPACE_MA = 4.0
"""A part narrower than this has no room for its words."""


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
        self._build()
        pane = pn.pane.Bokeh(self.figure, sizing_mode="stretch_both", margin=0)
        self._pane = pn.Column(
            pane, Meanings(margin=0), sizing_mode="stretch_both", margin=0, styles={"position": "relative", "min-height": "0"})
        state.param.watch(self._update, ["scene", "pinned", "marks"])
        state.param.watch(self._play, "played_s")
        state.param.watch(self._sized, ["letter_px", "plot_px"])
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
        self._words = [plots.word(fig, theme, text_align="center") for _ in range(4)]
        self._widest = plots.word(fig, theme, token="opening_t", text_align="center", text_font_style="bold", y_offset=8)
        self._kept_word = plots.word(fig, theme, text_align="right", y_offset=5)
        self._fold_word = meaning(plots.word(fig, theme, text_baseline="middle", x_offset=9), dict(WORDS)["goes over / back"])
        self._object_word = plots.word(fig, theme, text_align="right", y_offset=3)
        self._offsets = [(label.x_offset, label.y_offset) for label in (
            self._widest, self._object_word, self._fold_word, *self._words, self._kept_word)]
        self._x_tag = plots.tag(fig, theme, "current_t", text_align="center", y_offset=8)
        self._y_tag = plots.tag(fig, theme, "opening_t", x_offset=5, text_baseline="middle")

    def _update(self, *_: object) -> None:
        state = self._state
        curve, point, task = state.curve, state.point, state.scene.task
        x, y, now, gap = curve.amplitude_ma, curve.opening_mm, state.amplitude_ma, float(point.opening_mm[0])
        kept = state.pinned_curve
        marks = state.marks
        x, y = state.curve_with_folds
        before = x < now
        self.past.data = {"x": np.append(x[before], now), "y": np.append(y[before], gap)}
        self.rest.data = {"x": np.insert(x[~before], 0, now), "y": np.insert(y[~before], 0, gap)}
        self.kept.data = {"x": [], "y": []} if kept is None else {"x": kept.amplitude_ma, "y": kept.opening_mm}
        self.now.data = {"x": [now], "y": [gap]}
        self.drop_x.data = {"x": [now, now], "y": [0, gap]}
        self.drop_y.data = {"x": [0, now], "y": [gap, gap]}
        highest = max(float(y.max()), task.diameter_mm, 0.0 if kept is None else float(kept.opening_mm.max()))
        self.figure.y_range.end = max(80.0, 20.0 * np.ceil((highest + 10.0) / 20.0))
        self._label(curve.amplitude_ma, curve.opening_mm, now, gap)
        self._mark()
        self._kept_word.update(
            visible=kept is not None, text="" if state.pinned is None else f"pinned: {state.pinned.title}",
            x=60, y=0 if kept is None else float(kept.opening_mm[-1]),
        )
        self._make_room()
        if time.monotonic() - self._spoken_at > _SILENT_S:  # a screen reader is not to be flooded during a drag
            self._spoken_at = time.monotonic()
            spoken = f"Opening against current. {state.finding}. At {now:.0f} mA the opening is {gap:.0f} mm."
            if marks is not None and marks.folds:
                spoken = f"{spoken} {' '.join(turn_words(marks))}"
            self.figure.html_attributes = {"role": "img", "aria-label": spoken}

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

    def _label(self, x: Any, y: Any, now: float, gap: float) -> None:
        task, top = self._state.scene.task, float(self.figure.y_range.end)
        parts = [p for p in stretches(x, y) if p.kind != "steady" and p.to_ma - p.from_ma >= self._least_ma(p)]
        for label, part in zip(self._words, [*parts, *[None] * 4], strict=False):
            label.visible = part is not None
            if part is not None:
                label.update(**self._place(part, x, y, top, gap))
        best = int(np.argmax(y))
        flat = float(np.ptp(y)) < 2.0
        self.widest.data = {"x": [], "y": []} if flat else {"x": [x[best]], "y": [y[best]]}
        self._widest.update(
            visible=not flat and abs(x[best] - now) > 1.0, text=f"widest {y[best]:.0f}", x=float(np.clip(x[best], 5, 55)),
            y=float(y[best]),
        )
        self._object.location = task.diameter_mm
        fits = findings.fits_words(self._state.fits_ma)
        low = task.diameter_mm > 0.72 * top  # no room above the line
        self._object_word.update(
            text=f"{task.object}, {task.diameter_mm:.0f} mm\n{fits}", x=60, y=task.diameter_mm, y_offset=-3 if low else 3,
            text_baseline="top" if low else "bottom",
        )
        self._x_tag.update(text=f"{now:.0f} mA", y=0)
        self._y_tag.update(text=f"{gap:.0f} mm", x=0)

    def _sized(self, *_: object) -> None:
        """The page has told its size, or that of its letters: the words are laid anew."""
        curve, point = self._state.curve, self._state.point
        self._label(curve.amplitude_ma, curve.opening_mm, self._state.amplitude_ma, float(point.opening_mm[0]))
        self._make_room()

    def _make_room(self) -> None:
        """Words that would lie on another, on an axis or on the curve move; the tags of the present point stay."""
        fig, state = self.figure, self._state
        wide, high = state.plot_px.get("curve", _USUAL_PX)
        text = _TEXT * state.letter_px
        sheet = Sheet(wide, high, float(fig.x_range.end), float(fig.y_range.end), text)
        stroke = sheet.place(*state.curve_with_folds)
        length = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(stroke, axis=0).T))])
        even = np.linspace(0.0, length[-1], _STROKE_POINTS)
        sheet = dataclasses.replace(sheet, line_px=np.column_stack([np.interp(even, length, axis) for axis in stroke.T]))
        moving = [self._widest, self._object_word, self._fold_word, *self._words, self._kept_word]
        for label, (aside, up) in zip(moving, self._offsets, strict=True):
            label.update(x_offset=aside, y_offset=label.y_offset if label is self._object_word else up)
        self._object_word.visible = True
        self._fold_word.visible = state.marks is not None and bool(state.marks.folds)
        half = 0.5 * (1.5 * text + 2.0 * float(self._y_tag.padding)) + 2.0
        self._y_tag.y = max(float(state.point.opening_mm[0]), half / high * float(fig.y_range.end))
        half = 0.5 * (0.56 * text * len(self._x_tag.text) + 2.0 * float(self._x_tag.padding)) + 2.0
        ends = half / wide * float(fig.x_range.end)
        self._x_tag.x = float(np.clip(state.amplitude_ma, ends, float(fig.x_range.end) - ends))
        clear_labels(sheet, [self._x_tag, self._y_tag], moving)

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
        self.ends.data = {
            "x": [at for f in found for at in (f.rising_ma, f.back_ma[-2] if len(f.back_ma) > 1 else f.rising_ma)],
            "y": [mm for f in found for mm in (f.before_mm, f.back_mm[-2] if len(f.back_mm) > 1 else f.after_mm)],
        }
        most = max(found, key=lambda f: abs(f.after_mm - f.before_mm), default=None)
        self._fold_word.visible = most is not None
        if most is not None:
            # beside the fall, below the words of the stretch
            self._fold_word.update(
                text=f"goes over at {most.rising_ma:.1f},\nback at {most.falling_ma:.1f} mA", x=most.rising_ma,
                y=0.5 * (most.before_mm + most.after_mm),
            )

    def _least_ma(self, part: Stretch) -> float:
        """How long a part must be for its words: those of a shut hand stand on its line, and need all their length."""
        if part.kind != "shut":
            return _WORD_SPACE_MA
        wide = len(part.words) * 0.5 * _TEXT * self._state.letter_px
        room: float = self._state.plot_px.get("curve", _USUAL_PX)[0]
        return max(_WORD_SPACE_MA, wide / room * float(self.figure.x_range.end))

    def _place(self, part: Stretch, x: Any, y: Any, top: float, gap: float) -> dict[str, Any]:
        """Where a stretch's words stand: on the side of the line where there is room."""
        middle = 0.5 * (part.from_ma + part.to_ma)
        if part.kind == "shut":
            return {"text": part.words, "x": 0.8, "y": float(y[0]) + 0.02 * top, "text_align": "left"}
        if part.kind == "opens":  # left of a line that climbs, clear of the tag with the present opening
            at = [part.from_ma + share * (part.to_ma - part.from_ma) for share in (0.5, 0.35, 0.65)]
            middle = next((ma for ma in at if abs(float(np.interp(ma, x, y)) - gap) > 0.13 * top), middle)
            return {"text": part.words, "x": middle - 1.5, "y": float(np.interp(middle, x, y)), "text_align": "right"}
        height = float(np.interp(middle, x, y))
        fall = float(np.interp(part.from_ma, x, y)) - height
        if fall > 0.3 * top:  # a steep fall leaves room on its right
            half = float(np.interp(part.from_ma, x, y)) - 0.35 * fall
            right = float(x[(x >= part.from_ma) & (y <= half)][0])
            return {"text": part.words, "x": right + 2.0, "y": half, "text_align": "left"}
        above = height < 0.6 * top
        return {"text": part.words, "x": middle + (2.0 if above else -2.0), "y": height + (0.06 if above else -0.1) * top,
                "text_align": "left" if above else "right"}
