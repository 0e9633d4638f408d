"""The questions of a lesson put to other arms and to other scenes: which choice the model makes right there.

Only what the conditions of questions stand on is worked out: no text, no picture.
"""

from __future__ import annotations

import ast
import json
from collections.abc import Mapping
from typing import Any

from graspwave.lessons.allowed import parsed
from graspwave.lessons.expressions import Budget, ExpressionError, Skipped, evaluate
from graspwave.lessons.grammar import Lesson, Written, WrittenQuestion

__all__ = ["Answer", "WorkedNames", "answers", "stays", "tolerances"]

Answer = tuple[str, ...] | float | None
"""Keys that are right, in order where it is one; the value of a number, the x of a place; None where that fails."""

_SECONDS = 600.0


class WorkedNames:
    """Names of a lesson, each worked out when it is first asked for.

    Parameters
    ----------
    lesson : Lesson
    names : mapping of str to object
        Words of the vocabulary.
    """

    def __init__(self, lesson: Lesson, names: Mapping[str, Any]) -> None:
        self._known = dict(names)
        self._written = lesson.named
        self._budget = Budget(_SECONDS)

    def value(self, expression: Any) -> Any:
        """What an expression is worth; None where it cannot be worked out."""
        if not isinstance(expression, str):
            return expression
        try:
            for name in sorted({node.id for node in ast.walk(parsed(expression)) if isinstance(node, ast.Name)}):
                if name in self._written and name not in self._known:
                    found = self.value(self._written[name])
                    if found is None:
                        return None
                    self._known[name] = found
            return evaluate(expression, self._known, self._budget)
        except (ExpressionError, Skipped):
            return None


def answers(lesson: Lesson, names: Mapping[str, Any]) -> dict[int, Answer]:
    """What the model makes right, by the number of the step.

    Parameters
    ----------
    lesson : Lesson
    names : mapping of str to object
        Words of the vocabulary; its hands may be those of another arm.
    """
    own = WorkedNames(lesson, names)
    return {step.number: _answer(step.question, own) for step in lesson.steps if step.question is not None}


def tolerances(lesson: Lesson, names: Mapping[str, Any]) -> dict[int, float]:
    """How far a number or a place may be off, by step."""
    own, found = WorkedNames(lesson, names), {}
    for step in lesson.steps:
        key = {"number": "tolerance", "place": "within_x"}.get(step.question.kind if step.question else "")
        if step.question is not None and key in step.question.keys:
            value = own.value(step.question.keys[key].value)
            found[step.number] = float(value) if isinstance(value, (int, float)) else 0.0
    return found


def _answer(question: WrittenQuestion, own: WorkedNames) -> Answer:
    if question.kind in ("number", "place"):
        value = own.value(question.keys["value" if question.kind == "number" else "x"].value)
        return float(value) if isinstance(value, (int, float)) and not isinstance(value, bool) else None
    held = {choice.key: _held(choice.condition, own) for choice in question.choices}
    if None in held.values():
        return None
    if question.kind == "order":
        return tuple(sorted(held, key=lambda key: float(held[key])))
    return tuple(key for key, value in held.items() if value)


def _held(condition: Written | None, own: WorkedNames) -> Any:
    value = None if condition is None else own.value(condition.value)
    return value if isinstance(value, (bool, int, float)) else None


def stays(usual: Answer, other: Answer, tolerance: float = 0.0) -> bool:
    """Whether the answer is the same: the same keys, or a number within the tolerance of its question."""
    if isinstance(usual, float) and isinstance(other, float):
        return abs(usual - other) <= tolerance
    return usual is not None and usual == other


def as_text(found: Mapping[str, Mapping[int, Answer]]) -> str:
    """Answers by lesson and step as JSON."""
    return json.dumps({slug: {str(step): answer for step, answer in steps.items()} for slug, steps in found.items()})


def from_text(text: str) -> dict[str, dict[int, Answer]]:
    """What `as_text` wrote."""
    return {
        slug: {int(step): tuple(answer) if isinstance(answer, list) else answer for step, answer in steps.items()}
        for slug, steps in json.loads(text).items()
    }
