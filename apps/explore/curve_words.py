"""What is written on the opening curve, where it stands, and what had no room there and is told below the plot."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from graspwave.apps.desk.state import DeskState
from graspwave.apps.explore.glossary import WORDS
from graspwave.apps.explore.label_places import Room, Sheet, words_wide
from graspwave.apps.explore.meanings import meaning
from graspwave.apps.look import plots
from graspwave.apps.told import findings
from graspwave.apps.told.findings import Stretch, stretches

__all__ = ["CurveWords"]

Array = NDArray[np.float64]

_USUAL_PX = (440.0, 300.0)
"""Size of the drawn part before the page has told it."""

_TEXT = 14.0 / 15.0
"""Height of the words' letters, in rem."""

_WORD_SPACE_MA = 4.0
"""A part narrower than this has no room for its words."""

_RING_PX, _TOP_PX, _END_PX = 10.0, 6.0, 5.5
"""Half the size of the present point, of the widest, of the end of a branch, with what is left free round it."""

_GUTTER, _NAME, _BELOW = 2.4, 7.6, 0.87
"""Width of the numbers left of a plot and of the name of its level axis, and height of letters below it, in rem."""

_AMPLE, _SCANT = 27.0, 19.0
"""As wide as this many rem, words find their places as a rule; as narrow as this, not even the widest does."""

_ARMS_LONGEST = (
    "At 58 mA: 110 mm or more, room for the {object}, in none of 100 other arms; the middle finger claws in none. "
    "Shaded: eight in ten, here 90 to 110 mm. Invented arms, not patients."
)
"""What other arms say below the plot at its longest."""

_GOES_OVER = dict(WORDS)["goes over / back"]


class CurveWords:
    """Labels of the curve. The tags of the present point come first, then what is weighty; what finds no place is told.

    Parameters
    ----------
    fig : bokeh figure
    theme : str
    state : DeskState
    """

    def __init__(self, fig: Any, theme: str, state: DeskState) -> None:
        self._fig, self._state = fig, state
        self.stretches = [plots.word(fig, theme, text_align="center") for _ in range(4)]
        self.widest = plots.word(fig, theme, token="opening_t", text_align="center", text_font_style="bold")
        self.kept = plots.word(fig, theme, text_align="right")
        self.fold = meaning(plots.word(fig, theme, text_baseline="middle"), _GOES_OVER)
        self.object = plots.word(fig, theme, text_align="right")
        self.x_tag = plots.tag(fig, theme, "current_t", text_align="center")
        self.y_tag = plots.tag(fig, theme, "opening_t", text_baseline="middle")

    def lay(self) -> list[dict[str, str]]:
        """Write all words anew, each beside what it speaks of and clear of everything drawn.

        Returns
        -------
        list of dict
            What found no place, as sentences, with the meaning of a word in it where there is one.
        """
        state, fig = self._state, self._fig
        wide, high = state.plot_px.get("curve", _USUAL_PX)
        sheet = Sheet(wide, high, float(fig.x_range.end), float(fig.y_range.end), _TEXT * state.letter_px)
        room = Room(sheet)
        self._lines(room)
        self._tags(room)
        self._thin_lines(room)
        left = [self._widest(room), self._object(room), self._fold(room)]
        self._stretches(room)
        return [{"text": text, "means": means} for text, means in filter(None, [*left, self._kept(room)])]

    @property
    def rows(self) -> int:
        """Lines to keep free below the plot, the first beside the name of its axis: for what this hand may leave out there.

        It goes by width, letters and hand alone, not by what finds a place, so that a plot's height hangs on nothing that
        hangs on the plot's height.
        """
        state, letter = self._state, self._state.letter_px
        wide: float = state.plot_px.get("curve", _USUAL_PX)[0] + _GUTTER * letter
        folds = state.marks is not None and bool(state.marks.folds)
        arms = _ARMS_LONGEST.format(object=state.scene.task.object) if state.arms_asked else ""
        if wide > _AMPLE * letter and not arms:
            return 1 if state.pinned is None else 2
        widest = "Widest: 99 mm at 60 mA." if wide < _SCANT * letter else ""
        fold = f"It {self.fold.text}." if folds else ""
        kept = "" if state.pinned is None else f"Dashed: {state.pinned.title}."
        fits = f"Dotted: {state.scene.task.object}, 99 mm; it {findings.fits_words(state.fits_ma)}."
        left = [kept] if wide > _AMPLE * letter else [widest, fits, fold, kept]
        text = " ".join(filter(None, [*left, arms])).replace("\n", " ")
        more = max(_BELOW * letter * words_wide(text) - (wide - _NAME * letter), 0.0)
        return 1 + math.ceil(more / (0.9 * wide))

    # ---- what is drawn

    def _lines(self, room: Room) -> None:
        """What no word and no tag lies on."""
        state = self._state
        room.line(*state.curve_with_folds)
        if state.pinned_curve is not None:
            room.line(state.pinned_curve.amplitude_ma, state.pinned_curve.opening_mm)
        size = state.scene.task.diameter_mm
        for ends in state.fits_ma:
            room.line(ends, (size, size))
        for fold in () if state.marks is None else state.marks.folds:
            room.line(fold.back_ma, fold.back_mm)
            room.point(fold.rising_ma, fold.before_mm, _END_PX)
            room.point(*fold.last_there, _END_PX)
        room.point(state.amplitude_ma, self._gap, _RING_PX)
        if (top := self.top) is not None:
            room.point(*top, _TOP_PX)

    def _thin_lines(self, room: Room) -> None:
        """What tags may lie on, and words not."""
        state, size = self._state, self._state.scene.task.diameter_mm
        now, gap = state.amplitude_ma, self._gap
        room.line((now, now), (0.0, gap))
        room.line((0.0, now), (gap, gap))
        room.line((0.0, room.sheet.x_end), (size, size))
        for at in (at for ends in state.fits_ma for at in ends):
            room.line((at, at), (0.0, size))

    @property
    def _gap(self) -> float:
        return float(self._state.point.opening_mm[0])

    @property
    def top(self) -> tuple[float, float] | None:
        """Where the curve is widest; none where it is flat."""
        x, y = self._state.curve.amplitude_ma, self._state.curve.opening_mm
        best = int(np.argmax(y))
        return None if float(np.ptp(y)) < 2.0 else (float(x[best]), float(y[best]))

    # ---- what is written

    def _tags(self, room: Room) -> None:
        """Current and opening, at the axes where the curve leaves room, else along their thin lines."""
        sheet, now, gap = room.sheet, self._state.amplitude_ma, self._gap
        self.y_tag.update(text=f"{gap:.0f} mm", x_offset=5.0, y_offset=0.0)
        self.x_tag.update(text=f"{now:.0f} mA", x_offset=0.0, y_offset=8.0)
        half = 0.5 * sheet.size(self.y_tag)[1] + 2.0
        self.y_tag.update(x=0.0, y=max(gap, half / sheet.high_px * sheet.y_end))
        ends = (0.5 * sheet.size(self.x_tag)[0] + 2.0) / sheet.wide_px * sheet.x_end
        self.x_tag.update(x=float(np.clip(now, ends, sheet.x_end - ends)), y=0.0)
        # without a place a tag is left out: the slider and the hand show the same numbers
        room.put(self.x_tag, (np.full(9, now), np.linspace(0.0, gap, 9)))
        room.put(self.y_tag, (np.linspace(0.0, now, 9), np.full(9, gap)))

    def _widest(self, room: Room) -> tuple[str, str] | None:
        top = self.top
        self.widest.visible = top is not None and abs(top[0] - self._state.amplitude_ma) > 1.0
        if top is None or not self.widest.visible:
            return None
        self.widest.update(
            text=f"widest {top[1]:.0f}", x=float(np.clip(top[0], 5, 55)), y=top[1], x_offset=0.0, y_offset=8.0)
        return None if room.put(self.widest, ([top[0]], [top[1]]), 1.5) else (f"Widest: {top[1]:.0f} mm at {top[0]:.0f} mA.", "")

    def _object(self, room: Room) -> tuple[str, str] | None:
        """Name and size of the object at its line, and which currents fit where there is room for both."""
        task, end = self._state.scene.task, room.sheet.x_end
        fits = findings.fits_words(self._state.fits_ma)
        low = task.diameter_mm > 0.72 * room.sheet.y_end  # no room above the line
        line = (np.linspace(0.0, end, 12), np.full(12, task.diameter_mm))
        name = f"{task.object}, {task.diameter_mm:.0f} mm"
        for text in (f"{name}\n{fits}", name):
            self.object.update(
                text=text, x=end, y=task.diameter_mm, x_offset=0.0, y_offset=-3.0 if low else 3.0,
                text_baseline="top" if low else "bottom")
            if room.put(self.object, line, 0.8):
                return None if text != name else (f"The {task.object} {fits}.", "")
        return f"Dotted: {name}; it {fits}.", ""

    def _fold(self, room: Room) -> tuple[str, str] | None:
        marks = self._state.marks
        found = marks.folds if marks else ()
        much = 0.5 * max((abs(f.after_mm - f.before_mm) for f in found), default=0.0)
        most = next((f for f in found if abs(f.after_mm - f.before_mm) >= much), None)  # the first that is worth a word
        self.fold.visible = most is not None
        if most is None:
            return None
        over = (f"goes over at {most.rising_ma:.1f},", f"back at {most.falling_ma:.1f} mA")
        low, high = sorted((most.before_mm, most.after_mm))
        self.fold.update(text="\n".join(over), x=most.rising_ma, y=0.5 * (low + high), x_offset=9.0, y_offset=0.0)
        levels = np.linspace(low, high, 5)
        near = np.repeat((most.rising_ma, most.falling_ma), 5), np.tile(levels, 2)
        return None if room.put(self.fold, near, 1.5) else (f"It {' '.join(over)}.", _GOES_OVER)

    def _kept(self, room: Room) -> tuple[str, str] | None:
        curve, pinned = self._state.pinned_curve, self._state.pinned
        self.kept.visible = curve is not None
        if curve is None or pinned is None:
            return None
        self.kept.update(text=f"pinned: {pinned.title}", x=60.0, y=float(curve.opening_mm[-1]), x_offset=0.0, y_offset=5.0)
        return None if room.put(self.kept, (curve.amplitude_ma, curve.opening_mm), 0.8) else (f"Dashed: {pinned.title}.", "")

    def _stretches(self, room: Room) -> None:
        """What the hand does over each part of the curve; the line itself shows it where there is no room."""
        x, y = self._state.curve.amplitude_ma, self._state.curve.opening_mm
        parts = [p for p in stretches(x, y) if p.kind != "steady" and p.to_ma - p.from_ma >= self._least_ma(room.sheet, p)]
        for label, part in zip(self.stretches, [*parts, *[None] * 4], strict=False):
            label.visible = part is not None
            if part is not None:
                label.update(text=part.words, x_offset=0.0, y_offset=0.0, **_home(part, x, y, room.sheet.y_end))
                room.put(label, _along(part, x, y), 1.2)

    @staticmethod
    def _least_ma(sheet: Sheet, part: Stretch) -> float:
        """How long a part must be for its words: those of a shut hand stand on its line, and need all their length."""
        wide = words_wide(part.words) * sheet.text_px / sheet.wide_px * sheet.x_end if part.kind == "shut" else 0.0
        return max(_WORD_SPACE_MA, wide)


def _along(part: Stretch, x: Array, y: Array) -> tuple[Array, Array]:
    """What the words of a part speak of: the middle of a climb; a fall until most of it is over; all of a line."""
    span = part.to_ma - part.from_ma
    at = np.linspace(part.from_ma, part.to_ma, 48)
    height = np.interp(at, x, y)
    if part.kind == "opens":
        keep = (at >= part.from_ma + 0.15 * span) & (at <= part.from_ma + 0.75 * span)
    elif part.kind == "closes":
        keep = height >= height[0] - 0.75 * (height[0] - height.min())
        keep &= np.cumsum(~keep) == 0  # what comes after the fall may be as high again
    else:
        keep = np.ones(48, dtype=bool)
    return at[keep], height[keep]


def _home(part: Stretch, x: Array, y: Array, top: float) -> dict[str, Any]:
    """Where the words of a part stand best: on the side of the line where there is room."""
    middle = 0.5 * (part.from_ma + part.to_ma)
    height = float(np.interp(middle, x, y))
    if part.kind == "shut":
        return {"x": 0.8, "y": float(y[0]) + 0.02 * top, "text_align": "left"}
    if part.kind == "opens":  # left of a line that climbs
        return {"x": middle - 1.5, "y": height, "text_align": "right"}
    start = float(np.interp(part.from_ma, x, y))
    if start - height > 0.3 * top:  # a steep fall leaves room on its right
        half = 0.35 * height + 0.65 * start
        return {"x": float(x[(x >= part.from_ma) & (y <= half)][0]) + 2.0, "y": half, "text_align": "left"}
    above = height < 0.6 * top
    return {"x": middle + (2.0 if above else -2.0), "y": height + (0.06 if above else -0.1) * top,
            "text_align": "left" if above else "right"}
