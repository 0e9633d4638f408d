"""Pads on the forearm -> the field where each motor axon ends, from the shipped maps.

A pad gives off its current evenly over its area (its gel sees to that), so its field is the mean of the maps there,
and a pair's field the difference of two means. Nothing is solved, so pads can be dragged.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from graspwave.simulator.conductor.places import MAPS, limb_radius_mm
from graspwave.simulator.facts import number
from graspwave.simulator.scene import Hand, Pads

__all__ = ["Maps", "field_from_pads", "shipped_maps"]

Array = NDArray[np.float64]

_SAMPLES = 8
"""Points along each side of a pad: its mean is then as fine as the skin's grid for all but the largest."""


@dataclass(frozen=True, slots=True)
class Maps:
    """Sensitivity of every axon end to current that enters the skin, as sums of shared shapes.

    Attributes
    ----------
    digest : str
        Fingerprint of the numbers they were solved with.
    muscles : tuple of str
    fats_mm : ndarray, shape (fats,)
    x_mm, around_rad : ndarray
        Grid of the skin.
    shape : ndarray, shape (x * around, shapes)
    part : ndarray, shape (fats, 2, muscles, places, shapes)
        V/m per mA; along the limb, then towards the skin.
    """

    digest: str
    muscles: tuple[str, ...]
    fats_mm: Array
    x_mm: Array
    around_rad: Array
    shape: Array
    part: Array


@cache
def shipped_maps() -> Maps:
    """The maps beside this module; OSError where they have not been made."""
    with np.load(MAPS) as held:
        shape = held["shape"].astype(np.float64)
        return Maps(
            str(held["digest"]),
            tuple(str(name) for name in held["muscles"]),
            held["fats_mm"],
            held["x_mm"],
            held["around_rad"],
            np.ascontiguousarray(shape.reshape(len(shape), -1).T),
            held["part"].astype(np.float64),
        )


def field_from_pads(pads: Pads, hand: Hand, maps: Maps | None = None) -> tuple[Array, Array]:
    """Field at the axon ends for 1 mA that enters at the near (elbow) pad and leaves at the far one.

    Parameters
    ----------
    pads : Pads
        On the forearm; `swap` turns the field round. Square, wrapped on the skin. What would hang over past the
        model's ends, 9 cm beyond elbow and wrist, is laid on its last ring.
    hand : Hand
        Fat between the solved thicknesses is interpolated by the polynomial through all of them.
    maps : Maps, optional
        Other maps than the shipped ones.

    Returns
    -------
    along_v_m, up_v_m : ndarray, shape (muscles, places)
        Along the limb to the wrist, and towards the skin that lies over the axon's end.

    Raises
    ------
    ValueError
        The pads lie on the upper arm, which has no maps.
    """
    if pads.limb != "forearm":
        raise ValueError(f"'pads.limb' must be forearm (got {pads.limb!r}): the upper arm is not solved")
    maps = maps or shipped_maps()
    middle = pads.along_percent / 100.0 * number("recruitment.limb.forearm_mm")
    half = 0.5 * pads.centres_mm
    near, far = (_pad_shapes(maps, pads, hand, middle + sign * half) for sign in (-1.0, 1.0))
    seen = (far - near if pads.swap else near - far) @ maps.part.reshape(-1, maps.part.shape[-1]).T
    along, up = np.tensordot(_fat_weights(maps.fats_mm, hand.fat_mm), seen.reshape(maps.part.shape[:-1]), 1)
    return along, up


def _pad_shapes(maps: Maps, pads: Pads, hand: Hand, middle_mm: float) -> Array:
    """Mean of every shape over one pad; a round pad is a disc of the same area, wrapped on the skin."""
    width = pads.side_mm
    across = width * ((np.arange(_SAMPLES) + 0.5) / _SAMPLES - 0.5)
    x = np.clip(middle_mm + across, maps.x_mm[0], maps.x_mm[-1])
    skin = limb_radius_mm(np.array(middle_mm)) - number("recruitment.tissue.fat_included_mm") + hand.fat_mm
    angle = (math.radians(pads.around_deg) + across / skin) % (2.0 * math.pi)
    i = np.clip(np.searchsorted(maps.x_mm, x, side="right") - 1, 0, len(maps.x_mm) - 2)
    fi = (x - maps.x_mm[i]) / (maps.x_mm[i + 1] - maps.x_mm[i])
    turn = angle / maps.around_rad[1]
    k = np.floor(turn).astype(np.int64)
    fk, n = turn - k, len(maps.around_rad)
    # each sample line hands its weight to its two neighbours of the grid
    along, around = np.zeros((_SAMPLES, len(maps.x_mm))), np.zeros((_SAMPLES, n))
    line = np.arange(_SAMPLES)
    np.add.at(along, (line, i), 1.0 - fi)
    np.add.at(along, (line, i + 1), fi)
    np.add.at(around, (line, k % n), 1.0 - fk)
    np.add.at(around, (line, (k + 1) % n), fk)
    inside = np.ones((_SAMPLES, _SAMPLES)) if pads.shape == "square" else np.hypot(*np.meshgrid(across, across)) <= 0.5 * width
    rows, columns = np.flatnonzero(along.any(axis=0)), np.flatnonzero(around.any(axis=0))
    weight = along[:, rows].T @ (inside / inside.sum()) @ around[:, columns]
    return np.asarray(weight.ravel() @ maps.shape[(rows[:, None] * n + columns).ravel()])


def _fat_weights(fats_mm: Array, fat_mm: float) -> Array:
    """Lagrange's weights of the solved thicknesses; ends are held."""
    at = float(np.clip(fat_mm, fats_mm[0], fats_mm[-1]))
    return np.array([
        math.prod((at - other) / (fat - other) for other in fats_mm if other != fat) for fat in fats_mm
    ])
