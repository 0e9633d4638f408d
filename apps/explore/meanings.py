"""Words on the curve that are explained where they stand: a button over each, for a tap and for the keyboard."""

from __future__ import annotations

from typing import Any, ClassVar

import panel as pn

from graspwave.apps.web.source import component, sheet

__all__ = ["Meanings", "meaning"]


class Meanings(pn.custom.JSComponent):
    """Lies over a plot and follows its labels that `meaning` marked."""

    _esm: ClassVar[str] = component("explore/meanings.js")
    _stylesheets: ClassVar[list[str]] = [sheet("explore/meanings.css")]


def meaning(label: Any, text: str) -> Any:
    """Mark a label of a Bokeh plot with what its words mean."""
    label.tags = [*label.tags, {"meaning": text}]
    return label
