"""A few words for lessons of tests: what they give is fixed, so that no test of reading hangs on the model."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

from graspwave import simulator as sim
from graspwave.lessons.vocabulary.memory import warn

__all__ = ["GOOD", "NAMES", "edited", "small"]

GOOD = (Path(__file__).parent / "good.md").read_text("utf-8")
"""A lesson without mistakes that uses every kind of step, question and picture."""


def edited(old: str, new: str, text: str = GOOD) -> str:
    """The good lesson with one passage, which must stand in it once, changed."""
    assert text.count(old) == 1, f"{old!r} stands {text.count(old)} times in the lesson"
    return text.replace(old, new)


def small(title: str, goal: str, names: str, steps: str) -> str:
    """A lesson of a few invented lines: what is written under its names, and its steps."""
    return f"""+++
title = "{title}"
minutes = 10
for = ["students"]
objectives = ["{goal}"]
limits = ["Invented."]
cautions = ["Nobody tries this."]
[[basis]]
text = "Invented."
mark = "demo"
[names]
{names}
+++

{steps}"""


def best(hand: sim.Scene) -> float:
    """Fixed for each preset."""
    return {1.0: 20.0, 0.95: 14.0}[hand.hand.flexor_length_factor]


def widest(hand: sim.Scene) -> float:
    """Fixed for each preset."""
    return {1.0: 84.2, 0.95: 61.7}[hand.hand.flexor_length_factor]


def far(hand: sim.Scene) -> float:
    """A value at the end of what was tried, of which it warns."""
    warn("best current at the end of the currents tried (60 mA)")
    return 60.0


def fails(hand: sim.Scene) -> float:
    """Asks for a setting that cannot be."""
    return hand.replace("channel.0.pulse.amplitude_ma", 90).channel[0].pulse.amplitude_ma


@cache
def session(hand: sim.Scene) -> sim.Practice:
    return sim.run_practice(hand.replace("session.minutes", 2.0), control="held", seed=1)


NAMES: dict[str, Any] = {
    "s": sim.presets()["supple"],
    "t": sim.presets()["tight"],
    "A": np.linspace(0.0, 60.0, 61),
    "shares": {"wrist": -7.0, "tone": 2.0},
    "best": best,
    "widest": widest,
    "far": far,
    "fails": fails,
    "session": session,
    "abs": abs,
    "sum": sum,
    "max": max,
    "min": min,
    "why": sim.explain_opening,
    "len": len,
    "round": round,
    "sorted": sorted,
    "zip": zip,
    "sqrt": np.sqrt,
    "array": np.array,
}
