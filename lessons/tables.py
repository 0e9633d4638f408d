"""One table of a lesson, key by key: every key that is wrong is noted with its line, and reading goes on."""

from __future__ import annotations

import difflib
import math
import re
from collections.abc import Collection, Iterable
from typing import Any

from graspwave.lessons.grammar import Mistake, Written
from graspwave.lessons.places import Place, places
from graspwave.simulator.guarded import Refused, parsed_toml

__all__ = ["AS_IT_STANDS", "LARGEST", "Notes", "Table", "nearest", "seen", "toml"]

LARGEST = 200_000
"""Bytes of a lesson."""

AS_IT_STANDS = ("text without braces", "Write it out: no number is put in here.")
"""Rule and repair of texts that are shown as they stand in the file."""

_TEXT, _TEXTS, _EXPRESSION = '"..."', '["..."]', '"best(t)"'


_LONGEST = 5000
"""Characters of one text."""

_MOST = 500
"""Mistakes that are kept."""


class Notes:
    """Mistakes of one file, in the order in which they are found."""

    def __init__(self, file: str) -> None:
        self.file = file
        self._found: dict[Mistake, None] = {}

    def add(self, line: int, name: str, rule: str, got: str, repair: str) -> None:
        """Note that `name` must be `rule`."""
        mistake = Mistake(self.file, line, f"'{name}' must be {rule} (got {got})", repair)
        if len(self._found) < _MOST:
            self._found.setdefault(mistake)

    def all(self) -> tuple[Mistake, ...]:
        """All of them by line."""
        return tuple(sorted(self._found, key=lambda mistake: mistake.line))


def nearest(name: str, known: Collection[str]) -> str:
    """A repair for a name that is not known."""
    near = difflib.get_close_matches(name, known, 1, 0.5)
    return f"Did you mean {near[0]}?" if near else f"Known: {', '.join(known)}."


def seen(value: Any) -> str:
    """A value as it stands in the file, in a few characters."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, (dict, list)):
        return ("a table" if isinstance(value, dict) else "a list") if value else "nothing"
    text = repr(value) if isinstance(value, str) else str(value)
    return text if len(text) <= 60 else text[:57] + "..."


def toml(text: str, line: int, name: str, notes: Notes) -> Table | None:
    """The table that a text holds; None, and a note, where it is no TOML. `line` is that of its first line."""
    try:
        tree = parsed_toml(text, LARGEST)
    except Refused as no:
        got, repair = no.got, f"{no.repair[:1].upper()}{no.repair[1:]}."
        if no.rule == "TOML":
            got = re.sub(r" \(at (?:line \d+, column \d+|end of document)\)$", "", got)
            repair = 'Mend that line. Texts and expressions stand in quotes: key = "value".'
        notes.add(line + no.line - 1, name, no.rule, got, repair)
        return None
    return Table(tree, line, notes, {way: line + at for way, at in places(text).items()})


class Table:
    """A table whose keys are taken one by one; `close` notes those that nobody took."""

    def __init__(self, tree: dict[str, Any], line: int, notes: Notes, lines: dict[Place, int], way: Place = ()) -> None:
        self.tree, self.line, self.notes, self.lines, self._way = tree, line, notes, lines, way
        self._taken: list[str] = []

    def line_of(self, *way: str | int) -> int:
        """Line of a key, or of what is nearest above it."""
        whole = (*self._way, *way)
        while whole not in self.lines and whole:
            whole = whole[:-1]
        return self.lines.get(whole, self.line)

    def name_of(self, key: str) -> str:
        """A key as a mistake names it."""
        return ".".join(str(part) for part in (*self._way, key))

    def wrong(self, key: str, rule: str, got: str, repair: str, *way: str | int) -> None:
        """Note that a key must be `rule`."""
        self.notes.add(self.line_of(key, *way), self.name_of(key), rule, got, repair)

    def has(self, key: str) -> bool:
        return key in self.tree

    def raw(self, key: str) -> Any:
        """Whatever stands under a key, taken."""
        self._taken.append(key)
        return self.tree.get(key)

    def missing(self, key: str, example: str) -> None:
        """Note that a key must be given."""
        self.notes.add(self.line_of(), self.name_of(key), "given", "nothing", f"Write {key} = {example}.")

    def text(self, key: str, example: str = "") -> Written:
        """A text; with an `example` it must be given and hold something."""
        value = self.raw(key)
        place = Written("", self.name_of(key), self.line_of(key))
        if value is None:
            if example:
                self.missing(key, example)
            return place
        if not isinstance(value, str) or (example and not value.strip()):
            got = "an empty text" if isinstance(value, str) else seen(value)
            self.wrong(key, "text in quotes", got, f"Write {key} = {example or _TEXT}.")
            return place
        if len(value) > _LONGEST:
            self.wrong(key, f"at most {_LONGEST} characters", f"{len(value)}", "Make it shorter.")
            return place
        return Written(value, place.key, place.line)

    def as_it_stands(self, key: str, text: str, *way: str | int) -> None:
        """Note a brace in a text that is shown as it stands."""
        if "{" in text or "}" in text:
            rule, repair = AS_IT_STANDS
            self.wrong(key, rule, seen(text), repair, *way)

    def one_of(self, key: str, known: tuple[str, ...], default: str) -> str:
        """One word of a list; `default` where it is left out, or, noted, where it is another."""
        value = self.raw(key)
        if value is None:
            return default
        if value not in known:
            self.wrong(key, "one of " + ", ".join(known), seen(value), nearest(str(value), known))
            return default
        return str(value)

    def texts(self, key: str, example: str = "") -> list[Written]:
        """A list of texts; with an `example` it must hold at least one."""
        value = self.raw(key)
        if value is None:
            if example:
                self.missing(key, example)
            return []
        items = value if isinstance(value, list) else [None]
        odd = [item for item in items if not isinstance(item, str) or not item.strip() or len(item) > _LONGEST]
        if odd or (example and not value):
            got = seen(odd[0] if isinstance(value, list) else value) if odd else "an empty list"
            self.wrong(key, "a list of texts", got, f"Write {key} = {example or _TEXTS}.")
            return []
        return [Written(item, self.name_of(key), self.line_of(key, i)) for i, item in enumerate(value)]

    def number(self, key: str, low: float, high: float, example: str = "") -> float | None:
        """A plain number."""
        value = self.raw(key)
        if value is None:
            if example:
                self.missing(key, example)
            return None
        if isinstance(value, bool) or not isinstance(value, (int, float)) or not low <= value <= high:
            self.wrong(key, f"a number from {low:g} to {high:g}", seen(value), f"Write {key} = {example or f'{low:g}'}.")
            return None
        return float(value)

    def flag(self, key: str) -> bool:
        value = self.raw(key)
        if value is not None and not isinstance(value, bool):
            self.wrong(key, "true or false", seen(value), f"Write {key} = true, without quotes.")
        return value is True

    def expression(self, key: str, example: str = "", value: Any = None, way: tuple[str | int, ...] = ()) -> Written | None:
        """An expression in quotes, or a plain number; `value` and `way` where it stands deeper under the key."""
        value = self.raw(key) if not way else value
        name = ".".join([self.name_of(key), *(str(part) for part in way)])
        if value is None:
            if example:
                self.missing(key, example)
            return None
        plain = isinstance(value, (int, float)) and not isinstance(value, bool) and math.isfinite(value)
        if not plain and (not isinstance(value, str) or not value.strip()):
            self.notes.add(self.line_of(key, *way), name, "an expression in quotes", seen(value) or "nothing",
                           f"Write {way[-1] if way and isinstance(way[-1], str) else key} = {example or _EXPRESSION}.")
            return None
        return Written(value, name, self.line_of(key, *way))

    def table(self, key: str) -> Table | None:
        """A table below."""
        value = self.raw(key)
        if not isinstance(value, dict):
            self.wrong(key, "a table", seen(value), f"Write [{key}] on a line of its own.")
            return None
        return Table(value, self.line_of(key), self.notes, self.lines, (*self._way, key))

    def close(self, also: Iterable[str] = ()) -> None:
        """Note every key that is not known."""
        known = list(dict.fromkeys([*self._taken, *also]))
        for key in self.tree:
            if key not in known:
                self.wrong(key, "a known key", "an unknown one", nearest(key, known))
