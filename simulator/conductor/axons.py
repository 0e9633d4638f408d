"""Pads on a limb -> the field that works on each motor axon's end.

The forearm's field comes from its solved maps. The upper arm, whose triceps only extends the elbow, is a uniform
half-space under two discs of the pads' area: fat, bone and fibres are not in it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from graspwave.simulator.conductor.closed_forms import disc_field_v_m
from graspwave.simulator.conductor.pads import field_from_pads
from graspwave.simulator.conductor.places import OFFSETS, SHARE, UPPER_ARM, forearm_muscles, forearm_pools, place_column
from graspwave.simulator.facts import number
from graspwave.simulator.scene import Hand, Pads

__all__ = ["FieldAtAxons", "field_at_axons", "muscles_under"]

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class FieldAtAxons:
    """Field at the axon ends of each muscle, volts per metre and milliampere.

    Attributes
    ----------
    muscles : tuple of str
        Pools of axons: the muscles, and the finger extensor's slips after them.
    either_way : ndarray, shape (muscles, places)
        Field that works when each pad is the cathode once: its size, since a muscle's branches end in all directions.
    facing : ndarray, shape (muscles, places)
        Field along those ends that the first phase wakes as a cathode does.
    share : ndarray, shape (places,)
        Share of a muscle's axons at each place; sums to 1.
    """

    muscles: tuple[str, ...]
    either_way: Array
    facing: Array
    share: Array

    @property
    def one_way(self) -> Array:
        """Field that works when only the one pad is the cathode: where no end faces it, by the share of the anode."""
        return np.asarray(np.maximum(self.facing, self.either_way / number("axon.use.anode_ratio")))


def muscles_under(pads: Pads) -> tuple[str, ...]:
    """Muscles that a pair of pads can reach, in the order of the tables."""
    return UPPER_ARM if pads.limb == "upper arm" else forearm_muscles()


def field_at_axons(pads: Pads, hand: Hand) -> FieldAtAxons:
    """Field of a pair of pads at the axon ends of every muscle of the limb.

    Axons enter muscles on their deep side and end nearer the skin. An end fires where the field points along it, so
    one that points to the skin (under the cathode) works in full, one that points away by the share of the anode.

    Parameters
    ----------
    pads : Pads
    hand : Hand
        Its fat lies over every axon and spreads the current.

    Returns
    -------
    FieldAtAxons
    """
    along, up = _upper_arm(pads, hand) if pads.limb == "upper arm" else field_from_pads(pads, hand)
    size = np.hypot(along, up)
    facing = np.where(up > 0.0, size, np.abs(along))
    pools = UPPER_ARM if pads.limb == "upper arm" else forearm_pools()
    return FieldAtAxons(pools, size, facing, SHARE)


def _upper_arm(pads: Pads, hand: Hand) -> tuple[Array, Array]:
    """Field along the limb and up to the skin, V/m and mA, of two discs on the plane that touches it under the pads."""
    length, radius = number("recruitment.limb.upper_arm_mm"), number("recruitment.limb.radius_upper_arm_mm")
    along = place_column(UPPER_ARM, "along_percent") / 100.0 * length
    x = along + number("recruitment.axon.place_spread_mm") * OFFSETS - pads.along_percent / 100.0 * length
    angle = np.radians(place_column(UPPER_ARM, "around_deg") - pads.around_deg) + 0.0 * x
    inner = radius - place_column(UPPER_ARM, "depth_mm")
    fat = hand.fat_mm - number("recruitment.tissue.fat_included_mm")
    y, z = inner * np.sin(angle), np.maximum(radius + fat - inner * np.cos(angle), 2.0)
    disc, half = 10.0 * math.sqrt(pads.size_cm2 / math.pi), 0.5 * pads.centres_mm
    sigma = number("recruitment.tissue.conductivity_s_m")
    near, far = disc_field_v_m(disc, sigma, x + half, y, z), disc_field_v_m(disc, sigma, x - half, y, z)
    sign = -1.0 if pads.swap else 1.0
    return sign * (near[0] - far[0]), sign * (near[2] - far[2])
