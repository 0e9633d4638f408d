"""`Lesson` -> `Computed`: every expression worked out, every text filled in, every answer held against the model.

What a lesson calls right is a condition over results. The lesson says for which choice its reason was written; where the
model makes another one right, that is a mistake, told with the values that the model found.
"""

from __future__ import annotations

import dataclasses
import difflib
from collections.abc import Mapping
from typing import Any

from graspwave import simulator as sim
from graspwave.lessons.answers import right_answer
from graspwave.lessons.bands import bands_of
from graspwave.lessons.claims import counted
from graspwave.lessons.drawable import drawable
from graspwave.lessons.grammar import (
    Alone,
    Choice,
    Computed,
    Goal,
    Lesson,
    LessonError,
    Picture,
    Question,
    Said,
    Step,
    WrittenAlone,
    WrittenGoal,
    WrittenPicture,
    WrittenQuestion,
    WrittenSaid,
    WrittenStep,
)
from graspwave.lessons.tables import Notes
from graspwave.lessons.values import Values

__all__ = ["compute", "work_out"]


def compute(lesson: Lesson, names: Mapping[str, Any] | None = None) -> Computed:
    """Work a lesson out.

    Parameters
    ----------
    lesson : Lesson
        As `read` gives it.
    names : mapping of str to object, optional
        What expressions may use; the lessons' own vocabulary if left out.

    Returns
    -------
    Computed

    Raises
    ------
    LessonError
        Something cannot be worked out or drawn, or the model makes another answer right.
    """
    notes = Notes(lesson.file)
    computed = work_out(lesson, notes, names)
    if notes.all():
        raise LessonError(notes.all())
    return computed


def work_out(lesson: Lesson, notes: Notes, names: Mapping[str, Any] | None = None) -> Computed:
    """As `compute`, but mistakes go into `notes` and what they concern is left out."""
    from graspwave.lessons import vocabulary

    values = Values(notes, vocabulary.NAMES if names is None else names, vocabulary.warned)
    for written in lesson.names:
        values.name(written)
    steps: list[Step] = []
    scene: sim.Scene | None = None
    given = False
    for step in lesson.steps:
        if step.scene is not None:
            scene, given = values.scene(step.scene), True
        if scene is None and not given and (step.kind == "roam" or step.free):
            notes.add(step.free[0].line if step.free else step.line, "is", "given, here or in a step before", "nothing",
                      'Add is = "t" to a block scene.')
        # other arms were counted for the hands that all lessons have
        steps.append(_step(step, scene, values, lesson if names is None or names is vocabulary.NAMES else None))
    return Computed(
        lesson.slug, lesson.title, lesson.digest, lesson.minutes, lesson.short, lesson.people, lesson.objectives, lesson.prior,
        lesson.wrong_ideas, lesson.basis, lesson.limits, lesson.cautions, tuple(steps),
    )


def _step(step: WrittenStep, scene: sim.Scene | None, values: Values, lesson: Lesson | None) -> Step:
    text, say = values.text(step.text), values.text(step.say)
    pictures = tuple(found for written in step.pictures if (found := _picture(written, values, lesson)) is not None)
    question = None if step.question is None else _question(step.question, values)
    if question is not None and lesson is not None:
        question = dataclasses.replace(question, arms=counted(lesson).get(step.number, ""))
    look, reveal = values.text(step.look), values.text(step.reveal)
    free = () if scene is None else _free(step, scene, values)
    goals = tuple(aim for aimed in step.goals if (aim := _goal(aimed, values)) is not None)
    alone = None if step.alone is None else _alone(step.alone, values)
    return Step(step.number, step.title, step.kind, step.minutes, text, say, scene, free, pictures, question, look, reveal,
                step.curve, goals, alone)


def _picture(written: WrittenPicture, values: Values, lesson: Lesson | None) -> Picture | None:
    found = drawable(written, values)
    return found if found is None or lesson is None else dataclasses.replace(found, bands=bands_of(lesson, written))


def _goal(written: WrittenGoal, values: Values) -> Goal | None:
    says, within = values.text(written.says), {}
    for key, (low, high) in written.within.items():
        ends = values.number(low), values.number(high)
        if ends[0] is None or ends[1] is None:
            return None
        if ends[0] > ends[1]:
            values.wrong(high, f"at least {ends[0]:g}", f"{ends[1]:g}", "Put the lowest value first.")
            return None
        within[key] = (ends[0], ends[1])
    return Goal(says, within, written.claw)


def _alone(written: WrittenAlone, values: Values) -> Alone:
    text, write, passes = (values.text(part) for part in (written.text, written.write, written.passes))
    return Alone(text, write, written.needs, written.grade, passes)


def _question(written: WrittenQuestion, values: Values) -> Question | None:
    asks = values.text(written.asks)
    choices = tuple(
        Choice(choice.key, values.text(choice.says), values.text(choice.because), choice.belief,
               None if choice.hand is None else values.scene(choice.hand))
        for choice in written.choices
    )
    numbers = {key: values.number(item) for key, item in written.keys.items()}
    on = None if written.on is None else drawable(written.on, values)
    right = right_answer(written, numbers, values)
    if right is None:
        return None
    low, high, step = (numbers.get(key) for key in ("low", "high", "step"))
    said = tuple(_said(one, values) for one in written.said)
    return Question(written.kind, asks, choices, right, low, high, step, written.unit, on, said, written.unsteady)


def _said(one: WrittenSaid, values: Values) -> Said:
    low = None if one.low is None else values.number(one.low)
    high = None if one.high is None else values.number(one.high)
    return Said(low, high, one.before, values.text(one.because), one.belief)


def _free(step: WrittenStep, scene: sim.Scene, values: Values) -> tuple[str, ...]:
    """Paths of the settings that people may move, each a number of the scene."""
    known = _settings(scene)
    for path in step.free:
        if path.value not in known:
            ends = [name for name in known if name.rpartition(".")[2] == path.value.rpartition(".")[2]]
            near = ends or difflib.get_close_matches(path.value, known, 1, 0.5) or ["channel.0.pulse.amplitude_ma"]
            values.wrong(path, "numbers of the scene by their paths", repr(path.value), f"Did you mean {near[0]}?")
    return tuple(path.value for path in step.free if path.value in known)


def _settings(node: Any, path: str = "") -> list[str]:
    """Paths of all numbers below a record."""
    found: list[str] = []
    for f in dataclasses.fields(node):
        below = getattr(node, f.name)
        here = f"{path}{f.name}"
        if f.name == "channel":
            found += [name for i, channel in enumerate(below) for name in _settings(channel, f"{here}.{i}.")]
        elif dataclasses.is_dataclass(below):
            found += _settings(below, f"{here}.")
        elif "fact" in f.metadata:
            found.append(here)
    return found
