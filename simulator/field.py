"""Pads on a limb -> the electric field where each motor axon ends, for one milliampere.

The limb is a half-space of muscle under each pair of pads, with the pads as discs of the same area; closed form, so
pads can be moved at any rate. Fat, bone and anisotropy are not in it: a place is only as deep as its point lies below
the plane that touches the skin under the pads.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from simulator.facts import facts_under, number
from simulator.scene import Hand, Pads

__all__ = ["FieldAtAxons", "disc_potential_v", "field_at_axons", "muscles_under"]

Array = NDArray[np.float64]

_OFFSETS = np.array([-1.5, -0.75, 0.0, 0.75, 1.5])
_WEIGHTS = np.exp(-0.5 * _OFFSETS**2) / np.exp(-0.5 * _OFFSETS**2).sum()
"""Places along the limb, in standard deviations, that stand for a cloud of axon ends, and their shares."""

_UPPER_ARM = ("TRI",)


@dataclass(frozen=True, slots=True)
class FieldAtAxons:
    """Field at the axon ends of each muscle, volts per metre and milliampere.

    Attributes
    ----------
    muscles : tuple of str
    either_way : ndarray, shape (muscles, places)
        Field that works when each pad is the cathode once: its size, since a muscle's branches end in all directions.
    one_way : ndarray, shape (muscles, places)
        Field that works when only the one pad is the cathode.
    share : ndarray, shape (places,)
        Share of a muscle's axons at each place; sums to 1.
    """

    muscles: tuple[str, ...]
    either_way: Array
    one_way: Array
    share: Array


def disc_potential_v(current_ma: float, radius_mm: float, r_mm: Array, z_mm: Array) -> Array:
    """Potential of a disc of constant potential on a half-space.

    ``V = I/(2 pi s a) asin(2a/(sqrt((r-a)^2+z^2) + sqrt((r+a)^2+z^2)))`` (textbook; recalled, sure).

    Parameters
    ----------
    current_ma, radius_mm : float
    r_mm, z_mm : ndarray
        Distance from the axis and depth, broadcast together.

    Returns
    -------
    ndarray
        Volts against far away.
    """
    sigma = number("recruitment.tissue.conductivity_s_m")
    reach = np.hypot(r_mm - radius_mm, z_mm) + np.hypot(r_mm + radius_mm, z_mm)
    size = current_ma / (2.0 * math.pi * sigma * radius_mm)  # mA/(S/m mm) is a volt
    return np.asarray(size * np.arcsin(np.minimum(1.0, 2.0 * radius_mm / reach)), dtype=np.float64)


def muscles_under(pads: Pads) -> tuple[str, ...]:
    """Muscles that a pair of pads can reach, in the order of the tables."""
    names = dict.fromkeys(key.split(".")[0].upper() for key in facts_under("recruitment.place"))
    return tuple(name for name in names if (name in _UPPER_ARM) == (pads.limb == "upper arm"))


def field_at_axons(pads: Pads, hand: Hand) -> FieldAtAxons:
    """Field of a pair of pads at the axon ends of every muscle of the limb.

    Parameters
    ----------
    pads : Pads
    hand : Hand
        Its fat lies over every axon: more than the depths were recalled for moves them all down.

    Returns
    -------
    FieldAtAxons
    """
    muscles = muscles_under(pads)
    x, y, z = _places_mm(pads, hand, muscles)
    radius = 10.0 * math.sqrt(pads.size_cm2 / math.pi)
    half = 0.5 * pads.centres_mm
    near = _disc_field(radius, x + half, y, z)
    far = _disc_field(radius, x - half, y, z)
    sign = -1.0 if pads.swap else 1.0
    # the far pad is the cathode of the first phase: the field runs from near to far
    along, _, up = (sign * (n - f) for n, f in zip(near, far, strict=True))
    size = np.hypot(along, up)
    anode = number("recruitment.axon.anode_ratio")
    one_way = np.where(up > 0.0, size, np.maximum(np.abs(along), size / anode))
    return FieldAtAxons(muscles, size, one_way, _WEIGHTS)


def _places_mm(pads: Pads, hand: Hand, muscles: tuple[str, ...]) -> tuple[Array, Array, Array]:
    """Axon ends in the frame of the pads: along from their middle, across, and down; shape (muscles, places)."""
    place = facts_under("recruitment.place")

    def column(key: str) -> Array:
        return np.array([place[f"{name.lower()}.{key}"].value for name in muscles])[:, None]

    limb = facts_under("recruitment.limb")
    length = float(limb["upper_arm_mm" if pads.limb == "upper arm" else "forearm_mm"].value)
    along_mm = column("along_percent") / 100.0 * length + number("recruitment.axon.place_spread_mm") * _OFFSETS
    fat = hand.fat_mm - number("recruitment.tissue.fat_included_mm")
    radius = _radius_mm(pads, along_mm / length) + fat
    inner = radius - column("depth_mm") - fat
    angle = np.radians(column("around_deg") - pads.around_deg)
    skin = _radius_mm(pads, np.asarray(pads.along_percent / 100.0)) + fat
    x = along_mm - pads.along_percent / 100.0 * length
    return x, inner * np.sin(angle), np.maximum(skin - inner * np.cos(angle), 2.0)


def _radius_mm(pads: Pads, fraction: Array) -> Array:
    limb = facts_under("recruitment.limb")
    if pads.limb == "upper arm":
        return np.full_like(fraction, float(limb["radius_upper_arm_mm"].value))
    elbow, wrist = float(limb["radius_elbow_mm"].value), float(limb["radius_wrist_mm"].value)
    return np.asarray(elbow + (wrist - elbow) * np.clip((fraction - 0.2) / 0.8, 0.0, 1.0), dtype=np.float64)


def _disc_field(radius: float, x: Array, y: Array, z: Array) -> tuple[Array, Array, Array]:
    """-grad of `disc_potential_v` for 1 mA, V/m along x, y and up to the skin."""
    r = np.maximum(np.hypot(x, y), 1e-9)
    near, far = np.hypot(r - radius, z), np.hypot(r + radius, z)
    reach = near + far
    size = 1.0 / (2.0 * math.pi * number("recruitment.tissue.conductivity_s_m") * radius)
    slope = -size * 2.0 * radius / (reach * np.sqrt(np.maximum(reach**2 - 4.0 * radius**2, 1e-12)))
    outward = -slope * ((r - radius) / near + (r + radius) / far)
    down = -slope * (z / near + z / far)
    return 1e3 * outward * x / r, 1e3 * outward * y / r, -1e3 * down
