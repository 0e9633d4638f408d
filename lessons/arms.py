"""A hundred arms: numbers that nobody has measured are drawn anew within their stated ranges, and each question is asked again.

An arm is worked out in a process of its own, for the numbers of the model are read once and kept. What is drawn: every record of
the facts that is recalled or invented and has a range, from a triangle over the inner half of that range with its top at the
record's own value; and of the person, strength, tone, tightness, fat and length of the hand.
"""

from __future__ import annotations

import dataclasses
import os
import random
import subprocess
import sys
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

from graspwave import simulator as sim
from graspwave.lessons.grammar import Lesson
from graspwave.lessons.guessed import is_drawn
from graspwave.lessons.read import read
from graspwave.lessons.variants import Answer, answers, as_text, from_text, stays, tolerances

__all__ = [
    "STEADY", "Kept", "count", "draw", "drawn", "each_arm", "hands", "lessons_of", "names_of", "of_arm", "one_arm", "says_so",
    "tallied",
]

STEADY = 0.8
"""Share of arms in which a question keeps its answer, or says that it does not."""

_PERSON = {"strength": 0.25, "finger_tone": 0.4, "wrist_tone": 0.4, "fat_mm": 0.4, "hand_length_mm": 0.06}
"""By how much of itself a number of the person varies."""

_TIGHTER = 0.008
"""By how much the length factor of the closers varies."""


@dataclasses.dataclass(frozen=True, slots=True)
class Kept:
    """In how many of `of` arms the question of a step kept its answer; `others` counts what else became right there."""

    slug: str
    step: int
    title: str
    answer: Answer
    kept: int
    of: int
    others: dict[str, int]


def draw(seed: int) -> dict[str, float]:
    """Draw the numbers of one arm and put them into this process's facts, before anything is worked out with them.

    Parameters
    ----------
    seed : int
        0 leaves every number as it is.

    Returns
    -------
    dict of str to float
        What was drawn, by name.
    """
    facts, found = sim.all_facts(), drawn(seed)
    for name, value in found.items():
        facts[name] = dataclasses.replace(facts[name], value=value)
    return found


def drawn(seed: int) -> dict[str, float]:
    """The numbers of one arm, by name, from the facts as they stand; none of seed 0."""
    chance, found = random.Random(seed), {}
    for name, record in sim.all_facts().items() if seed else ():
        if not is_drawn(record):
            continue
        assert record.range is not None
        low, high = (record.value + 0.5 * (end - record.value) for end in record.range)
        found[name] = chance.triangular(low, high, record.value) if low < high else record.value
    return found


def hands(seed: int) -> dict[str, Any]:
    """The hands of one arm, by their names in lessons: the same person's numbers in all three."""
    from graspwave.lessons.vocabulary import callable_scene, lesson_scenes

    return {key: callable_scene(of_arm(scene, seed)) for key, scene in lesson_scenes().items()}


def of_arm(scene: sim.Scene, seed: int) -> sim.Scene:
    """A scene with the hand of one arm: what is drawn of the person, within the ranges of its settings.

    Parameters
    ----------
    scene : Scene
    seed : int
        0 leaves the hand as it is.
    """
    if not seed:
        return scene
    chance, hand = random.Random(1_000_003 + seed), {}
    for name, share in _PERSON.items():
        hand[name] = getattr(scene.hand, name) * (1.0 + chance.triangular(-share, share, 0.0))
    hand["flexor_length_factor"] = scene.hand.flexor_length_factor + chance.triangular(-_TIGHTER, _TIGHTER, 0.0)
    for name, value in hand.items():
        low, high = sim.setting(f"hand.{name}").range or (0.0, float("inf"))
        hand[name] = min(max(value, low), high)
    return dataclasses.replace(scene, hand=dataclasses.replace(scene.hand, **hand))


def names_of(seed: int) -> dict[str, Any]:
    """Words of the vocabulary for one arm, whose numbers this process has from here on."""
    from graspwave.lessons.vocabulary import NAMES

    draw(seed)
    return {**NAMES, **hands(seed)}


def one_arm(seed: int, files: Sequence[str]) -> dict[str, dict[int, Answer]]:
    """What one arm answers, by file and step; in a process of its own."""
    names = names_of(seed)
    return {file: answers(lesson, names) for file, lesson in lessons_of(files)}


def lessons_of(files: Sequence[str]) -> Iterator[tuple[str, Lesson]]:
    """Lessons of some files that can be read, each with its file."""
    for file in files:
        lesson, _ = read(Path(file).read_text("utf-8"), file)
        if lesson is not None:
            yield file, lesson


def count(files: Sequence[str], arms: int, tell: Callable[[str], None] = lambda _: None, at_once: int = 1) -> list[Kept]:
    """Ask every question of some lessons of so many arms.

    Parameters
    ----------
    files : sequence of str
        Lessons without mistakes.
    arms : int
        How many, seeds 1 and up.
    tell : callable, optional
        Called with a line after each arm.
    at_once : int, optional
        Processes at a time.
    """
    usual, *found = map(from_text, each_arm(__name__, files, arms, tell, at_once))
    return tallied(files, usual, found)


def each_arm(module: str, files: Sequence[str], arms: int, tell: Callable[[str], None], at_once: int) -> Iterator[str]:
    """What a module writes of the arm of the facts, then of so many others, each in a process of its own.

    Parameters
    ----------
    module : str
        Run as a program, with the seed and the files.
    files, arms, tell, at_once
        As `count` takes them.
    """
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(filter(None, sys.path))}

    def one(seed: int) -> str:
        command = [sys.executable, "-m", module, str(seed), *files]
        return subprocess.run(command, capture_output=True, text=True, check=True, env=environment).stdout

    with ThreadPoolExecutor(at_once) as pool:
        for done, text in enumerate(pool.map(one, range(arms + 1))):
            if done:
                tell(f"{done} of {arms} arms")
            yield text


def tallied(
    files: Sequence[str], usual: Mapping[str, Mapping[int, Answer]], found: Sequence[Mapping[str, Mapping[int, Answer]]],
) -> list[Kept]:
    """How many arms keep each answer.

    Parameters
    ----------
    files : sequence of str
    usual : mapping
        What the arm of the facts answers, as `one_arm` gives it.
    found : sequence of mapping
        What each other arm answers.
    """
    from graspwave.lessons.vocabulary import NAMES

    return [
        kept for file, lesson in lessons_of(files)
        for kept in _kept(file, lesson, usual[file], found, tolerances(lesson, NAMES))
    ]


def says_so(kept: Kept, files: Sequence[str]) -> bool:
    """Whether a question says that it does not hold in every arm: ``unsteady = true`` in its block."""
    for _, lesson in lessons_of(files):
        for step in lesson.steps:
            if lesson.slug == kept.slug and step.number == kept.step and step.question is not None:
                return step.question.unsteady
    return False


def _kept(
    file: str, lesson: Lesson, usual: Mapping[int, Answer], found: Sequence[Mapping[str, Mapping[int, Answer]]],
    within: Mapping[int, float],
) -> Iterator[Kept]:
    for step in lesson.steps:
        if step.number not in usual:
            continue
        there = [arm[file].get(step.number) for arm in found]
        same = [stays(usual[step.number], answer, within.get(step.number, 0.0)) for answer in there]
        others: dict[str, int] = {}
        for answer, kept in zip(there, same, strict=True):
            if not kept:
                others[_named(answer)] = others.get(_named(answer), 0) + 1
        yield Kept(lesson.slug, step.number, step.title, usual[step.number], sum(same), len(there), others)


def _named(answer: Answer) -> str:
    if answer is None:
        return "not worked out"
    return f"{answer:.4g}" if isinstance(answer, float) else "".join(answer) or "none"


if __name__ == "__main__":
    sys.stdout.write(as_text(one_arm(int(sys.argv[1]), sys.argv[2:])))
