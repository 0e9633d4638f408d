"""Pictures of a lesson with their values -> the data that the browser draws. Stage ``apps``, after ``lessons``."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any

import numpy as np

from graspwave import simulator as sim
from graspwave.apps.teach.plots import curve_lines, plain_lines, pulse_lines, shade
from graspwave.apps.teach.time_lines import strips_of
from graspwave.apps.told.live_hand import hand_words, still
from graspwave.apps.told.nerve_studies import NAMES
from graspwave.apps.told.numbers import fixed, said_ma, said_number
from graspwave.apps.told.posture import run_moment, state_at
from graspwave.apps.told.why_rows import why_rows
from graspwave.lessons.text import html
from graspwave.simulator.answers import CURVE_MA, reached_ma
from graspwave.simulator.conductor.places import limb_radius_mm
from graspwave.simulator.facts import facts_under, number
from graspwave.simulator.recruitment import CLOSERS

if TYPE_CHECKING:
    from graspwave.lessons.grammar import Picture

__all__ = ["hand_state", "picture", "why_data", "with_id"]

_STEP_MA = 0.5
_MS_A_MA = 180.0
"""How slowly a hand is led from one current to the next."""

_LEAST_MS = 1500.0
_FRAME_S = 1.0 / 20.0
_MOST_FRAMES = 400
_SHOWN = ("ECRB", "EDC", "ECU", "EPL", "FDS")
"""Muscles of a forearm where the lesson names none."""


def picture(given: Picture) -> dict[str, Any]:
    """The data of one picture.

    Parameters
    ----------
    given : lessons.grammar.Picture
        With its values.

    Returns
    -------
    dict
        ``id`` (digest of all the rest), ``kind`` as the browser knows it, ``title``, ``text``, ``caption``, and the data.
        Title and text are the lesson's; where it gives none they are made from the numbers.
    """
    data = _KINDS[given.kind](given.values)
    kind = {"curve": "lines", "pulse": "lines", "why": "bars"}.get(given.kind, given.kind)
    title, text, caption = (data.pop(key, "") for key in ("title", "text", "caption"))
    text = given.text or text
    if given.bands:
        text = f"{text} {shade(data, given.values['scenes' if given.kind == 'curve' else 'y'], given.bands)}"
        caption = data.pop("caption")
    return with_id({"kind": kind, "title": given.title or title, "text": text, "caption": caption, **data})


def with_id(data: dict[str, Any]) -> dict[str, Any]:
    """The same data with a digest of it as its id."""
    plain = {key: value for key, value in data.items() if key != "id"}
    digest = hashlib.sha256(json.dumps(plain, sort_keys=True, ensure_ascii=False).encode()).hexdigest()[:32]
    return {"id": digest, **plain}


# ---- hand

def hand_state(scene: sim.Scene, at_ma: float | None = None) -> dict[str, Any]:
    """The hand of a scene at rest on its current, or on another one, as the hand picture takes it."""
    current = scene.channel[0].pulse.amplitude_ma if at_ma is None else float(at_ma)
    return {**_short(state_at(sim.opening_curve(scene, [current]), 0)), **still(scene)}


def _short(state: dict[str, Any]) -> dict[str, Any]:
    """Shares to a hundredth, points to a tenth of a millimetre.

    Angles and the opening keep a hundredth: rounded to a tenth first, 23.48 mm would be told as 24.
    """
    def rounded(key: str, value: Any) -> Any:
        if isinstance(value, dict):
            return {k: rounded(k if k == "mm" else key, v) for k, v in value.items()}
        if isinstance(value, list):
            return [rounded(key, v) for v in value]
        digits = 1 if key == "opening" else 3 if key in ("current", "recruited") else 2
        return round(float(value), digits) if isinstance(value, float) else value

    return {key: rounded(key, value) for key, value in state.items()}


def _hand(values: Mapping[str, Any]) -> dict[str, Any]:
    scene: sim.Scene = values["scene"]
    if values.get("play_s"):
        return _played(scene, float(values["play_s"]))
    if values.get("from") is not None and values.get("to") is not None:
        return _led(scene, float(values["from"]), float(values["to"]))
    at = scene.channel[0].pulse.amplitude_ma if values.get("at") is None else float(values["at"])
    state = hand_state(scene, at)
    gap = state["opening"]["mm"]
    title = f"At {said_ma(at)} the thumb meets the fingers" if gap < 3.0 else f"At {said_ma(at)} the hand opens {gap:.0f} mm"
    words = hand_words(state, at)
    return {"state": state, "frames": None, "title": title, "text": f"A hand from the thumb side. {words}", "caption": words}


def _led(scene: sim.Scene, start_ma: float, end_ma: float) -> dict[str, Any]:
    """From one current to another, slowly, each posture at rest."""
    steps = max(2, round(abs(end_ma - start_ma) / _STEP_MA) + 1)
    currents = np.linspace(start_ma, end_ma, steps)
    curve = sim.opening_curve(scene, currents)
    whole_ms = max(_LEAST_MS, _MS_A_MA * abs(end_ma - start_ma))
    frames = [{"t_ms": round(whole_ms * i / (steps - 1)), **_short(state_at(curve, i))} for i in range(steps)]
    ends = [{**_short(state_at(curve, i)), **still(scene)} for i in (0, steps - 1)]
    first, last = (end["opening"]["mm"] for end in ends)
    title = f"From {said_ma(start_ma)} to {said_ma(end_ma)} the opening goes from {first:.0f} to {last:.0f} mm"
    halves = int(any(end % 1.0 for end in (start_ma, end_ma)))
    start, end = hand_words(ends[0], start_ma), hand_words(ends[1], end_ma)
    return {
        "state": ends[0], "frames": frames, "title": title, "caption": f"{start} {end}",
        "along": {"name": "Current", "unit": "mA", "quantity": "current", "digits": halves,
                  "values": [round(float(v), 2) for v in currents]},
        "text": f"A hand from the thumb side, moving. {start} {end}",
    }


def _played(scene: sim.Scene, lasts_s: float) -> dict[str, Any]:
    """The first seconds of a session, from the model's own samples."""
    held = [(0.0, lasts_s)] if any(channel.timing.control == "held" for channel in scene.channel) else None
    run = sim.simulate(scene, duration_s=lasts_s, held=held)
    every = np.linspace(0.0, lasts_s, min(_MOST_FRAMES, max(2, round(lasts_s / _FRAME_S) + 1)))
    which = np.minimum(np.searchsorted(run.time_s, every), run.time_s.size - 1)
    frames = [{"t_ms": round(1e3 * float(t)), **_short(run_moment(run, int(i)))} for t, i in zip(every, which, strict=True)]
    opening = run.opening_mm
    widest = int(np.argmax(opening))
    title = f"In {said_number(lasts_s, 's')} the hand opens {opening[widest]:.0f} mm at most"
    text = (
        f"A hand from the thumb side, moving for {said_number(lasts_s, 's')}: opening {opening[0]:.0f} mm at first, "
        f"{opening[widest]:.0f} mm after {said_number(float(run.time_s[widest]), 's')}, {opening[-1]:.0f} mm at the end."
    )
    state = {**_short(run_moment(run, 0)), **still(scene)}
    along = {"name": "Time", "unit": "s", "quantity": "", "digits": 1, "values": [round(float(t), 2) for t in every]}
    return {"state": state, "frames": frames, "along": along, "title": title, "text": text, "caption": ""}


# ---- bars

def _bars(values: Mapping[str, Any]) -> dict[str, Any]:
    unit, quantity, digits = values.get("unit") or "", values.get("quantity") or "", values.get("digits")
    rows = [
        {"label": label, "value": float(f"{float(v):.4g}"), "as": "plain",
         "shown": said_number(float(v)) if digits is None else fixed(float(v), int(digits))}
        for label, v in values["values"].items()
    ]
    top = max(rows, key=lambda row: row["value"], default=None)
    title = f"Most: {top['label']}, {top['shown']} {unit}".rstrip() if top else "No values"
    said = "; ".join(f"{row['label']}: {row['shown']} {unit}".rstrip() for row in rows)
    return {"unit": unit, "quantity": quantity, "rows": rows, "title": title, "text": f"{said}."}


def _why(values: Mapping[str, Any]) -> dict[str, Any]:
    before, after = values["before"], values["after"]
    at = [scene.channel[0].pulse.amplitude_ma for scene in (before, after)]
    same = abs(at[0] - at[1]) < 0.05
    names = ("Before", "After") if same else (f"At {said_ma(at[0])}", f"At {said_ma(at[1])}")
    return why_data(before, after, *names)


def why_data(before: sim.Scene, after: sim.Scene, first: str, last: str) -> dict[str, Any]:
    """Why the opening of two scenes differs, as bars: the first, what was gained and lost, the last.

    Parameters
    ----------
    before, after : Scene
    first, last : str
        Words of the two ends.
    """
    found = sim.explain_opening(before, after)
    rows = []
    for row in why_rows(found, first, last):
        kind = "total" if row["kind"] == "end" else row["kind"]
        mm, shown = round(row["to_mm"] - row["from_mm"], 1), row["number"].removesuffix(" mm")
        rows.append({"label": row["words"], "value": mm, "shown": shown, "as": kind})
    whole = found.told_total_mm
    part = min(found.shares, key=lambda name: found.shares[name] * (1.0 if whole < 0 else -1.0), default=None)
    title = "Nothing to share out: the opening is the same"
    if part is not None and whole:
        did = "lost" if whole < 0 else "gained"
        label = found.labels[part]
        title = f"{abs(whole)} mm {did}. Most of it: {label[0].lower()}{label[1:]}"
    said = "; ".join(f"{row['label']}: {row['shown']} mm" for row in rows)
    return {"unit": "mm", "quantity": "opening", "digits": 0, "rows": rows, "title": title, "text": f"{said}. {found.text}",
            "caption": found.text}


# ---- forearm

def _forearm(values: Mapping[str, Any]) -> dict[str, Any]:
    scenes: Mapping[str, sim.Scene] = values["scenes"]
    first = next(iter(scenes.values()))
    muscles = tuple(values.get("muscles") or _SHOWN)
    place = facts_under("recruitment.place")
    thresholds = _thresholds(first)
    nerves = [
        {"muscle": name, "closer": name in CLOSERS, "words": NAMES.get(name, name), "threshold_ma": thresholds.get(name),
         **{key: float(place[f"{name.lower()}.{key}"].value) for key in ("along_percent", "around_deg")}}
        for name in muscles
    ]
    fat = first.hand.fat_mm - number("recruitment.tissue.fat_included_mm")
    length = number("recruitment.limb.forearm_mm")
    pads = []
    for label, scene in scenes.items():
        lie = scene.channel[0].pads
        sizes = {key: round(getattr(lie, key), 1) for key in ("along_percent", "around_deg", "side_mm", "spacing_mm")}
        pads.append({**sizes, "round": lie.shape == "round", "label": label if len(scenes) > 1 else ""})
    found = sorted((at, name) for name in muscles if (at := thresholds.get(name)) is not None)
    title = "None of these answers here"
    if found:
        at_ma, name = found[0]
        title = f"First to answer: {name}, {NAMES.get(name, name)}, from {at_ma:.0f} mA"
    said = "; ".join(f"{name} ({NAMES.get(name, name)}) from {at:.0f} mA" for at, name in found)
    silent = [name for name in muscles if thresholds.get(name) is None]
    none = f" Not up to 60 mA: {', '.join(silent)}." if silent else ""
    return {
        "arm": {"length_mm": length, "elbow_mm": round(float(limb_radius_mm(np.zeros(1))[0]) + fat, 1),
                "wrist_mm": round(float(limb_radius_mm(np.full(1, length))[0]) + fat, 1)},
        "pads": pads, "nerves": nerves, "title": title,
        "text": f"Forearm skin unrolled, elbow left: pads and where nerve branches end. {said or 'Nothing answers'}.{none}",
        "caption": "; ".join(f"{name}: {NAMES.get(name, name)}" for name in muscles) + ". Currents that wake a tenth.",
    }


def _thresholds(scene: sim.Scene) -> dict[str, float | None]:
    """Current from which each muscle answers, mA; None where it does not up to the last."""
    found = {name: reached_ma(CURVE_MA, share) for name, share in sim.recruitment_curve(scene, CURVE_MA).items()}
    return {name: None if at is None else round(at, 1) for name, at in found.items()}


def _words(values: Mapping[str, Any]) -> dict[str, Any]:
    lines = [html(line) for line in values["lines"]]
    return {"lines": lines, "title": "", "text": ""}


_KINDS: dict[str, Callable[[Mapping[str, Any]], dict[str, Any]]] = {
    "curve": curve_lines, "hand": _hand, "lines": plain_lines, "bars": _bars, "why": _why, "strips": strips_of,
    "forearm": _forearm, "pulse": pulse_lines, "words": _words,
}
