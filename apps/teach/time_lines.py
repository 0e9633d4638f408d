"""Half an hour of practice as lanes: what was going on when, in plain words. Stage ``apps``, before ``pictures``."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from graspwave import simulator as sim
from graspwave.apps.told.numbers import said_number

__all__ = ["LANES", "strips_of"]

LANES: Mapping[str, tuple[str, ...]] = {
    "getting ready": ("set up", "warm up", "rest"),
    "waiting": ("wait",),
    "reaching, going back": ("react", "reach", "return"),
    "opening": ("open",),
    "holding, moving": ("close", "lift", "slide", "carry", "set down"),
    "letting go": ("try", "release"),
    "dropped, missed": ("drop", "failed"),
}
"""Lanes in the order of a repetition, and the phases of the simulation that each holds."""

_ON = "current on"
_JOIN_MIN = 1.0 / 600.0
"""A pause this short, a tenth of a second, is not drawn."""


def strips_of(values: Mapping[str, Any]) -> dict[str, Any]:
    """Strips of one or more runs of practice, minutes."""
    runs: Mapping[str, sim.Practice] = values["runs"]
    until = values.get("minutes")
    strips: list[dict[str, Any]] = []
    for label, run in runs.items():
        end = float(until) if until else run.minutes
        spans = _spans(run, end)
        minutes = {name: round(sum(b - a for a, b in parts), 2) for name, parts in spans.items()}
        parts = {name: [[round(a, 2), round(b, 2)] for a, b in own] for name, own in spans.items()}
        shown = {name: said_number(round(value, 1)) for name, value in minutes.items()}
        strips.append({"label": label, "parts": parts, "minutes": minutes, "shown": shown, "tally": _tally(run)})
    there = {name for strip in strips for name in strip["parts"]}
    phases = [name for name in (*LANES, _ON) if name in there]
    most = max(runs, key=lambda label: runs[label].repetitions)
    title = f"Most repetitions: {most}, {runs[most].repetitions}" if len(runs) > 1 else f"{runs[most].repetitions} repetitions"
    said = []
    for strip in strips:
        times = strip["minutes"]
        longest = ", ".join(f"{name} {strip['shown'][name]} min" for name in sorted(times, key=lambda name: -times[name]))
        said.append(f"{strip['label']}: {strip['tally']} {longest}.")
    return {"unit": "min", "strips": strips, "phases": phases, "title": title, "text": " ".join(said)}


def _spans(run: sim.Practice, end_min: float) -> dict[str, list[list[float]]]:
    """From and to of everything in a lane, by lane, minutes."""
    lane = {phase: name for name, phases in LANES.items() for phase in phases}
    spans: dict[str, list[list[float]]] = {}
    for event in run.log:
        if event.phase in lane:
            _add(spans.setdefault(lane[event.phase], []), event.t_s / 60.0, (event.t_s + event.lasts_s) / 60.0, end_min)
    for start_s, stop_s, _ in run.stimulated_s:
        _add(spans.setdefault(_ON, []), start_s / 60.0, stop_s / 60.0, end_min)
    return {name: parts for name, parts in spans.items() if parts}


def _add(spans: list[list[float]], start: float, stop: float, end: float) -> None:
    """One more span, joined to the last where nothing to speak of lies between."""
    stop = min(stop, end)
    if stop <= start:
        return
    if spans and start - spans[-1][1] < _JOIN_MIN:
        spans[-1][1] = max(spans[-1][1], stop)
    else:
        spans.append([start, stop])


def _tally(run: sim.Practice) -> str:
    drops = "no drop" if not run.drops else f"{run.drops} drop{'s' if run.drops > 1 else ''}"
    return f"{run.repetitions} repetitions, {drops}, {said_number(round(run.waiting_s / 60.0, 1), 'min')} waiting."
