"""The right answer of a question, from the model; a mistake where the lesson was written for another."""

from __future__ import annotations

import math
from itertools import pairwise

from graspwave.lessons.grammar import Right, WrittenQuestion
from graspwave.lessons.values import Values

__all__ = ["right_answer"]

_MOST_TICKS = 10_000
_GROUND = {"forearm": (0.0, 100.0), "curve": (0.0, 60.0)}
"""Ends of the pictures that places are put on: per cent of the forearm, mA."""

Numbers = dict[str, float | None]


def right_answer(question: WrittenQuestion, numbers: Numbers, values: Values) -> Right | None:
    """The right answer.

    Parameters
    ----------
    question : WrittenQuestion
        The question.
    numbers : dict of str to float or None
        What its keys are worth.
    values : Values
        The lesson's names, where mistakes are noted too.

    Returns
    -------
    Right or None
        None once a mistake is noted.
    """
    if question.kind == "number":
        return _number(question, numbers, values)
    if question.kind == "place":
        return _place(question, numbers, values)
    return _order(question, values) if question.kind == "order" else _choices(question, values)


def _choices(question: WrittenQuestion, values: Values) -> Right | None:
    """The choice, or choices, whose condition holds."""
    held: dict[str, bool | None] = {}
    for choice in question.choices:
        held[choice.key] = None if choice.condition is None else values.truth(choice.condition)
    if question.right is None or None in held.values():
        return None
    one = question.kind == "one"
    found = tuple(key for key, value in held.items() if value)
    wanted = (question.right.value,) if one else tuple(question.right.value)
    if found and found == wanted:
        return found[0] if one else found
    if one and len(found) > 1:
        repair = "Change the conditions so that one alone is true."
    elif not found:
        repair = "Change the conditions so that one is true, or ask something else."
    else:
        letters = f'"{found[0]}"' if one else "[" + ", ".join(f'"{key}"' for key in found) + "]"
        repair = f"Write for = {letters} and a reveal for it, or ask something else."
    rule = "the choice that the model makes right" if one else "all choices that the model makes right"
    conditions = [choice.condition for choice in question.choices if choice.condition and (choice.key in found or not found)]
    says = f"the model says {' and '.join(found) or 'none'}{values.found(conditions)}"
    values.wrong(question.right, rule, f"{' and '.join(wanted)}, {says}", repair)
    return None


def _number(question: WrittenQuestion, numbers: Numbers, values: Values) -> Right | None:
    value, tolerance, low, high, step = (numbers.get(key) for key in ("value", "tolerance", "low", "high", "step"))
    if value is None or tolerance is None or low is None or high is None or step is None:
        return None
    keys = question.keys
    if low >= high:
        values.wrong(keys["high"], f"above low, {low:g}", f"{high:g}", "Put the higher number in high.")
    elif not 0.0 < step <= high - low or (high - low) / step > _MOST_TICKS:
        values.wrong(keys["step"], f"above 0 and at most {high - low:g}", f"{step:g}", "Write how far one move goes.")
    elif tolerance <= 0.0:
        values.wrong(keys["tolerance"], "above 0", f"{tolerance:g}", "Write how far an answer may be off.")
    elif not low <= value <= high:
        values.wrong(keys["value"], f"from low to high, {low:g} to {high:g}", f"{value:.4g}", "Widen low and high.")
    elif abs(low + round((value - low) / step) * step - value) > tolerance:
        rule = "fine enough to come within the tolerance"
        values.wrong(keys["step"], rule, f"{step:g}, the value is {value:.4g}", "Make it smaller.")
    else:
        return {"value": value, "tolerance": tolerance}
    return None


def _place(question: WrittenQuestion, numbers: Numbers, values: Values) -> Right | None:
    x, y, within_x, within_y = (numbers.get(key) for key in ("x", "y", "within_x", "within_y"))
    if question.on is None or x is None or within_x is None or ("y" in question.keys and (y is None or within_y is None)):
        return None
    for key in ("within_x", "within_y"):
        within = numbers.get(key)
        if within is not None and within <= 0.0:
            values.wrong(question.keys[key], "above 0", f"{within:g}", "Write how far an answer may be off.")
            return None
    low, high = _GROUND[question.on.kind]
    if not low <= x <= high:
        values.wrong(question.keys["x"], f"on the picture, {low:g} to {high:g}", f"{x:.4g}", "Ask for a place that it shows.")
        return None
    return {"x": x, "y": y, "within_x": within_x, "within_y": within_y}


def _order(question: WrittenQuestion, values: Values) -> Right | None:
    places: dict[str, float] = {}
    for choice in question.choices:
        found = None if choice.condition is None else values.number(choice.condition)
        if found is not None:
            places[choice.key] = found
    if question.right is None or len(places) < len(question.right.value):
        return None
    order = tuple(sorted(places, key=lambda key: places[key]))
    said = ", ".join(f"{key} {places[key]:.4g}" for key in order)
    for before, after in pairwise(order):
        if math.isclose(places[before], places[after], rel_tol=1e-9, abs_tol=1e-12):
            values.wrong(question.right, "an order in which no two are alike", said, f"Change {before} or {after}.")
            return None
    if order != question.right.value:
        letters = ", ".join(f'"{key}"' for key in order)
        repair = f"Write for = [{letters}] and a reveal for it, or ask something else."
        got = f"{', '.join(question.right.value)}, the model says {said}"
        values.wrong(question.right, "the order that the model gives", got, repair)
        return None
    return order
