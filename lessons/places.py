"""On which line each key of a TOML text stands; Python's reader of TOML does not tell."""

from __future__ import annotations

import tomllib
from bisect import bisect_left

__all__ = ["Place", "places"]

Place = tuple[str | int, ...]
"""Way to a value: ``("A", "right_if")``, ``("basis", 1, "mark")``, ``("objectives", 2)``."""


def places(text: str) -> dict[Place, int]:
    """Line of every key, table and item of a list, from 0.

    Parameters
    ----------
    text : str
        TOML that `tomllib` has taken.

    Returns
    -------
    dict of Place to int
        Keys of an inline table are on the line on which they begin.
    """
    return _Scan(text).run()


class _Scan:
    """A walk over the signs of a valid text; it only needs to know where keys and items begin."""

    def __init__(self, text: str) -> None:
        self._text, self._at = text, 0
        self._found: dict[Place, int] = {}
        self._counts: dict[Place, int] = {}
        self._ends = [at for at, sign in enumerate(text) if sign == "\n"]

    def run(self) -> dict[Place, int]:
        table: Place = ()
        while self._skip(" \t\r\n"):
            if self._here() == "[":
                table = self._header()
            else:
                self._pair(table)
        return self._found

    def _here(self, n: int = 1) -> str:
        return self._text[self._at : self._at + n]

    def _note(self, place: Place) -> None:
        line = bisect_left(self._ends, self._at)
        for end in range(1, len(place) + 1):
            self._found.setdefault(place[:end], line)

    def _skip(self, blanks: str) -> bool:
        """Go over blanks and comments; whether anything is left."""
        while self._at < len(self._text):
            if self._here() == "#":
                self._to("\n")
            elif self._here() in blanks:
                self._at += 1
            else:
                return True
        return False

    def _to(self, sign: str) -> None:
        end = self._text.find(sign, self._at)
        self._at = len(self._text) if end < 0 else end

    def _header(self) -> Place:
        double = self._here(2) == "[["
        start = self._at
        self._at += 2 if double else 1
        way = self._numbered(self._keys("]"))
        self._at += 2 if double else 1
        if double:
            count = self._counts.get(way, -1) + 1
            self._counts[way] = count
            way = (*way, count)
        end, self._at = self._at, start
        self._note(way)
        self._at = end
        return way

    def _numbered(self, keys: Place) -> Place:
        """A header's way, with the last number of each list of tables above it."""
        way: Place = ()
        for i, key in enumerate(keys):
            way = (*way, key)
            if way in self._counts and i < len(keys) - 1:
                way = (*way, self._counts[way])
        return way

    def _keys(self, stop: str) -> Place:
        """The parts of a dotted key up to `stop`, which is not taken."""
        parts: list[str | int] = []
        while self._skip(" \t") and self._here() != stop:
            start = self._at
            if self._here() in "'\"":
                self._string()
                parts.append(_unquoted(self._text[start : self._at]))
            elif self._here() == ".":
                self._at += 1
            else:
                while self._at < len(self._text) and self._here() not in f" \t.{stop}":
                    self._at += 1
                parts.append(self._text[start : self._at])
        return tuple(parts)

    def _pair(self, table: Place) -> None:
        start = self._at
        way = (*table, *self._keys("="))
        end, self._at = self._at, start
        self._note(way)
        self._at = end + 1
        self._skip(" \t")
        self._value(way)

    def _value(self, way: Place) -> None:
        sign = self._here()
        if sign in ("'", '"'):
            self._string()
        elif sign in ("[", "{"):
            self._at += 1
            count = 0
            closing = "]" if sign == "[" else "}"
            while self._skip(" \t\r\n,") and self._here() != closing:
                if sign == "[":
                    self._note((*way, count))
                    self._value((*way, count))
                    count += 1
                else:
                    self._pair(way)
            self._at += 1
        else:
            while self._at < len(self._text) and self._here() not in ",]}\n#":
                self._at += 1

    def _string(self) -> None:
        quote = self._here()
        if self._here(3) == quote * 3:
            self._at += 3
            while self._here(3) not in ("", quote * 3) or self._here(4) == quote * 4:
                self._at += 2 if self._here() == "\\" and quote == '"' else 1
            self._at += 3
            return
        self._at += 1
        while self._here() not in ("", quote):
            self._at += 2 if self._here() == "\\" and quote == '"' else 1
        self._at += 1


def _unquoted(key: str) -> str:
    return next(iter(tomllib.loads(f"{key} = 0")))
