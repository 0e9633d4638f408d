"""Codes of rooms and handles of people, drawn from plain words.

A code is two different words and a number from 10 to 99. With the 399 words of ``words.toml`` that is 399 x 398 x 90, more than
14 million codes. One address may try ten wrong codes a minute (`gate.Gate`), 14 400 a day, so a whole day of guessing finds a
given room with a chance of 0.1 %, once for each process that serves. A code lets somebody answer, never steer.

An invitation to lead is three words and a number, 5.6 thousand million of them; it works once, for ten minutes, in which one
address can try a hundred.
"""

from __future__ import annotations

import re
import secrets
import tomllib
from collections.abc import Collection
from functools import cache
from pathlib import Path

__all__ = [
    "CODE_PATTERN", "clean_code", "clean_invitation", "code_words", "handles", "new_code", "new_handle", "new_invitation",
    "space",
]

CODE_PATTERN = r"[a-z]{2,12}-[a-z]{2,12}-[0-9]{2}"
"""What a code looks like, as a regular expression."""

_NUMBERS = range(10, 100)


@cache
def _lists() -> dict[str, tuple[str, ...]]:
    table = tomllib.loads((Path(__file__).parent / "words.toml").read_text("utf-8"))
    return {key: tuple(value.split()) for key, value in table.items()}


def code_words() -> tuple[str, ...]:
    """The words that codes are made of."""
    return _lists()["code"]


def handles() -> tuple[str, ...]:
    """Plants and animals, by which people in a room are named."""
    return _lists()["handle"]


def space() -> int:
    """How many different codes there are."""
    count = len(code_words())
    return count * (count - 1) * len(_NUMBERS)


def new_code() -> str:
    """A code at random, from the system's source of randomness."""
    first = secrets.choice(code_words())
    second = first
    while second == first:
        second = secrets.choice(code_words())
    return f"{first}-{second}-{secrets.choice(_NUMBERS)}"


def new_invitation() -> str:
    """Three words and a number at random: the right to lead a room or show its wall, from another device."""
    return f"{'-'.join(secrets.choice(code_words()) for _ in range(3))}-{secrets.choice(_NUMBERS)}"


def new_handle(taken: Collection[str]) -> str:
    """A handle that nobody in the room has: one word, with a number once all words are taken.

    Parameters
    ----------
    taken : collection of str
        Handles in use.
    """
    used = set(taken)
    number = 1
    while True:
        free = [name for word in handles() if (name := word if number == 1 else f"{word} {number}") not in used]
        if free:
            return secrets.choice(free)
        number += 1


def clean_code(text: object) -> str | None:
    """The code that somebody typed: case, blanks and the kind of dash do not matter. None if it cannot be one."""
    if not isinstance(text, str) or len(text) > 60:
        return None
    code = "-".join(re.findall(r"[a-z]+|[0-9]+", text.lower()))
    return code if re.fullmatch(CODE_PATTERN, code) else None


def clean_invitation(text: object) -> str | None:
    """The invitation that somebody typed, as `clean_code` does for a room's code."""
    if not isinstance(text, str) or len(text) > 60:
        return None
    words = "-".join(re.findall(r"[a-z]+|[0-9]+", text.lower()))
    return words if re.fullmatch(r"([a-z]{2,12}-){3}[0-9]{2}", words) else None
