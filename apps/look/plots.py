"""Bokeh figures in the manner of the look: axis names at the ends in the colour of what they measure, few lines."""

from __future__ import annotations

from typing import Any

from bokeh.models import ColumnDataSource, Label, Title
from bokeh.plotting import figure

from graspwave.apps.web.tokens import paint, text_size

__all__ = ["BAND_ALPHA", "FONT", "band", "line", "plain_figure", "tag", "word"]

FONT = "Atkinson Hyperlegible Next, sans-serif"
BAND_ALPHA = 0.16
"""How much of its colour a band of other arms has: words over it are read still. Lessons draw theirs so too."""


def plain_figure(
    theme: str, *, x_name: str, y_name: str, y_quantity: str, x_quantity: str = "ink2", spoken: str, size_px: int = 14,
    **options: Any,
) -> Any:
    """A figure with left and bottom line only, a hairline grid across, and its axis names at the ends.

    Parameters
    ----------
    theme : str
        ``"light"`` or ``"dark"``, for the first drawing.
    x_name, y_name : str
        Name and unit, for example ``"Opening [mm]"``.
    x_quantity, y_quantity : str
        The quantity whose text colour the name takes, or ``"ink2"``.
    spoken : str
        What a screen reader says of it.
    """
    fig = figure(
        sizing_mode="stretch_both", toolbar_location=None, tools="", min_width=0, min_height=0,
        html_attributes={"role": "img", "aria-label": spoken}, **options,
    )
    fig.background_fill_color = fig.border_fill_color = fig.outline_line_color = None
    for name, quantity, align, place in ((y_name, y_quantity, "left", "above"), (x_name, x_quantity, "right", "below")):
        end = text_size(
            Title(text=name, align=align, text_font=FONT, text_font_style="bold", standoff=2), text_font_size=size_px / 15
        )
        paint(end, theme, text_color=quantity if quantity == "ink2" else f"{quantity}_t")
        fig.add_layout(end, place)
    for axis in (fig.xaxis[0], fig.yaxis[0]):
        axis.major_label_text_font = FONT
        text_size(axis, major_label_text_font_size=(size_px - 1) / 15)
        axis.minor_tick_line_color = None
        axis.major_tick_in, axis.major_tick_out = 0, 4
        axis.ticker.desired_num_ticks = 5
        paint(axis, theme, major_label_text_color="ink2", axis_line_color="edge", major_tick_line_color="edge")
    paint(fig.ygrid[0], theme, grid_line_color="hair")
    fig.xgrid[0].visible = False
    return fig


def line(fig: Any, theme: str, source: ColumnDataSource, x: str, y: str, token: str, width: float = 3.0, **look: Any) -> Any:
    """A line of one quantity."""
    renderer = fig.line(x, y, source=source, line_width=width, line_join="round", line_cap="round", **look)
    paint(renderer.glyph, theme, line_color=token)
    return renderer


def band(fig: Any, theme: str, source: ColumnDataSource, token: str) -> None:
    """Where other arms lie, between ``low`` and ``high`` over ``x``, behind all lines; as faint as in lessons."""
    paint(fig.varea("x", "low", "high", source=source, fill_alpha=BAND_ALPHA, level="underlay").glyph, theme, fill_color=token)


def word(fig: Any, theme: str, text: str = "", token: str = "ink2", size_px: int = 14, **look: Any) -> Label:
    """Plain words on the plot."""
    label = text_size(Label(x=0, y=0, text=text, text_font=FONT, **look), text_font_size=size_px / 15)
    paint(label, theme, text_color=token)
    fig.add_layout(label)
    return label


def tag(fig: Any, theme: str, token: str, size_px: int = 14, **look: Any) -> Label:
    """A number on a filled tag."""
    label = text_size(
        Label(x=0, y=0, text="", text_font=FONT, text_font_style="bold", padding=4, border_radius=4, **look),
        text_font_size=size_px / 15,
    )
    paint(label, theme, background_fill_color=token, text_color="bg")
    fig.add_layout(label)
    return label
