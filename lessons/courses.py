"""Courses: lessons, or some of their steps, in an order, each course a file ``course-*.toml`` beside the lessons."""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

__all__ = ["Course", "Part", "courses"]


@dataclass(frozen=True, slots=True)
class Part:
    """One part of a course.

    Attributes
    ----------
    lesson : str
        Slug of the lesson; empty where the part is none.
    steps : tuple of int
        Numbers of its steps that are taken; empty for all.
    minutes : float
    says : str
        What is done, or what to look for.
    questions : str
        "before" or "after" where the part is the twelve questions; empty elsewhere.
    """

    lesson: str
    steps: tuple[int, ...]
    minutes: float
    says: str
    questions: str = ""


@dataclass(frozen=True, slots=True)
class Course:
    """A course: for whom, what it is, and its parts in order."""

    slug: str
    title: str
    people: tuple[str, ...]
    text: str
    parts: tuple[Part, ...]

    @property
    def minutes(self) -> float:
        """All parts together."""
        return sum(part.minutes for part in self.parts)


@cache
def courses() -> tuple[Course, ...]:
    """The courses that come with the program, by the names of their files.

    Raises
    ------
    ValueError
        A file lacks a key, or names a lesson or a step that there is not.
    """
    found = sorted(item.name for item in files(__package__).iterdir() if re.fullmatch(r"course-[a-z0-9-]+\.toml", item.name))
    return tuple(_course(name) for name in found)


def _course(name: str) -> Course:
    table = tomllib.loads((files(__package__) / name).read_text("utf-8"))
    try:
        parts = tuple(_part(name, entry) for entry in table["part"])
        slug = name.removeprefix("course-").removesuffix(".toml")
        return Course(slug, str(table["title"]), tuple(map(str, table["for"])), str(table["text"]), parts)
    except KeyError as key:
        raise ValueError(f"{name}: {key} must be given (got nothing): add it") from None


def _part(name: str, entry: dict[str, object]) -> Part:
    from graspwave import lessons

    slug, steps = str(entry.get("lesson", "")), entry.get("steps", [])
    if slug and slug not in lessons.names():
        raise ValueError(f"{name}: 'lesson' must be one of {', '.join(lessons.names())} (got {slug!r})")
    numbers = tuple(steps) if isinstance(steps, list) and all(isinstance(number, int) for number in steps) else ()
    count = len(lessons.load(slug).steps) if numbers else 0
    if steps and (not numbers or sorted(set(numbers)) != list(numbers) or not 1 <= numbers[0] <= numbers[-1] <= count):
        raise ValueError(f"{name}: 'steps' must be numbers of steps of {slug}, rising (got {steps})")
    questions = str(entry.get("questions", ""))
    if questions not in ("", "before", "after"):
        raise ValueError(f"{name}: 'questions' must be before or after (got {questions!r})")
    return Part(slug, numbers, float(str(entry["minutes"])), str(entry["says"]), questions)
