"""What is written under a key -> its value: a number, a scene, a list, a table, a text with its numbers in it.

`Values` holds the names of one lesson. A key whose value cannot be used is noted once, with its line, and is None from then on.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable, Mapping
from typing import Any

import numpy as np

from graspwave import simulator as sim
from graspwave.lessons.expressions import BROKEN, Budget, ExpressionError, Skipped, evaluate, findings
from graspwave.lessons.grammar import Written
from graspwave.lessons.numerals import HoleError, fill, shown, told
from graspwave.lessons.tables import Notes

__all__ = ["Values"]

_MOST_POINTS = 20_000
_FOUND = 4
"""Values told with a wrong answer."""


class Values:
    """Names of one lesson, and what its keys are worth.

    Parameters
    ----------
    notes : Notes
        Where mistakes go.
    names : mapping of str to object
        What expressions may use.
    warned : callable
        Gives, once, the warnings of the vocabulary since it was last called.
    """

    def __init__(self, notes: Notes, names: Mapping[str, Any], warned: Callable[[], list[str]]) -> None:
        self.notes = notes
        self._names = dict(names)
        self._vocabulary = frozenset(names)
        self._warned = warned
        self._told: set[str] = set()
        self._budget = Budget()
        warned()

    def wrong(self, written: Written, rule: str, got: str, repair: str) -> None:
        """Note that what is written must be `rule`."""
        self.notes.add(written.line, written.key, rule, got, repair)

    def name(self, written: Written) -> None:
        """One of the lesson's own names; later expressions may use it."""
        key = written.key.rpartition(".")[2]
        if key in self._vocabulary:
            self.wrong(written, "a new name", f"{key}, which every lesson has", "Use another name.")
        else:
            self._names[key] = self._value(written)

    def _value(self, written: Written) -> Any:
        """What an expression is, or `BROKEN` once its mistake is noted."""
        if not isinstance(written.value, str):
            return written.value
        found: Any = BROKEN
        try:
            found = evaluate(written.value, self._names, self._budget)
        except ExpressionError as error:
            self.wrong(written, error.rule, error.got, error.repair)
        except Skipped:
            pass
        for warning in self._warned():
            if warning not in self._told:
                self._told.add(warning)
                self.wrong(written, "within what the model reaches", warning, "Ask for a value that is reached.")
        return found

    def taken(self, written: Written, rule: str, fits: Callable[[Any], bool], repair: str) -> Any:
        """The value where it fits, else None."""
        found = self._value(written)
        if found is BROKEN:
            return None
        if not fits(found):
            self.wrong(written, rule, shown(found), repair)
            return None
        return found

    def truth(self, written: Written) -> bool | None:
        """A yes or no."""
        found = self.taken(written, "yes or no", lambda value: isinstance(value, bool), "Compare it, for example with > 0.")
        return None if found is None else bool(found)

    def number(self, written: Written) -> float | None:
        """A finite number."""
        found = self.taken(written, "a number", _is_number, "Take one number of it.")
        return None if found is None else float(found)

    def scene(self, written: Written) -> sim.Scene | None:
        """A plain scene."""
        found = self.taken(written, "a scene", lambda value: isinstance(value, sim.Scene), "Write for example t(amp=20).")
        return None if found is None else sim.Scene(**{f.name: getattr(found, f.name) for f in dataclasses.fields(sim.Scene)})

    def practice(self, written: Written) -> sim.Practice | None:
        """One run of practice."""
        def fits(value: Any) -> bool:
            return isinstance(value, sim.Practice)

        found: sim.Practice | None = self.taken(written, "a run of practice", fits, 'Write for example practice(s, "held").')
        return found

    def array(self, written: Written) -> tuple[float, ...] | None:
        """A list of numbers, or several expressions of one number each."""
        if isinstance(written.value, tuple):
            found = [self.number(item) for item in written.value]
            kept = tuple(item for item in found if item is not None)
            return kept if len(kept) == len(found) else None
        taken = self.taken(written, "a list of numbers", _is_array, "Take a list such as A or oc(s).opening_mm.")
        return None if taken is None else tuple(float(item) for item in taken)

    def point(self, written: Written) -> tuple[float, float] | None:
        """Two numbers."""
        found = self.array(written)
        if found is not None and len(found) != 2:
            self.wrong(written, "two numbers, x and y", f"{len(found)}", 'Write ["best(t)", "widest(t)"].')
            return None
        return None if found is None else (found[0], found[1])

    def table(self, one: Callable[[Written], Any]) -> Callable[[Written], dict[str, Any] | None]:
        """A reader of label = expression, each by `one`."""
        def whole(written: Written) -> dict[str, Any] | None:
            found = {label: one(item) for label, item in written.value.items()}
            return None if any(value is None for value in found.values()) else found

        return whole

    def numbers(self, written: Written) -> dict[str, float] | None:
        """A table of numbers, label by label or as one expression."""
        if isinstance(written.value, dict):
            return self.table(self.number)(written)

        def fits(value: Any) -> bool:
            return isinstance(value, Mapping) and bool(value) and all(map(_is_number, value.values()))

        found = self.taken(written, "a table of numbers", fits, "Take a table such as why(a, b).shares.")
        return None if found is None else {str(key): float(value) for key, value in found.items()}

    def text(self, written: Written) -> str:
        """A text with its numbers in it."""
        def words(expression: str, form: str, at: int) -> str:
            place = Written(expression, written.key, written.line + written.value.count("\n", 0, at))
            found = self._value(place)
            if found is BROKEN:
                return "?"
            try:
                return told(found, form)
            except ExpressionError as error:
                self.wrong(place, error.rule, f"{error.got} for {{{expression}}}", error.repair)
                return "?"

        try:
            return fill(written.value, words)
        except HoleError as error:
            line = written.line + written.value.count("\n", 0, error.at)
            self.notes.add(line, written.key, error.rule, error.got, error.repair)
            return ""

    def found(self, conditions: list[Written]) -> str:
        """What the parts of some conditions are, led by a colon; empty where they have none."""
        lines: list[str] = []
        for condition in conditions:
            if isinstance(condition.value, str):
                lines += [line for line in findings(condition.value, self._names, self._budget) if line not in lines]
        self._warned()
        return f": {', '.join(lines[:_FOUND])}" if lines else ""


def _is_number(value: Any) -> bool:
    return isinstance(value, (int, float)) and not isinstance(value, bool) and math.isfinite(value)


def _is_array(value: Any) -> bool:
    if isinstance(value, np.ndarray):
        fits = value.ndim == 1 and 0 < value.size <= _MOST_POINTS and value.dtype.kind in "if"
        return fits and bool(np.all(np.isfinite(value)))
    return isinstance(value, (tuple, list)) and 0 < len(value) <= _MOST_POINTS and all(map(_is_number, value))
