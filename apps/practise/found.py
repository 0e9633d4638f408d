"""What is worked out of the half hour on demand, beside the page, and shown only while the scene is the one it is of."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import panel as pn

from graspwave import simulator as sim
from graspwave.apps.controls import Finding, PlainButton
from graspwave.apps.practise.change_table import ChangeTable, change_rows, in_background
from graspwave.apps.practise.half_hour import HalfHour, on_the_timer, worked_out
from graspwave.apps.practise.state import PractiseState, people_words

__all__ = ["Found"]

_MEANWHILE = "The setting was changed meanwhile: work it out again."


class Found:
    """Two buttons, half an hour by timer and by switch, and half an hour with one thing changed at a time.

    Parameters
    ----------
    state : PractiseState
    """

    def __init__(self, state: PractiseState) -> None:
        self._state = state
        self.half, self.table, self.said = HalfHour(), ChangeTable(), Finding(text="")
        self.half_button = PlainButton(label="Work out half an hour", strong=True)
        self.change_button = PlainButton(label="Change one thing at a time")
        self._of: sim.Scene | None = None
        self._finding, self._before = "", ""
        self._on_demand(self.half_button, worked_out, lambda: (), self._show_half)
        self._on_demand(self.change_button, change_rows, lambda: (state.control,), self._show_changes)

    @property
    def views(self) -> list[Any]:
        """From top to bottom."""
        buttons = pn.Row(self.half_button, self.change_button, margin=0, styles={"gap": "10px"})
        return [buttons, self.said, self.half, self.table]

    def follow(self) -> None:
        """The scene may have changed: what was found of another one is told, and no longer shown."""
        if self._of is not None and self._of != self._state.half_hour_scene:
            if self._finding:
                self._before = f"Before this change: {self._finding[0].lower()}{self._finding[1:]}."
            self._of, self._finding = None, ""
            self.half.draw([], "")
            self.table.rows = []
        self.said.text = " ".join(filter(None, (people_words(self._state), self._finding or self._before)))

    def _show_half(self, found: tuple[list[dict[str, Any]], str, str]) -> None:
        sessions, csv, self._finding = found
        self.half.draw(sessions, csv)

    def _show_changes(self, rows: list[dict[str, str]]) -> None:
        self.table.rows = rows

    def _on_demand(
        self, button: PlainButton, work: Callable[..., Any], more: Callable[[], tuple[Any, ...]], show: Callable[[Any], None],
    ) -> None:
        """Work something out of the half hour's scene when a button is pressed, and show it if the scene still is that one."""
        label = button.label

        def over(text: str = "") -> None:
            self.follow()
            self.said.text = text or self.said.text
            button.param.update(label=label, disabled=False)

        def start() -> None:
            scene = self._state.half_hour_scene
            timed = on_the_timer(scene, self.said)
            if timed is None:
                return

            def then(found: Any) -> None:
                if self._state.half_hour_scene != scene:
                    over(_MEANWHILE)
                    return
                self._of = scene
                show(found)
                over()

            button.param.update(label="Working it out", disabled=True)
            in_background(work, timed, *more(), then=then, sorry=over)

        button.on_click(start)
