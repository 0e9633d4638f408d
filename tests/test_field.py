"""Field of two discs on a half-space: its closed form, and what follows from place."""

from __future__ import annotations

import numpy as np

import simulator as sim
from simulator.field import _disc_field, disc_potential_v, field_at_axons

# Disc of radius 25 mm, 20 mA, 0.3 S/m: surface potential and that on the axis at 5, 10, 20, 50 mm. Worked out from the
# textbook form asin(2a/(...)), recalled (memory hi).
DEPTH_MM = np.array([0.0, 5.0, 10.0, 20.0, 50.0])
POTENTIAL_V = np.array([0.6667, 0.5829, 0.5052, 0.3803, 0.1968])


def off_by(potential: np.ndarray) -> float:
    return float(np.max(np.abs(potential / POTENTIAL_V - 1.0)))


def test_disc_on_its_axis() -> None:
    assert off_by(disc_potential_v(20.0, 25.0, np.zeros(5), DEPTH_MM)) < 2.6e-4  # half a unit of the last of four digits


def test_a_disc_of_the_wrong_size_would_be_found() -> None:
    assert off_by(disc_potential_v(20.0, 26.0, np.zeros(5), DEPTH_MM)) > 0.01


def test_far_from_the_disc_it_is_a_point() -> None:
    # V = I/(2 pi s r), point on a half-space (memory hi)
    r = np.array([500.0])
    point = 20.0 / (2.0 * np.pi * 0.3 * r)
    assert np.allclose(disc_potential_v(20.0, 25.0, r, np.zeros(1)), point, rtol=2e-3)


def test_field_is_the_slope_of_the_potential() -> None:
    x, z, h = np.array([3.0, 20.0, 40.0]), np.array([9.0, 12.0, 30.0]), 1e-4
    along, across, up = _disc_field(22.0, x, np.zeros(3), z)
    slope = (disc_potential_v(1.0, 22.0, x + h, z) - disc_potential_v(1.0, 22.0, x - h, z)) / (2 * h) * 1e3
    rise = (disc_potential_v(1.0, 22.0, x, z - h) - disc_potential_v(1.0, 22.0, x, z + h)) / (2 * h) * 1e3
    assert np.allclose(along, -slope, rtol=1e-6)
    assert np.allclose(up, -rise, rtol=1e-6)
    assert np.allclose(across, 0.0)


def test_swapping_leads_leaves_the_two_way_field_alone() -> None:
    scene = sim.presets()["supple"]
    pads = scene.channel[0].pads
    swapped = scene.replace("channel.0.pads.swap", True).channel[0].pads
    one, other = field_at_axons(pads, scene.hand), field_at_axons(swapped, scene.hand)
    assert np.allclose(one.either_way, other.either_way)
    assert not np.allclose(one.one_way, other.one_way)
