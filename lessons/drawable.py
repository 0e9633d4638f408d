"""A written picture -> `Picture` with its values, if it can be drawn."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from graspwave import simulator as sim
from graspwave.lessons.grammar import SHAPES, Picture, Written, WrittenPicture
from graspwave.lessons.numerals import shown
from graspwave.lessons.tables import nearest
from graspwave.lessons.values import Values

__all__ = ["drawable"]

_RANGES = {
    "at": (0.0, 60.0, "mA"), "from": (0.0, 60.0, "mA"), "to": (0.0, 60.0, "mA"), "object_mm": (1.0, 200.0, "mm"),
    "play_s": (0.5, 120.0, "s"), "minutes": (0.1, 120.0, "min"), "from_us": (-5000.0, 100_000.0, "us"),
    "to_us": (-5000.0, 100_000.0, "us"), "digits": (0.0, 3.0, "digits"),
}


def drawable(written: WrittenPicture, values: Values) -> Picture | None:
    """The picture; None once a mistake in it is noted."""
    title, text = values.text(written.title), values.text(written.text)
    read = _readers(values)
    found: dict[str, Any] = {}
    whole = True
    for key, shape in SHAPES[written.kind].items():
        item = written.keys.get(key)
        found[key] = None if item is None else read.get(shape.rstrip("!"), _as_written)(item)
        if found[key] is None and (item is not None or shape.endswith("!")):
            whole = False
        elif key in _RANGES and found[key] is not None:
            whole = _within(item, found[key], *_RANGES[key], values) and whole
    return Picture(written.kind, title, text, written.when, found) if whole and _completed(written, found, values) else None


def _as_written(written: Written) -> Any:
    return written.value


def _readers(values: Values) -> dict[str, Callable[[Written], Any]]:
    return {
        "scene": values.scene, "number": values.number, "array": values.array, "scenes": values.table(values.scene),
        "arrays": values.table(values.array), "numbers": values.numbers, "points": values.table(values.point),
        "runs": values.table(values.practice), "texts": lambda written: tuple(values.text(line) for line in written.value),
        "plains": lambda written: tuple(line.value for line in written.value),
    }


def _within(written: Written | None, value: float, low: float, high: float, unit: str, values: Values) -> bool:
    if written is None or low <= value <= high:
        return True
    values.wrong(written, f"{low:g} to {high:g} {unit}", shown(value), "Stay within what the picture shows.")
    return False


def _completed(written: WrittenPicture, found: dict[str, Any], values: Values) -> bool:
    """Put in what was left out; whether all fits together."""
    if written.kind == "hand" and found["from"] is None and found["play_s"] is None and found["at"] is None:
        found["at"] = found["scene"].channel[0].pulse.amplitude_ma
    if written.kind == "pulse" and None not in (found["from_us"], found["to_us"]) and found["from_us"] >= found["to_us"]:
        values.wrong(written.keys["to_us"], "later than from_us", shown(found["to_us"]), "Put the later time in to_us.")
        return False
    if written.kind == "lines":
        found["points"] = found["points"] or {}
        odd = [label for label, line in found["y"].items() if len(line) != len(found["x"])]
        for label in odd:
            rule, got = f"as long as x, {len(found['x'])} numbers", str(len(found["y"][label]))
            values.wrong(written.keys["y"].value[label], rule, got, "Take both from the same run.")
        return not odd
    if written.kind == "forearm":
        one = found.pop("scene")
        found["scenes"] = {"": one} if one is not None else found["scenes"]
        found["muscles"] = found["muscles"] or ()
        return found["scenes"] is not None and _known_muscles(written, found, values)
    return True


def _known_muscles(written: WrittenPicture, found: dict[str, Any], values: Values) -> bool:
    known = tuple(sim.recruitment_curve(next(iter(found["scenes"].values())), [0.0]))
    unknown = [muscle for muscle in found["muscles"] if muscle not in known]
    for muscle in unknown:
        values.wrong(written.keys["muscles"], "a list of muscles", repr(muscle), nearest(muscle, known))
    return not unknown
