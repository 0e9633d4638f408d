"""Graspwave's simulator: from a stimulator's settings to a hand round an object. It needs numpy, scipy and numba only.

A teaching model, not for setting treatment.
"""

from __future__ import annotations

from graspwave.simulator.axon import axon_threshold
from graspwave.simulator.clearing import Advice, Clearing, clears
from graspwave.simulator.dose import Dose, dose_of
from graspwave.simulator.facts import Fact, all_facts
from graspwave.simulator.folding import Fold, folds
from graspwave.simulator.hand import moment_arm_mm, posture_under, readied, relaxed_posture
from graspwave.simulator.lagging import Lagging, lagging_fingers
from graspwave.simulator.muscle import Force, MuscleParameters, muscle_force
from graspwave.simulator.notices import Notice, notices_of
from graspwave.simulator.practice import Practice, change_one_thing, run_practice
from graspwave.simulator.presets import presets
from graspwave.simulator.pulses import PulseTrain, pulse_train
from graspwave.simulator.reach import reach_of
from graspwave.simulator.recruitment import recruitment_curve
from graspwave.simulator.run import Opening, Run, opening_curve, opening_curves, simulate, tired_opening_mm
from graspwave.simulator.scene import Channel, Hand, Pads, Pulse, Ramp, Scene, SceneError, Session, Task, Timing, Train, setting
from graspwave.simulator.sensation import Sensation, sensation_levels
from graspwave.simulator.trace import trace_current
from graspwave.simulator.why import Why, explain_opening

__all__ = [
    "Advice",
    "Channel",
    "Clearing",
    "Dose",
    "Fact",
    "Fold",
    "Force",
    "Hand",
    "Lagging",
    "MuscleParameters",
    "Notice",
    "Opening",
    "Pads",
    "Practice",
    "Pulse",
    "PulseTrain",
    "Ramp",
    "Run",
    "Scene",
    "SceneError",
    "Sensation",
    "Session",
    "Task",
    "Timing",
    "Train",
    "Why",
    "all_facts",
    "axon_threshold",
    "clears",
    "change_one_thing",
    "dose_of",
    "explain_opening",
    "folds",
    "lagging_fingers",
    "moment_arm_mm",
    "muscle_force",
    "notices_of",
    "opening_curve",
    "opening_curves",
    "posture_under",
    "presets",
    "pulse_train",
    "reach_of",
    "recruitment_curve",
    "readied",
    "relaxed_posture",
    "run_practice",
    "sensation_levels",
    "setting",
    "simulate",
    "tired_opening_mm",
    "trace_current",
]
