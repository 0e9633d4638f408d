"""Lessons of an educator's own beside those of the program: files that are read anew whenever they were saved."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from graspwave import lessons
from graspwave import simulator as sim
from graspwave.apps.classroom.lesson_sources import Lessons
from graspwave.lessons.read import LARGEST, slug_of

__all__ = ["OwnLessons", "lesson_files"]

_MOST = 200


def lesson_files(paths: Sequence[str]) -> dict[str, Path]:
    """Own lessons by their names in addresses, in the order of their files.

    Parameters
    ----------
    paths : sequence of str
        Markdown files, and folders whose Markdown files are meant.

    Raises
    ------
    SceneError
        There is no such file or folder, or no lesson in it.
    """
    found: list[Path] = []
    for given in paths:
        path = Path(given).expanduser()
        if path.is_dir():
            inside = sorted(file for file in path.glob("*.md") if not file.name.startswith("."))
            found += [file for file in inside if file.read_text("utf-8", "replace").lstrip("\ufeff").startswith("+++")]
        elif path.is_file():
            found.append(path)
        else:
            raise sim.SceneError("lessons", "a lesson's file or a folder of them", given, "look at the name")
    if len(found) > _MOST:
        raise sim.SceneError("lessons", f"at most {_MOST} files", len(found), "name a folder with fewer")
    named: dict[str, Path] = {}
    for file in found:
        slug = _address(file)
        # two files of one name in two folders are told apart by a number
        name = next(one for n in range(1, _MOST + 2) if (one := slug if n == 1 else f"{slug}-{n}") not in named)
        named[name] = file
    return named


def _address(file: Path) -> str:
    """A name for an address: ``my-`` and what is plain in the file's own."""
    plain = "".join(c if c.isascii() and c.isalnum() else "-" for c in slug_of(file.name).lower())
    return f"my-{'-'.join(filter(None, plain.split('-')))[:50] or 'lesson'}"


class OwnLessons(Lessons):
    """The lessons of this program, and those in files of the educator's own.

    Parameters
    ----------
    paths : sequence of str
        As `lesson_files` takes them; a folder is looked through anew each time.
    """

    def __init__(self, paths: Sequence[str]) -> None:
        self._paths = tuple(paths)
        lesson_files(self._paths)

    def own(self) -> dict[str, Path]:
        """Own lessons by name; none where the files went away."""
        try:
            return lesson_files(self._paths)
        except sim.SceneError:
            return {}

    def names(self) -> Sequence[str]:
        """Names of all lessons, the program's first."""
        return (*super().names(), *self.own())

    def stamp(self, slug: str) -> str:
        """Changes whenever the file was saved; empty for a lesson of the program."""
        file = self.own().get(slug)
        if file is None:
            return ""
        state = file.stat()
        return f"{state.st_mtime_ns} {state.st_size}"

    def text(self, slug: str) -> str:
        """Text of one lesson as its file is now."""
        file = self.own().get(slug)
        return super().text(slug) if file is None else file.read_bytes()[: LARGEST + 1].decode("utf-8", "replace")

    def read(self, slug: str) -> lessons.Lesson:
        """An own lesson, read.

        Raises
        ------
        LessonError
            It has mistakes.
        """
        lesson, mistakes = lessons.read(self.text(slug), self.own()[slug].name)
        if lesson is None:
            raise lessons.LessonError(mistakes)
        return lesson

    def compiled(self, slug: str) -> Mapping[str, Any]:
        """One compiled lesson; an own one as its file is now."""
        if slug not in self.own():
            return super().compiled(slug)
        from graspwave.apps.teach.compiled import compile_lesson

        return {**compile_lesson(lessons.compute(self.read(slug))), "slug": slug}
