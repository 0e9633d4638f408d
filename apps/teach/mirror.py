"""The scene that an educator shows to all: a bench for any step, and its picture at one current, small enough to be pushed."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Mapping, Sequence
from typing import Any

from graspwave import simulator as sim
from graspwave.apps.teach.bench import bench
from graspwave.apps.told.posture import STRONGEST_MA

__all__ = ["AMPLITUDE", "MINE", "mirror_picture", "my_bench"]

AMPLITUDE = "channel.0.pulse.amplitude_ma"

MINE = (
    AMPLITUDE, "channel.0.pads.along_percent", "channel.0.pads.around_deg", "hand.wrist_held_deg", "hand.finger_tone",
    "hand.flexor_length_factor",
)
"""What an educator may move in any step: current, pads, wrist, tone, and how short the closers of the hand are."""

_STRIDE = 2
"""Every second sample of the curve, 1 mA apart, is enough for a picture that is looked at."""


def my_bench(scene_toml: str | None, free: Sequence[str] = ()) -> dict[str, Any]:
    """The educator's own bench: the step's scene, or a supple hand where it has none, with `MINE` and the step's own settings."""
    scene = sim.Scene.loads(scene_toml) if scene_toml else sim.presets()["supple"]
    return bench(scene, list(dict.fromkeys((*MINE, *free))))


def mirror_picture(live: Mapping[str, Any], settings: Mapping[str, Any]) -> dict[str, Any]:
    """What the hand does at the current of `settings`, and its curve.

    Parameters
    ----------
    live : mapping
        As `bench.live` gives it for these settings.
    settings : mapping
        By path.

    Returns
    -------
    dict
        ``ma``, ``mm``, ``state`` (as the hand is drawn), ``curve`` {``ma``, ``mm``}: some 3 kB.
    """
    currents = live["amplitude_ma"]
    given = settings.get(AMPLITUDE)
    ma = float(live.get("at_ma", 0.0) if given is None else given)
    ma = min(max(ma, currents[0]), currents[-1])
    i = min(max(bisect_right(currents, ma) - 1, 0), len(currents) - 2)
    part = (ma - currents[i]) / ((currents[i + 1] - currents[i]) or 1.0)

    def mix(values: Sequence[float]) -> float:
        return float(round(values[i] + (values[i + 1] - values[i]) * part, 3))

    state: dict[str, Any] = {
        name: {key: mix(values) for key, values in live[name].items()}
        for name in ("angle_deg", "tension", "slack_mm", "recruited") if name in live
    }
    points = live.get("points")
    drawn = [[mix([points[j][k][m] for j in range(len(points))]) for m in range(2)] for k in range(2)] if points else None
    mm = mix(live["opening_mm"])
    state |= {"opening": {"mm": mm, "points": drawn}, "current": ma / STRONGEST_MA}
    state |= {name: live[name] for name in ("pads", "object", "wrist_held") if name in live}
    shown = slice(None, None, _STRIDE if len(currents) > 3 * _STRIDE else 1)
    return {"ma": ma, "mm": mm, "state": state,
            "curve": {"ma": list(currents[shown]), "mm": list(live["opening_mm"][shown])}}
