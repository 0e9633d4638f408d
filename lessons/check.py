"""All that is wrong with a lesson: how it is written, and what the model says to it."""

from __future__ import annotations

import stat
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from graspwave.lessons.compute import work_out
from graspwave.lessons.grammar import Mistake
from graspwave.lessons.read import parse
from graspwave.lessons.tables import LARGEST, Notes

__all__ = ["check", "check_file"]


def check(text: str, file: str = "", names: Mapping[str, Any] | None = None) -> tuple[Mistake, ...]:
    """Every mistake of a lesson.

    Parameters
    ----------
    text : str
        The whole file.
    file : str, optional
        Its name, with which each mistake begins.
    names : mapping of str to object, optional
        What expressions may use; the lessons' own vocabulary if left out.

    Returns
    -------
    tuple of Mistake
        By line; empty where all is well.
    """
    lesson, notes = parse(text, file)
    if lesson is not None:
        work_out(lesson, notes, names)
    return notes.all()


def check_file(path: str | Path, names: Mapping[str, Any] | None = None) -> tuple[Mistake, ...]:
    """Every mistake of a lesson's file; one that cannot be read is a mistake on its first line."""
    notes = Notes(str(path))
    try:
        if not stat.S_ISREG(Path(path).stat().st_mode):
            notes.add(1, "file", "a file", "a folder, a pipe or a device", "Give the path of a lesson.")
            return notes.all()
        with open(path, "rb") as opened:
            data = opened.read(LARGEST + 1)
    except OSError as error:
        notes.add(1, "file", "a file that can be read", error.strerror or "another error", "Give the path of a lesson.")
        return notes.all()
    if len(data) > LARGEST:
        notes.add(1, "file", f"at most {LARGEST // 1000} kB", "more", "Make two lessons of it.")
        return notes.all()
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        notes.add(line, "file", "text in UTF-8", f"another byte at {error.start}", "Save it as UTF-8.")
        return notes.all()
    return check(text, str(path), names)
