"""What ``graspwave export`` writes: a lesson or a scene as one file, a package for a player, or all lessons with their list."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from html import escape
from pathlib import Path
from typing import Any

from graspwave import lessons
from graspwave import simulator as sim
from graspwave.apps.carry.lesson import lesson_file
from graspwave.apps.carry.scorm import scorm_package
from graspwave.apps.classroom.own_lessons import OwnLessons
from graspwave.apps.files.one_file import one_file
from graspwave.apps.look.plain import plain_page, sheets
from graspwave.apps.teach.compiled import compiled
from graspwave.apps.written import may_write, write_all

__all__ = ["export_all", "export_one", "index_page"]

_INDEX = "index.html"


def export_one(what: str, out: Path | None, scorm: Path | None, pins: Sequence[str], force: bool) -> Iterator[Path]:
    """Write a lesson or a scene; gives each file's path once it is there.

    Parameters
    ----------
    what : str
        Name or Markdown file of a lesson; preset or TOML file of a scene.
    out, scorm : Path or None
        Files ending in ``.html`` and ``.zip``; at least one.
    pins : sequence of str
        For a scene, as ``setting=value``.
    force : bool
        Whether files that are there may be written over.

    Raises
    ------
    SceneError
        Something of this cannot be used.
    LessonError
        The lesson has mistakes.
    """
    _end_in(out, "out", ".html")
    _end_in(scorm, "scorm", ".zip")
    if out is None and scorm is None:
        raise sim.SceneError("out", "a file to write", "none", "give --out FILE.html, or for a lesson --scorm FILE.zip")
    lesson = _is_lesson(what)
    if scorm is not None and not lesson:
        raise sim.SceneError("scorm", "given with a lesson", what, "a scene is carried away with --out only")
    if pins and lesson:
        raise sim.SceneError("pin", "given with a scene", what, "leave it out")
    may_write([file for file in (out, scorm) if file is not None], force)
    made: dict[Path, str | bytes] = {}
    if lesson:
        text = _compiled(what)
        made |= {out: lesson_file(text)} if out is not None else {}
        made |= {scorm: scorm_package(text)} if scorm is not None else {}
    elif out is not None:
        from graspwave.apps.carry.scene import pinned, scene_file

        scene = sim.presets()[what] if what in sim.presets() else sim.Scene.load(what)
        made[out] = scene_file(scene, pinned(scene, pins))
    write_all(made)
    yield from made


def export_all(folder: Path, force: bool) -> Iterator[Path]:
    """Write every lesson of the program into a folder, each as it is done, and last the page that lists them."""
    names = lessons.names()
    may_write([folder / f"{slug}.html" for slug in names] + [folder / _INDEX], force)
    done = []
    for slug in names:
        lesson, file = compiled(slug), folder / f"{slug}.html"
        write_all({file: lesson_file(lesson, home=_INDEX)})
        done.append((lesson, file.stat().st_size))
        yield file
    write_all({folder / _INDEX: index_page(done)})
    yield folder / _INDEX


def index_page(done: Iterable[tuple[Mapping[str, Any], int]]) -> str:
    """The list of lessons in a folder, as one file.

    Parameters
    ----------
    done : iterable of (compiled lesson, int)
        With the size of its file, bytes.
    """
    items = "".join(
        f'<li><span class="nr" aria-hidden="true">{number}</span><div class="what"><h3><a href="{escape(lesson["slug"])}.html">'
        f'{escape(lesson["title"])}</a></h3><p class="note">{lesson["alone_minutes"]:.0f} min alone; for '
        f'{escape(", ".join(lesson["for"]))}; {size / 1e6:.1f} MB</p></div></li>'
        for number, (lesson, size) in enumerate(done, 1)
    )
    body = f"""
<div class="column lessons">
  <section aria-labelledby="for-head"><h2 id="for-head" class="big">Learn why a stimulated hand opens, or does not</h2>
    <p class="lead">Each lesson is one file in this folder, and needs neither a server nor a network. First say what you expect,
      then look at what a computed hand does, then read why. What you say stays in your browser.</p></section>
  <section aria-labelledby="lessons-head"><h2 id="lessons-head" class="big">Lessons</h2>
    <ol class="lesson-list">{items}</ol></section>
</div>"""
    return one_file(plain_page("teach", "Lessons", body, css=sheets("web/lesson_list.css"), bare=True))


def _is_lesson(what: str) -> bool:
    if what in lessons.names() or what.lower().endswith(".md"):
        return True
    if what in sim.presets() or Path(what).suffix:
        return False
    known = ", ".join((*lessons.names(), *sim.presets()))
    raise sim.SceneError("what", f"a lesson's or scene's file, or one of {known}", what)


def _compiled(what: str) -> Mapping[str, Any]:
    if what in lessons.names():
        return compiled(what)
    own = OwnLessons([what])
    return own.compiled(own.names()[-1])


def _end_in(file: Path | None, name: str, ending: str) -> None:
    if file is not None and file.suffix.lower() != ending:
        raise sim.SceneError(name, f"a file that ends in {ending}", str(file))
