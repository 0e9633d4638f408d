"""Text from strangers, looked at before anything parses it. Stage before ``scene``, and what lessons read by as well.

Python's reader of TOML takes time and memory that grow with the square of a key's depth: a hundred signs could stand for a minute
of work. What a scene or a lesson needs is shallow, so everything deeper is refused by one walk over the signs, in time that grows
with the length alone.
"""

from __future__ import annotations

import re
import stat
import tomllib
from pathlib import Path
from typing import Any

__all__ = ["ADDRESS_BYTES", "DEEPEST", "LONGEST_NUMBER", "SCENE_BYTES", "Refused", "parsed_toml", "read_text"]

ADDRESS_BYTES = 8 * 1024
"""Most that the scene in an address may unpack to."""

SCENE_BYTES = 64 * 1024
"""Most of a scene's file."""

DEEPEST = 4
"""Parts of a dotted key, and brackets within brackets."""

LONGEST_NUMBER = 32
"""Signs of a number."""

_TOKEN = re.compile(
    r"""(?P<long>\"\"\"(?:\\.|[^\\])*?(?:\"{3,5}|\Z)|'''.*?(?:'{3,5}|\Z))|(?P<text>"(?:\\.|[^"\\\n])*"?|'[^'\n]*'?)|(?P<note>\#[^\n]*)"""
    r"""|(?P<word>[A-Za-z0-9_+\-:.]+)|(?P<blank>[ \t]+)|(?P<sign>.|\n)""",
    re.DOTALL,
)


class Refused(ValueError):
    """A text that is not parsed, or that cannot be.

    Parameters
    ----------
    rule, got, repair : str
        What it must be, what was found, what to do.
    line : int
        From 1.
    """

    def __init__(self, rule: str, got: str, repair: str, line: int = 1) -> None:
        super().__init__(f"{rule} (got {got}): {repair}")
        self.rule, self.got, self.repair, self.line = rule, got, repair, line


def parsed_toml(text: str, most_bytes: int = SCENE_BYTES) -> dict[str, Any]:
    """The table that a TOML text holds.

    Parameters
    ----------
    text : str
    most_bytes : int
        A longer text is refused.

    Raises
    ------
    Refused
        The text is too long, has a key of more than `DEEPEST` parts, brackets deeper than that, a number of more than
        `LONGEST_NUMBER` signs, or is no TOML.
    """
    size = len(text.encode("utf-8", "replace"))
    if size > most_bytes:
        raise Refused(f"at most {most_bytes // 1024} kB", f"{size / 1024:.0f} kB", "leave out what is not needed")
    _look_over(text)
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        said = str(error)
        place = re.search(r" \(at (?:line (\d+), column \d+|end of document)\)$", said)
        last = text.rstrip().count("\n") + 1
        line = min(int(place[1]), last) if place and place[1] else last
        raise Refused("TOML", said, "mend that line", line) from None
    except (ValueError, RecursionError) as error:  # a day that no calendar has, and the like
        raise Refused("TOML", str(error)[:80] or "lists within lists", "mend that line") from None


def _look_over(text: str) -> None:
    """Refuse what is deep or long before it costs anything."""
    # a long text that nothing closes runs to the end, so that no sign is looked at twice
    line, depth, parts = 1, 0, 1
    for found in _TOKEN.finditer(text):
        kind, token = found.lastgroup, found.group()
        if kind in ("word", "text", "blank"):
            if kind == "word":
                parts += token.count(".")
                if token[0] in "+-.0123456789" and len(token) > LONGEST_NUMBER:
                    raise Refused(f"numbers of at most {LONGEST_NUMBER} signs", f"{len(token)} signs", "round it", line)
            if parts > DEEPEST:
                raise Refused(f"keys of at most {DEEPEST} parts", "a deeper one", "write tables in brackets", line)
            continue
        parts = 1
        if token in ("[", "{"):
            depth += 1
            if depth > DEEPEST:
                raise Refused(f"at most {DEEPEST} brackets deep", "deeper ones", "write it flatter", line)
        elif token in ("]", "}"):
            depth = max(0, depth - 1)
        line += token.count("\n")


def read_text(path: str | Path, most_bytes: int = SCENE_BYTES) -> str:
    """Text of a file in UTF-8, with or without its mark of byte order.

    Raises
    ------
    Refused
        No regular file (a folder, a pipe, a device), a longer one, or other bytes than UTF-8.
    OSError
        There is none, or it may not be read.
    """
    if not stat.S_ISREG(Path(path).stat().st_mode):
        raise Refused("a file", "a folder, a pipe or a device", "give the path of a text file")
    with open(path, "rb") as opened:
        data = opened.read(most_bytes + 1)
    if len(data) > most_bytes:
        raise Refused(f"at most {most_bytes // 1024} kB", "more", "leave out what is not needed")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise Refused("a text file in UTF-8", f"other bytes at {error.start}", "save it as UTF-8", line) from None
