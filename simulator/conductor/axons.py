"""Pads on a limb -> the field that works on each motor axon's end.

The forearm's field comes from its solved maps. The upper arm, whose triceps only extends the elbow, is a half-space of muscle
under two square pads: it conducts along its fibres and across, but bone and a skin that conducts are not in it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from graspwave.simulator.conductor.pads import field_from_pads
from graspwave.simulator.conductor.places import OFFSETS, SHARE, UPPER_ARM, forearm_muscles, forearm_pools
from graspwave.simulator.facts import number
from graspwave.simulator.scene import Hand, Pads

__all__ = ["FieldAtAxons", "field_at_axons", "muscles_under"]

Array = NDArray[np.float64]

_HEADS = ("tri_long", "tri_lateral", "tri_medial")
_GRID = 6
"""Points a side that stand for a square pad; ten change the field by less than 1 %."""


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
    if pads.limb == "upper arm":
        heads = np.array([number(f"recruitment.head.{name}.share") for name in _HEADS])
        return FieldAtAxons(UPPER_ARM, size, facing, np.outer(heads / heads.sum(), SHARE).ravel())
    return FieldAtAxons(forearm_pools(), size, facing, SHARE)


def _upper_arm(pads: Pads, hand: Hand) -> tuple[Array, Array]:
    """Field along the limb and up to the skin, V/m and mA, shape (1, places), of two square pads on the plane that touches it.

    Muscle conducts along its fibres and across as in the forearm; bone, and a skin that conducts, are left out. Places are those
    of every head of the triceps.
    """
    length, radius = number("recruitment.limb.upper_arm_mm"), number("recruitment.limb.radius_upper_arm_mm")
    heads = [[number(f"recruitment.head.{name}.{key}") for name in _HEADS] for key in ("along_percent", "around_deg", "depth_mm")]
    along, around, depth = (np.repeat(column, OFFSETS.size) for column in heads)
    spread = np.tile(number("recruitment.axon.place_spread_mm") * OFFSETS, len(_HEADS))
    x = (along - pads.along_percent) / 100.0 * length + spread
    angle, inner = np.radians(around - pads.around_deg), radius - depth
    fat = hand.fat_mm - number("recruitment.tissue.fat_included_mm")
    y, z = inner * np.sin(angle), np.maximum(radius + fat - inner * np.cos(angle), 2.0)
    half, grid = 0.5 * pads.centres_mm, pads.side_mm * ((np.arange(_GRID) + 0.5) / _GRID - 0.5)
    sign = -1.0 if pads.swap else 1.0
    across = (y - grid[:, None])[:, None, :]
    found = np.zeros((2, x.size))
    for middle, way in ((-half, sign), (half, -sign)):
        from_points = _point_field((x - middle - grid[:, None])[None, :, :], across, z)
        found += way / _GRID**2 * np.stack([part.sum(axis=(0, 1)) for part in from_points])
    return found[0][None], found[1][None]


def _point_field(x_mm: Array, y_mm: Array, z_mm: Array) -> tuple[Array, Array]:
    """Field along and up to the skin, V/m, of 1 mA that enters at a point: minus the slope of
    `closed_forms.point_potential_v`."""
    along, across = number("conductor.tissue.muscle_along_s_m"), number("conductor.tissue.muscle_across_s_m")
    cube = (across * across * x_mm**2 + along * across * (y_mm**2 + z_mm**2)) ** 1.5
    size = 1e3 / (2.0 * math.pi * cube)
    return size * across * across * x_mm, -size * along * across * z_mm
