"""Rows of the picture of why an opening changed, in words and numbers. No Panel here: lessons draw them too."""

from __future__ import annotations

from typing import Any

from graspwave.apps.told.numbers import fixed, signed
from graspwave.simulator.why import Why

__all__ = ["SHOWN_MM", "TENDONS", "finger_said", "how_words", "why_rows"]

SHOWN_MM = 0.5
"""A share that rounds to nothing has no row of its own."""

TENDONS = {
    "recruitment": "openers", "wrist": "closers", "slips": "slips", "spread": "closers", "tone": "closers", "length": "closers",
    "own_effort": "openers",
}
"""Through which tendons a mechanism moves the fingers, as the picture names them."""

_HOW = {
    ("Wrist drawn back", False): "A wrist drawn back pulls the fingers in, for the closers' tendons run over it.",
    ("Wrist sinks", True): "A wrist that sinks lets the fingers out, for the closers' tendons run over it.",
    ("Finger slips go slack", False): "With the base joints straight, the opener's slips over the fingers hang slack: its pull "
    "no longer reaches the middle joints, and they bend.",
    ("Finger slips tighten", True): "With the base joints bent a little, the opener's slips over the fingers are taut again and "
    "straighten the middle joints.",
    ("Openers pull harder", True): "The openers' tendons run over the back of the hand and straighten the base joints.",
    ("Openers pull harder", False): "The openers of the wrist come too and draw it back, and that pulls the fingers in.",
    ("Openers pull less", False): "The openers' tendons straighten the base joints; with less pull the closers win.",
    ("Closers pulled in too", False): "Current that reaches the closers pulls the fingers in on the palm side.",
    ("Closers left alone", True): "Less current reaches the closers, which pull the fingers in on the palm side.",
    ("More tone", False): "Tone is the pull that the closers keep up without being asked.",
    ("Less tone", True): "Tone is the pull that the closers keep up without being asked; there is less of it.",
    ("Shorter closers", False): "Short closers are taut before the fingers are straight.",
    ("Longer closers", True): "Longer closers leave the fingers more way.",
}
"""By the label of the largest share, and whether the hand gained."""


def how_words(why: Why) -> tuple[str, str]:
    """How the largest share comes about, in a sentence, and the tendons that it runs through; empty where nothing is told."""
    gained = why.total_mm >= 0.0
    told = {name: mm for name, mm in why.shares.items() if abs(mm) >= SHOWN_MM and (mm > 0.0) == gained}
    if abs(why.total_mm) < SHOWN_MM or not told:
        return "", ""
    most = max(told, key=lambda name: abs(told[name]))
    said = _HOW.get((why.labels[most], gained), "")
    return said, TENDONS.get(most, "") if said else ""


def why_rows(why: Why, first: str, last: str) -> list[dict[str, Any]]:
    """Rows of the picture from top to bottom: before, what was gained, what was lost, now.

    Every row has its words, a number to show, from where to where its bar goes [mm], its kind, and a sentence for
    those who hear the page. Shares too small to see are one row if together they can be seen.
    """
    shown = {name: mm for name, mm in why.shares.items() if abs(mm) >= SHOWN_MM}
    order = sorted(shown, key=lambda name: (shown[name] < 0.0, -abs(shown[name])))
    steps = [(why.labels[name], shown[name], why.sentences[name], TENDONS.get(name, "")) for name in order]
    rest = why.total_mm - sum(shown.values())
    if abs(rest) >= SHOWN_MM:
        steps.append(("All else", rest, f"All else together: {abs(rest):.0f} mm {'more' if rest > 0 else 'less'}.", ""))
    at = why.before_mm
    rows = [_end(first, at)]
    for label, mm, said, lit in steps:
        kind = "gain" if mm > 0 else "loss"
        row = {"kind": kind, "words": label, "number": signed(mm), "from_mm": at, "to_mm": at + mm, "said": said}
        rows.append(row | ({"lit": lit} if lit else {}))
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
