"""Lines of a lesson's pictures: the curve of opening, any arrays, and the drawn pulse. Stage ``apps``, before ``pictures``."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Mapping, Sequence
from functools import lru_cache
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from graspwave import simulator as sim
from graspwave.apps.told.numbers import said_ma, said_number
from graspwave.apps.told.posture import STRONGEST_MA
from graspwave.simulator.answers import CURVE_MA

if TYPE_CHECKING:
    from graspwave.lessons.grammar import Band

__all__ = ["CURRENTS_MA", "LINE_POINTS", "curve_lines", "curves_of", "cut", "plain_lines", "pulse_lines", "shade"]

Array = NDArray[np.float64]

CURRENTS_MA = CURVE_MA
"""Currents of a drawn curve."""

LINE_POINTS = 320
"""Most points that a line keeps; its peaks stay."""

_DASHES = ("", "dash", "dot", "dashdot")
_OPENING_TOP_MM = 120.0
"""Top of the axis of opening, alike in a covered and an open picture, so that the axis tells nothing."""

_FLAT_MM = 2.0
"""A smaller change is told as none: about what a viewer can see on a projector."""

_FALLS_MM = 5.0
_COVERED = "The rest is covered until the vote is over."
_LAST = f"{STRONGEST_MA:.0f}"
_AXES = {"x": {"name": "Current", "unit": "mA", "quantity": "current", "low": 0.0, "high": STRONGEST_MA},
         "y": {"name": "Opening", "unit": "mm", "quantity": "opening", "low": 0.0, "high": _OPENING_TOP_MM}}


@lru_cache(maxsize=128)
def _curves(scenes: tuple[sim.Scene, ...]) -> tuple[sim.Opening, ...]:
    return tuple(sim.opening_curves(scenes, CURRENTS_MA))


def curves_of(scenes: Iterable[sim.Scene]) -> tuple[sim.Opening, ...]:
    """Opening against `CURRENTS_MA`, of all in one call; what no curve depends on is left out of what they are remembered by."""
    return _curves(tuple(
        scene.replace("channel.0.pulse.amplitude_ma", 0.0).replace("title", "").replace("story", "") for scene in scenes
    ))  # fmt: skip


_HALF = 0.005
"""How near to a half a number is told as one."""


def cut(x: ArrayLike, y: ArrayLike, most: int = LINE_POINTS) -> tuple[list[float], list[float]]:
    """A line of at most about `most` points: the lowest and the highest of each stretch, in order; four digits each.

    Parameters
    ----------
    x, y : array_like, shape (n,)
        Values that are not finite are left out.
    """
    xs, ys = np.asarray(x, dtype=float).ravel(), np.asarray(y, dtype=float).ravel()
    good = np.isfinite(xs) & np.isfinite(ys)
    xs, ys = xs[good], ys[good]
    if xs.size > most:
        edges = np.linspace(0, xs.size, most // 2 + 1).astype(int)
        keep = {0, xs.size - 1}
        for a, b in itertools.pairwise(edges):
            keep |= {a + int(np.argmin(ys[a:b])), a + int(np.argmax(ys[a:b]))}
        which = np.array(sorted(keep))
        xs, ys = xs[which], ys[which]
    if xs.size > 2:
        # a point on the straight line between its neighbours says nothing
        with np.errstate(divide="ignore", invalid="ignore"):
            straight = ys[:-2] + (ys[2:] - ys[:-2]) * (xs[1:-1] - xs[:-2]) / (xs[2:] - xs[:-2])
        span = float(np.ptp(ys)) or 1.0
        bent = ~(np.abs(ys[1:-1] - straight) < 1e-9 * span)
        keep_bent = np.concatenate([[True], bent, [True]])
        xs, ys = xs[keep_bent], ys[keep_bent]
    return _digits(xs), _digits(ys)


def _digits(values: Array) -> list[float]:
    return [float(f"{value:.4g}") for value in values]


# ---- curve

def curve_lines(values: Mapping[str, Any]) -> dict[str, Any]:
    """Opening against current of some scenes; covered, only what may be seen before the vote is in the data."""
    scenes: Mapping[str, sim.Scene] = values["scenes"]
    at, covered = values.get("at"), bool(values.get("cover"))
    first = next(iter(scenes.values()))
    lines: list[dict[str, Any]] = []
    for i, (label, curve) in enumerate(zip(scenes, curves_of(scenes.values()), strict=True)):
        upto = CURRENTS_MA.size
        if covered:
            upto = int(np.searchsorted(CURRENTS_MA, float(at), side="right")) if at is not None and i == 0 else 0
        if upto > 1:
            x, y = cut(CURRENTS_MA[:upto], curve.opening_mm[:upto])
            label = label if len(scenes) > 1 else ""
            lines.append({"label": label, "x": x, "y": y, "dash": _DASHES[i % 4], "quantity": "opening" if i == 0 else "ink2"})
    points = []
    if at is not None and (not covered or lines):
        opening = sim.opening_curve(first, [float(at)]).opening_mm[0]
        points = [{"x": round(float(at), 2), "y": round(float(opening), 1), "label": "", "present": True}]
    levels = []
    if values.get("object_mm"):
        wide = float(values["object_mm"])
        name = first.task.object if abs(first.task.diameter_mm - wide) < 0.5 else "object"
        levels = [{"y": round(wide, 1), "label": f"{name}, {wide:.0f} mm"}]
    axes: dict[str, dict[str, Any]] = {key: dict(axis) for key, axis in _AXES.items()}
    _make_room(axes["y"], max((max(line["y"]) for line in lines), default=0.0))
    drawn = {**axes, "lines": lines, "dots": False, "points": points, "levels": levels, "covered": covered}
    if covered and lines:
        drawn["cover_from"] = round(float(at or 0.0), 2)
    title, text = _covered_words(float(at or 0.0), points) if covered else _curve_words(scenes, points)
    return {**drawn, "title": title, "text": text}


def _make_room(axis: dict[str, Any], highest: float) -> None:
    """Raise the top of an axis of opening, by whole ticks, where a curve comes near it."""
    if highest > axis["high"] - 6.0:
        axis["high"] = 20.0 * float(np.ceil(highest / 20.0 + 0.5))


def _covered_words(at: float, points: Sequence[Mapping[str, Any]]) -> tuple[str, str]:
    if not points:
        return "Opening against current, still covered", f"An empty plot of opening against current, 0 to {_LAST} mA. {_COVERED}"
    here = f"At {said_ma(at)} the hand opens {points[0]['y']:.0f} mm"
    return f"{here}. And past it?", f"Opening against current up to {said_ma(at)}. {here}. {_COVERED}"


def _curve_words(scenes: Mapping[str, sim.Scene], points: Sequence[Mapping[str, Any]]) -> tuple[str, str]:
    told = []
    for label, curve in zip(scenes, curves_of(scenes.values()), strict=True):
        opening = curve.opening_mm
        best = int(np.argmax(opening))
        told.append((label, float(CURRENTS_MA[best]), float(np.max(opening)), float(opening[0]), float(opening[-1])))
    _, ma, top, rest, last = told[0]
    if top - rest < _FLAT_MM:
        title = "No current here opens this hand"
    elif top - last < _FALLS_MM:
        title = f"It opens up to {top:.0f} mm and stays there"
    else:
        title = f"Widest at {said_ma(ma)}: {top:.0f} mm. Past it the hand closes again"
    if len(told) > 1:
        most = max(told, key=lambda row: row[2])
        title = f"The {most[0]} opens widest: {most[2]:.0f} mm at {said_ma(most[1])}"
    said = "; ".join(f"{label or 'the hand'}: {rest:.0f} mm at 0 mA, widest {top:.0f} mm at {said_ma(ma)}, "
                     f"{last:.0f} mm at {_LAST} mA"
                     for label, ma, top, rest, last in told)
    here = "".join(f" At {said_ma(p['x'])} it is {p['y']:.0f} mm." for p in points)
    return title, f"Opening against current. {said[0].upper()}{said[1:]}.{here}"


def shade(data: dict[str, Any], labels: Iterable[str], bands: Mapping[str, Band]) -> str:
    """Lay around each line where eight in ten other arms lie, and say so in a caption.

    Parameters
    ----------
    data : dict
        A picture of lines; it is changed.
    labels : iterable of str
        Of its lines, as the lesson writes them, in their order.
    bands : mapping
        By these labels.

    Returns
    -------
    str
        The same in words, for whoever does not see it.
    """
    told, arms = [], max(band.of for band in bands.values())
    for label, line in zip(labels, data["lines"], strict=False):
        band = bands.get(label)
        if band is None:
            continue
        line["band"] = {"x": list(band.x), "low": list(band.low), "high": list(band.high)}
        best = max(range(len(line["y"])), key=lambda i: line["y"][i])
        low, high = (float(np.interp(line["x"][best], band.x, edge)) for edge in (band.low, band.high))
        told.append(f"{line['label'] or 'this hand'}, {low:.0f} to {high:.0f} mm")
        if "high" in data["y"]:
            _make_room(data["y"], max(band.high))
    data["caption"] = f"Shaded: where eight in ten of {arms} other invented arms lie."
    return f"Of {arms} other invented arms eight in ten lie, where the line is highest, at: {'; '.join(told)}."


# ---- any arrays

def plain_lines(values: Mapping[str, Any]) -> dict[str, Any]:
    """Arrays against one array, with named axes."""
    quantity, dots = values.get("quantity") or "", bool(values.get("dots"))
    x_name, y_name = (tuple(values[key]) for key in ("x_axis", "y_axis"))
    lines: list[dict[str, Any]] = []
    for i, (label, y) in enumerate(values["y"].items()):
        xs, ys = cut(values["x"], y) if not dots else (_digits(np.asarray(values["x"], float)), _digits(np.asarray(y, float)))
        # the name of a single line stands at the axis already
        named = "" if len(values["y"]) == 1 and label.casefold() in y_name[0].casefold() else label
        lines.append({"label": named, "x": xs, "y": ys, "dash": _DASHES[i % 4], "quantity": quantity or "ink"})
    points = [{"x": float(f"{x:.4g}"), "y": float(f"{y:.4g}"), "label": label, "quantity": quantity}
              for label, (x, y) in (values.get("points") or {}).items()]
    title, text = _line_words(lines, x_name, y_name)
    return {
        "x": {"name": x_name[0], "unit": x_name[1], "quantity": "current" if x_name[1] == "mA" else ""},
        "y": {"name": y_name[0], "unit": y_name[1], "quantity": quantity},
        "lines": lines, "dots": dots, "points": points, "levels": [], "covered": False, "title": title, "text": text,
    }


def _line_words(lines: Sequence[Mapping[str, Any]], x_name: tuple[str, str], y_name: tuple[str, str]) -> tuple[str, str]:
    unit = y_name[1]
    told = [(line["label"] or y_name[0], line["y"][0], max(line["y"]), line["y"][-1]) for line in lines if line["y"]]
    if not told:
        return f"{y_name[0]} against {x_name[0].lower()}", "No values."
    if len(told) == 1:
        _, first, top, last = told[0]
        title = f"{y_name[0]}: {said_number(first)} to {said_number(last, unit)}"
        if top > max(first, last) + 0.02 * abs(top):
            title = f"{y_name[0]}: at most {said_number(top, unit)}, at the end {said_number(last, unit)}"
    else:
        most = max(told, key=lambda row: row[2])
        title = f"Highest: {most[0]}, {said_number(most[2], unit)}"
    said = "; ".join(f"{label}: from {said_number(first)}, at most {said_number(top)}, to {said_number(last, unit)}"
                     for label, first, top, last in told)
    return title, f"{y_name[0]} against {x_name[0].lower()}. {said}."


# ---- pulse

def pulse_lines(values: Mapping[str, Any]) -> dict[str, Any]:
    """One pulse of each scene at its full height, from its start."""
    start, end = float(values.get("from_us") or 0.0), values.get("to_us")
    scenes: Mapping[str, sim.Scene] = values["scenes"]
    if end is None:
        end = max(_busy_us(scene) for scene in scenes.values()) * 1.25
    lines: list[dict[str, Any]] = []
    told, charges = [], []
    for i, (label, scene) in enumerate(scenes.items()):
        x, y = _one_pulse(scene, start, float(end))
        lines.append({"label": label if len(scenes) > 1 else "", "x": x, "y": y, "dash": _DASHES[i % 4], "quantity": "current"})
        pulse = scene.channel[0].pulse
        name = f"{label}: " if label else ""
        charge = pulse.amplitude_ma * pulse.phase_us / 1000.0
        charges.append(f"{label}, {said_number(charge, 'µC')}")
        height = said_number(pulse.amplitude_ma, "mA")
        told.append(f"{name}{height} for {pulse.phase_us:.0f} µs, {said_number(charge, 'µC')} a phase")
    high = 1.15 * max((abs(v) for line in lines for v in line["y"]), default=1.0) or 1.0
    low = -high if any(v < 0.0 for line in lines for v in line["y"]) else 0.0
    said = "; ".join(told)
    said = said[0].upper() + said[1:]
    title = said if len(told) == 1 else f"Charge of a phase: {'; '.join(charges)}"
    return {
        "x": {"name": "Time", "unit": "µs", "quantity": "", "low": start, "high": float(end)},
        "y": {"name": "Current", "unit": "mA", "quantity": "current", "low": round(low, 1), "high": round(high, 1)},
        "lines": lines, "dots": False, "points": [], "levels": [], "covered": False,
        "title": title, "text": f"Current of one pulse against time. {said}.",
    }


def _busy_us(scene: sim.Scene) -> float:
    pulse = scene.channel[0].pulse
    return pulse.phase_us * (1.0 + pulse.second_phase) + pulse.gap_us


def _one_pulse(scene: sim.Scene, start_us: float, end_us: float) -> tuple[list[float], list[float]]:
    """Corners of one pulse that no ramp makes smaller, microseconds from its start."""
    for path, value in (("timing.control", "held"), ("ramp.up_s", 0.0), ("ramp.down_s", 0.0), ("timing.delay_s", 0.0)):
        scene = scene.replace(f"channel.0.{path}", value)
    train = sim.pulse_train(scene, 0, [(0.0, 2.0)], 2.0)
    onset = float(train.onset_s[0])
    t, current = sim.trace_current(train, onset + (start_us - 0.0) * 1e-6, onset + end_us * 1e-6, 800)
    # the time before the pulse is drawn as well, so that its first edge is seen
    x = np.concatenate([[start_us], (t - onset) * 1e6, [end_us]])
    y = np.concatenate([[0.0 if start_us <= 0.0 else current[0]], current, [current[-1] if current.size else 0.0]])
    return cut(x, y)
