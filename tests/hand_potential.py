"""The hand's potential at postures, for tests of its slopes."""

from __future__ import annotations

import numpy as np

from graspwave.simulator.hand.layout import PATHS, Constants
from graspwave.simulator.hand.parameters import ANGLES
from graspwave.simulator.hand.whole import energies

LOWEST = np.array([-1.0, *[-0.5, -0.2, -0.2] * 4])
HIGHEST = np.array([1.0, *[1.4, 1.9, 1.0] * 4])
STEP_RAD = 1e-5


def sample(n: int = 60, seed: int = 7) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Postures, drives, pulls and tones of n hands."""
    rng = np.random.default_rng(seed)
    shape = (n, len(PATHS))
    q, drive = rng.uniform(LOWEST, HIGHEST, (n, len(ANGLES))), rng.uniform(0, 1, shape)
    return q, drive, rng.uniform(0, 5, shape), rng.uniform(0, 0.05, (n, 2))


def potential(
    constants: Constants, q: np.ndarray, drive: np.ndarray | None = None, pull: np.ndarray | None = None,
    tone: np.ndarray | None = None,
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    n = q.shape[0]
    none = np.zeros((n, len(PATHS)))
    return energies(
        constants, np.ascontiguousarray(q), none if drive is None else drive, none if pull is None else pull,
        np.zeros((n, 2)) if tone is None else tone,
    )


def slope_misses(constants: Constants, slopes: Constants) -> tuple[float, float]:
    """Largest relative miss of gradient and Hessian of `slopes` against differences of `constants`."""
    q, drive, pull, tone = sample()
    here = potential(slopes, q, drive, pull, tone)
    first = second = 0.0
    for j in range(len(ANGLES)):
        step = np.zeros(len(ANGLES))
        step[j] = STEP_RAD
        up, down = (potential(constants, q + s * step, drive, pull, tone) for s in (1.0, -1.0))
        first = max(first, np.abs((up[0] - down[0]) / (2 * STEP_RAD) - here[1][:, j]).max())
        second = max(second, np.abs((up[1] - down[1]) / (2 * STEP_RAD) - here[2][:, j]).max())
    return first / np.abs(here[1]).max(), second / np.abs(here[2]).max()
