"""Random hands and loads, for the check that a posture is always found."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from graspwave.simulator.hand import ANGLES, FREE_MUSCLES, MUSCLES, THUMB_MUSCLES, equilibrium, scene_hand
from graspwave.simulator.scene import Hand

RESIDUAL_NM = 1e-4
LOWEST_DEG = np.array([-80.0, *[-50.0, -35.0, -35.0] * 4])[:, None]  # past the range by the give of the stops under full force
HIGHEST_DEG = np.array([92.0, *[105.0, 125.0, 85.0] * 4])[:, None]
ROWS = 50
SLIPS = ("EDC_INDEX", "EDC_MIDDLE", "EDC_RING", "EDC_LITTLE")


@dataclass(frozen=True)
class Found:
    """What came of it."""

    hands: int
    left: int
    residual_nm: float
    outside: int
    iterations: int


def settle(hands: int, seed: int, *, most_drive: float = 1.0) -> Found:
    """Postures of `hands` hands, in groups of 50 loads."""
    rng = np.random.default_rng(seed)
    left = outside = iterations = 0
    residual = 0.0
    for k in range(hands // ROWS):
        hand = Hand(
            flexor_length_factor=rng.uniform(0.90, 1.05), finger_tone=rng.uniform(0.0, 0.05),
            wrist_tone=rng.uniform(0.0, 0.10), hand_length_mm=rng.uniform(150.0, 220.0),
            help_opening=rng.choice([0.0, rng.uniform(0.0, 1.0)]), forearm=("pronated", "neutral", "supinated")[k % 3],
            wrist_held_deg=None if k % 2 else rng.uniform(-70.0, 75.0), wrist_rests=k % 4 == 1,
        )  # fmt: skip
        drive = {m: most_drive * rng.uniform(0.0, 1.0, ROWS) ** 2 for m in (*MUSCLES, *FREE_MUSCLES, *SLIPS, *THUMB_MUSCLES)}
        posture = equilibrium(hand, drive, model=scene_hand())
        angle = np.array([posture.angle_deg[joint] for joint in ANGLES])
        left += posture.rows_left
        outside += int(((angle < LOWEST_DEG) | (angle > HIGHEST_DEG)).any(axis=0).sum())
        residual = max(residual, float(posture.residual_nmm.max()) / 1000.0)
        iterations = max(iterations, posture.iterations)
    return Found(hands // ROWS * ROWS, left, residual, outside, iterations)
