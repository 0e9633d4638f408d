"""Words on a plot beside what they speak of, clear of lines, axes and each other; the less weighty ones give way, or wait."""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

__all__ = ["Box", "Room", "Sheet", "words_wide"]

Array = NDArray[np.float64]
Box = tuple[float, float, float, float]
"""Left, low, right and high edge [px] from a plot's lower left corner."""

_LINE = 1.5
"""Height of a line as Bokeh sets it, in heights of a letter."""

_BOLD = 1.07
_WIDTHS = {**dict.fromkeys("ijl.,:;' |", 0.28), **dict.fromkeys("frt-1", 0.37), **dict.fromkeys("mwMW", 0.84)}
_CAPITAL, _OTHER = 0.66, 0.57
"""Widths of letters of the pages' font in heights, measured in a browser, rounded up."""

_CELL_PX = 4.0
_FROM_AXIS_PX = 3.0
_CLEAR_PX = 2.5
_FARTHEST = 2.0
"""Words farther than so many lines from what they speak of are left out."""

_FROM_HOME = 0.3
"""A line of way from where words would stand best is as bad as this many from what they speak of."""

_TARGETS = 12


def words_wide(text: str, bold: bool = False) -> float:
    """Width of the longest line, in heights of a letter.

    Parameters
    ----------
    text : str
        Lines are parted by a newline.
    bold : bool, optional
    """
    def wide(line: str) -> float:
        return sum(_WIDTHS.get(letter, _CAPITAL if letter.isupper() or letter.isdigit() else _OTHER) for letter in line)

    return max(map(wide, text.split("\n"))) * (_BOLD if bold else 1.0)


@dataclass(frozen=True, slots=True)
class Sheet:
    """The drawn part of a plot: its size in pixels, the data that it spans from nothing, and the height of a letter."""

    wide_px: float
    high_px: float
    x_end: float
    y_end: float
    text_px: float

    def place(self, x: Any, y: Any) -> Array:
        """Points of the data in pixels from the plot's lower left corner, (n, 2)."""
        return np.column_stack([np.asarray(x) / self.x_end * self.wide_px, np.asarray(y) / self.y_end * self.high_px])

    def size(self, label: Any) -> tuple[float, float]:
        """Width and height of a label [px]."""
        text, edge = str(label.text), 2.0 * float(label.padding or 0.0)
        wide = words_wide(text, label.text_font_style == "bold") * self.text_px
        return wide + edge, (text.count("\n") + 1) * _LINE * self.text_px + edge

    def box(self, label: Any) -> Box:
        """Where a label stands."""
        wide, high = self.size(label)
        ((x, y),) = self.place([label.x], [label.y])
        left = x + label.x_offset - {"left": 0.0, "center": 0.5 * wide, "right": wide}[label.text_align]
        low = y + label.y_offset - {"bottom": 0.0, "middle": 0.5 * high, "top": high}.get(label.text_baseline, 0.0)
        return left, low, left + wide, low + high


class Room:
    """What is free on a sheet; lines, points and labels take it.

    Parameters
    ----------
    sheet : Sheet
    """

    def __init__(self, sheet: Sheet) -> None:
        self.sheet = sheet
        self._taken = np.zeros(self._cell(sheet.wide_px, sheet.high_px * 1.02 + _CELL_PX), dtype=bool)

    def _cell(self, x: float, y: float) -> tuple[int, int]:
        return max(int(np.ceil(x / _CELL_PX)), 1), max(int(np.ceil(y / _CELL_PX)), 1)

    def line(self, x: Any, y: Any) -> None:
        """No words on a line through points of the data, nor close beside it; the line may have gaps.

        Parameters
        ----------
        x, y : array_like, shape (n,)
        """
        points = self.sheet.place(x, y)
        way = np.diff(points, axis=0)
        steps = np.nan_to_num(2.0 * np.hypot(*way.T) / _CELL_PX).astype(int) + 1
        part = np.repeat(np.arange(len(way)), steps)
        share = (np.arange(len(part)) - np.repeat(np.cumsum(steps) - steps, steps)) / np.repeat(steps, steps)
        on_it = np.vstack([points[part] + share[:, None] * way[part], points])
        on_it = on_it[np.all(np.isfinite(on_it), axis=1)]
        for aside in itertools.product((-_CLEAR_PX, 0.0, _CLEAR_PX), repeat=2):
            cells = np.floor((on_it + aside) / _CELL_PX).astype(int)
            inside = np.all((cells >= 0) & (cells < self._taken.shape), axis=1)
            self._taken[tuple(cells[inside].T)] = True

    def point(self, x: float, y: float, round_px: float) -> None:
        """No words on a point of the data that is drawn so large."""
        ((px, py),) = self.sheet.place([x], [y])
        self.take((px - round_px, py - round_px, px + round_px, py + round_px))

    def take(self, box: Box) -> None:
        """No words in a box."""
        left, low, right, high = (np.asarray(box) / _CELL_PX).tolist()
        self._taken[max(int(left), 0): max(int(np.ceil(right)), 0), max(int(low), 0): max(int(np.ceil(high)), 0)] = True

    def _free(self, wide: float, high: float) -> Array:
        """Lower left corners [px] where a box of this size is free."""
        nx, ny = self._cell(wide, high)
        filled = np.zeros(tuple(n + 1 for n in self._taken.shape))
        filled[1:, 1:] = self._taken.cumsum(axis=0).cumsum(axis=1)
        if nx >= filled.shape[0] or ny >= filled.shape[1]:
            return np.empty((0, 2))
        inside = filled[nx:, ny:] - filled[:-nx, ny:] - filled[nx:, :-ny] + filled[:-nx, :-ny]
        corners: Array = np.argwhere(inside == 0.0).astype(np.float64) * _CELL_PX
        edges = (self.sheet.wide_px - wide, self.sheet.high_px * 1.02 - high)
        free: Array = corners[np.all((corners >= _FROM_AXIS_PX) & (corners <= edges), axis=1)]
        return free

    def put(self, label: Any, near: tuple[Any, Any] | None = None, farthest: float = _FARTHEST) -> bool:
        """Move a label to the best free place, and take it; where there is none, hide the label.

        Parameters
        ----------
        label : bokeh.models.Label
            Stands where it would stand best.
        near : (array_like, array_like), optional
            Points of the data that it speaks of; the point that it is at where none are given.
        farthest : float, optional
            In lines, from what it speaks of.

        Returns
        -------
        bool
            Whether it found a place.
        """
        left, low, *_ = self.sheet.box(label)
        wide, high = self.sheet.size(label)
        corners = self._free(wide, high)
        at = self.sheet.place(*(near or ([label.x], [label.y])))
        if len(at) > _TARGETS:
            at = at[np.linspace(0, len(at) - 1, _TARGETS).astype(int)]
        line = _LINE * self.sheet.text_px
        reach = farthest * line
        close = (corners >= at.min(axis=0) - reach - (wide, high)) & (corners <= at.max(axis=0) + reach)
        corners = corners[np.all(close, axis=1)]
        x, y = (np.maximum(np.maximum(c - t, t - c - size), 0.0) for c, t, size in zip(
            corners.T[..., None], at.T[:, None], (wide, high), strict=True))
        far = np.sqrt((x * x + y * y).min(axis=1)) / line
        cost = far + _FROM_HOME * np.hypot(corners[:, 0] - left, corners[:, 1] - low) / line
        found = bool(np.any(far <= farthest))
        label.visible = found
        if found:
            best = corners[np.argmin(np.where(far <= farthest, cost, np.inf))]
            label.update(x_offset=label.x_offset + best[0] - left, y_offset=label.y_offset + best[1] - low)
            self.take(self.sheet.box(label))
        return found
