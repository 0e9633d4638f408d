"""The strip under the hand: one cycle of the timer with a playhead and a countdown, or the presses of the last seconds."""

from __future__ import annotations

from typing import Any, ClassVar

import param

from graspwave.apps.controls.base import Control
from graspwave.apps.practise.live import Live
from graspwave.apps.web.source import component, sheet

__all__ = ["CycleStrip", "strip_of"]


class CycleStrip(Control):
    """On and off as height over time; the browser moves the playhead between two tellings.

    Parameters
    ----------
    told : dict
        What `strip_of` gives.
    """

    told = param.Dict(default={})

    _esm: ClassVar[str] = component("practise/strip.js")
    _stylesheets: ClassVar[list[str]] = [*Control._stylesheets, sheet("practise/strip.css")]


def strip_of(live: Live, now_s: float) -> dict[str, Any]:
    """What the strip needs to know, all times relative to now.

    Parameters
    ----------
    live : Live
    now_s : float

    Returns
    -------
    dict
        ``control``; for the timer ``cycle_s``, ``profile`` (time and level of one cycle, level 0 to 1) and ``age_s``, how long
        the present cycle has run; for the switch ``presses``, from and to seconds ago (a negative end is still held), with
        ``up_s``
        and ``down_s``.
    """
    channel = live.scene.channel[0]
    up, down = channel.ramp.up_s, channel.ramp.down_s
    if live.control == "timed":
        delay, on = channel.timing.delay_s, channel.on_total_s
        profile = [[0.0, 0.0], [up, 1.0], [on - down, 1.0], [on, 0.0], [channel.cycle_s, 0.0]]
        return {"control": "timed", "cycle_s": channel.cycle_s, "on_s": on, "profile": profile,
                "age_s": now_s - live.begun_s - delay}
    presses = [[now_s - a, now_s - b] for a, b in live.presses[-12:]]
    if live.held_since is not None:
        presses.append([now_s - live.held_since, -1.0])
    return {"control": "held", "presses": presses, "up_s": up, "down_s": down}
