"""From what the model gives to what the hand picture takes; shared by every page that draws a hand."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from graspwave import simulator as sim
from graspwave.simulator.answers import CURVE_MA
from graspwave.simulator.hand.parameters import FINGERS
from graspwave.simulator.recruitment import CLOSERS

__all__ = [
    "DRAWN_ARM_MM", "NEUTRAL_PADS_MM", "STRONGEST_MA", "angles_at", "finger_tension", "finger_words", "moment", "pads_mm",
    "recruited", "run_moment", "slack_mm", "state_at", "tension", "upper_pads",
]

DRAWN_ARM_MM = 230.0
"""Length of the forearm in the picture."""

STRONGEST_MA = float(CURVE_MA[-1])
"""Current of the strongest glow under the pads: the highest of a curve."""

NEUTRAL_PADS_MM: list[dict[str, Any]] = [{"from_mm": 52, "to_mm": 92}, {"from_mm": 118, "to_mm": 150}]
"""Where pads are drawn while nobody says where they lie, mm from the elbow end of the drawn forearm."""

_WAVES_MM = 5.0
"""Height of the waves of a slip that has lost all force; a scale of the picture."""

_FULL_PULL_N = 150.0
"""Tension that is drawn thickest; a scale of the picture, not of the model."""


def moment(angle_deg: Mapping[str, float], points_mm: Any, opening_mm: float) -> dict[str, Any]:
    """Angles and opening line of one posture."""
    return {
        "angle_deg": dict(angle_deg),
        "opening": {"mm": round(opening_mm, 2), "points": np.round(points_mm, 2).tolist()},
    }


_LONG = ("EDC", "FDP", "FDS")


def tension(whole_n: Mapping[str, Any], slips_n: Mapping[str, Any]) -> dict[str, Any]:
    """Tension of the drawn tendons as a share of what is drawn thickest; of one posture, or of a row of them as arrays."""
    shown = {name: np.minimum(1.0, whole_n.get(name, 0.0) / _FULL_PULL_N) for name in _LONG}
    return {**shown, **{name: np.minimum(1.0, 3.2 * value / _FULL_PULL_N) for name, value in slips_n.items()}}


def finger_tension(whole_n: Mapping[str, float]) -> dict[str, float]:
    """Tension of each finger's own tendons, as ``ring.EDC``, on the scale of a whole muscle shared by four."""
    share = len(FINGERS) / _FULL_PULL_N
    return {
        f"{finger}.{name}": min(1.0, share * whole_n[f"{finger}.{name}"])
        for finger in FINGERS for name in _LONG if f"{finger}.{name}" in whole_n
    }


def finger_words(opening: sim.Opening, i: int) -> dict[str, str]:
    """What pulls at each finger and what it leaves free, in words."""
    def pull(finger: str, name: str) -> float:
        return float(opening.tension_n[f"{finger}.{name}"][i])

    return {
        finger: f"opener {pull(finger, 'EDC'):.0f} N, closers {pull(finger, 'FDP') + pull(finger, 'FDS'):.0f} N, "
        f"{float(opening.gap_mm[finger][i]):.0f} mm to the thumb"
        for finger in FINGERS
    }


def slack_mm(slip_share: float) -> float:
    """Waves of a slip in the picture: none while most of the opener's force reaches it, more as it loses it."""
    return _WAVES_MM * max(0.0, 0.75 - slip_share)


def recruited(share: Mapping[str, float]) -> dict[str, float]:
    """Share of the openers, and of the closer that has been called in most."""
    return {"openers": share["EDC"], "closers": max(share.get(name, 0.0) for name in CLOSERS)}


def pads_mm(pads: sim.Pads, *, least: float = 2.0, spare: float = 2.0) -> list[dict[str, Any]]:
    """Where the pads lie on the drawn forearm, mm from its elbow end, kept `least` and `spare` mm off its ends, and how.

    Which of the two has the fault of contact is all the same to the model; the one towards the wrist is drawn with it.
    """
    middle = pads.along_percent / 100.0 * DRAWN_ARM_MM
    half, side = 0.5 * pads.centres_mm, pads.side_mm
    last = DRAWN_ARM_MM - spare
    kind = {"around_deg": pads.around_deg, "round": pads.shape == "round", "swapped": pads.swap}
    return [
        {
            "from_mm": max(least, middle + s * half - 0.5 * side), "to_mm": min(last, middle + s * half + 0.5 * side), **kind,
            "fault": pads.contact if s > 0.0 else "whole",
        }
        for s in (-1.0, 1.0)
    ]


def upper_pads(scene: sim.Scene) -> dict[str, float] | None:
    """The pads that lie on the upper arm, where a channel has them."""
    found = next((c for c in scene.channel if c.pads.limb == "upper arm"), None)
    if found is None:
        return None
    pads, current = found.pads, found.pulse.amplitude_ma / STRONGEST_MA
    return {"along_percent": pads.along_percent, "side_mm": pads.side_mm, "current": min(1.0, current)}


def _at(values: Mapping[str, Any], i: int) -> dict[str, float]:
    return {name: float(value[i]) for name, value in values.items()}


def angles_at(opening: sim.Opening, i: int) -> dict[str, float]:
    """Joint angles at sample `i` of an opening curve."""
    return _at(opening.angle_deg, i)


def state_at(opening: sim.Opening, i: int) -> dict[str, Any]:
    """The hand at sample `i` of an opening curve."""
    slack, pulls = slack_mm(float(opening.slip_share[i])), _at(opening.tension_n, i)
    return {
        **moment(angles_at(opening, i), opening.points_mm[i], float(opening.opening_mm[i])),
        "tension": tension(pulls, _at(opening.slip_n, i)) | finger_tension(pulls),
        "slack_mm": dict.fromkeys(("central", "terminal"), slack),
        "recruited": recruited(_at(opening.recruited, i)),
        "current": min(1.0, float(opening.amplitude_ma[i]) / STRONGEST_MA),
    }


def run_moment(run: sim.Run, i: int) -> dict[str, Any]:
    """The hand at sample `i` of a run: what of the posture is known at every time."""
    angle = {joint: round(float(value[i]), 2) for joint, value in run.angle_deg.items()}
    return {
        **moment(angle, run.points_mm[i], float(run.opening_mm[i])),
        "tension": {"EDC": min(1.0, float(run.force_n["EDC"][i]) / _FULL_PULL_N)},
        "recruited": recruited({name: float(value[i]) for name, value in run.recruited.items()}),
        "current": float(run.current[0][i]) / STRONGEST_MA,
    }
