"""What the hand of a scene does at every current, as plain values that the browser draws, and as a sentence."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import Any

import numpy as np

from graspwave import simulator as sim
from graspwave.apps.told.findings import bend_words, wrist_words
from graspwave.apps.told.numbers import said_ma
from graspwave.apps.told.posture import pads_mm, slack_mm, tension
from graspwave.simulator.answers import CURVE_MA
from graspwave.simulator.recruitment import CLOSERS

__all__ = ["AMPLITUDE", "LIVE_MA", "hand_words", "live", "live_of", "still", "value_of"]

AMPLITUDE = "channel.0.pulse.amplitude_ma"
LIVE_MA = CURVE_MA
"""Currents of the samples; the current's slider goes in the same steps, so that what is shown is what was computed."""

_MOST_SETTINGS = 24


def live(scene_toml: str, settings: Mapping[str, Any], free: Sequence[str] | None = None) -> dict[str, Any]:
    """What the hand of a scene does at every current of `LIVE_MA`, with some of its settings changed.

    Parameters
    ----------
    scene_toml : str
        As a bench gives it.
    settings : mapping of str to value
        By path; only what differs need be there. A wrist that is let free is None.
    free : sequence of str, optional
        Paths that may be changed; any if not given.

    Returns
    -------
    dict
        ``amplitude_ma``, ``opening_mm``, ``angle_deg``, ``tension``, ``slack_mm``, ``recruited``, ``points``: lists by current;
        ``pads``, ``object``, ``wrist_held``, ``at_ma`` (the scene's own current) and ``text``.

    Raises
    ------
    SceneError
        A path that is not free or not known, or a value that cannot be.
    """
    if not isinstance(settings, Mapping):
        raise sim.SceneError("settings", "a table of paths and values", settings)
    if len(settings) > _MOST_SETTINGS:
        raise sim.SceneError("settings", f"at most {_MOST_SETTINGS} paths", len(settings))
    scene = _scene(scene_toml)
    for path, value in settings.items():
        if free is not None and path not in free:
            known = ", ".join(free) or "none"
            raise sim.SceneError("settings", f"of paths that are free in this step: {known}", str(path), "leave it out")
        if isinstance(value, float) and not math.isfinite(value):
            raise sim.SceneError(str(path), "a finite number", value)
        if value != value_of(scene, path) or isinstance(value, bool) != isinstance(value_of(scene, path), bool):
            scene = scene.replace(path, value)
    return _live(scene)


@lru_cache(maxsize=64)
def _scene(text: str) -> sim.Scene:
    return sim.Scene.loads(text)


@lru_cache(maxsize=256)
def _live(scene: sim.Scene) -> dict[str, Any]:
    return live_of(scene, sim.opening_curve(scene, LIVE_MA))


def live_of(scene: sim.Scene, curve: sim.Opening) -> dict[str, Any]:
    """As `live`, of a scene whose curve over `LIVE_MA` is known."""
    slack = [round(slack_mm(share), 2) for share in curve.slip_share.tolist()]
    closers = np.max([curve.recruited[name] for name in CLOSERS if name in curve.recruited] or [0.0 * LIVE_MA], axis=0)
    openers = curve.recruited.get("EDC", 0.0 * LIVE_MA)
    at = scene.channel[0].pulse.amplitude_ma
    i = int(np.argmin(np.abs(LIVE_MA - at)))
    here = {"angle_deg": _at(curve.angle_deg, i), "opening": {"mm": float(curve.opening_mm[i])}}
    return {
        "amplitude_ma": _list(LIVE_MA, 1), "opening_mm": _list(curve.opening_mm, 2),
        "angle_deg": {joint: _list(angle, 1) for joint, angle in curve.angle_deg.items()},
        "tension": {name: _list(pull + 0.0 * LIVE_MA, 2) for name, pull in tension(curve.tension_n, curve.slip_n).items()},
        "slack_mm": {"central": slack, "terminal": slack},
        "recruited": {"openers": _list(openers, 3), "closers": _list(closers, 3)},
        "points": np.round(curve.points_mm, 1).tolist(),
        **still(scene), "at_ma": round(at, 1),
        "text": f"A hand from the thumb side. {hand_words(here, float(LIVE_MA[i]))}",
    }


def _at(values: Mapping[str, Any], i: int) -> dict[str, float]:
    return {name: float(value[i]) for name, value in values.items()}


def _list(values: Any, digits: int) -> list[float]:
    found: list[float] = np.round(values, digits).tolist()
    return found


def value_of(scene: sim.Scene, path: str) -> Any:
    """Value of a setting by its path; `SceneError` where there is none."""
    node: Any = scene
    for key in str(path).split("."):
        if isinstance(node, tuple) and key.isdigit() and int(key) < len(node):
            node = node[int(key)]
        elif dataclasses.is_dataclass(node) and key in {f.name for f in dataclasses.fields(node)}:
            node = getattr(node, key)
        else:
            raise sim.SceneError(str(path), "a path of a setting", "unknown path", "for example channel.0.pulse.phase_us")
    if dataclasses.is_dataclass(node) or isinstance(node, tuple):
        raise sim.SceneError(str(path), "a path of a single setting", "a whole section", "name one setting of it")
    return node


def hand_words(state: Mapping[str, Any], current_ma: float) -> str:
    """A hand as a sentence, in the order of cause."""
    angle, gap = state["angle_deg"], state["opening"]["mm"]
    opening = "thumb meets fingers" if gap < 3.0 else f"opening {gap:.0f} mm"
    return (
        f"At {said_ma(current_ma)}: wrist {wrist_words(angle['wrist'])}, base joint {bend_words(angle['MCP'])}, "
        f"middle joint {bend_words(angle['PIP'])}, end joint {bend_words(angle['DIP'])}, {opening}."
    )


def still(scene: sim.Scene) -> dict[str, Any]:
    """What of a hand picture does not move: pads, object, whether the wrist is held."""
    pads = scene.channel[0].pads
    return {
        "pads": [_short(pad) for pad in pads_mm(pads)] if pads.limb == "forearm" else [],
        "object": {"name": scene.task.object, "diameter_mm": round(scene.task.diameter_mm, 1)},
        "wrist_held": scene.hand.wrist_held_deg is not None,
    }


def _short(values: Mapping[str, Any]) -> dict[str, Any]:
    return {k: round(v, 1) if isinstance(v, float) else v for k, v in values.items()}
