"""Answers: what a learner may send for a question, whether it is right, and how a room's answers add up."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Mapping
from typing import Any

__all__ = ["SURE", "clean_answer", "judge", "share_right", "tally"]

SURE = (0, 1, 2)
"""How sure somebody is: guessing, fairly, very."""

_BINS = 12
_ORDERS = 6


def clean_answer(question: Mapping[str, Any], raw: object) -> dict[str, Any]:
    """The answer in its one form: known keys only, numbers finite and inside the question's range.

    Parameters
    ----------
    question : mapping
        A compiled question.
    raw : object
        What the page sent.

    Raises
    ------
    ValueError
        Not an answer to this question; the text is plain and may be shown.
    """
    if not isinstance(raw, dict):
        raise ValueError("That is no answer to this question.")
    keys = [choice["key"] for choice in question.get("choices") or ()]
    kind = question["kind"]
    if kind == "one":
        if not isinstance(raw.get("choice"), str) or raw["choice"] not in keys:
            raise ValueError("Choose one of the answers.")
        return {"choice": raw["choice"]}
    if kind == "several":
        chosen = raw.get("choices")
        if not isinstance(chosen, list) or not chosen or not all(isinstance(key, str) and key in keys for key in chosen):
            raise ValueError("Choose one or more of the answers.")
        return {"choices": [key for key in keys if key in chosen]}
    if kind == "order":
        order = raw.get("order")
        if not isinstance(order, list) or not all(isinstance(key, str) for key in order) or sorted(order) != sorted(keys):
            raise ValueError("Put every answer in its place.")
        return {"order": list(order)}
    if kind == "number":
        low, high = _ends(question)
        return {"value": _number(raw.get("value"), low, high)}
    places = {"x": _number(raw.get("x"), -1e6, 1e6)}
    if raw.get("y") is not None:
        places["y"] = _number(raw.get("y"), -1e6, 1e6)
    return places


def _ends(question: Mapping[str, Any]) -> tuple[float, float]:
    low, high = question.get("low"), question.get("high")
    return (-1e9 if low is None else float(low)), (1e9 if high is None else float(high))


def _number(value: object, low: float, high: float) -> float:
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not low <= value <= high:
        raise ValueError("Give a number." if abs(low) >= 1e6 else f"Give a number from {low:g} to {high:g}.")
    return float(value)


def judge(step: Mapping[str, Any], answer: Mapping[str, Any]) -> bool | None:
    """Whether an answer is right; None where the step has no right answer or the answer is of another kind.

    Parameters
    ----------
    step : mapping
        A compiled step.
    answer : mapping
        An answer as `clean_answer` returns it.
    """
    right = (step.get("answer") or {}).get("right")
    question = step.get("question")
    if right is None or question is None:
        return None
    kind = question["kind"]
    try:
        if kind == "one":
            return bool(answer["choice"] == (right if isinstance(right, str) else right[0]))
        if kind == "several":
            return set(answer["choices"]) == ({right} if isinstance(right, str) else set(right))
        if kind == "order":
            return list(answer["order"]) == list(right)
        if kind == "number":
            return bool(abs(answer["value"] - right["value"]) <= right["tolerance"] + 1e-9)
        near = abs(answer["x"] - right["x"]) <= right["within_x"] + 1e-9
        if right.get("y") is not None:
            near = near and "y" in answer and abs(answer["y"] - right["y"]) <= right["within_y"] + 1e-9
        return bool(near)
    except (KeyError, TypeError):
        return None


def share_right(step: Mapping[str, Any], answers: Iterable[Mapping[str, Any]]) -> float | None:
    """Share of answers that are right, 0 to 1; None without any that can be judged."""
    judged = [right for answer in answers if (right := judge(step, answer)) is not None]
    return sum(judged) / len(judged) if judged else None


def tally(question: Mapping[str, Any], answers: Iterable[Mapping[str, Any]]) -> dict[str, Any]:
    """How a room's answers add up, without persons.

    Returns
    -------
    dict
        one, several: how often each choice was taken, by its key. number: ``{"bins": [[from, to, count], ...]}``, as wide as
        the question's own step allows. place: ``{"points": [[x, y or null], ...]}`` in rising order. order: the orders that came
        most, as ``{"B,A": count}``, all others under ``"other"``.
    """
    kind, given = question["kind"], list(answers)
    if kind in ("one", "several"):
        counts = {choice["key"]: 0 for choice in question["choices"]}
        for answer in given:
            for key in answer.get("choices") or [answer.get("choice")]:
                if key in counts:
                    counts[key] += 1
        return counts
    if kind == "order":
        orders = Counter(",".join(answer.get("order", ())) for answer in given)
        most = dict(sorted(orders.items(), key=lambda item: (-item[1], item[0]))[:_ORDERS])
        rest = sum(orders.values()) - sum(most.values())
        return {**most, "other": rest} if rest else most
    if kind == "number":
        return {"bins": _bins(question, [answer["value"] for answer in given if "value" in answer])}
    points = sorted((answer["x"], answer.get("y")) for answer in given if "x" in answer)
    return {"points": [list(point) for point in points]}


def _bins(question: Mapping[str, Any], values: list[float]) -> list[list[float]]:
    low, high = _ends(question)
    if question.get("low") is None or question.get("high") is None:
        if not values:
            return []
        low, high = min(values), max(values)
    if high <= low:
        return [[low, high, len(values)]]
    width = (high - low) / _BINS
    if question.get("step"):
        width = question["step"] * math.ceil(width / question["step"] - 1e-9)
    number = math.ceil((high - low) / width - 1e-9)
    counts = [0] * number
    for value in values:
        counts[min(int((value - low) / width + 1e-9), number - 1)] += 1
    return [[low + at * width, min(low + (at + 1) * width, high), count] for at, count in enumerate(counts)]
