"""What the page has to say now: warnings, why the opening changed, the limits that are kept, what half an hour leaves."""

from __future__ import annotations

from typing import Any

import panel as pn
import param

from graspwave.apps.controls import Notices
from graspwave.apps.desk.state import DeskState
from graspwave.apps.explore.session_view import SessionView
from graspwave.apps.explore.why_view import WhyView

__all__ = ["NowView"]


class NowView(pn.viewable.Viewer):
    """Notices and the why in one column, so that neither hides the other.

    Parameters
    ----------
    state : DeskState
    warnings, kept : Notices
        What is close to a limit or past it, and what is inside.
    """

    active = param.Boolean(default=True, doc="Whether it is looked at; if not, no why is worked out.")

    def __init__(self, state: DeskState, warnings: Notices, kept: Notices, **params: Any) -> None:
        super().__init__(**params)
        self.why = WhyView(state)
        self.session = SessionView(state)
        self._box = pn.Column(
            warnings, self.why, kept, self.session, sizing_mode="stretch_width", margin=0, styles={"gap": "8px"})
        for part in (self.why, self.session):
            self.param.watch(lambda event, part=part: setattr(part, "active", event.new), "active")

    def __panel__(self) -> pn.viewable.Viewable:
        return self._box
