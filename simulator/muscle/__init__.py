"""Muscle: recruited fraction at pulse times -> force; tiring and recovery. Stage after `recruitment`, before `hand`."""

from __future__ import annotations

from .fused import fused_force
from .parameters import PARAMETER_SETS, MuscleParameters, parameter_set
from .session import SessionForce, session_force
from .single import Force, muscle_force, steady_force_fraction

__all__ = [
    "PARAMETER_SETS",
    "Force",
    "MuscleParameters",
    "SessionForce",
    "fused_force",
    "muscle_force",
    "parameter_set",
    "session_force",
    "steady_force_fraction",
]
