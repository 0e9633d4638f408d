"""The conductor's kernel against closed forms: point, disc and layer on a half-space, a bar between two plates.

Closed forms: textbooks of potential theory (memory, sure); the disc's table is worked out from its form. Tolerance 3 %:
the linear bricks used here are about that coarse three bricks from a source and better everywhere else.
"""

from __future__ import annotations

import math
from functools import cache

import numpy as np
import pytest

from graspwave.simulator.conductor.closed_forms import disc_field_v_m, disc_potential_v, layered_potential_v, point_potential_v
from graspwave.simulator.conductor.mesh import block_mesh, conduction, middles_mm
from graspwave.simulator.conductor.solve import Solver

PART = "Field"

TOLERANCE = 0.03
TURN = math.radians(2.0)


def stretched(first_mm: float, last_mm: float, cells: int, breaks: tuple[float, ...] = ()) -> np.ndarray:
    """Rising grid from 0 with steps that grow; `breaks` are forced to be grid lines."""
    grid = first_mm * np.expm1(np.linspace(0.0, 1.0, cells + 1) * np.log1p(last_mm / first_mm))
    for at in breaks:
        grid[np.argmin(np.abs(grid - at))] = at
    return grid


def wedge(z_mm: np.ndarray, r_mm: np.ndarray, electrode_mm: float = 0.0):
    """Two degrees of a round block; an electrode on its top is one node."""
    points = np.empty((len(z_mm), len(r_mm), 2, 3))
    points[..., 0] = z_mm[:, None, None]
    for k, turn in enumerate((-0.5 * TURN, 0.5 * TURN)):
        points[:, :, k, 1] = r_mm * math.cos(turn)
        points[:, :, k, 2] = r_mm * math.sin(turn)
    shared = np.repeat(np.arange(len(r_mm))[:, None], 2, axis=1) + np.zeros((len(z_mm), 1, 1), dtype=int)
    shared[0, r_mm <= electrode_mm + 1e-9] = 0
    return block_mesh(points, shared)


def solve_wedge(mesh, matrix, current_ma, edge_v):
    """Potentials for current into the first node, edges held; shape (z, r)."""
    edge = np.unique(np.concatenate([mesh.node[-1].ravel(), mesh.node[:, -1].ravel()]))
    entering = np.zeros(len(mesh.points_mm))
    entering[0] = current_ma * TURN / (2.0 * math.pi)
    at = mesh.points_mm[edge]
    fixed = edge_v(np.hypot(at[:, 1], at[:, 2]), at[:, 0])
    return Solver(matrix, mesh.slice_start, edge).potential_v(entering, fixed)[mesh.node[:, :, 0]]


@cache
def solved_disc(sigma=0.3, cells=48):
    a = 25.0
    # finest at the disc's edge
    inside = a * np.sin(0.5 * math.pi * np.linspace(0.0, 1.0, cells // 3))
    r = np.concatenate([inside, a + stretched(0.5, 1500.0, cells)[1:]])
    z = stretched(1.0, 1500.0, cells, (5.0, 10.0, 20.0, 50.0))
    mesh = wedge(z, r, a)
    matrix = conduction(mesh, np.full(len(mesh.cells), sigma))
    v = solve_wedge(mesh, matrix, 20.0, lambda r, z: 20.0 / (2.0 * math.pi * 0.3 * np.hypot(r, z)))
    return z, r, v


def check_disc(sigma):
    z, _, v = solved_disc(sigma)
    found = [v[np.searchsorted(z, depth - 1e-6), 0] for depth in (0.0, 5.0, 10.0, 20.0, 50.0)]
    np.testing.assert_allclose(found, [0.6667, 0.5829, 0.5052, 0.3803, 0.1968], rtol=TOLERANCE)


def test_disc_on_a_half_space(row):
    check_disc(0.3)
    z, r, v = solved_disc(0.3)
    for depth, wanted in zip((0.0, 5.0, 10.0, 20.0, 50.0), (0.6667, 0.5829, 0.5052, 0.3803, 0.1968), strict=True):
        row(f"potential under a disc of 50 mm, 20 mA, {depth:g} mm deep", v[np.searchsorted(z, depth - 1e-6), 0],
            wanted * (1.0 - TOLERANCE), wanted * (1.0 + TOLERANCE), published=wanted, unit="V", mark="derived",
            source="disc-textbook")
    # away from the edge of the disc, where the current density has no bound
    rows, columns = (z > 3.0) & (z < 100.0), r < 100.0
    expected = disc_potential_v(20.0, 25.0, 0.3, r[None, :], z[:, None])
    np.testing.assert_allclose(v[rows][:, columns], expected[rows][:, columns], rtol=TOLERANCE)


def test_disc_check_can_fail():
    with pytest.raises(AssertionError):
        check_disc(0.3 * 1.05)


def test_disc_table_is_the_closed_form():
    found = disc_potential_v(20.0, 25.0, 0.3, 0.0, np.array([0.0, 5.0, 10.0, 20.0, 50.0]))
    np.testing.assert_allclose(found, [0.6667, 0.5829, 0.5052, 0.3803, 0.1968], atol=6e-5)


def test_disc_field_is_the_slope_of_its_potential():
    x, y, z, h = np.array([10.0, 40.0]), np.array([3.0, -8.0]), np.array([6.0, 12.0]), 1e-4
    field = disc_field_v_m(25.0, 0.3, x, y, z)

    def v(dx=0.0, dy=0.0, dz=0.0):
        return disc_potential_v(1.0, 25.0, 0.3, np.hypot(x + dx, y + dy), z + dz)

    numeric = [-(v(dx=h) - v(dx=-h)), -(v(dy=h) - v(dy=-h)), v(dz=h) - v(dz=-h)]
    np.testing.assert_allclose(field, np.array(numeric) / (2e-3 * h), rtol=1e-5)


def layer_error(sigma_fat=0.03):
    fat, muscle, thick = 0.03, 0.3, 4.0
    z, r = stretched(0.6, 600.0, 56, (thick,)), stretched(0.6, 600.0, 56)
    mesh = wedge(z, r)
    matrix = conduction(mesh, np.where(middles_mm(mesh)[:, 0] < thick, sigma_fat, muscle))

    def edge(r, z):
        # in the thin layer far out the potential is that of the muscle below it
        return layered_potential_v(10.0, fat, muscle, thick, r, np.maximum(z, thick))

    v = solve_wedge(mesh, matrix, 10.0, edge)
    rows, columns = (z >= thick) & (z < 60.0), r < 60.0
    expected = layered_potential_v(10.0, fat, muscle, thick, r[None, columns], z[rows][:, None])
    return float(np.abs(v[rows][:, columns] / expected - 1.0).max())


def test_fat_over_muscle(row):
    row("worst error of the potential, fat over muscle, against the two-layer form", layer_error(), 0.0, TOLERANCE, unit="share",
        mark="memory hi", source="disc-textbook")


def test_fat_over_muscle_can_fail():
    assert layer_error(sigma_fat=0.06) > TOLERANCE


def anisotropic_error(cells, along=0.40):
    """Worst error round a point source on muscle whose fibres run along x, a quarter of the half-space."""
    grid = stretched(3.0, 100.0, cells)
    points = np.stack(np.meshgrid(grid, grid, grid, indexing="ij"), -1)
    mesh = block_mesh(points)
    whole = np.full(len(mesh.cells), 0.13)
    matrix = conduction(mesh, whole, np.full_like(whole, along))
    at = mesh.points_mm
    edge = np.flatnonzero(at.max(1) > 99.9)

    def form(at):
        return point_potential_v(5.0, 0.40, 0.13, at[:, 0], np.hypot(at[:, 1], at[:, 2]))

    entering = np.zeros(len(at))
    entering[0] = 5.0 / 4.0
    v = Solver(matrix, mesh.slice_start, edge).potential_v(entering, form(at[edge]))
    seen = (np.linalg.norm(at, axis=1) > 20.0) & (at.max(1) < 60.0)
    return float(np.abs(v[seen] / form(at[seen]) - 1.0).max())


def test_point_on_muscle_fibres_and_refinement(row):
    coarse, fine = anisotropic_error(8), anisotropic_error(15)
    row("worst error of the potential round a point on muscle fibres, against the closed form", fine, 0.0, TOLERANCE,
        unit="share", mark="memory hi", source="disc-textbook")
    # linear elements: a quarter for half the step; a half is asked for, as the steps are stretched
    assert fine < 0.5 * coarse


def test_point_on_muscle_fibres_can_fail():
    assert anisotropic_error(15, along=0.30) > TOLERANCE


def bar_ohm(sigma):
    """A bar of bent bricks, 100 mm long and 20 x 20 mm across, driven from plate to plate."""
    rng = np.random.default_rng(3)
    axes = np.linspace(0.0, 100.0, 11), np.linspace(0.0, 20.0, 5), np.linspace(0.0, 20.0, 5)
    points = np.stack(np.meshgrid(*axes, indexing="ij"), -1)
    points[1:-1, 1:-1, 1:-1] += rng.uniform(-1.0, 1.0, points[1:-1, 1:-1, 1:-1].shape)
    shared = np.arange(25).reshape(5, 5) + np.zeros((11, 1, 1), dtype=int)
    shared[[0, -1]] = 0
    mesh = block_mesh(points, shared)
    matrix = conduction(mesh, np.full(len(mesh.cells), sigma))
    current = np.zeros(len(mesh.points_mm))
    current[0], current[-1] = 1.0, -1.0
    v = Solver(matrix, mesh.slice_start).potential_v(current)
    return 1e3 * (v[0] - v[-1])


def test_bar_between_plates_is_exact():
    # linear potentials are within the elements, bent or not; round-off only
    assert bar_ohm(0.4) == pytest.approx(1e3 * 100.0 / (0.4 * 400.0), rel=1e-9)


def test_bar_check_can_fail():
    assert bar_ohm(0.42) != pytest.approx(1e3 * 100.0 / (0.4 * 400.0), rel=1e-2)
