"""Words of the curve: those that are explained by a tap where they stand, and those that found no room and stand below it."""

from __future__ import annotations

from typing import Any, ClassVar

import panel as pn
import param

from graspwave.apps.web.source import component, sheet

__all__ = ["LeftOut", "Meanings", "meaning"]


class Meanings(pn.custom.JSComponent):
    """Lies over a plot and follows its labels that `meaning` marked."""

    _esm: ClassVar[str] = component("explore/meanings.js")
    _stylesheets: ClassVar[list[str]] = [sheet("explore/explained.css"), sheet("explore/meanings.css")]


class LeftOut(pn.custom.JSComponent):
    """One short text below a plot; its room is kept free, so that the plot keeps its size whatever is said.

    Parameters
    ----------
    said : list of dict
        Sentences (``text``), each with what a word in it means (``means``), or with nothing.
    rows : int
        Lines kept free, the first of them beside the name of the level axis.
    letter : float
        Height of a letter of 1 rem on the plot [px], by which the words are as large as those on it.
    """

    said = param.List(default=[])
    rows = param.Integer(default=1, bounds=(1, 12))
    letter = param.Number(default=15.0)

    _esm: ClassVar[str] = component("explore/left_out.js")
    _stylesheets: ClassVar[list[str]] = [sheet("explore/explained.css"), sheet("explore/left_out.css")]


def meaning(label: Any, text: str) -> Any:
    """Mark a label of a Bokeh plot with what its words mean."""
    label.tags = [*label.tags, {"meaning": text}]
    return label
