"""Rows of the picture of why an opening changed, in words and numbers. No Panel here: lessons draw them too."""

from __future__ import annotations

from typing import Any

from graspwave.apps.told.numbers import fixed, signed
from graspwave.simulator.curve import Opening
from graspwave.simulator.hand import CLAW_GRADES, claw_grades
from graspwave.simulator.why import REST, Why, amount_said
from graspwave.simulator.words import has, said

__all__ = ["SHOWN_MM", "TENDONS", "claw_said", "finger_said", "how_words", "why_rows"]

SHOWN_MM = 0.5
"""A share that rounds to nothing has no row of its own."""

TENDONS = {
    "recruitment": "openers", "wrist": "closers", "slips": "slips", "spread": "closers", "tone": "closers", "length": "closers",
    "own_effort": "openers",
}
"""Through which tendons a mechanism moves the fingers, as the picture names them."""

def how_words(why: Why, language: str = "en") -> tuple[str, str]:
    """How the largest share comes about, in a sentence, and the tendons that it runs through; empty where nothing is told."""
    gained = why.total_mm >= 0.0
    told = {name: mm for name, mm in why.shares.items() if abs(mm) >= SHOWN_MM and (mm > 0.0) == gained}
    if abs(why.total_mm) < SHOWN_MM or not told:
        return "", ""
    most = max(told, key=lambda name: abs(told[name]))
    key = f"how.{why.label_of[most].key.removeprefix('label.')}_{'gain' if gained else 'loss'}"
    return (said(key).told(language), TENDONS.get(most, "")) if has(key) else ("", "")


def why_rows(why: Why, first: str, last: str, language: str = "en") -> list[dict[str, Any]]:
    """Rows of the picture from top to bottom: before, what was gained, what was lost, now.

    Every row has its words, a number to show, from where to where its bar goes [mm], its kind, and a sentence for
    those who hear the page. Shares too small to see are one row if together they can be seen. Numbers are whole and add up.
    """
    told = why.told_mm
    shown = {name: why.shares[name] for name in told if name != REST}
    order = sorted(shown, key=lambda name: (shown[name] < 0.0, -abs(shown[name])))
    steps = [
        (why.label_of[name].told(language), shown[name], told[name], why.said_of[name].told(language), TENDONS.get(name, ""))
        for name in order
    ]
    if REST in told:
        every = said("share.rest", amount=amount_said(told[REST])).told(language)
        steps.append((said("label.rest").told(language), why.total_mm - sum(shown.values()), told[REST], every, ""))
    at = why.before_mm
    rows = [_end(first, at)]
    for label, mm, whole_mm, heard, lit in steps:
        kind = "gain" if mm > 0 else "loss"
        row = {"kind": kind, "words": label, "number": signed(whole_mm), "from_mm": at, "to_mm": at + mm, "said": heard}
        rows.append(row | ({"lit": lit} if lit else {}))
        at += mm
    return [*rows, _end(last, why.after_mm)]


LAGS_MM = 2.0
"""A finger that takes less is not told of: fingers never open quite alike."""

HARDLY = 0.3
"""A slip that pulls less than that, over the best reached one, is told as hardly reached, and its finger as bent."""


def finger_said(why: Why, language: str = "en") -> str:
    """Which fingers hold the opening back because their slips are less reached, worst first; empty where none does."""
    lost = {finger: mm for finger, mm in why.fingers.lost_mm.items() if mm >= LAGS_MM}
    return " ".join(
        said("finger.bent" if why.fingers.reached[finger] < HARDLY else "finger.lags", finger=said(f"finger.{finger}"),
             mm=lost[finger]).told(language)
        for finger in sorted(lost, key=lambda name: -lost[name])
    )


def claw_said(before: Opening, now: Opening, language: str = "en") -> str:
    """Whether the middle finger has become a claw, or is one no more; empty where neither.

    Parameters
    ----------
    before, now : Opening
        At one current each.
    """
    was, claws = (int(claw_grades(one.angle_deg)["middle"][0]) == CLAW_GRADES.index("claw") for one in (before, now))
    if was == claws:
        return ""
    return said("finger.claws" if claws else "finger.claws_less", finger=said("finger.middle")).told(language)


def _end(words: str, mm: float) -> dict[str, Any]:
    number = fixed(mm, 0, "mm")
    return {"kind": "end", "words": words, "number": number, "from_mm": 0.0, "to_mm": mm, "said": f"{words}: {number}."}
