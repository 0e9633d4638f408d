"""Graspwave's simulator: from a stimulator's settings to a hand round an object. It needs numpy and scipy only.

A teaching model, not for setting treatment.
"""

from __future__ import annotations

from simulator.axon import axon_threshold
from simulator.dose import Dose, dose_of
from simulator.facts import Fact, all_facts
from simulator.hand import moment_arm_mm, posture_under, relaxed_posture
from simulator.muscle import Force, MuscleParameters, muscle_force
from simulator.presets import presets
from simulator.pulses import PulseTrain, pulse_train
from simulator.recruitment import recruitment_curve
from simulator.run import Opening, Run, opening_curve, simulate
from simulator.scene import Channel, Hand, Pads, Pulse, Ramp, Scene, SceneError, Session, Task, Timing, Train, setting
from simulator.sensation import Sensation, sensation_levels
from simulator.trace import trace_current
from simulator.why import Why, explain_opening

__all__ = [
    "Channel",
    "Dose",
    "Fact",
    "Force",
    "Hand",
    "MuscleParameters",
    "Opening",
    "Pads",
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
    "dose_of",
    "explain_opening",
    "moment_arm_mm",
    "muscle_force",
    "opening_curve",
    "posture_under",
    "presets",
    "pulse_train",
    "recruitment_curve",
    "relaxed_posture",
    "sensation_levels",
    "setting",
    "simulate",
    "trace_current",
]
