"""Words on a plot that keep clear of each other and of the axes: the less weighty ones move, or wait."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

__all__ = ["Sheet", "clear_labels"]

_LETTER = 0.56
_LINE = 1.3
_MOVES = (0.0, 0.7, -0.7, 1.4, -1.4, 2.1, -2.1, 2.8)
"""Ways up and down that are tried, in lines."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """The drawn part of a plot: its size in pixels, the data that it spans, and the height of a letter."""

    wide_px: float
    high_px: float
    x_end: float
    y_end: float
    text_px: float

    def box(self, label: Any, up: float = 0.0) -> tuple[float, float, float, float]:
        """Left, low, right and high edge of a label [px] from the plot's lower left corner, `up` lines higher."""
        lines = str(label.text).split("\n")
        wide, high = max(map(len, lines)) * _LETTER * self.text_px, len(lines) * _LINE * self.text_px
        x = label.x / self.x_end * self.wide_px + label.x_offset
        y = label.y / self.y_end * self.high_px + label.y_offset + up * self.text_px
        left = x - {"left": 0.0, "center": 0.5 * wide, "right": wide}[label.text_align]
        low = y - {"bottom": 0.0, "middle": 0.5 * high, "top": high}.get(label.text_baseline, 0.0)
        return left, low, left + wide, low + high


def _meet(a: tuple[float, ...], b: tuple[float, ...]) -> bool:
    return min(a[2], b[2]) > max(a[0], b[0]) and min(a[3], b[3]) > max(a[1], b[1])


def clear_labels(sheet: Sheet, fixed: list[Any], moving: list[Any]) -> None:
    """Move labels up or down until they meet none before them; one that finds no place is not shown.

    Parameters
    ----------
    sheet : Sheet
    fixed : list of bokeh Label
        They stay.
    moving : list of bokeh Label
        The weightiest first.
    """
    taken = [sheet.box(label) for label in fixed if label.visible]
    for label in moving:
        if not label.visible:
            continue
        for up in _MOVES:
            box = sheet.box(label, up)
            inside = box[1] >= 0.0 and box[3] <= sheet.high_px * 1.02
            if inside and not any(_meet(box, other) for other in taken):
                label.y_offset += up * sheet.text_px
                taken.append(box)
                break
        else:
            label.visible = False
