"""A bench: a scene of which a step leaves some settings free, and what the hand does at every current. Stage ``apps``."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

from graspwave import simulator as sim
from graspwave.apps.told.live_hand import live, value_of
from graspwave.lessons.grammar import CURVES, Goal
from graspwave.lessons.text import html

__all__ = ["bench", "setting_of"]

# Label, unit, step, and the part of the range in everyday use; by the path without its channel.
_NUMBERS: Mapping[str, tuple[str, str, float, tuple[float, float] | None]] = {
    "pulse.amplitude_ma": ("Current", "mA", 0.5, (0.0, 60.0)),
    "pulse.phase_us": ("Phase duration", "µs", 10.0, (50.0, 600.0)),
    "pulse.gap_us": ("Gap between phases", "µs", 10.0, (0.0, 300.0)),
    "pulse.phase_ratio": ("Second phase, lengths of the first", "", 0.5, None),
    "train.frequency_hz": ("Frequency", "Hz", 1.0, (1.0, 80.0)),
    "ramp.up_s": ("Rise", "s", 0.5, (0.0, 5.0)),
    "ramp.down_s": ("Fall", "s", 0.5, (0.0, 5.0)),
    "timing.on_s": ("On", "s", 0.5, (1.0, 20.0)),
    "timing.off_s": ("Off", "s", 0.5, (1.0, 40.0)),
    "timing.delay_s": ("Start after", "s", 0.5, None),
    "pads.along_percent": ("Pads along, elbow to wrist", "%", 1.0, (10.0, 80.0)),
    "pads.around_deg": ("Pads round, to the little finger", "°", 5.0, (-90.0, 90.0)),
    "pads.size_cm2": ("Size of each pad", "cm²", 1.0, (4.0, 36.0)),
    "pads.spacing_mm": ("Gap between pads", "mm", 5.0, None),
    "hand.flexor_length_factor": ("Length of closers, 1 is usual", "", 0.005, (0.92, 1.02)),
    "hand.finger_tone": ("Tone of closers at rest", "", 0.001, (0.0, 0.03)),
    "hand.wrist_tone": ("Tone of wrist benders", "", 0.001, (0.0, 0.03)),
    "hand.wrist_held_deg": ("Wrist held at, down is positive", "°", 5.0, (-60.0, 60.0)),
    "hand.own_opening": ("Own effort that opens", "", 0.01, (0.0, 0.3)),
    "hand.own_grip": ("Own effort that closes", "", 0.01, (0.0, 0.4)),
    "hand.strength": ("Strength, share of a healthy arm's", "", 0.05, None),
    "hand.fat_mm": ("Fat over the muscle", "mm", 0.5, None),
    "hand.help_opening": ("Help of the other hand", "", 0.05, None),
    "task.diameter_mm": ("Width of the object", "mm", 1.0, (10.0, 90.0)),
    "task.distance_mm": ("Distance of the object", "mm", 10.0, None),
    "task.friction": ("Friction on the table", "", 0.05, None),
}
_CHOICES: Mapping[str, tuple[str, Mapping[Any, str]]] = {
    "pulse.shape": ("Pulse shape", {"symmetric": "mirrored", "asymmetric": "uneven", "monophasic": "one way"}),
    "pads.swap": ("Leads", {False: "as set", True: "swapped"}),
    "pads.contact": ("One pad is", {"whole": "sound", "halved": "half off", "lifted": "lifted", "dried": "dry"}),
    "pads.shape": ("Shape of pads", {"square": "square", "round": "round"}),
    "hand.forearm": ("Palm faces", {"pronated": "down", "neutral": "in", "supinated": "up"}),
    "train.start": ("Start of a train", {"plain": "plain", "doublet": "two close pulses", "triplet": "three close pulses"}),
    "ramp.of": ("A ramp changes", {"amplitude": "height", "phase": "length"}),
    "timing.control": ("Current runs", {"cycle": "by a timer", "held": "while a switch is held"}),
    "timing.ramps_inside": ("Rise and fall count", {True: "inside on time", False: "on top"}),
}


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
    short = path.split(".", 2)[2] if path.startswith("channel.") else path
    if short in _CHOICES:
        label, words = _CHOICES[short]
        pairs = [[key, word] for key, word in words.items()]
        return {"path": path, "label": _named(path, label), "choices": pairs, "value": value}
    if value is not None and (isinstance(value, bool) or not isinstance(value, (int, float))):
        raise sim.SceneError(path, "a number or one of a few choices", value, "leave it out of what is free")
    fact = sim.setting(path)
    low, high = fact.range or (0.0, 1.0)
    rough = short.rsplit(".", 1)[-1].rsplit("_", 1)[0].replace("_", " ").capitalize()
    label, unit, step, ends = _NUMBERS.get(short, (rough, "" if fact.unit == "1" else fact.unit, _step(high - low), None))
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
