"""Results in a notebook: pictures by Bokeh and tables by pandas. Both are asked for only when one is wanted."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from html import escape
from typing import Any

__all__ = ["CAUTION", "bars", "frame", "html", "lines", "spans"]

CAUTION = "A teaching model, not for setting treatment."

_TONES = ("#0072B2", "#D55E00", "#009E73", "#CC79A7", "#56B4E9", "#E69F00", "#333333")
"""Okabe and Ito's colours, which those with colour-blindness tell apart."""

_WIDE, _HIGH = 640, 320


def html(said: Sequence[str]) -> str:
    """A result's lines for a notebook, with the caution."""
    first, *rest = said
    body = "".join(f"<div>{escape(line.strip())}</div>" for line in rest)
    return f"<div><strong>{escape(first)}</strong>{body}<small>{CAUTION}</small></div>"


def lines(
    title: str, x_name: str, y_name: str, drawn: Mapping[str, tuple[Any, Any]], figure: Any = None, **look: Any,
) -> Any:
    """Lines on a Bokeh figure, on the given one or a new one; each has the next colour that the figure has not used.

    Parameters
    ----------
    title, x_name, y_name : str
    drawn : mapping of str to (x, y)
        By name.
    figure : bokeh figure, optional
    **look
        Handed to Bokeh's ``line``, for example ``line_width``.
    """
    made = figure if figure is not None else _figure(title, x_name, y_name)
    for name, (x, y) in drawn.items():
        own = {"line_width": 2, "color": _TONES[len(made.renderers) % len(_TONES)], "legend_label": name, **look}
        made.line(x, y, **own)
    return made


def bars(title: str, x_name: str, values: Mapping[str, float], figure: Any = None, **look: Any) -> Any:
    """Bars to the right and left of nothing, the first on top."""
    names = list(values)[::-1]
    made = figure
    if made is None:
        made = _figure(title, x_name, "", y_range=names)
    own = {"height": 0.7, "color": _TONES[0], **look}
    made.hbar(y=names, right=[values[name] for name in names], left=0.0, **own)
    return made


def spans(title: str, x_name: str, rows: Sequence[tuple[str, float, float]], figure: Any = None, **look: Any) -> Any:
    """What lasted from when to when, a line for each kind.

    Parameters
    ----------
    rows : sequence of (str, float, float)
        Kind, from, to.
    """
    kinds = list(dict.fromkeys(kind for kind, _, _ in rows))[::-1]
    made = figure if figure is not None else _figure(title, x_name, "", y_range=kinds)
    own = {"height": 0.7, "color": _TONES[0], **look}
    made.hbar(y=[row[0] for row in rows], left=[row[1] for row in rows], right=[row[2] for row in rows], **own)
    return made


def _figure(title: str, x_name: str, y_name: str, **more: Any) -> Any:
    from bokeh.plotting import figure

    made = figure(title=title, x_axis_label=x_name, y_axis_label=y_name or None, width=_WIDE, height=_HIGH, **more)
    made.toolbar.logo = None
    return made


def frame(columns: Mapping[str, Any]) -> Any:
    """A pandas table of columns of one length.

    Raises
    ------
    ImportError
        pandas is not there.
    """
    try:
        import pandas  # type: ignore[import-untyped]
    except ImportError:
        raise ImportError("'frame' must have pandas (got none installed): pip install pandas") from None
    return pandas.DataFrame(dict(columns))
