"""One scene put to other arms: the curve of opening of each, all in one process that does nothing else meanwhile.

The arms are those of `arms`, drawn by the same seeds, so the band is the one that lessons draw about the same scene. Where
lessons begin a process for each arm, here the numbers are changed for a while: a hundredth of the time.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from graspwave import simulator as sim
from graspwave.lessons.arms import drawn, of_arm
from graspwave.simulator.answers import CURVE_MA
from graspwave.simulator.hand import CLAW_GRADES, claw_grades
from graspwave.simulator.other_numbers import other_numbers

__all__ = ["ARMS", "arm_curves"]

ARMS = 100
"""How many arms stand beside a curve, seeds 1 and up: as many as lessons are counted with."""


def arm_curves(scene: sim.Scene, seeds: Sequence[int]) -> tuple[NDArray[np.float32], NDArray[np.bool_]]:
    """Opening and claw of some arms against the currents of a curve.

    Parameters
    ----------
    scene : Scene
        All settings; the arms have hands and numbers of their own about it.
    seeds : sequence of int

    Returns
    -------
    opening_mm : ndarray, shape (arms, currents)
    claw : ndarray of bool, shape (arms, currents)
        Of the middle finger, where it is called a claw; one that begins to claw is none yet.
    """
    opening, claw = [], []
    for seed in seeds:
        with other_numbers(drawn(seed)):
            curve = sim.opening_curve(of_arm(scene, seed), CURVE_MA)
            opening.append(curve.opening_mm)
            claw.append(claw_grades(curve.angle_deg)["middle"] == CLAW_GRADES.index("claw"))
    return (np.array(opening, dtype=np.float32).reshape(-1, CURVE_MA.size),
            np.array(claw, dtype=np.bool_).reshape(-1, CURVE_MA.size))
