"""The potential of the hand: its derivatives, its symmetry, and where its torques come from."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from hand_potential import potential, sample, slope_misses

from graspwave.simulator.hand import ANGLES, FINGERS, HandModel, changed, scene_hand, standard_hand
from graspwave.simulator.hand.layout import PATHS, Constants, constants_of
from graspwave.simulator.hand.settling import descend
from graspwave.simulator.hand.tendons import path_of, share_of_slips

WITHIN = 1e-7  # relative to the largest entry: rounding over the step is 1e-10, a wrong term is 1e-3 or more


def tight(model: HandModel) -> Constants:
    return constants_of(model, 0.95, 180.0, 1.0, 0.7, True)


def test_gradient_and_hessian_are_the_slopes_of_the_potential() -> None:
    constants = tight(scene_hand())
    first, second = slope_misses(constants, constants)
    assert first < WITHIN
    assert second < WITHIN


@pytest.mark.parametrize("name", ["hood__slack", "edc__wrist_arm_mm", "fdp__passive_rate", "mcp__extension_fold_deg"])
def test_slopes_of_another_hand_fail(name: str) -> None:
    section, field = name.split("__")
    model = scene_hand()
    other = changed(model, **{name: 1.02 * getattr(getattr(model, section), field)})
    assert min(slope_misses(tight(model), tight(other))) > WITHIN


@pytest.mark.parametrize("name", ["juncture_n_mm", "web_nmm_rad"])
def test_slopes_without_a_tie_between_neighbours_fail(name: str) -> None:
    other = changed(scene_hand(), **{f"neighbours__{name}": (0.0, 0.0, 0.0)})
    assert min(slope_misses(tight(scene_hand()), tight(other))) > WITHIN


def test_stiffness_is_symmetric_and_fingers_further_apart_do_not_couple() -> None:
    _, _, hessian = potential(tight(scene_hand()), *sample())
    assert np.abs(hessian - hessian.swapaxes(1, 2)).max() < 1e-12 * np.abs(hessian).max()
    index, ring = slice(1, 4), slice(7, 10)
    assert np.all(hessian[:, index, ring] == 0.0)
    assert np.abs(hessian[:, index, 4:7]).max() > 0.0


def test_the_share_of_the_slips_pays_at_the_mcp() -> None:
    """Leave out the term the share makes at the MCP and the tendon's path round a closed loop is no longer zero."""

    def loop_mm(with_term: bool) -> float:
        turn = np.linspace(0.0, 2 * np.pi, 2001)
        q = np.zeros((turn.size, len(ANGLES)))
        mcp, pip = ANGLES.index("MCP"), ANGLES.index("PIP")
        q[:, mcp], q[:, pip] = -0.2 + 0.3 * np.cos(turn), 0.9 + 0.6 * np.sin(turn)
        column = PATHS.index("middle.EDC")
        slope = path_of(standard_hand(), q)[1][:, column].copy()
        if not with_term:
            straight = q.copy()
            straight[:, pip] = 0.0
            slope[:, mcp] = path_of(standard_hand(), straight)[1][:, column, mcp]
        return abs(float((0.5 * (slope[:-1] + slope[1:]) * np.diff(q, axis=0)).sum()))

    assert loop_mm(True) < 1e-4
    assert loop_mm(False) > 0.1


def test_share_falls_on_both_sides() -> None:
    at = np.radians(np.linspace(-20.0, 60.0, 81))
    share, first, second = share_of_slips(standard_hand(), at)
    hood = standard_hand().hood
    up, down = (1.0 / (1.0 + np.exp(-x)) for x in (
        (at - hood.flexed_at_rad) / hood.flexed_width_rad, (hood.slack_at_rad - at) / hood.slack_width_rad
    ))
    assert np.allclose(share, hood.share * (1.0 - hood.flexed_loss * up) * (1.0 - hood.slack * down))
    most = int(np.argmax(share))  # at a straight knuckle or a little bent; from there less at each degree to either side
    assert 0.0 <= np.degrees(at[most]) <= 30.0
    assert (np.diff(share[: most + 1]) > 0.0).all()
    assert (np.diff(share[most:]) < 0.0).all()
    step = 1e-5
    around = [share_of_slips(standard_hand(), np.radians([-9.0]) + d) for d in (-step, 0.0, step)]
    assert np.isclose((around[2][0] - around[0][0]) / (2 * step), around[1][1], rtol=1e-6)
    assert np.isclose((around[2][1] - around[0][1]) / (2 * step), around[1][2], rtol=1e-6)
    assert first.shape == second.shape == share.shape


def test_a_muscle_pulls_by_its_arm() -> None:
    q, drive, _, _ = sample(5)
    model = standard_hand()
    constants = constants_of(model, 0.95, 180.0, 1.0)
    slope = path_of(model, q)[1]
    for path in range(len(PATHS)):
        pull = np.zeros((5, len(PATHS)))
        pull[:, path] = 3.0
        extra = potential(constants, q, drive, pull)[1] - potential(constants, q, drive)[1]
        assert np.allclose(extra, 3.0 * slope[:, path], rtol=1e-9, atol=1e-7)


def test_gravity_turns_with_the_forearm() -> None:
    q, drive, _, _ = sample(4)
    values = [potential(constants_of(standard_hand(), 1.0, 191.0, g), q, drive)[1] for g in (1.0, 0.0, -1.0)]
    assert np.allclose(values[0] - values[1], values[1] - values[2])
    straight = np.zeros((1, len(ANGLES)))
    level, weightless = (potential(constants_of(standard_hand(), 1.0, 191.0, g), straight)[1][0, 0] for g in (1.0, 0.0))
    assert np.isclose(weightless - level, 280.0, rtol=0.03)  # 0.28 N m of a level hand


def test_far_outside_the_range_nothing_overflows() -> None:
    q = np.array([[3.0, *[3.0, 6.0, 3.0] * 4], [-3.0] * 13])
    assert all(np.isfinite(part).all() for part in potential(tight(scene_hand()), q, np.ones((2, len(PATHS)))))


def test_neighbours_do_not_load_the_hand_at_rest() -> None:
    """With its wrist straight the relaxed supple hand rests as its fingers would apart."""
    from graspwave.simulator.hand import relaxed_posture
    from graspwave.simulator.scene import Hand

    apart = changed(standard_hand(), neighbours__juncture_n_mm=(0.0,) * 3, neighbours__web_nmm_rad=(0.0,) * 3)
    one, two = (relaxed_posture(Hand(), 0.0, model=m) for m in (standard_hand(), apart))
    assert all(one[joint] == pytest.approx(two[joint], abs=5e-3) for joint in ANGLES)  # what the walk leaves
    bent = [relaxed_posture(Hand(), -60.0, model=m) for m in (standard_hand(), apart)]
    assert max(abs(bent[0][joint] - bent[1][joint]) for joint in ANGLES) > 0.1  # twin


def test_walk_gives_up_and_says_so() -> None:
    rest = descend(tight(standard_hand()), np.zeros((3, len(ANGLES))), np.full((3, len(PATHS)), 0.2), most=2)
    assert rest.rows_left == 3
    assert rest.iterations == 2
    assert (rest.residual_nmm > 1e-3).all()


def test_every_finger_has_its_paths() -> None:
    assert [path for path in PATHS if path.endswith("EDC")] == [f"{finger}.EDC" for finger in FINGERS]
    assert dataclasses.is_dataclass(standard_hand())
