"""What a room learned, by question: the votes of those who answered twice, before and after the talk, and how sure they were.

Before and after are the same people. The normalised gain is ``(after - before) / (1 - before)`` of their shares of right answers
(Hake, Am. J. Phys. 66, 64-74, 1998: "the ratio of the actual average gain to the maximum possible average gain").
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from typing import Any

from graspwave.apps.classroom.answers import SURE, judge, share_right, tally
from graspwave.apps.classroom.view import paired

__all__ = ["SURE_WORDS", "Asked", "asked", "normalised_gain"]

SURE_WORDS = ("guessing", "fairly sure", "very sure")

Asked = dict[str, Any]
"""One question's answers: number, title, step; ``rounds`` by 1 and 2, each with n, counts, right (share) and sure (n and right by
`SURE_WORDS`) of those who answered twice, or of all of the first round where nobody did; ``all``: n by round, whoever answered;
``twice``: how many answered twice; ``pairs``: n by (right before, right after); ``gain``."""


def normalised_gain(before: float, after: float) -> float | None:
    """Share of what could be gained that was: ``(after - before) / (1 - before)``; None where all were right before.

    Parameters
    ----------
    before, after : float
        Shares of right answers, 0 to 1.
    """
    return None if before >= 1.0 else (after - before) / (1.0 - before)


def asked(lesson: Mapping[str, Any], answers: Iterable[Mapping[str, Any]]) -> list[Asked]:
    """Every question that somebody answered, with how the answers add up.

    Parameters
    ----------
    lesson : mapping
        A compiled lesson.
    answers : iterable of mapping
        step, round, answer (JSON text), sure, person (a number that leads to nobody).
    """
    given: dict[int, dict[int, dict[Any, tuple[dict[str, Any], int | None]]]] = {}
    for row in answers:
        turns = given.setdefault(row["step"], {1: {}, 2: {}})
        turns[row["round"]][row["person"]] = (json.loads(row["answer"]), row["sure"])
    return [
        _one(step, given[at]) for at, step in enumerate(lesson["steps"])
        if step.get("question") and at in given
    ]


def _one(step: Mapping[str, Any], turns: Mapping[int, Mapping[Any, tuple[dict[str, Any], int | None]]]) -> Asked:
    first, second = paired(turns[1], turns[2])
    if not turns[1]:
        first, second = {}, dict(turns[2])  # nobody was there before the talk
    rounds = {1: _round(step, first), 2: _round(step, second)}
    both = [person for person in turns[1] if person in turns[2]]
    pairs: dict[tuple[bool, bool], int] | None = None
    gain = None
    if both and judge(step, turns[1][both[0]][0]) is not None:
        pairs = {(was, now): 0 for was in (True, False) for now in (True, False)}
        for person in both:
            pairs[judge(step, turns[1][person][0]) is True, judge(step, turns[2][person][0]) is True] += 1
        gain = normalised_gain(rounds[1]["right"], rounds[2]["right"])
    return {
        "number": step["number"], "title": step["title"], "step": step, "rounds": rounds, "pairs": pairs, "gain": gain,
        "all": {turn: len(turns[turn]) for turn in (1, 2)}, "twice": len(both),
    }


def _round(step: Mapping[str, Any], given: Mapping[Any, tuple[dict[str, Any], int | None]]) -> dict[str, Any]:
    sure: dict[str, dict[str, int]] = {word: {"n": 0, "right": 0} for word in SURE_WORDS}
    for answer, level in given.values():
        if level in SURE:
            sure[SURE_WORDS[level]]["n"] += 1
            sure[SURE_WORDS[level]]["right"] += judge(step, answer) is True
    plain = [answer for answer, _ in given.values()]
    return {"n": len(given), "counts": tally(step["question"], plain), "right": share_right(step, plain), "sure": sure}
