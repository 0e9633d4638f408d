"""The twelve questions before and after a course and some days after a lesson: the second time each comes as its twin."""

from __future__ import annotations

import dataclasses
import hashlib
import re
import tomllib
from collections.abc import Mapping, Sequence
from functools import cache
from importlib.resources import files
from typing import Any

from graspwave.lessons.compute import compute
from graspwave.lessons.grammar import Computed, Lesson, Written, WrittenStep
from graspwave.lessons.twins import changed_names

__all__ = ["QUIZZES", "Asked", "asked", "quiz"]

QUIZZES = ("before", "after", "again")
"""Before a course, after it, and one by one some days after a lesson; the last two ask the twins."""

_TITLES = {"before": "Twelve questions, before", "after": "Twelve questions, after", "again": "Asked again"}
_AIMS = {"before": "See what you hold true now.", "after": "See what you hold true now, against the first time.",
         "again": "See what has stayed with you."}


@dataclasses.dataclass(frozen=True, slots=True)
class Asked:
    """One question: of which lesson and step, and what makes its twin.

    `changes` are settings of every hand, `names` other expressions of the lesson; `words` stand before its text; `text`,
    `question` and `says`, by choice, stand in the place of its own; `right` are the keys that become right.
    """

    lesson: str
    step: int
    words: str
    changes: Mapping[str, Any]
    names: Mapping[str, str]
    text: str
    question: str
    says: Mapping[str, str]
    right: tuple[str, ...]


@cache
def asked() -> tuple[Asked, ...]:
    """All of them, in order."""
    table = tomllib.loads((files(__package__) / "questions.toml").read_text("utf-8"))
    return tuple(_one(entry) for entry in table["question"])


def _one(entry: Mapping[str, Any]) -> Asked:
    return Asked(
        str(entry["lesson"]), int(entry["step"]), str(entry.get("words", "")), dict(entry.get("changes", {})),
        dict(entry.get("names", {})), str(entry.get("text", "")), str(entry.get("question", "")), dict(entry.get("says", {})),
        tuple(entry["right"]),
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

    steps, first, digests = [], None, [which]
    for number, one in enumerate(asked(), 1):
        lesson = lessons.load(one.lesson)
        twin = which != "before"
        computed = compute(_alone(lesson, one, twin), changed_names(NAMES, one.changes) if twin else NAMES)
        first = first or computed
        digests.append(lesson.digest)
        step = computed.steps[0]
        text = f"{one.words}\n\n{step.text}" if twin and one.words else step.text
        steps.append(dataclasses.replace(step, number=number, text=text, minutes=1.0))
    assert first is not None
    return dataclasses.replace(
        first, slug=which, title=_TITLES[which], minutes=float(len(steps)), short=(), steps=tuple(steps),
        digest=hashlib.sha256(repr((digests, asked())).encode()).hexdigest()[: len(first.digest)],
        wrong_ideas=(), prior="", objectives=(_AIMS[which],),
        limits=("Right is what the model gives, for invented arms.",),
        cautions=("A teaching model, not for setting treatment.",),
    )


def _alone(lesson: Lesson, one: Asked, twin: bool) -> Lesson:
    """The lesson with that step alone; of the twin, with what makes it."""
    step = next(step for step in lesson.steps if step.number == one.step)
    names = lesson.names
    if twin:
        names = tuple(dataclasses.replace(name, value=one.names.get(_key(name), name.value)) for name in names)
        step = _twin(step, one)
    bare = _bare(step)
    return dataclasses.replace(lesson, names=_used(names, bare), steps=(bare,))


def _key(name: Written) -> str:
    return name.key.rpartition(".")[2]


def _used(names: Sequence[Written], step: WrittenStep) -> tuple[Written, ...]:
    """Names that a step stands on, in their order: those in its texts and expressions, and those that these are made of."""
    said, used = repr(dataclasses.asdict(step)), []
    for name in reversed(names):
        if re.search(rf"\b{_key(name)}\b", said):
            said += f" {name.value}"
            used.append(name)
    return tuple(reversed(used))


def _twin(step: WrittenStep, one: Asked) -> WrittenStep:
    question = step.question
    assert question is not None
    assert question.right is not None
    choices = tuple(
        dataclasses.replace(choice, says=dataclasses.replace(choice.says, value=one.says.get(choice.key, choice.says.value)))
        for choice in question.choices
    )
    right = Written(one.right[0] if question.kind == "one" else list(one.right), "for", question.right.line)
    asks = dataclasses.replace(question.asks, value=one.question or question.asks.value)
    text = dataclasses.replace(step.text, value=one.text or step.text.value)
    # pictures of the first time would not fit other words
    pictures = () if one.text or one.says else step.pictures
    return dataclasses.replace(
        step, text=text, pictures=pictures, question=dataclasses.replace(question, asks=asks, choices=choices, right=right),
    )


def _bare(step: WrittenStep) -> WrittenStep:
    """A step with what is there before the vote; its reason was written for another time."""
    start = tuple(picture for picture in step.pictures if picture.when == "start")
    empty = dataclasses.replace(step.reveal, value="")
    bare = dataclasses.replace(step, pictures=start, look=empty, reveal=empty, say=empty)
    return dataclasses.replace(bare, free=(), goals=(), alone=None, scene=None)
