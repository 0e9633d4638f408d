"""Muscle drive -> angles of wrist, MCP, PIP and DIP -> the gap between thumb and fingers.

Stage ``hand``, after ``muscle`` and before ``run``. The middle finger stands for all fingers; the index is solved beside
it. Read in this order: `parameters` (the numbers), `tendons` (paths and arms), `energy` (one potential, all torques),
`newton` (the walk downhill), `posture` (what rests), `reflex` and `moving` (what moves), `thumb`, `index`, `geometry`
(what is seen), `helping` and `readying` (what eases a tight hand).
"""

from __future__ import annotations

from graspwave.simulator.hand.geometry import finger_points_mm, opening, thumb_points_mm, widest_cylinder_mm
from graspwave.simulator.hand.helping import LETTING_GO, grip_after_release, help_force_n, help_notices
from graspwave.simulator.hand.index import INDEX_JOINTS, index_angles_deg, index_extensor_drive, index_hand
from graspwave.simulator.hand.moving import motion, motion_and_memory
from graspwave.simulator.hand.parameters import (
    JOINTS,
    MUSCLES,
    PER_RAY,
    WRIST_FLEXORS,
    HandModel,
    changed,
    scene_hand,
    standard_hand,
)
from graspwave.simulator.hand.posture import Posture, equilibrium, is_claw, posture_under, relaxed_posture
from graspwave.simulator.hand.readying import Readied, readied, readied_by
from graspwave.simulator.hand.reflex import Memory, reflex_work_nmm
from graspwave.simulator.hand.tendons import moment_arm_mm
from graspwave.simulator.hand.thumb import THUMB_JOINTS, THUMB_MUSCLES, thumb_angles_deg, thumb_motion_deg

__all__ = [
    "INDEX_JOINTS",
    "JOINTS",
    "LETTING_GO",
    "MUSCLES",
    "PER_RAY",
    "THUMB_JOINTS",
    "THUMB_MUSCLES",
    "WRIST_FLEXORS",
    "HandModel",
    "Memory",
    "Posture",
    "Readied",
    "changed",
    "equilibrium",
    "finger_points_mm",
    "grip_after_release",
    "help_force_n",
    "help_notices",
    "index_angles_deg",
    "index_extensor_drive",
    "index_hand",
    "is_claw",
    "moment_arm_mm",
    "motion",
    "motion_and_memory",
    "opening",
    "posture_under",
    "readied",
    "readied_by",
    "reflex_work_nmm",
    "relaxed_posture",
    "scene_hand",
    "standard_hand",
    "thumb_angles_deg",
    "thumb_motion_deg",
    "thumb_points_mm",
    "widest_cylinder_mm",
]
