"""What half an hour of the present cycles leaves of pull and opening, under the why: tiring is not seen in one cycle."""

from __future__ import annotations

from typing import Any

import panel as pn
import param

from graspwave import simulator as sim
from graspwave.apps.controls import Thread
from graspwave.apps.desk.aside import Aside, dims
from graspwave.apps.desk.pause import AfterPause
from graspwave.apps.desk.state import DeskState
from graspwave.apps.told import force_studies as studies
from graspwave.apps.web.source import sheet

__all__ = ["SessionView", "session_rows"]

_PAUSE_MS = 1500
"""Half an hour costs as much as thirty postures: whoever goes on changing does not read it yet, and others explore as well."""


def session_rows(scene: sim.Scene) -> list[dict[str, str]]:
    """One row: pull of the finger opener and opening of the hand, at the first and in the last minute of the session."""
    found, opened = studies.minutes(scene), studies.opened(scene)
    held = scene.channel[0].timing.control == "held"
    after = f"{scene.session.minutes:g} min of {'timer' if held else 'these'} cycles"
    if opened is None:
        return [{"quantity": "force", "value": "0 N", "words": "the finger opener does not pull, so nothing tires"}]
    pull = _together(f"{found.first_held_n:.0f} \u2192 {found.last_held_n:.0f} N")
    return [{"quantity": "opening", "value": _together(f"{opened[0]:.0f} \u2192 {opened[1]:.0f} mm"),
             "words": f"{after}: pull {pull}, opening"}]


def _together(words: str) -> str:
    """Words that no line is broken in."""
    return words.replace(" ", "\u00a0")


class SessionView(pn.viewable.Viewer):
    """A row that follows the scene after a pause; nothing is worked out while it is not looked at."""

    active = param.Boolean(default=True)

    def __init__(self, state: DeskState, **params: Any) -> None:
        super().__init__(**params)
        self._state = state
        self._seen: sim.Scene | None = None
        self.rows = Thread([], label="What half an hour leaves")
        self._box = pn.Column(
            self.rows, sizing_mode="stretch_width", margin=0, styles={"padding-top": "4px"}, stylesheets=[sheet("desk/late.css")],
        )
        self._late = dims(self._box)
        self._look = Aside(session_rows, self._show, self._late)
        state.param.watch(self._changed, "scene")
        state.param.watch(AfterPause(self._update, _PAUSE_MS), "scene")
        self.param.watch(lambda *_: self._update(), "active")
        self._update()

    def __panel__(self) -> pn.viewable.Viewable:
        return self._box

    def _changed(self, *_: object) -> None:
        self._seen = None
        if self.active and pn.state.curdoc is not None:
            self._late(True)  # what stands there is of the setting before, until it is looked at anew

    def _update(self) -> None:
        if self.active and self._state.scene is not self._seen:
            self._seen = self._state.scene
            self._look(self._seen)

    def _show(self, found: list[dict[str, str]]) -> None:
        self.rows.show([{"kept": "", "explain": "", **row} for row in found])
