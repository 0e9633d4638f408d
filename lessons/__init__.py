"""Lessons: Markdown with questions whose right answers the simulator gives when the lesson is read.

`read` and `check` take any text; `names`, `source` and `load` are the lessons that come with the program. ``FORMAT.md``
shows how one is written. A teaching model, not for setting treatment.
"""

from __future__ import annotations

import re
from functools import cache
from importlib.resources import files

from graspwave.lessons.check import check, check_file
from graspwave.lessons.compute import compute
from graspwave.lessons.courses import Course, Part, courses
from graspwave.lessons.grammar import (
    Basis,
    Choice,
    Computed,
    Lesson,
    LessonError,
    Mistake,
    Picture,
    Question,
    Step,
    WrongIdea,
)
from graspwave.lessons.pace import alone_minutes
from graspwave.lessons.read import read, slug_of
from graspwave.lessons.readability import grade
from graspwave.lessons.terms import Trade, glossary, misconceptions, trade
from graspwave.lessons.text import html

__all__ = [
    "Basis", "Choice", "Computed", "Course", "Lesson", "LessonError", "Mistake", "Part", "Picture", "Question", "Step", "Trade",
    "WrongIdea",
    "alone_minutes", "check", "check_file", "compute", "courses", "glossary", "grade", "html", "load", "misconceptions", "names",
    "read", "source", "trade",
]


@cache
def _files() -> dict[str, str]:
    """File by slug, in the order of the files' numbers."""
    found = sorted(item.name for item in files(__package__).iterdir() if re.fullmatch(r"\d\d-[a-z0-9-]+\.md", item.name))
    return {slug_of(name): name for name in found}


def names() -> tuple[str, ...]:
    """Slugs of the lessons that come with the program, in their order."""
    return tuple(_files())


def source(slug: str) -> str:
    """Text of one of them.

    Raises
    ------
    KeyError
        There is none of that name.
    """
    return (files(__package__) / _files()[slug]).read_text("utf-8")


def load(slug: str) -> Lesson:
    """One of them, read.

    Raises
    ------
    KeyError
        There is none of that name.
    LessonError
        It has mistakes.
    """
    lesson, mistakes = read(source(slug), _files()[slug])
    if lesson is None:
        raise LessonError(mistakes)
    return lesson
