"""Wrong ideas that people hold, and the words of the trade beside the plain ones."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

__all__ = ["Trade", "glossary", "misconceptions", "trade"]


@dataclass(frozen=True, slots=True)
class Trade:
    """What a plain word is called in the trade, and the `term` of the glossary that says what it means."""

    word: str
    term: str


@cache
def misconceptions() -> dict[str, str]:
    """Beliefs by key, M1, M2 and so on. They are recalled from teaching; how common they are was not measured."""
    return _texts("misconceptions.toml")


@cache
def glossary() -> dict[str, str]:
    """What each term means, in at most twenty words."""
    return _texts("glossary.toml")


@cache
def trade() -> dict[str, Trade]:
    """Words of the trade by the plain ones that the lessons use."""
    text = (files(__package__) / "trade.toml").read_text("utf-8")
    return {plain: Trade(str(entry["trade"]), str(entry["term"])) for plain, entry in tomllib.loads(text).items()}


def _texts(name: str) -> dict[str, str]:
    text = (files(__package__) / name).read_text("utf-8")
    return {key: str(value) for key, value in tomllib.loads(text).items()}
