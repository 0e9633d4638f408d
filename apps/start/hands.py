"""The two hands of the start page, worked out once: what each does at every current. Stage ``apps``, no Panel here."""

from __future__ import annotations

import json
from functools import cache
from typing import Any

import numpy as np

from graspwave import simulator as sim
from graspwave.apps.told.live_hand import AMPLITUDE, LIVE_MA, live_of
from graspwave.simulator.hand import claw_grades

__all__ = ["HANDS", "hands_json"]

HANDS = (("supple", "Supple hand"), ("tight", "Tight hand"))
"""Presets that are shown, and what they are called here."""

_MOST_MA = 30.0
"""The slider's end: past it closers join in and every hand makes a fist, which Explore shows."""

_MARK = 54.321
"""A current that no preset has, where the browser puts its own."""


@cache
def hands_json() -> str:
    """Both hands against current as JSON text, for the browser to draw.

    Returns
    -------
    str
        ``most_ma``, ``start_ma`` and ``hands``: for each ``key``, ``name``, ``live`` (as a lesson's bench has it), ``claw`` by
        current (of the middle finger: 0 none, 1 begins, 2 claw) and ``scene``, TOML with ``{ma}`` in the place of the current.
    """
    scenes = [sim.presets()[key] for key, _ in HANDS]
    curves = sim.opening_curves(scenes, LIVE_MA)
    hands = [_hand(key, name, *both) for (key, name), both in zip(HANDS, zip(scenes, curves, strict=True), strict=True)]
    return json.dumps({"most_ma": _MOST_MA, "start_ma": _open_from(hands[-1]), "hands": hands}, allow_nan=False)


def _open_from(hand: dict[str, Any]) -> float:
    """The least current at which a hand is nearly as wide as it gets: an open hand greets, and both ways lead to less."""
    opening = np.asarray(hand["live"]["opening_mm"])[: len(hand["claw"])]
    return float(np.ceil(LIVE_MA[int(np.argmax(opening >= 0.95 * opening.max()))]))  # the slider stops at whole mA


def _hand(key: str, name: str, scene: sim.Scene, curve: sim.Opening) -> dict[str, Any]:
    claw = claw_grades(curve.angle_deg)["middle"][LIVE_MA <= _MOST_MA].tolist()
    text = scene.replace(AMPLITUDE, _MARK).dumps().replace(str(_MARK), "{ma}")
    return {"key": key, "name": name, "live": live_of(scene, curve), "claw": claw, "scene": text}
