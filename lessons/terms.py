"""Wrong ideas that people hold, and the words of the trade in plain words."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files

__all__ = ["glossary", "misconceptions"]


@cache
def misconceptions() -> dict[str, str]:
    """Beliefs by key, M1 to M12."""
    return _texts("misconceptions.toml")


@cache
def glossary() -> dict[str, str]:
    """What each term means, in at most twenty words."""
    return _texts("glossary.toml")


def _texts(name: str) -> dict[str, str]:
    text = (files(__package__) / name).read_text("utf-8")
    return {key: str(value) for key, value in tomllib.loads(text).items()}
