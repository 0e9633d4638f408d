"""Text of a lesson -> `Lesson`, or every mistake in it with its line.

A lesson is Markdown. Between two ``+++`` lines at its top stands TOML; ``## title`` starts a step; fenced blocks named
``scene``, ``step``, ``say``, ``see``, ``ask``, ``look`` and ``reveal`` hold what is not plain text. ``FORMAT.md`` shows it all.
"""

from __future__ import annotations

import hashlib
import keyword
import re
from dataclasses import replace
from pathlib import PurePath

from graspwave.lessons.grammar import MARKS, Basis, Lesson, Mistake, Written, WrittenStep, WrongIdea
from graspwave.lessons.steps import steps
from graspwave.lessons.tables import LARGEST, Notes, Table, nearest, seen, toml
from graspwave.lessons.terms import misconceptions

__all__ = ["LARGEST", "parse", "read", "slug_of"]

_SHARE = 0.2
"""By how much the minutes of the steps may differ from those of the lesson."""

_SHORTEST = 0.5
"""Minutes of a step."""

_FRONT = ("title", "minutes", "short", "for", "objectives", "prior", "wrong_idea", "limits", "cautions", "basis")


def read(text: str, file: str = "") -> tuple[Lesson | None, tuple[Mistake, ...]]:
    """Read a lesson.

    Parameters
    ----------
    text : str
        The whole file.
    file : str, optional
        Its name: mistakes begin with it, and the slug is made of it.

    Returns
    -------
    lesson : Lesson or None
        None where there is any mistake.
    mistakes : tuple of Mistake
        All that were found, by line.
    """
    lesson, notes = parse(text, file)
    return (None if notes.all() else lesson), notes.all()


def slug_of(file: str) -> str:
    """``06-claw.md`` -> ``claw``."""
    return re.sub(r"^\d+-", "", PurePath(file).stem) or "lesson"


def parse(text: str, file: str = "") -> tuple[Lesson | None, Notes]:
    """As `read`, but with whatever could be read in spite of mistakes; for `check`, which lists all of them."""
    notes = Notes(file)
    data = text.encode("utf-8", "replace")
    if len(data) > LARGEST:
        notes.add(1, "file", f"at most {LARGEST // 1000} kB", f"{len(data) / 1000:.0f} kB", "Make two lessons of it.")
        return None, notes
    lines = text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n").split("\n")
    ends = [i for i, line in enumerate(lines) if line.strip() == "+++"]
    if not ends or ends[0]:
        got = seen(lines[0].strip()) if lines[0].strip() else "nothing"
        notes.add(1, "front matter", "TOML between two lines +++ at the top", got, "Begin the file with a line +++.")
        return None, notes
    if len(ends) < 2:
        notes.add(1, "front matter", "closed by a second line +++", "none", "Write +++ below the last key.")
        return None, notes
    table = toml("\n".join(lines[1 : ends[1]]), 2, "front matter", notes)
    found = steps(lines, ends[1] + 1, notes)
    if not found:
        notes.add(ends[1] + 1, "steps", "at least one", "none", "Start each with a line such as ## A tight hand.")
    if table is None:
        return None, notes
    return _lesson(table, found, file, hashlib.sha256(data).hexdigest()), notes


def _lesson(table: Table, found: list[WrittenStep], file: str, digest: str) -> Lesson:
    """The lesson, from its front matter and its steps."""
    title = _line(table, "title", '"..."')
    minutes = table.number("minutes", 1, 240, "20")
    short = _short(table, len(found))
    people, objectives = _plain(table, "for", '["students"]'), _plain(table, "objectives", '["..."]')
    prior, ideas = _line(table, "prior"), _ideas(table)
    limits, cautions = _plain(table, "limits", '["..."]'), _plain(table, "cautions", '["..."]')
    basis, names = _basis(table), _names(table)
    table.close()
    return Lesson(
        file, slug_of(file), digest, title, minutes or 0.0, short, people, objectives, prior, ideas, basis, limits, cautions,
        names, tuple(found) if minutes is None else _shared(found, minutes, table),
    )


def _line(table: Table, key: str, example: str = "") -> str:
    """A text that is shown as it stands."""
    value: str = table.text(key, example).value
    table.as_it_stands(key, value)
    return value


def _plain(table: Table, key: str, example: str) -> tuple[str, ...]:
    """Texts that are shown as they stand."""
    found: list[str] = [written.value for written in table.texts(key, example)]
    for i, text in enumerate(found):
        table.as_it_stands(key, text, i)
    return tuple(found)


def _short(table: Table, count: int) -> tuple[int, ...]:
    value = table.raw("short")
    if value is None:
        return ()
    whole = isinstance(value, list) and value and all(type(n) is int and 1 <= n <= count for n in value)
    if not whole or sorted(set(value)) != value:
        rule = f"numbers of steps from 1 to {count}, rising"
        table.wrong("short", rule, str(value), "Write for example short = [1, 2].")
        return ()
    return tuple(value)


def _ideas(table: Table) -> tuple[WrongIdea, ...]:
    value = table.raw("wrong_idea")
    known = misconceptions()
    keys = value if isinstance(value, list) else [] if value is None else [value]
    for key in keys:
        if key not in known:
            table.wrong("wrong_idea", "a key of the list of wrong ideas", seen(key), nearest(str(key), tuple(known)))
    return tuple(WrongIdea(key, known[key]) for key in keys if key in known)


def _basis(table: Table) -> tuple[Basis, ...]:
    value = table.raw("basis")
    if value is None:
        repair = 'Add [[basis]] with text = "..." and mark = "published".'
        table.notes.add(table.line, "basis", "given", "nothing", repair)
        return ()
    if not isinstance(value, list) or not value or not all(isinstance(item, dict) for item in value):
        table.wrong("basis", "a list of tables", seen(value), "Write [[basis]] on a line of its own.")
        return ()
    found = []
    for i, item in enumerate(value):
        below = Table(item, table.line_of("basis", i), table.notes, table.lines, ("basis", i))
        if not below.has("mark"):
            below.missing("mark", '"published"')
        found.append(Basis(_line(below, "text", '"..."'), below.one_of("mark", MARKS, "")))
        below.close()
    return tuple(found)


def _names(table: Table) -> tuple[Written, ...]:
    if not table.has("names"):
        return ()
    below = table.table("names")
    found = []
    for key in () if below is None else tuple(below.tree):
        assert below is not None
        if key in _FRONT:
            repair = "Move it up: what stands below [names] is a name."
            below.wrong(key, "above the first table of the front matter", "below it", repair)
        elif not key.isidentifier() or key.startswith("_") or keyword.iskeyword(key):
            below.wrong(key, "a name of letters, digits and underlines", key, "Use another name, such as b2.")
        elif (written := below.expression(key)) is not None:
            found.append(written)
    return tuple(found)


def _shared(found: list[WrittenStep], minutes: float, table: Table) -> tuple[WrittenStep, ...]:
    """Steps with their minutes: those that have none share what the others leave."""
    given = sum(step.minutes for step in found)
    bare = sum(not step.minutes for step in found)
    left = minutes - given
    if bare and left < bare * _SHORTEST:
        got = f"{minutes:g}, some steps take {given:g} and {bare} more have none"
        table.wrong("minutes", "enough for all steps", got, "Raise it, or lower the minutes of the steps.")
        left = bare * _SHORTEST
    elif found and not bare and abs(left) > _SHARE * minutes:
        got = f"{minutes:g}, the steps take {given:g}"
        table.wrong("minutes", f"within {_SHARE:.0%} of the steps' minutes", got, "Change it, or the minutes of the steps.")
    return tuple(step if step.minutes else replace(step, minutes=left / bare) for step in found)
