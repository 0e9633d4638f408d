"""What findings say: a key and its numbers, told as a sentence of a language's catalogue.

The stages that find something (`dose`, `electrode`, `clearing`, `why` and others) know no sentence: they name it by a key of the
tables beside this module and give the numbers. Each language is one file, ``en.toml``, ``de.toml``; a file that is added is
offered.
"""

from __future__ import annotations

import string
import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any, TypeAlias

__all__ = ["LANGUAGES", "Said", "catalogue", "has", "said"]

Value: TypeAlias = "float | str | Said"

LANGUAGES = tuple(
    sorted((item.name.removesuffix(".toml") for item in files(__package__).iterdir() if item.name.endswith(".toml")),
           key=lambda name: (name != "en", name))
)
"""Codes of the languages in which findings can be told, English first."""


@dataclass(frozen=True, slots=True)
class Said:
    """A sentence, or a part of one, that no language has been chosen for.

    Attributes
    ----------
    key : str
        Its place in the catalogue, as ``notice.over``.
    given : tuple of (str, float or str or Said)
        What is filled in, by name.
    """

    key: str
    given: tuple[tuple[str, Value], ...] = ()

    def told(self, language: str = "en") -> str:
        """The words in a language.

        Raises
        ------
        ValueError
            No such language.

        Examples
        --------
        >>> from graspwave import simulator as sim
        >>> notice = sim.dose_of(sim.presets()["tight"]).notices[-1]
        >>> notice.said.told("en") == notice.text, notice.said.told("de") == notice.text
        (True, False)
        """
        return _Filling(language).format(_text(language, self.key), **dict(self.given))


def said(key: str, **given: Value) -> Said:
    """A sentence of the catalogue with what it is filled with."""
    return Said(key, tuple(given.items()))


def has(key: str, language: str = "en") -> bool:
    """Whether the catalogue has anything under a key."""
    table, _, name = key.partition(".")
    return name in catalogue(language).get(table, {})


@cache
def catalogue(language: str) -> dict[str, Any]:
    """Tables of templates of one language."""
    if language not in LANGUAGES:
        raise ValueError(f"'language' must be one of {', '.join(LANGUAGES)} (got {language!r}). Choose one of them.")
    return tomllib.loads((files(__package__) / f"{language}.toml").read_text("utf-8"))


def _text(language: str, key: str) -> str:
    table, _, name = key.partition(".")
    return str(catalogue(language)[table][name])


class _Filling(string.Formatter):
    """Numbers are written with the language's own point; ``cap`` begins a part with a capital letter."""

    def __init__(self, language: str) -> None:
        self.language, self.point = language, _text(language, "meta.point")

    def format_field(self, value: Any, format_spec: str) -> str:
        if isinstance(value, Said):
            value = value.told(self.language)
        if isinstance(value, str):
            return value[:1].upper() + value[1:] if format_spec == "cap" else value
        return format(value, format_spec).replace(".", self.point)
