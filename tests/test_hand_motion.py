"""The hand in motion."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest

from graspwave.simulator.hand import ANGLES, changed, equilibrium, motion, motion_and_memory, opening, standard_hand
from graspwave.simulator.scene import Hand

HAND = Hand(flexor_length_factor=0.98)


def step_of(drive: float, seconds: float, dt_s: float) -> dict[str, np.ndarray]:
    return {"EDC": np.full((round(seconds / dt_s), 1), drive)}


@pytest.mark.parametrize("held", [None, 30.0])
def test_motion_ends_in_the_posture(held: float | None) -> None:
    hand = replace(HAND, wrist_held_deg=held)
    end = motion(hand, step_of(0.2, 20.0, 0.1), 0.1)[-1, 0]
    rest = equilibrium(hand, {"EDC": [0.2]}).angle_deg
    assert np.allclose(end, [rest[joint][0] for joint in ANGLES], atol=0.1)


def errors_deg(hand: Hand, steps: tuple[float, ...], fine: float) -> np.ndarray:
    """Error 0.12 s into a step of drive, by time step."""
    exact = motion(hand, step_of(0.2, 0.12, fine), fine)[-1, 0]
    return np.array([np.abs(motion(hand, step_of(0.2, 0.12, dt), dt)[-1, 0] - exact).max() for dt in steps])


def test_error_falls_in_proportion_to_the_time_step() -> None:
    errors = errors_deg(HAND, (0.012, 0.006, 0.003), 0.012 / 128)
    order = np.log2(errors[:-1] / errors[1:])
    assert (np.abs(order - 1.0) < 0.2).all(), errors


def test_other_friction_is_another_motion() -> None:
    """The twin of the order: against a hand that moves 10 % slower the error does not fall."""
    slow = changed(standard_hand(), friction__time_s=1.1 * standard_hand().friction.time_s)
    exact = motion(HAND, step_of(0.2, 0.12, 0.001), 0.001, model=slow)[-1, 0]
    errors = np.array([np.abs(motion(HAND, step_of(0.2, 0.12, dt), dt)[-1, 0] - exact).max() for dt in (0.006, 0.003)])
    assert abs(np.log2(errors[0] / errors[1]) - 1.0) > 0.2


def test_a_hand_opens_within_half_a_second() -> None:
    hand = Hand()
    angles = motion(hand, step_of(0.2, 3.0, 0.02), 0.02)[:, 0].T
    gap = opening(hand, dict(zip(ANGLES, angles, strict=True)))[0]
    rest = equilibrium(hand, {}).opening_mm[0]
    reached = 0.02 * (1 + np.flatnonzero(np.abs(gap - gap[-1]) > 0.1 * abs(gap[-1] - rest))[-1])
    assert 0.05 < reached < 0.5  # the muscle's own rise comes on top


def test_rows_move_on_their_own() -> None:
    rng = np.random.default_rng(5)
    drive = rng.uniform(0.0, 0.3, (30, 4))
    together = motion(HAND, {"EDC": drive}, 0.02)
    for row in range(4):
        assert np.allclose(together[:, [row]], motion(HAND, {"EDC": drive[:, [row]]}, 0.02), atol=1e-3)


def test_a_motion_can_be_cut_and_continued() -> None:
    drive = np.linspace(0.0, 0.3, 40)[:, None]
    whole = motion(HAND, {"EDC": drive}, 0.02)
    first = whole[19]
    posture = equilibrium(HAND, {})
    posture = replace(posture, angle_deg={joint: first[:, i] for i, joint in enumerate(ANGLES)})
    assert np.allclose(motion(HAND, {"EDC": drive[20:]}, 0.02, start=posture), whole[20:], atol=1e-3)


@pytest.mark.parametrize("hand", [HAND, replace(HAND, reflex_gain=1.0, finger_tone=0.004), replace(HAND, wrist_held_deg=10.0)])
def test_what_is_known_from_the_step_before_is_what_a_look_would_tell(hand: Hand) -> None:
    """A rise, a hold that ripples and a fall, in one motion and each step as a motion of its own, which knows nothing."""
    time = 0.02 * np.arange(150)
    level = 0.3 * np.clip(np.minimum(time / 0.5, (2.0 - time) / 0.5), 0.0, 1.0) * (1.0 + 0.02 * np.sin(9.0 * time))
    drive = {"EDC": level[:, None], "EDC_INDEX": 0.8 * level[:, None], "ECRL": 0.2 * level[:, None], "FDS": 0.1 * level[:, None]}

    def apart(scale: float) -> float:
        whole, memory, start, furthest = motion(hand, drive, 0.02), None, equilibrium(hand, {}), 0.0
        for i in range(level.size):
            one = {name: scale * value[i : i + 1] for name, value in drive.items()}
            angles, memory = motion_and_memory(hand, one, 0.02, start=start, memory=memory)
            start = replace(start, angle_deg={joint: angles[0, :, at] for at, joint in enumerate(ANGLES)})
            furthest = max(furthest, float(np.abs(angles[0] - whole[i]).max()))
        return furthest

    assert apart(1.0) < 0.02  # degrees; steps end within a hundredth of one, see `moving`
    assert apart(1.01) > 0.05  # twin: a hundredth more drive


def test_held_wrist_stays() -> None:
    angles = motion(replace(HAND, wrist_held_deg=-20.0), step_of(0.5, 0.5, 0.02), 0.02)
    assert np.allclose(angles[:, :, 0], -20.0)


def test_without_drive_the_hand_rests() -> None:
    angles = motion(HAND, step_of(0.0, 0.5, 0.02), 0.02)
    assert np.allclose(angles, angles[0], atol=1e-3)


@pytest.mark.parametrize(
    ("drive", "dt_s", "text"),
    [
        ({"EDC": np.zeros((3, 1))}, 0.0, "'dt_s' must be above 0 (got 0.0)"),
        ({"EDC": np.zeros(3)}, 0.1, "'drive' must hold arrays of one shape (steps, rows) (got EDC (3,))"),
        (
            {"EDC": np.zeros((3, 1)), "FDP": np.zeros((2, 1))},
            0.1,
            "'drive' must hold arrays of one shape (steps, rows) (got EDC (3, 1), FDP (2, 1))",
        ),
        ({}, 0.1, "'drive' must hold arrays of one shape (steps, rows) (got none)"),
    ],
)
def test_what_cannot_be_is_refused(drive: dict[str, np.ndarray], dt_s: float, text: str) -> None:
    with pytest.raises(ValueError, match=f"^{re.escape(text)}$"):
        motion(HAND, drive, dt_s)
