"""The twelve questions before and after a course: questions of lessons, the second time as twins where there are some."""

from __future__ import annotations

import dataclasses
import tomllib
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from typing import Any

from graspwave.lessons.compute import compute
from graspwave.lessons.grammar import Computed, Lesson, Written, WrittenStep
from graspwave.lessons.twins import changed_names

__all__ = ["QUIZZES", "Asked", "asked", "quiz"]

QUIZZES = ("before", "after")
"""Before a course and after it."""

_TITLES = {"before": "Twelve questions, before", "after": "Twelve questions, after"}


@dataclasses.dataclass(frozen=True, slots=True)
class Asked:
    """One question: of which lesson and step, and what makes its twin; `right` is empty where it has none."""

    lesson: str
    step: int
    words: str
    changes: Mapping[str, Any]
    right: str


@cache
def asked() -> tuple[Asked, ...]:
    """All of them, in order."""
    table = tomllib.loads((files(__package__) / "questions.toml").read_text("utf-8"))
    return tuple(
        Asked(str(one["lesson"]), int(one["step"]), str(one.get("words", "")), dict(one.get("changes", {})),
              str(one.get("right", "")))
        for one in table["question"]
    )


def quiz(which: str) -> Computed:
    """The twelve questions, computed, without anything that tells an answer before all are answered.

    Parameters
    ----------
    which : str
        One of `QUIZZES`.

    Raises
    ------
    LessonError
        The model makes another answer right than a question, or its twin, was written for.
    """
    from graspwave import lessons
    from graspwave.lessons.vocabulary import NAMES

    steps, first = [], None
    for number, one in enumerate(asked(), 1):
        lesson = lessons.load(one.lesson)
        twin = which == "after" and bool(one.changes)
        computed = compute(_alone(lesson, one, twin), changed_names(NAMES, one.changes) if twin else NAMES)
        first = first or computed
        step = computed.steps[0]
        text = f"{one.words}\n\n{step.text}" if twin else step.text
        steps.append(dataclasses.replace(step, number=number, text=text, minutes=1.0))
    assert first is not None
    return dataclasses.replace(
        first, slug=which, title=_TITLES[which], minutes=float(len(steps)), short=(), steps=tuple(steps),
        wrong_ideas=(), prior="",
        objectives=("See what you hold true " + ("now." if which == "before" else "now, against the first time."),),
        limits=("Right is what the model gives, for invented arms.",),
        cautions=("A teaching model, not for setting treatment.",),
    )


def _alone(lesson: Lesson, one: Asked, twin: bool) -> Lesson:
    """The lesson with that step alone, and its question's right answer that of the twin."""
    step = next(step for step in lesson.steps if step.number == one.step)
    question = step.question
    assert question is not None
    if twin and question.right is not None:
        question = dataclasses.replace(question, right=Written(one.right, "for", question.right.line))
    return dataclasses.replace(lesson, steps=(_bare(dataclasses.replace(step, question=question)),))


def _bare(step: WrittenStep) -> WrittenStep:
    """A step with what is there before the vote; its reason was written for another time."""
    start = tuple(picture for picture in step.pictures if picture.when == "start")
    empty = dataclasses.replace(step.reveal, value="")
    bare = dataclasses.replace(step, pictures=start, look=empty, reveal=empty, say=empty)
    return dataclasses.replace(bare, free=(), goals=(), alone=None, scene=None)
