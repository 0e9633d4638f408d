"""Tells the page how far its settings are answered, so that hand, curve and number of an older current are dimmed meanwhile."""

from __future__ import annotations

from typing import Any, ClassVar

import panel as pn
import param

from graspwave.apps.web.source import component

__all__ = ["Answered"]


class Answered(pn.custom.JSComponent):
    """Counts what the person set on this page, and what of it all views have been told.

    Parameters
    ----------
    asked : int
        Changes by the person so far, told by the page after the change itself.
    shown : int
        The same once the answer to it is on its way: messages come in order, so what was worked out came before.
    """

    asked = param.Integer(default=0)
    shown = param.Integer(default=0)

    _esm: ClassVar[str] = component("desk/answered.js")
    _debounce: ClassVar[int] = 25

    def __init__(self, **params: Any) -> None:
        super().__init__(**{"width": 0, "height": 0, "margin": 0} | params)
        self.param.watch(lambda event: setattr(self, "shown", event.new), "asked")
