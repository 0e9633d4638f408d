"""Words on a plot that keep clear of each other, the axes and, where they can, the lines: the less weighty ones move, or wait."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

__all__ = ["Sheet", "clear_labels"]

_LETTER = 0.59
"""Width of a letter, in heights."""

_LINE = 1.5
"""Height of a line as Bokeh sets it, in heights of a letter."""

_FROM_AXIS_PX = 3.0
_UPWARDS = (0.0, 0.7, -0.7, 1.4, -1.4, 2.1, -2.1, 2.8, -2.8, 3.5)
"""Ways up and down that are tried, in lines."""

_SIDEWAYS = (0.0, 0.7, -0.7, 1.5, -1.5, 2.5, -2.5, 4.0)
"""Ways aside that are tried, in heights of a letter."""

_CROSSED = 2.0
"""A line that runs through words is as bad as so many lines of way."""

Box = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True, eq=False)
class Sheet:
    """The drawn part of a plot: its size in pixels, the data that it spans, and the height of a letter."""

    wide_px: float
    high_px: float
    x_end: float
    y_end: float
    text_px: float
    line_px: NDArray[np.float64] | None = None

    def place(self, x: Any, y: Any) -> NDArray[np.float64]:
        """Points of the data in pixels from the plot's lower left corner, (n, 2)."""
        return np.column_stack([np.asarray(x) / self.x_end * self.wide_px, np.asarray(y) / self.y_end * self.high_px])

    def box(self, label: Any, up: float = 0.0, aside: float = 0.0) -> Box:
        """Left, low, right and high edge of a label [px] from the plot's lower left corner, moved by lines and letters."""
        lines = str(label.text).split("\n")
        edge = float(label.padding or 0.0)
        wide = max(map(len, lines)) * _LETTER * self.text_px + 2.0 * edge
        high = len(lines) * _LINE * self.text_px + 2.0 * edge
        x = label.x / self.x_end * self.wide_px + label.x_offset + aside * self.text_px
        y = label.y / self.y_end * self.high_px + label.y_offset + up * self.text_px
        left = x - {"left": 0.0, "center": 0.5 * wide, "right": wide}[label.text_align]
        low = y - {"bottom": 0.0, "middle": 0.5 * high, "top": high}.get(label.text_baseline, 0.0)
        return left, low, left + wide, low + high

    def holds(self, box: Box) -> bool:
        """Whether a box lies within the plot, clear of both axes."""
        return min(box[:2]) >= _FROM_AXIS_PX and box[2] <= self.wide_px + 2.0 and box[3] <= self.high_px * 1.02

    def crossed(self, box: Box) -> bool:
        """Whether the drawn line runs through a box."""
        if self.line_px is None:
            return False
        x, y = self.line_px.T
        return bool(np.any((x > box[0]) & (x < box[2]) & (y > box[1] + 2.0) & (y < box[3] - 2.0)))


def _meet(a: Box, b: Box) -> bool:
    return min(a[2], b[2]) > max(a[0], b[0]) and min(a[3], b[3]) > max(a[1], b[1])


def _way(move: tuple[float, float]) -> float:
    """How far a label has gone: aside it leaves what it speaks of sooner."""
    return abs(move[0]) + 1.3 * abs(move[1])


_MOVES = sorted(itertools.product(_UPWARDS, _SIDEWAYS), key=_way)
"""Lines up and letters aside, the nearest first."""


def _best(sheet: Sheet, label: Any, taken: Sequence[Box]) -> tuple[float, float, Box] | None:
    """Way up and aside of a label, and the box that it comes to; none where it finds no place."""
    best, least = None, math.inf
    for move in _MOVES:
        if _way(move) >= least:  # farther, and no better even where no line runs through it
            break
        box = sheet.box(label, *move)
        if sheet.holds(box) and not any(_meet(box, other) for other in taken):
            cost = _way(move) + _CROSSED * sheet.crossed(box)
            if cost < least:
                best, least = (*move, box), cost
    return best


def clear_labels(sheet: Sheet, fixed: Sequence[Any], moving: Sequence[Any]) -> None:
    """Move labels until they meet none before them, no axis and, where that is near, no line; one without a place is not shown.

    Parameters
    ----------
    sheet : Sheet
    fixed : sequence of bokeh Label
        They stay.
    moving : sequence of bokeh Label
        The weightiest first.
    """
    taken = [sheet.box(label) for label in fixed if label.visible]
    for label in moving:
        if not label.visible:
            continue
        if (found := _best(sheet, label, taken)) is None:
            label.visible = False
            continue
        up, aside, box = found
        taken.append(box)
        label.update(y_offset=label.y_offset + up * sheet.text_px, x_offset=label.x_offset + aside * sheet.text_px)
