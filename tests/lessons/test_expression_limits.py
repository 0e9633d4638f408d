"""Where expressions end: each ceiling at its last allowed value and one past it (gaps that `tests.bench.mutants` found)."""

from __future__ import annotations

import ast
import math
from typing import Any

import numpy as np
import pytest

from graspwave.lessons import expressions
from graspwave.lessons.expressions import Budget, ExpressionError, evaluate, findings


def refused(text: str, names: dict[str, Any] | None = None, budget: Budget | None = None) -> str:
    with pytest.raises(ExpressionError) as error:
        evaluate(text, names or {}, budget)
    return str(error.value)


def test_a_budget_of_steps_is_used_up_to_its_last() -> None:
    budget = Budget(steps=3)
    budget.step()
    budget.step(2)
    with pytest.raises(ExpressionError, match=r"in fewer steps \(got more\)"):
        budget.step()


def test_a_budget_of_time_lasts_to_its_end_and_says_its_length(monkeypatch: pytest.MonkeyPatch) -> None:
    now = [1000.0]
    monkeypatch.setattr(expressions.time, "monotonic", lambda: now[0])
    budget = Budget()
    now[0] += 300.0
    budget.spend()
    now[0] += 0.5
    with pytest.raises(ExpressionError, match="in 300 s"):
        budget.spend()


@pytest.mark.parametrize("text", ["1 + 1", "(1, 2)", "((1, 2), (3,))"])
def test_nodes_and_items_of_lists_are_steps(text: str) -> None:
    evaluate(text, {}, Budget(steps=_steps(text)))
    assert "fewer steps" in refused(text, budget=Budget(steps=_steps(text) - 1))


def _steps(text: str) -> int:
    """Nodes worked out, and for each list its items and those of the lists in it, counted apart from the code."""
    def items(node: ast.expr) -> int:
        return sum(1 + (items(part) if isinstance(part, ast.Tuple) else 0) for part in node.elts) if isinstance(
            node, ast.Tuple) else 0

    nodes = [node for node in ast.walk(ast.parse(text, mode="eval").body) if isinstance(node, ast.expr)]
    return len(nodes) + sum(items(node) for node in nodes)


def test_one_expression_has_a_ceiling_of_its_own(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(expressions, "MOST_STEPS", 3)
    assert evaluate("1 + 1", {}) == 2
    assert "worked out in 3 steps" in refused("1 + 1 + 1")
    assert "(got more)" in refused("1 + 1 + 1")


def test_turns_of_loops_are_counted_from_none(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(expressions, "MOST_TURNS", 3)
    assert evaluate("[i for i in (1, 2, 3)]", {}) == [1, 2, 3]
    assert "at most 3 turns" in refused("[i for i in (1, 2, 3, 4)]")
    assert evaluate("(1,) + (2, 3)", {}) == (1, 2, 3)
    assert "at most 3 values" in refused("(1, 2) + (3, 4)")


def test_lists_lie_four_deep_and_no_deeper() -> None:
    assert evaluate("((((1,),),),)", {}) == ((((1,),),),)
    assert "lists at most 4 deep" in refused("(((((1,),),),),)")
    assert "lists at most 4 deep" in refused("x", {"x": [[[[[1]]]]]})


def test_a_list_is_as_long_as_it_may_be_and_no_longer(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(expressions, "MOST_NUMBERS", 3)
    assert evaluate("(1, 2, 3)", {}) == (1, 2, 3)
    assert evaluate("x", {"x": np.arange(3.0)}).size == 3
    for text, names in (("(1, 2, 3, 4)", {}), ("x", {"x": np.arange(4.0)})):
        assert "at most 3 numbers" in refused(text, names)
    monkeypatch.setattr(expressions, "MOST_NUMBERS", 4)
    assert expressions._items([[1], [2]]) == 4  # two lists and what is in them
    with pytest.raises(ExpressionError, match=r"at most 4 numbers \(got more\)"):
        expressions._items([[1, 2], [3]])


def test_what_goes_wrong_in_a_call_is_said() -> None:
    def deep() -> None:
        raise RecursionError

    def two() -> None:
        raise ValueError("the first", "the second")

    assert "levels deep" in refused("deep()", {"deep": deep})
    assert "(got more)" in refused("deep()", {"deep": deep})
    assert "the first" in refused("two()", {"two": two})
    assert "Did you mean False?" in refused("Fals")


def test_rounding_has_places_and_only_rounding_has() -> None:
    names = {"round": round, "max": max}
    assert evaluate("round(2.5678, 2)", names) == 2.57
    assert evaluate("round(2.5)", names) == 2
    assert evaluate("round(100.25, 1)", names) == 100.2
    assert evaluate("round(2.5678, 15)", names) == 2.5678
    assert "rounded to at most 15 places (got 16)" in refused("round(2.5, 16)", names)
    assert "places" in refused("round(2.5, True)", names)
    assert evaluate("max(1.5, 2.5)", names) == 2.5


def test_a_chain_that_breaks_early_is_false() -> None:
    assert evaluate("3 < 2 < 4 < 5", {}) is False


@pytest.mark.parametrize(("call", "most"), [("max({})", 100), ("min({})", 100), ("round({})", 2), ("zip({})", 10),
                                             ("interp({})", 3), ("where({})", 3)])
def test_calls_take_so_many_values_and_no_more(call: str, most: int) -> None:
    names = {"interp": np.interp, "where": np.where, "max": max, "min": min, "round": round, "zip": zip}
    rule = f"a call with 1 to {most} values"
    assert rule in refused(call.format(", ".join(["1"] * (most + 1))), names)
    assert rule in refused(call.format(""), names)
    values = {"interp": "1, (0, 2), (0, 4)", "where": "x > 1, x, x", "zip": ", ".join(["(1,)"] * 10)}.get(
        call.partition("(")[0], ", ".join(["1"] * most))
    evaluate(call.format(values), {**names, "x": np.arange(3.0)})


def test_options_are_those_that_choose() -> None:
    assert evaluate("max((), default=7)", {"max": max}) == 7
    for text in ("sorted((2, 1), reverse=True)", "abs(1, key=abs)"):
        assert "a call without that option" in refused(text, {"sorted": sorted, "abs": abs})


def test_powers_end_at_a_hundred() -> None:
    assert evaluate("1 ** 100", {}) == 1
    assert "a power of at most 100" in refused("1 ** 101")


def test_numbers_are_plain_and_large_ones_are_no_longer_whole() -> None:
    assert type(evaluate("x", {"x": np.array(5.0)})) is float
    assert type(evaluate("x", {"x": expressions.EXACT})) is int
    assert type(evaluate("x", {"x": expressions.EXACT + 1})) is float
    assert evaluate("x", {"x": 10**299}) == 1e299
    assert evaluate("x", {"x": 10**300 - 1}) == 1e300
    assert evaluate("x", {"x": 10**300}) == math.inf
    assert evaluate("x", {"x": -(10**300)}) == -math.inf


def test_a_part_that_cannot_be_told_hides_no_other() -> None:
    assert findings("1 / a > b", {"a": 0, "b": 3}) == ["b = 3"]
