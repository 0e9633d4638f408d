"""A bench: a scene of which a step leaves some settings free, and what the hand does at every current. Stage ``apps``."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from graspwave import simulator as sim
from graspwave.apps.told.live_hand import live, value_of
from graspwave.apps.told.settings import CHOICES, NUMBERS, short_path
from graspwave.lessons.grammar import CURVES, Goal
from graspwave.lessons.text import html

__all__ = ["bench", "setting_of"]

def bench(scene: sim.Scene, free: Sequence[str], curve: str = CURVES[0], goals: Sequence[Goal] = ()) -> dict[str, Any]:
    """The bench of a step: its scene as TOML, its free settings with their ends, what the hand does, and what is to be reached.

    Parameters
    ----------
    scene : Scene
    free : sequence of str
        Paths of the settings that people may move.
    curve : str
        "so far" draws the currents that were passed through, "whole" all of them.
    goals : sequence of Goal
    """
    aims = [
        {"html": html(goal.says), "within": {key: list(ends) for key, ends in goal.within.items()}, "claw": goal.claw}
        for goal in goals
    ]
    return {"scene": scene.dumps(), "settings": [setting_of(scene, path) for path in free],
            "live": live(scene.dumps(), {}, free), "curve": curve, "goals": aims}


def setting_of(scene: sim.Scene, path: str) -> dict[str, Any]:
    """Label, unit, ends, step and value of one setting.

    Raises
    ------
    SceneError
        A path that is no setting of a scene, or one that is no number and no choice.
    """
    value = value_of(scene, path)
    short = short_path(path)
    if short in CHOICES:
        label, words = CHOICES[short]
        pairs = [[key, word] for key, word in words.items()]
        return {"path": path, "label": _named(path, label), "choices": pairs, "value": value}
    if value is not None and (isinstance(value, bool) or not isinstance(value, (int, float))):
        raise sim.SceneError(path, "a number or one of a few choices", value, "leave it out of what is free")
    fact = sim.setting(path)
    low, high = fact.range or (0.0, 1.0)
    rough = short.rsplit(".", 1)[-1].rsplit("_", 1)[0].replace("_", " ").capitalize()
    label, unit, step, ends = NUMBERS.get(short, (rough, "" if fact.unit == "1" else fact.unit, _step(high - low), None))
    low, high = ends or (low, high)
    at = 0.0 if value is None else float(value)
    found = {"path": path, "label": _named(path, label), "unit": unit, "low": min(low, at), "high": max(high, at), "step": step,
             "value": value}
    if path == "hand.wrist_held_deg":
        found |= {"free_words": "free", "held_words": "the wrist is held", "held_value": 0.0}
    return found


def _named(path: str, label: str) -> str:
    return f"{label}, second channel" if path.startswith("channel.1.") else label


def _step(span: float) -> float:
    """A round step of about a fiftieth of a range."""
    rough = span / 50.0
    power = 10.0 ** math.floor(math.log10(rough))
    return next(k * power for k in (1.0, 2.0, 5.0, 10.0) if k * power >= rough * 0.999)
