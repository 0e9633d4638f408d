"""The five pictures: what the model gives, as the postures and times that ``five_pictures.js`` draws."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import numpy as np

from graspwave import simulator as sim
from graspwave.apps.told.account import Told, hand_curve, told
from graspwave.apps.told.posture import STRONGEST_MA, pads_mm
from graspwave.apps.told.scenes import OBJECTS
from graspwave.apps.told.words import catalogue, label

__all__ = ["picture_data"]

_FRAME_S = 1.0 / 15.0
_SHOWN_S = 6.0
"""Longest movement shown; a slower rise is cut here, with the hand as far as it has come."""

_TURNED_UP_S = 2.0
"""Time in which a current is seen turned up."""

_LOOKED_AT_MS = 500
"""How long both hands are seen open before one is turned up."""

_HELD_ROUND = {70.0: (-22.0, 17.0, 66.0, 20.0), 45.0: (-18.0, 34.0, 66.0, 26.0), 15.0: (-12.0, 52.0, 56.0, 26.0)}
"""Wrist and finger joints of a hand drawn round an object of this width: a picture, no result of the model."""


def picture_data(scene: sim.Scene, language: str, *, movement: bool = True) -> dict[str, Any]:
    """All that the five pictures of a scene are drawn from.

    Parameters
    ----------
    scene : Scene
    language : str
        Of the few words in the pictures.
    movement : bool
        With the samples of the hand's movement at this current and at more.
    """
    said = told(scene)
    words = {key: label(language, key) for key in ("on", "off", "let_go", "press", "this_much", "more", "mark_back", "mark_palm")}
    second = str(catalogue(language)["unit"]["s"])
    return {
        "hands": _hands(scene, said),
        "frames": {"now": _movement(scene), "more": [*_movement(scene), *_turned_up(scene, said)]} if movement else {},
        "levels": _levels(scene, said),
        "pads": pads_mm(scene.channel[0].pads, least=12.0, spare=8.0),
        "around": said.around if said.limb == "forearm" else "none",
        "object": {"name": said.object, "diameter_mm": scene.task.diameter_mm, "held_mm": _held_mm(scene, said)},
        "opens": said.opens,
        "timing": {"control": said.control, "up": said.up_s, "on": said.on_s, "down": said.down_s, "off": said.off_s},
        "words": {**words, "second": second},
    }


def _turned_up(scene: sim.Scene, said: Told) -> list[dict[str, Any]]:
    """The hand as the current is turned up from this much to more, past no wider hand: a wider one would teach the contrary.

    It begins when the movement at this much has ended, so that both hands open alike first, and one of them closes again.
    """
    begin_ms = _movement(scene)[-1]["t_ms"] + _LOOKED_AT_MS
    now_ma = scene.channel[0].pulse.amplitude_ma
    found = sim.opening_curve(scene, np.linspace(now_ma, max(said.more_ma, now_ma + 0.1), round(_TURNED_UP_S / _FRAME_S)))
    least = found.opening_mm[0] if said.more != "wider" else np.inf
    kept = [i for i, mm in enumerate(found.opening_mm) if mm <= least + 0.1]
    return [
        {"t_ms": begin_ms + round(1e3 * n * _TURNED_UP_S / max(len(kept) - 1, 1)),
         "angle": {joint: round(float(value[i]), 1) for joint, value in found.angle_deg.items()},
         "current": round(float(found.amplitude_ma[i]) / STRONGEST_MA, 3)}
        for n, i in enumerate(kept)
    ]


def _held_mm(scene: sim.Scene, said: Told) -> float:
    """Width of the object in the hand: of one that fits."""
    wide = scene.task.diameter_mm
    return wide if said.fits else max((mm for mm in OBJECTS.values() if mm < wide - 5.0), default=wide)


def _levels(scene: sim.Scene, said: Told) -> dict[str, float]:
    """Current of the two hands as a share of the stronger one's."""
    now = scene.channel[0].pulse.amplitude_ma
    return {"now": round(now / max(said.more_ma, 1e-9), 3) if said.more_ma else 0.0, "more": 1.0}


def _hands(scene: sim.Scene, said: Told) -> dict[str, dict[str, float]]:
    curve = hand_curve(scene)
    more = int(np.argmin(np.abs(curve.amplitude_ma - said.more_ma)))
    found = {
        key: {joint: round(float(value[i]), 1) for joint, value in curve.angle_deg.items()}
        for key, i in (("rest", 0), ("now", 1), ("more", more))
    }
    near = min(_HELD_ROUND, key=lambda mm: abs(mm - _held_mm(scene, said)))
    found["hold"] = dict(zip(("wrist", "MCP", "PIP", "DIP"), _HELD_ROUND[near], strict=True)) | {
        "CMC": 50.0 if near > 20.0 else 30.0, "THUMB_MCP": -10.0 if near > 50.0 else 8.0, "IP": 25.0,
    }
    return found


@lru_cache(maxsize=16)
def _movement(scene: sim.Scene) -> list[dict[str, Any]]:
    """The model's own samples from rest into the first on time."""
    channel = scene.channel[0]
    for i in range(len(scene.channel)):
        scene = scene.replace(f"channel.{i}.timing.delay_s", 0.0)
    held = channel.timing.control == "held"
    until = min(_SHOWN_S, channel.ramp.up_s + 2.0)
    if not held:
        until = min(until, max(0.1, channel.on_total_s - channel.ramp.down_s))
    run = sim.simulate(scene, duration_s=until, held=[(0.0, until)] if held else None)
    frames = []
    for t in np.arange(0.0, until, _FRAME_S):
        i = min(int(np.searchsorted(run.time_s, t)), run.time_s.size - 1)
        angle = {joint: round(float(value[i]), 1) for joint, value in run.angle_deg.items()}
        frames.append({"t_ms": round(1e3 * float(t)), "angle": angle,
                       "current": round(float(run.current[0][i]) / STRONGEST_MA, 3)})
    return frames
