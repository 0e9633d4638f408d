"""Expressions of a lesson, worked out by walking their tree: nothing of a lesson is ever run as Python.

A lesson may come from a stranger. Only the nodes of `grants` are known; names are those handed in; only named functions are
called; attributes are the fields of the simulator's and the vocabulary's own records, and nothing else of any object can be
reached. Length, nesting, steps, loops, powers and the size of every list have a ceiling, and a `Budget` bounds the time.
"""

from __future__ import annotations

import ast
import dataclasses
import difflib
import math
import operator
import time
from collections.abc import Callable, Iterator, Mapping
from typing import Any

import numpy as np

from graspwave import simulator as sim
from graspwave.lessons.allowed import DEEPEST, EXACT, ExpressionError, parsed, short
from graspwave.lessons.numerals import shown

__all__ = ["BROKEN", "Budget", "ExpressionError", "Skipped", "evaluate", "findings"]

MOST_STEPS = 100_000
"""Nodes worked out for one expression."""

MOST_STEPS_IN_ALL = 1_000_000
"""Nodes worked out for all expressions of a lesson, and items of the lists in them: some seconds of work."""

DEEPEST_LIST = 4
"""Lists within lists."""

MOST_PLACES = 15
"""Digits that a number is rounded to, before or behind the point."""

MOST_TURNS = 1000
"""Turns of all loops of one expression, and items of a list that is put together."""

MOST_NUMBERS = 100_000
"""Items of any list."""

MOST_POWER = 100

BROKEN = object()
"""Value of a name whose own expression has failed; what uses it is skipped, for it has been told once."""

_ARITHMETIC: dict[type[ast.operator], Callable[[Any, Any], Any]] = {
    ast.Add: operator.add, ast.Sub: operator.sub, ast.Mult: operator.mul, ast.Div: operator.truediv,
    ast.FloorDiv: operator.floordiv, ast.Mod: operator.mod, ast.Pow: operator.pow,
}
_COMPARISONS: dict[type[ast.cmpop], Callable[[Any, Any], Any]] = {
    ast.Lt: operator.lt, ast.LtE: operator.le, ast.Gt: operator.gt, ast.GtE: operator.ge, ast.Eq: operator.eq,
    ast.NotEq: operator.ne, ast.In: lambda a, b: a in b, ast.NotIn: lambda a, b: a not in b,
}
_OURS = ("graspwave.simulator.", "graspwave.lessons.vocabulary")
_SEVERAL: dict[Any, int] = {max: 100, min: 100, round: 2, zip: 10, np.interp: 3, np.where: 3}
_CHOOSING = (max, min, sorted)


class Skipped(Exception):
    """An expression stands on a name that has failed already."""


class Budget:
    """Time that all expressions of one lesson may take together."""

    def __init__(self, seconds: float = 300.0, steps: int = MOST_STEPS_IN_ALL) -> None:
        self._seconds = seconds
        self._end = time.monotonic() + seconds
        self._steps = steps

    def step(self, count: int = 1) -> None:
        """Count nodes worked out, and items looked at; they have a ceiling of their own, for they need no run of the model."""
        self._steps -= count
        if self._steps < 0:
            raise ExpressionError("worked out, with all the others, in fewer steps", "more", "Loop over fewer values.")

    def spend(self) -> None:
        """Raise `ExpressionError` once the time is used up."""
        if time.monotonic() > self._end:
            rule = f"worked out, with all the others, in {self._seconds:g} s"
            raise ExpressionError(rule, "more", "Ask for fewer runs, or shorter ones.")


def evaluate(text: str, names: Mapping[str, Any], budget: Budget | None = None) -> Any:
    """Value of an expression.

    Parameters
    ----------
    text : str
        The expression.
    names : mapping of str to object
        Every name that it may use.
    budget : Budget, optional
        Time that is left.

    Returns
    -------
    object
        A number, yes or no, text, list, array or record; numpy scalars come as plain numbers.

    Raises
    ------
    ExpressionError
        It cannot be worked out, or asks for something that an expression may not do.
    Skipped
        It uses a name that is `BROKEN`.
    """
    with np.errstate(all="ignore"):
        return _Walk(names, budget or Budget()).value(parsed(text))


def findings(text: str, names: Mapping[str, Any], budget: Budget | None = None) -> list[str]:
    """What the parts of a condition are, such as ``best(t) = 14``: whatever is compared and is no plain number."""
    found: list[str] = []
    for node in _compared(parsed(text)):
        if not any(isinstance(inner, ast.Name) for inner in ast.walk(node)):
            continue
        name = ast.unparse(node)
        try:
            line = f"{name} = {shown(evaluate(name, names, budget))}"
        except (ExpressionError, Skipped):
            continue
        if line not in found:
            found.append(line)
    return found


def _compared(node: ast.expr) -> Iterator[ast.expr]:
    if isinstance(node, ast.BoolOp):
        for part in node.values:
            yield from _compared(part)
    elif isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not):
        yield from _compared(node.operand)
    elif isinstance(node, ast.Compare):
        yield from (node.left, *node.comparators)
    else:
        yield node


class _Walk:
    """One walk over a tree."""

    def __init__(self, names: Mapping[str, Any], budget: Budget) -> None:
        self._names, self._budget = names, budget
        self._own: dict[str, Any] = {}
        self._steps = self._turns = 0

    def value(self, node: ast.expr) -> Any:
        """What a node is worth."""
        self._steps += 1
        self._budget.step()
        if self._steps > MOST_STEPS:
            raise ExpressionError(f"worked out in {MOST_STEPS} steps", "more", "Loop over fewer values.")
        try:
            value = _tidy(getattr(self, "_" + type(node).__name__.lower())(node))
            if isinstance(value, (tuple, list)):
                self._budget.step(_items(value))
            return value
        except (ExpressionError, Skipped):
            raise
        except ZeroDivisionError:
            raise ExpressionError("a number", f"a division by zero in {short(node)}", "Divide by what is never 0.") from None
        except sim.SceneError as error:
            raise ExpressionError("what the model can work out", f"{short(node)}: {error}", "Mend that value.") from None
        except RecursionError:
            raise ExpressionError(f"at most {DEEPEST} levels deep", "more", "Give its parts names under [names].") from None
        except Exception as error:  # whatever a stranger's expression does, it ends in one clear mistake
            said = short(str(error.args[0]) if error.args else type(error).__name__)
            raise ExpressionError("what can be worked out", f"{short(node)}: {said}", "Mend what is handed in.") from None

    def _constant(self, node: ast.Constant) -> Any:
        return node.value

    def _name(self, node: ast.Name) -> Any:
        for names in (self._own, self._names):
            if node.id in names:
                if names[node.id] is BROKEN:
                    raise Skipped
                return names[node.id]
        near = difflib.get_close_matches(node.id, ["True", "False", *self._own, *self._names], 1, 0.5)
        repair = f"Did you mean {near[0]}?" if near else "Give it under [names]."
        raise ExpressionError("made of known names", node.id, repair)

    def _call(self, node: ast.Call) -> Any:
        assert isinstance(node.func, ast.Name)
        function = self.value(node.func)
        if not callable(function):
            raise ExpressionError("a call of a function", f"{node.func.id}, {shown(function)}", "Write it without ( ).")
        given = [self._handed(item) for item in node.args]
        options = {item.arg: self._handed(item.value) for item in node.keywords if item.arg}
        if isinstance(function, np.ufunc) or str(getattr(function, "__module__", "")).partition(".")[0] in ("builtins", "numpy"):
            _plainly(node, function, len(given), options)
            if function is round and len(given) == 2 and not (type(given[1]) is int and abs(given[1]) <= MOST_PLACES):
                raise ExpressionError(f"rounded to at most {MOST_PLACES} places", shown(given[1]), "Use 0, 1 or 2.")
        self._budget.spend()
        return function(*given, **options)

    def _handed(self, node: ast.expr) -> Any:
        """A value for a call; a function that is handed on spends the budget whenever it is called."""
        value = self.value(node)
        if not callable(value) or isinstance(value, sim.Scene):
            return value

        def spending(*given: Any, **options: Any) -> Any:
            self._budget.spend()
            return value(*given, **options)

        return spending

    def _binop(self, node: ast.BinOp) -> Any:
        left, right = self.value(node.left), self.value(node.right)
        _combinable(node, left, right)
        result = _ARITHMETIC[type(node.op)](left, right)
        if isinstance(result, complex):
            raise ExpressionError("a number", f"the root of a negative one in {short(node)}", "Keep it positive.")
        return result

    def _unaryop(self, node: ast.UnaryOp) -> Any:
        value = self.value(node.operand)
        if isinstance(node.op, ast.Not):
            return not _one(value, node.operand)
        if not _is_numeric(value):
            raise ExpressionError("a number behind its sign", f"{shown(value)} in {short(node)}", "Take one number of it.")
        return -value if isinstance(node.op, ast.USub) else value

    def _boolop(self, node: ast.BoolOp) -> Any:
        stop = isinstance(node.op, ast.Or)
        for part in node.values:
            if _one(self.value(part), part) is stop:
                return stop
        return not stop

    def _compare(self, node: ast.Compare) -> Any:
        left = self.value(node.left)
        result: Any = True
        for sign, after in zip(node.ops, node.comparators, strict=True):
            if not _one(result, node):
                return False
            right = self.value(after)
            result = _tidy(_COMPARISONS[type(sign)](left, right))
            left = right
        return result

    def _ifexp(self, node: ast.IfExp) -> Any:
        return self.value(node.body if _one(self.value(node.test), node.test) else node.orelse)

    def _tuple(self, node: ast.Tuple) -> Any:
        return tuple(self.value(item) for item in node.elts)

    def _list(self, node: ast.List) -> Any:
        return [self.value(item) for item in node.elts]

    def _slice(self, node: ast.Slice) -> Any:
        return slice(*(None if part is None else self.value(part) for part in (node.lower, node.upper, node.step)))

    def _subscript(self, node: ast.Subscript) -> Any:
        held, key = self.value(node.value), self.value(node.slice)
        if isinstance(held, Mapping):
            if isinstance(key, (str, int)) and key in held:
                return held[key]
            known = [str(name) for name in held]
            raise ExpressionError(f"a key of {short(node.value)}", shown(key), _nearest(str(key), known))
        if not isinstance(held, (tuple, list, np.ndarray)):
            raise ExpressionError("taken from a list or a table", f"{shown(held)} in {short(node)}", "Write it without [ ].")
        chosen = isinstance(held, np.ndarray) and isinstance(key, np.ndarray) and key.ndim == 1 and key.dtype.kind in "bi"
        if not chosen and (not isinstance(key, (int, slice)) or isinstance(key, bool)):
            rule = "taken by a whole number or a slice"
            raise ExpressionError(rule, f"{shown(key)} in {short(node)}", "Use [0], [-1] or [2:5].")
        return held[key]

    def _attribute(self, node: ast.Attribute) -> Any:
        held = self.value(node.value)
        known: list[str] = []
        if dataclasses.is_dataclass(held) and not isinstance(held, type) and type(held).__module__.startswith(_OURS):
            known = [f.name for f in dataclasses.fields(held) if not f.name.startswith("_")]
        if node.attr not in known:
            repair = _nearest(node.attr, known) if known else "Write it without the point."
            raise ExpressionError(f"a result of {short(node.value)}", node.attr, repair)
        return getattr(held, node.attr)

    def _listcomp(self, node: ast.ListComp | ast.GeneratorExp) -> Any:
        found: list[Any] = []
        kept = dict(self._own)
        self._loop(node.elt, node.generators, found)
        self._own = kept
        return found

    _generatorexp = _listcomp

    def _loop(self, wanted: ast.expr, loops: list[ast.comprehension], found: list[Any]) -> None:
        if not loops:
            found.append(self.value(wanted))
            return
        first, rest = loops[0], loops[1:]
        over = self.value(first.iter)
        if not isinstance(over, (tuple, list, np.ndarray, range, Mapping)):
            repair = "Loop over a list such as (10, 20, 30)."
            raise ExpressionError("a loop over a list", f"{shown(over)} in {short(first.iter)}", repair)
        for item in over:
            self._turns += 1
            if self._turns > MOST_TURNS:
                raise ExpressionError(f"a loop of at most {MOST_TURNS} turns", "more", "Loop over fewer values.")
            self._bind(first.target, _tidy(item))
            if all(_one(self.value(test), test) for test in first.ifs):
                self._loop(wanted, rest, found)

    def _bind(self, target: ast.expr, item: Any) -> None:
        if isinstance(target, ast.Name):
            self._own[target.id] = item
        elif isinstance(target, (ast.Tuple, ast.List)) and isinstance(item, (tuple, list)) and len(item) == len(target.elts):
            for part, value in zip(target.elts, item, strict=True):
                self._bind(part, value)
        else:
            rule = "a loop whose names fit its values"
            raise ExpressionError(rule, f"{shown(item)} for {short(target)}", "Name each value once.")


def _nearest(name: str, known: list[str]) -> str:
    near = difflib.get_close_matches(name, known, 1, 0.5)
    return f"Did you mean {near[0]}?" if near else f"It has {', '.join(known[:20])}."


def _plainly(node: ast.Call, function: Any, given: int, options: Mapping[str, Any]) -> None:
    """Refuse what Python's and numpy's own functions could do beside their work, such as write into what is handed in."""
    most = _SEVERAL.get(function, function.nin if isinstance(function, np.ufunc) else 1)
    if not 1 <= given <= most:
        rule = "a call with one value" if most == 1 else f"a call with 1 to {most} values"
        raise ExpressionError(rule, f"{given} in {short(node)}", "Hand in what it asks for.")
    refused = [name for name in options if name not in ("key", "default") or function not in _CHOOSING]
    if refused:
        raise ExpressionError("a call without that option", f"{refused[0]} in {short(node)}", "Leave it out.")


def _one(value: Any, node: ast.expr) -> bool:
    """A yes or no; numbers and lists are neither."""
    if isinstance(value, bool):
        return value
    raise ExpressionError("yes or no", f"{shown(value)} in {short(node)}", "Compare it, for example with > 0.")


def _is_numeric(value: Any) -> bool:
    return isinstance(value, (int, float)) or (isinstance(value, np.ndarray) and value.dtype.kind in "bif")


def _combinable(node: ast.BinOp, left: Any, right: Any) -> None:
    """Refuse what is no arithmetic, and what would make a list, a text or a number without end."""
    if _is_numeric(left) and _is_numeric(right):
        if isinstance(left, np.ndarray) and isinstance(right, np.ndarray) and left.shape != right.shape:
            got = f"{left.size} and {right.size} numbers in {short(node)}"
            raise ExpressionError("arithmetic of lists of one length", got, "Take both from the same currents.")
        if isinstance(node.op, ast.Pow) and not (isinstance(right, (int, float)) and abs(right) <= MOST_POWER):
            raise ExpressionError(f"a power of at most {MOST_POWER}", shown(right), "Use a smaller power.")
        return
    joined = isinstance(node.op, ast.Add) and isinstance(left, (tuple, list)) and type(left) is type(right)
    if joined and len(left) + len(right) <= MOST_TURNS:
        return
    repair = f"Lists hold at most {MOST_TURNS} values." if joined else "Take one number of each."
    raise ExpressionError("arithmetic of numbers", f"{shown(left)} and {shown(right)} in {short(node)}", repair)


def _items(value: Any, deep: int = 0) -> int:
    """Items of a list and of the lists in it; one that is too deep or too long is refused before all of it is seen."""
    if deep >= DEEPEST_LIST:
        raise ExpressionError(f"lists at most {DEEPEST_LIST} deep", "deeper ones", "Write it flatter.")
    count = len(value)
    for item in value:
        if isinstance(item, (tuple, list)):
            count += _items(item, deep + 1)
        if count > MOST_NUMBERS:
            raise ExpressionError(f"at most {MOST_NUMBERS} numbers", "more", "Ask for a shorter run.")
    return count


def _tidy(value: Any) -> Any:
    """Plain numbers for numpy's, and a ceiling on whatever could grow."""
    if isinstance(value, np.generic) or (isinstance(value, np.ndarray) and value.ndim == 0):
        value = value.item()
    if isinstance(value, zip):
        value = list(value)
    if isinstance(value, int) and not isinstance(value, bool) and abs(value) > EXACT:
        return float(value) if abs(value) < 10**300 else math.copysign(math.inf, value)
    size = value.size if isinstance(value, np.ndarray) else len(value) if isinstance(value, (tuple, list)) else 0
    if size > MOST_NUMBERS:
        raise ExpressionError(f"at most {MOST_NUMBERS} numbers", str(size), "Ask for a shorter run.")
    return value
