"""Rows of the picture of why an opening changed, in words and numbers. No Panel here: lessons draw them too."""

from __future__ import annotations

from typing import Any

from graspwave.apps.told.numbers import fixed, signed
from graspwave.simulator.why import Why

__all__ = ["SHOWN_MM", "finger_said", "why_rows"]

SHOWN_MM = 0.5
"""A share that rounds to nothing has no row of its own."""


def why_rows(why: Why, first: str, last: str) -> list[dict[str, Any]]:
    """Rows of the picture from top to bottom: before, what was gained, what was lost, now.

    Every row has its words, a number to show, from where to where its bar goes [mm], its kind, and a sentence for
    those who hear the page. Shares too small to see are one row if together they can be seen.
    """
    shown = {name: mm for name, mm in why.shares.items() if abs(mm) >= SHOWN_MM}
    order = sorted(shown, key=lambda name: (shown[name] < 0.0, -abs(shown[name])))
    steps = [(why.labels[name], shown[name], why.sentences[name]) for name in order]
    rest = why.total_mm - sum(shown.values())
    if abs(rest) >= SHOWN_MM:
        steps.append(("All else", rest, f"All else together: {abs(rest):.0f} mm {'more' if rest > 0 else 'less'}."))
    at = why.before_mm
    rows = [_end(first, at)]
    for label, mm, said in steps:
        kind = "gain" if mm > 0 else "loss"
        rows.append({"kind": kind, "words": label, "number": signed(mm), "from_mm": at, "to_mm": at + mm, "said": said})
        at += mm
    return [*rows, _end(last, why.after_mm)]


LAGS_MM = 2.0
"""A finger that takes less is not told of: fingers never open quite alike."""

HARDLY = 0.3
"""A slip that pulls less than that, over the best reached one, is told as hardly reached, and its finger as bent."""


def finger_said(why: Why) -> str:
    """Which fingers hold the opening back because their slips are less reached, worst first; empty where none does."""
    lost = {finger: mm for finger, mm in why.fingers.lost_mm.items() if mm >= LAGS_MM}
    told = []
    for finger in sorted(lost, key=lambda name: -lost[name]):
        stays, how = ("stays bent", "is hardly reached") if why.fingers.reached[finger] < HARDLY else ("lags", "is reached less")
        name = "index" if finger == "index" else f"{finger} finger"
        told.append(f"The {name} {stays}: its slip {how}, {fixed(lost[finger], 0, 'mm')} less.")
    return " ".join(told)


def _end(words: str, mm: float) -> dict[str, Any]:
    number = fixed(mm, 0, "mm")
    return {"kind": "end", "words": words, "number": number, "from_mm": 0.0, "to_mm": mm, "said": f"{words}: {number}."}
