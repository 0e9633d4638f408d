"""What to do next in the task, in one or two sentences that follow from what the hand does now. No Panel here."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from graspwave import simulator as sim
from graspwave.apps.practise.live import NEAR_MM, Live
from graspwave.simulator.facts import number

__all__ = ["step_words", "stopped_words"]

_HELD = {
    "narrow": "Hold the switch until the hand is wide, then move to the {object} with the right arrow key or the slider.",
    "open": "Wide enough: move to the {object} with the right arrow key or the slider, and keep holding.",
    "wide": "This hand is wide enough for the {object} as it rests: move there with the right arrow key or the slider. "
            "Hold the switch if the reach closes it.",
    "grasp": "Let go of the switch: about {grip} seconds later the own grip closes round the {object}.",
    "closing": "The own grip comes about {grip} seconds after it is wanted, and closes round the {object}.",
    "carry": "Carry it to its place. A pulse now would open the hand.",
    "let go": "Hold the switch again: the hand opens and puts the {object} down.",
    "tilt": "Hold the switch again: the hand opens, tilts to the little finger's side, and the {object} slides free.",
    "go back": "Let go, and move back for the next one.",
    "back": "Move back for the next one.",
}
_TIMED = {
    "narrow": "Wait for the timer to open the hand. Be at the {object} while it is wide.",
    "open": "It is wide now: be at the {object} before the timer goes off.",
    "wide": "This hand is wide enough for the {object} as it rests: be there when the timer has been on, and its own grip comes.",
    "grasp": "Wait for the off time: then the own grip closes round the {object}.",
    "closing": "The own grip comes about {grip} seconds after it is wanted, and closes round the {object}.",
    "carry": "Carry it now. When the timer comes on again, the hand opens and drops it.",
    "let go": "Wait for the next stimulation: it opens the hand and puts the {object} down.",
    "tilt": "Wait for the next stimulation: the hand opens, tilts to the little finger's side, and the {object} slides free.",
    "go back": "Move back for the next one.",
    "back": "Move back for the next one.",
}
"""By how the current comes: what to do at each step, and in which state of the hand."""

_NOT_ENOUGH = "This current opens the hand to {gap} mm, and the {object} is {width} mm: another current, or a smaller object."
_TOO_WEAK = "The own grip closes the hand to {gap} mm and no further, and the {object} is {width} mm: a larger object."


def step_words(live: Live, now_s: float) -> str:
    """What to do now.

    Parameters
    ----------
    live : Live
    now_s : float

    Returns
    -------
    str
        The present step in words; where the hand has stopped at the object or cannot get round it, why.
    """
    task, gap, on = live.scene.task, live.opening_mm(now_s), live.on(now_s)
    words = _TIMED if live.control == "timed" else _HELD
    state = live.step
    if state == "reach":
        stopped = stopped_words(live, now_s)
        if stopped:
            return stopped
        if on and _as_wide_as_it_gets(live) and not live.wide(now_s):
            return _NOT_ENOUGH.format(gap=f"{gap:.0f}", object=task.object, width=f"{task.diameter_mm:.0f}")
        state = ("open" if on else "wide") if live.wide(now_s) else "narrow"
    elif state == "grasp" and not on:
        waited = 0.0 if live.closing_s is None else now_s - live.closing_s
        if waited > live.scene.hand.switch_on_s + number("practice.live.held_s"):
            return _TOO_WEAK.format(gap=f"{gap:.0f}", object=task.object, width=f"{task.diameter_mm:.0f}")
        state = "closing"
    elif state == "let go" and task.side_to_side:
        state = "tilt"
    elif state == "go back" and not on:
        state = "back"
    return words[state].format(object=task.object, grip=f"{live.scene.hand.switch_on_s:.0f}")


def stopped_words(live: Live, now_s: float) -> str:
    """Why a hand that is at the object does not go round it; empty where it does, or is not there."""
    short = live.scene.task.diameter_mm - live.opening_mm(now_s)
    if live.step != "reach" or live.object_mm - live.at_mm > NEAR_MM + 2.0 or short <= 0.0:
        return ""
    why = "it opens no wider yet"
    free_mm = _open_mm(live.scene)
    if live.scene.hand.own_grip > 0.0:
        why = "own grip and tone close it"
    elif free_mm < live.scene.task.diameter_mm:
        why = f"this current opens it to {free_mm:.0f} mm"
    elif live.bending(now_s) > 0.0:
        why = "the effort of the reach bends the fingers, and the current must open against it"
    then = "" if live.on(now_s) else " Wait for the timer." if live.control == "timed" else " Hold the switch to open it."
    return f"The hand stops at the {live.scene.task.object}: it is {max(short, 1.0):.0f} mm too narrow; {why}.{then}"


@lru_cache(maxsize=32)
def _open_mm(scene: sim.Scene) -> float:
    return float(sim.opening_curve(scene, [scene.channel[0].pulse.amplitude_ma]).opening_mm[0])


def _as_wide_as_it_gets(live: Live) -> bool:
    """Whether the current is up and the hand worked out ahead opens no further to speak of."""
    piece = live.piece
    if piece is None or piece.current_ma.min() < live.scene.channel[0].pulse.amplitude_ma - 1e-6:
        return False
    return float(np.ptp(piece.opening_mm)) < 0.5 * number("pages.seen.moved_mm")
