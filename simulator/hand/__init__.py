"""Muscle drive -> angles of the wrist, four fingers and thumb -> what the hand is open for.

Stage ``hand``, after ``muscle`` and before ``run``. Four fingers, coupled by the wrist, the web and the
junctures of their extensors, and a thumb in space. Read in this order: `parameters` (the numbers), `layout` (as the loops
read them), `ray` and `whole` (one potential, all torques), `walk` (downhill), `drives` (names of muscles), `settling` (walks
asked for), `tensions` and `claws` (what a posture is told by), `posture` (what rests), `reflex` and `moving` (what moves),
`thumb`, `space` and `geometry` (what an object meets), `helping` and `readying` (what eases a tight hand).
`graspwave.simulator.compiling` says how `ray`, `whole`, `walk` and `space` become fast.
"""

from __future__ import annotations

from graspwave.simulator.hand.claws import CLAW_GRADES, claw_grades, is_claw
from graspwave.simulator.hand.drives import FREE_MUSCLES
from graspwave.simulator.hand.geometry import (
    OBJECTS,
    finger_points_mm,
    gaps_mm,
    hand_points_mm,
    opening,
    thumb_points_mm,
    widest_mm,
)
from graspwave.simulator.hand.helping import LETTING_GO, grip_after_release, help_force_n, help_notices
from graspwave.simulator.hand.moving import motion, motion_and_memory
from graspwave.simulator.hand.parameters import (
    ANGLES,
    FINGERS,
    JOINTS,
    MUSCLES,
    PER_RAY,
    WRIST_FLEXORS,
    HandModel,
    changed,
    scene_hand,
    standard_hand,
)
from graspwave.simulator.hand.posture import Asked, Posture, equilibria, equilibrium, posture_under, relaxed_posture
from graspwave.simulator.hand.readying import Readied, readied, readied_by
from graspwave.simulator.hand.reflex import Memory, reflex_work_nmm
from graspwave.simulator.hand.tendons import moment_arm_mm
from graspwave.simulator.hand.thumb import THUMB_JOINTS, THUMB_MUSCLES, thumb_angles_deg, thumb_motion_deg
from graspwave.simulator.hand.torques import torque_nmm

__all__ = [
    "ANGLES",
    "CLAW_GRADES",
    "FINGERS",
    "FREE_MUSCLES",
    "JOINTS",
    "LETTING_GO",
    "MUSCLES",
    "OBJECTS",
    "PER_RAY",
    "THUMB_JOINTS",
    "THUMB_MUSCLES",
    "WRIST_FLEXORS",
    "Asked",
    "HandModel",
    "Memory",
    "Posture",
    "Readied",
    "changed",
    "claw_grades",
    "equilibria",
    "equilibrium",
    "finger_points_mm",
    "gaps_mm",
    "grip_after_release",
    "hand_points_mm",
    "help_force_n",
    "help_notices",
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
    "torque_nmm",
    "widest_mm",
]
