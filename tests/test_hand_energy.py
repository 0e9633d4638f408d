"""The potential of the hand: its derivatives, its symmetry, and where its torques come from."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from graspwave.simulator.hand import MUSCLES, HandModel, changed, standard_hand
from graspwave.simulator.hand.energy import Constants, constants_of, energy_of
from graspwave.simulator.hand.newton import descend
from graspwave.simulator.hand.tendons import path_of, share_of_slips

STEP_RAD = 1e-5
WITHIN = 1e-7  # relative to the largest entry: rounding over the step is 1e-10, a wrong term is 1e-3 or more


def sample(n: int = 60) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    rng = np.random.default_rng(7)
    low, high = np.array([[-1.0, -0.5, -0.2, -0.2], [1.0, 1.4, 1.9, 1.0]])
    return rng.uniform(low, high, (n, 4)).T, rng.uniform(0.0, 1.0, (8, n)), rng.uniform(0.0, 5.0, (8, n))


def tight(model: HandModel) -> Constants:
    return constants_of(model, 0.95, 180.0, 1.0)


def derivative_misses(constants: Constants, slopes: Constants) -> tuple[float, float]:
    """Largest relative miss of gradient and Hessian of `slopes` against differences of `constants`."""
    q, drive, pull = sample()
    here = energy_of(slopes, q, drive, pull)
    first = second = 0.0
    for j in range(4):
        step = np.zeros((4, 1))
        step[j] = STEP_RAD
        up, down = energy_of(constants, q + step, drive, pull), energy_of(constants, q - step, drive, pull)
        first = max(first, np.abs((up.value - down.value) / (2 * STEP_RAD) - here.gradient[j]).max())
        second = max(second, np.abs((up.gradient - down.gradient) / (2 * STEP_RAD) - here.hessian[j]).max())
    return first / np.abs(here.gradient).max(), second / np.abs(here.hessian).max()


def test_gradient_and_hessian_are_the_slopes_of_the_potential() -> None:
    constants = tight(standard_hand())
    first, second = derivative_misses(constants, constants)
    assert first < WITHIN
    assert second < WITHIN


@pytest.mark.parametrize("name", ["hood__slack", "edc__wrist_arm_mm", "fdp__passive_rate", "mcp__extension_fold_deg"])
def test_slopes_of_another_hand_fail(name: str) -> None:
    section, field = name.split("__")
    other = changed(standard_hand(), **{name: 1.02 * getattr(getattr(standard_hand(), section), field)})
    first, second = derivative_misses(tight(standard_hand()), tight(other))
    assert min(first, second) > WITHIN


def test_stiffness_is_symmetric() -> None:
    q, drive, pull = sample()
    hessian = energy_of(tight(standard_hand()), q, drive, pull).hessian
    assert np.abs(hessian - hessian.swapaxes(0, 1)).max() < 1e-12 * np.abs(hessian).max()


def test_the_share_of_the_slips_pays_at_the_mcp() -> None:
    """Leave out the term the share makes at the MCP and the tendon's path round a closed loop is no longer zero."""

    def loop_mm(with_term: bool) -> float:
        turn = np.linspace(0.0, 2 * np.pi, 2001)
        q = np.zeros((4, turn.size))
        q[1], q[2] = -0.2 + 0.3 * np.cos(turn), 0.9 + 0.6 * np.sin(turn)
        slope = path_of(standard_hand(), q).slope_mm[0].copy()
        if not with_term:
            straight = q.copy()
            straight[2:] = 0.0
            slope[1] = path_of(standard_hand(), straight).slope_mm[0, 1]
        return abs(float((0.5 * (slope[:, :-1] + slope[:, 1:]) * np.diff(q, axis=1)).sum()))

    assert loop_mm(True) < 1e-4
    assert loop_mm(False) > 0.1


def test_share_falls_on_both_sides() -> None:
    share, first, second = share_of_slips(standard_hand(), np.radians([-20.0, -10.0, 0.0, 30.0, 60.0]))
    assert np.allclose(share, [0.50, 0.66, 0.82, 0.89, 0.70], atol=0.01)  # worked by hand from the logistic shares
    step = 1e-5
    around = [share_of_slips(standard_hand(), np.radians([-9.0]) + d) for d in (-step, 0.0, step)]
    assert np.isclose((around[2][0] - around[0][0]) / (2 * step), around[1][1], rtol=1e-6)
    assert np.isclose((around[2][1] - around[0][1]) / (2 * step), around[1][2], rtol=1e-6)
    assert first.shape == second.shape == share.shape


def test_a_muscle_pulls_by_its_arm() -> None:
    q, drive, _ = sample(5)
    constants = tight(standard_hand())
    for row in range(len(MUSCLES) - 2):
        pull = np.zeros((8, 5))
        pull[row] = 3.0
        extra = energy_of(constants, q, drive, pull).gradient - energy_of(constants, q, drive).gradient
        expected = constants.rays[row] * 3.0 * path_of(constants.model, q).slope_mm[row]
        assert np.allclose(extra, expected, rtol=1e-9, atol=1e-7)


def test_gravity_turns_with_the_forearm() -> None:
    q, drive, _ = sample(4)
    values = [energy_of(constants_of(standard_hand(), 1.0, 191.0, g), q, drive).gradient for g in (1.0, 0.0, -1.0)]
    assert np.allclose(values[0] - values[1], values[1] - values[2])
    level = energy_of(constants_of(standard_hand(), 1.0, 191.0, 1.0), np.zeros((4, 1)), np.zeros((8, 1))).gradient
    weightless = energy_of(constants_of(standard_hand(), 1.0, 191.0, 0.0), np.zeros((4, 1)), np.zeros((8, 1))).gradient
    assert np.isclose((weightless - level)[0, 0], 280.0, rtol=0.02)  # 0.28 N m of a level hand


def test_far_outside_the_range_nothing_overflows() -> None:
    q = np.array([[3.0, -3.0], [3.0, -3.0], [6.0, -3.0], [3.0, -3.0]])
    energy = energy_of(tight(standard_hand()), q, np.ones((8, 2)))
    assert all(np.isfinite(part).all() for part in energy)


def test_walk_gives_up_and_says_so() -> None:
    rest = descend(tight(standard_hand()), np.zeros((4, 3)), np.full((8, 3), 0.2), most=2)
    assert rest.rows_left == 3
    assert rest.iterations == 2
    assert (rest.residual_nmm > 1e-3).all()


def test_constants_are_frozen() -> None:
    with pytest.raises(dataclasses.FrozenInstanceError):
        tight(standard_hand()).rate = np.zeros(1)  # type: ignore[misc]
