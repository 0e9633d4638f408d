"""Where motor axons end in the forearm, and a digest of all that the solved maps rest on."""

from __future__ import annotations

import hashlib
from functools import cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from graspwave.simulator.facts import facts_under, number

__all__ = [
    "MAPS",
    "OFFSETS",
    "SHARE",
    "UPPER_ARM",
    "axon_ends_mm",
    "digest",
    "finger_slips",
    "forearm_muscles",
    "forearm_pools",
    "limb_radius_mm",
    "place_column",
]

Array = NDArray[np.float64]

MAPS = Path(__file__).with_name("maps.npz")
"""The shipped maps."""

OFFSETS = np.array([-1.5, -0.75, 0.0, 0.75, 1.5])
SHARE = np.exp(-0.5 * OFFSETS**2) / np.exp(-0.5 * OFFSETS**2).sum()
"""Share of a muscle's axons at places so many standard deviations along the limb from their middle."""

UPPER_ARM = ("TRI",)


def limb_radius_mm(x_mm: Array) -> Array:
    """Radius of the skin of a forearm whose fat is the one the depths were recalled for.

    Parameters
    ----------
    x_mm : ndarray
        From the outer elbow towards the wrist. Straight taper from 20 % of the forearm to the wrist, round beyond.
    """
    elbow, wrist = number("recruitment.limb.radius_elbow_mm"), number("recruitment.limb.radius_wrist_mm")
    share = np.clip((x_mm / number("recruitment.limb.forearm_mm") - 0.2) / 0.8, 0.0, 1.0)
    return np.asarray(elbow + (wrist - elbow) * share)


@cache
def forearm_muscles() -> tuple[str, ...]:
    """Muscles of the forearm in the order of the tables."""
    names = dict.fromkeys(key.split(".")[0].upper() for key in facts_under("recruitment.place"))
    return tuple(name for name in names if name not in UPPER_ARM)


@cache
def finger_slips() -> tuple[str, ...]:
    """Pools of the finger extensor, one to a finger."""
    return tuple(dict.fromkeys(key.split(".")[0].upper() for key in facts_under("recruitment.slip")))


def forearm_pools() -> tuple[str, ...]:
    """All pools of motor axons that the maps hold: the muscles, then the slips."""
    return (*forearm_muscles(), *finger_slips())


def place_column(pools: tuple[str, ...], key: str) -> Array:
    """One number of each pool's place, shape (pools, 1)."""
    table = {name: "slip" if name in finger_slips() else "place" for name in pools}
    return np.array([[number(f"recruitment.{table[name]}.{name.lower()}.{key}")] for name in pools])


def axon_ends_mm(muscles: tuple[str, ...] | None = None) -> tuple[Array, Array, Array]:
    """Axon ends of the forearm, along the limb, angle round it and distance from its axis.

    Returns
    -------
    x_mm, around_rad, out_mm : ndarray, shape (muscles, places)
        Fixed in the muscle: fat lies over them and moves none.
    """
    muscles = muscles or forearm_pools()
    middle = place_column(muscles, "along_percent") / 100.0 * number("recruitment.limb.forearm_mm")
    x = middle + number("recruitment.axon.place_spread_mm") * OFFSETS
    around = np.broadcast_to(np.radians(place_column(muscles, "around_deg")), x.shape)
    return x, around, limb_radius_mm(x) - place_column(muscles, "depth_mm")


def digest() -> str:
    """Fingerprint of every number the maps depend on; maps with another one must be made again."""
    rows = [f"{name}={fact.value}" for name, fact in sorted(facts_under("conductor").items())]
    limb = facts_under("recruitment.limb").items()
    rows += [f"{name}={fact.value}" for name, fact in sorted(limb) if "upper_arm" not in name]
    rows.append(f"{number('recruitment.tissue.fat_included_mm')}")
    ends = "|".join(f"{value:.3f}" for column in axon_ends_mm() for value in column.ravel())
    return hashlib.sha256("\n".join([*rows, *forearm_pools(), ends]).encode()).hexdigest()[:16]
