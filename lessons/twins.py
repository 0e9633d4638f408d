"""Twins of a question: the same question for another scene, in which another choice becomes right. Found by search."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from typing import Any

from graspwave.lessons.grammar import Lesson
from graspwave.lessons.variants import Answer, answers
from graspwave.simulator import SceneError

__all__ = ["CHANGES", "Twin", "changed_names", "twins"]

CHANGES: tuple[tuple[str, Mapping[str, Any]], ...] = (
    ("the arm is much weaker", {"strength": 0.2}),
    ("the arm is as strong as a healthy one", {"strength": 1.0}),
    ("the closers are as long as in a supple hand, and their tone is low", {"flex": 1.0, "tone": 0.001}),
    ("the closers are shorter still", {"flex": 0.94}),
    ("the closers have much more tone", {"tone": 0.03}),
    ("each phase is three times as long", {"phase": 900}),
    ("each phase lasts 100 µs", {"phase": 100}),
    ("the rate is 12 pulses a second", {"freq": 12}),
    ("the pads are small, 4 cm²", {"size": 4}),
    ("the pads lie near the wrist", {"along": 65}),
    ("the pads lie on the thumb's side", {"around": -40}),
    ("fat lies 10 mm thick over the muscle", {"fat": 10}),
    ("the wrist is held straight", {"wrist": 0}),
    ("the wrist is held 50 degrees bent down", {"wrist": 50}),
    ("the person reacts three seconds late", {"reaction": 3}),
    ("the object is small, 20 mm", {"dia": 20}),
    ("the elbow is strong", {"elbow_strength": 0.8}),
    ("the fingers let go at once", {"off_late": 0.2}),
)
"""What is tried, in words and as settings of every hand."""


@dataclasses.dataclass(frozen=True, slots=True)
class Twin:
    """A change of the scene, in words and as settings, with the answer that becomes right by it."""

    step: int
    words: str
    changes: Mapping[str, Any]
    answer: Answer


def changed_names(names: Mapping[str, Any], changes: Mapping[str, Any]) -> dict[str, Any]:
    """Names of the vocabulary with every hand changed."""
    return {**names, **{key: names[key](**changes) for key in ("s", "f", "t")}}


def twins(
    lesson: Lesson, names: Mapping[str, Any], tried: Sequence[tuple[str, Mapping[str, Any]]] = CHANGES,
) -> dict[int, tuple[Twin, ...]]:
    """Every twin that is found, by step: questions with one right choice, and orders.

    Parameters
    ----------
    lesson : Lesson
    names : mapping of str to object
        The vocabulary.
    tried : sequence, optional
        Changes that are tried, in order.
    """
    usual = answers(lesson, names)
    kinds = {step.number: step.question.kind for step in lesson.steps if step.question is not None}
    found: dict[int, list[Twin]] = {}
    for words, changes in tried:
        try:
            there = answers(lesson, changed_names(names, changes))
        except SceneError:
            continue
        for step, answer in there.items():
            whole = isinstance(answer, tuple) and (len(answer) == 1 if kinds[step] == "one" else kinds[step] == "order")
            if whole and answer != usual[step]:
                found.setdefault(step, []).append(Twin(step, words, changes, answer))
    return {step: tuple(several) for step, several in found.items()}
