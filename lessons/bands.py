"""How far curves of opening lie off in other arms: counted once, shipped in ``bands.json``, drawn around the curve as a band.

``graspwave check lessons/[0-9]*.md --arms 100 --bands lessons/bands.json`` writes it. A curve is known by all expressions that it
stands on, and the whole by the numbers that it was counted with: where either has changed there is no band.
"""

from __future__ import annotations

import ast
import hashlib
import json
from collections.abc import Iterator, Mapping, Sequence
from functools import cache
from importlib.resources import files
from typing import Any

from graspwave.lessons.allowed import parsed
from graspwave.lessons.expressions import ExpressionError
from graspwave.lessons.grammar import Band, Lesson, Written, WrittenPicture
from graspwave.lessons.guessed import numbers_digest

__all__ = ["FILE", "bands_of", "keys_of", "plain", "shipped", "used_names"]

FILE = "bands.json"


# ---- which curves, and by what they are known

def keys_of(lesson: Lesson, picture: WrittenPicture) -> dict[str, str]:
    """Digests of the expressions behind each curve of opening in a picture, by label; empty where it shows none."""
    lines = picture.keys.get("scenes") if picture.kind == "curve" else picture.keys.get("y")
    if lines is None or not _is_of_opening(picture):
        return {}
    along = () if picture.kind == "curve" else (picture.keys["x"].value,)
    return {label: _digest([picture.kind, *along, line.value], lesson.named) for label, line in lines.value.items()}


def _is_of_opening(picture: WrittenPicture) -> bool:
    cover, quantity = picture.keys.get("cover"), picture.keys.get("quantity")
    return not (cover and cover.value) if picture.kind == "curve" else bool(quantity and quantity.value == "opening")


def _digest(parts: Sequence[Any], named: Mapping[str, Any]) -> str:
    """Of some expressions and, from name to name, of all that they stand on."""
    used = sorted(used_names(parts, named) & named.keys())
    text = repr([*map(plain, parts), *((name, plain(named[name])) for name in used)])
    return hashlib.sha256(text.encode()).hexdigest()[:12]


def used_names(parts: Sequence[Any], named: Mapping[str, Any]) -> set[str]:
    """Names that some expressions stand on, through a lesson's own `named` down to those of the vocabulary."""
    ahead, used = list(parts), set()
    while ahead:
        for name in _names_in(ahead.pop()):
            if name not in used:
                used.add(name)
                if name in named:
                    ahead.append(named[name])
    return used


def plain(value: Any) -> Any:
    """What is written under a key, without its place."""
    return tuple(map(plain, value)) if isinstance(value, tuple) else value.value if isinstance(value, Written) else value


def _names_in(value: Any) -> Iterator[str]:
    for one in value if isinstance(value, tuple) else (value,):
        text = one.value if isinstance(one, Written) else one
        if isinstance(text, str):
            try:
                yield from {node.id for node in ast.walk(parsed(text)) if isinstance(node, ast.Name)}
            except ExpressionError:  # told where the lesson is worked out
                continue


# ---- what is shipped

@cache
def shipped() -> dict[str, Any]:
    """What ``bands.json`` holds, by digest; empty where it was counted with other numbers than those of now."""
    table = json.loads((files(__package__) / FILE).read_text("utf-8"))
    found: dict[str, Any] = table["curves"] if table["numbers"] == numbers_digest() else {}
    return found


def bands_of(lesson: Lesson, picture: WrittenPicture) -> dict[str, Band]:
    """The bands of a picture, by label."""
    found = {label: shipped().get(key) for label, key in keys_of(lesson, picture).items()}
    return {label: Band(one["of"], tuple(one["x"]), tuple(one["low"]), tuple(one["high"])) for label, one in found.items() if one}
