"""Muscle drive -> angles of wrist, MCP, PIP and DIP -> the gap between thumb and fingers.

Stage ``hand``, after ``muscle`` and before ``run``. The middle finger stands for all fingers. Read in this order:
`parameters` (the numbers), `tendons` (paths and arms), `energy` (one potential, all torques), `newton` (the walk
downhill), `posture` (what rests), `moving` (what moves), `geometry` (what is seen).
"""

from __future__ import annotations

from simulator.hand.geometry import finger_points_mm, opening, thumb_points_mm
from simulator.hand.moving import motion
from simulator.hand.parameters import JOINTS, MUSCLES, PER_RAY, WRIST_FLEXORS, HandModel, changed, standard_hand
from simulator.hand.posture import Posture, equilibrium, is_claw, posture_under, relaxed_posture
from simulator.hand.tendons import moment_arm_mm

__all__ = [
    "JOINTS",
    "MUSCLES",
    "PER_RAY",
    "WRIST_FLEXORS",
    "HandModel",
    "Posture",
    "changed",
    "equilibrium",
    "finger_points_mm",
    "is_claw",
    "moment_arm_mm",
    "motion",
    "opening",
    "posture_under",
    "relaxed_posture",
    "standard_hand",
    "thumb_points_mm",
]
