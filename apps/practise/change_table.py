"""Change one thing: half an hour with each of a few changes, as a table."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import Future
from typing import Any, ClassVar

import panel as pn
import param

from graspwave import simulator as sim
from graspwave.apps.computing import Busy, TooLong, computing
from graspwave.apps.controls import Control
from graspwave.apps.web.source import component, sheet
from graspwave.simulator.practice import Change, change_one_thing

__all__ = ["ChangeTable", "change_rows", "in_background"]

_SEEDS = (1, 2, 3)


def in_background(
    work: Callable[..., Any], *given: Any, then: Callable[[Any], None], sorry: Callable[[str], None],
) -> None:
    """Do `work`, a function of a module, beside the server and hand its result to `then` in the page's own turn.

    What cannot be worked out is handed to `sorry` as a plain sentence. Both at once where there is no page.
    """
    document = pn.state.curdoc
    if document is None:
        then(work(*given))
        return

    def done(future: Future[Any]) -> None:
        error = future.exception()
        if error is None:
            document.add_next_tick_callback(lambda: then(future.result()))
        else:
            told = str(error) if isinstance(error, (TooLong, sim.SceneError)) else "That could not be worked out."
            document.add_next_tick_callback(lambda: sorry(told))

    try:
        computing().submit(work, *given).add_done_callback(done)
    except Busy as why:
        sorry(str(why))


def change_rows(scene: sim.Scene, control: str) -> list[dict[str, str]]:
    """A row a change: what it is, objects put down (median and spread over seeds), and its effect in words."""
    return [_row(change) for change in change_one_thing(scene, control, _SEEDS)]


_NAMES = {"held": "by the switch", "timed": "by the timer"}


def _row(change: Change) -> dict[str, str]:
    effect = "" if change.name == "as it is" else f"{change.effect:+.0f}".replace("-", "\N{MINUS SIGN}")
    return {
        "name": _NAMES.get(change.name, change.name),
        "put_down": f"{change.repetitions:.0f} ({change.spread[0]:.0f} to {change.spread[1]:.0f})",
        "effect": effect if effect not in ("+0", "\N{MINUS SIGN}0") else "0", "dropped": f"{change.drops:.0f}",
        "waiting": f"{change.waiting_s / 60:.0f} min",
    }


class ChangeTable(Control):
    """The table; empty until it is filled."""

    rows = param.List(default=[])

    _esm: ClassVar[str] = component("practise/change_table.js")
    _stylesheets: ClassVar[list[str]] = [*Control._stylesheets, sheet("practise/change_table.css")]
