"""What the list of cautions says of a thing: the answers of a lesson on safety are looked up, not typed."""

from __future__ import annotations

import difflib
import tomllib
from functools import cache
from importlib.resources import files

from graspwave.simulator import SceneError

from .memory import word

__all__ = ["caution", "clears", "groups"]

_ORDER = ("", "usual", "care", "clearance", "never", "stop")


@cache
def groups() -> dict[str, dict[str, str]]:
    """Groups of the cautions: by group, what each thing is called in the list."""
    text = (files("graspwave.lessons") / "cautions.toml").read_text("utf-8")
    return {group: {str(key): str(words) for key, words in entries.items()} for group, entries in tomllib.loads(text).items()}


@word
def caution(thing: str) -> str:
    """Group of the cautions that a thing belongs to: clearance, never, care, stop or usual; empty for an empty text."""
    if not thing:
        return ""
    for group, entries in groups().items():
        if thing in entries:
            return group
    known = [name for entries in groups().values() for name in entries]
    near = difflib.get_close_matches(thing, known, 1, 0.4)
    raise SceneError("thing", "one of the cautions", thing, f"did you mean {near[0]}?" if near else ", ".join(known))


@word
def clears(*things: str) -> str:
    """What things together ask for: go, ask first (care), or no (not without clearance, or never)."""
    strictest = max((caution(thing) for thing in things), key=_ORDER.index, default="")
    return {"": "go", "usual": "go", "care": "ask first"}.get(strictest, "no")
