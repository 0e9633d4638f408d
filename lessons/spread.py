"""Curves of opening put to other arms: between what values eight in ten of them lie. What `bands` ships is written here."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from graspwave import simulator as sim
from graspwave.lessons.arms import each_arm, lessons_of, names_of
from graspwave.lessons.bands import keys_of, plain
from graspwave.lessons.grammar import Lesson, WrittenPicture
from graspwave.lessons.guessed import numbers_digest
from graspwave.lessons.variants import WorkedNames
from graspwave.simulator.answers import CURVE_MA

__all__ = ["INSIDE", "curves", "inside", "one_arm", "spread", "written"]

INSIDE = (10.0, 90.0)
"""Percentiles of the arms between which eight in ten lie."""

_POINTS = 61
"""Most points of a band."""

_LEAST_ARMS = 0.9
"""Share of the arms in which a curve must come out; else it has no band."""

Curve = tuple[list[float], list[float]]
"""x and y."""


def curves(lesson: Lesson, names: Mapping[str, Any]) -> dict[str, Curve]:
    """Every curve of opening of a lesson, by its digest; one that cannot be worked out is left out.

    Parameters
    ----------
    lesson : Lesson
    names : mapping of str to object
        Words of the vocabulary; its hands may be those of another arm.
    """
    own, found = WorkedNames(lesson, names), {}
    for picture in (picture for step in lesson.steps for picture in step.pictures):
        for label, key in keys_of(lesson, picture).items():
            if key not in found and (curve := _curve(picture, label, own)) is not None:
                found[key] = curve
    return found


def _curve(picture: WrittenPicture, label: str, own: WorkedNames) -> Curve | None:
    if picture.kind == "curve":
        scene = own.value(picture.keys["scenes"].value[label].value)
        return (list(map(float, CURVE_MA)), sim.opening_curve(scene, CURVE_MA).opening_mm.tolist()) if scene is not None else None
    x, y = (_numbers(written.value, own) for written in (picture.keys["x"], picture.keys["y"].value[label]))
    return (x, y) if x and y and len(x) == len(y) else None


def _numbers(value: Any, own: WorkedNames) -> list[float]:
    """A list of finite numbers; empty where it is none."""
    found = [own.value(plain(one)) for one in value] if isinstance(value, tuple) else own.value(value)
    try:
        array = np.asarray(found, dtype=float)
    except (TypeError, ValueError):
        return []
    return array.tolist() if array.ndim == 1 and np.all(np.isfinite(array)) else []


def one_arm(seed: int, lessons: Sequence[str]) -> dict[str, Curve]:
    """Every curve of opening of some lessons' files in one arm; in a process of its own."""
    names = names_of(seed)
    return {key: curve for _, lesson in lessons_of(lessons) for key, curve in curves(lesson, names).items()}


def spread(usual: Mapping[str, Curve], found: Sequence[Mapping[str, Curve]]) -> dict[str, dict[str, Any]]:
    """Between what values eight in ten arms lie, at the x of the arm of the facts.

    Parameters
    ----------
    usual : mapping
        Curves of the arm of the facts, as `one_arm` gives them.
    found : sequence of mapping
        Curves of each other arm.

    Returns
    -------
    dict
        By digest ``of`` (arms in which it came out), ``x``, ``usual``, ``low`` and ``high``.
    """
    made = {}
    for key, curve in usual.items():
        x, y = _rising(curve)
        rows = [np.interp(x, *_rising(arm[key])) for arm in found if key in arm]
        if not rows or len(rows) < _LEAST_ARMS * len(found) or np.any(np.diff(x) <= 0.0):
            continue
        low, high = inside(rows)
        at = np.unique(np.linspace(0, len(x) - 1, min(len(x), _POINTS)).round().astype(int))
        made[key] = {"of": len(rows), **{name: [float(f"{float(line[i]):.4g}") for i in at] for name, line in
                                         (("x", x), ("usual", y), ("low", low), ("high", high))}}
    return made


def inside(rows: ArrayLike) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Between what values eight in ten of some arms lie.

    Parameters
    ----------
    rows : array_like, shape (arms, ...)
    """
    low, high = np.percentile(np.asarray(rows, dtype=np.float64), INSIDE, axis=0)
    return low, high


def _rising(curve: Curve) -> Curve:
    """The same from its lowest x to its highest."""
    x, y = curve
    return (x, y) if x[0] <= x[-1] else (x[::-1], y[::-1])


def written(lessons: Sequence[str], arms: int, tell: Callable[[str], None] = lambda _: None, at_once: int = 1) -> str:
    """The text of ``bands.json``: every curve of opening of some lessons asked of so many other arms.

    ``without`` are the curves that do not come out in enough of them, such as at a current that some arms never need.
    """
    usual, *found = map(json.loads, each_arm(__name__, lessons, arms, tell, at_once))
    made = spread(usual, found)
    lines = ",\n".join(f"{json.dumps(key)}: {json.dumps(one, separators=(',', ':'))}" for key, one in made.items())
    without = json.dumps(sorted(usual.keys() - made.keys()))
    return f'{{"arms": {arms}, "numbers": "{numbers_digest()}", "without": {without}, "curves": {{\n{lines}\n}}}}\n'


if __name__ == "__main__":
    sys.stdout.write(json.dumps(one_arm(int(sys.argv[1]), sys.argv[2:])))
