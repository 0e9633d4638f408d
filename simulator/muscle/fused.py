"""Mean force of a steady train at held slow states: one period's map, closed on itself."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from .activation import activation_spans
from .force import span_maps
from .parameters import MuscleParameters, parameter_set
from .tiring import block_maps

__all__ = ["fused_force"]

Floats = NDArray[np.float64]

_SETTLED = 40.0
"""Pulses before the period looked at, in tau_c: activation repeats to one part in 1e14."""


def fused_force(
    frequency_hz: float, slow: ArrayLike, lasting: ArrayLike, parameters: str | MuscleParameters = "able"
) -> Floats:
    """Mean force of a long steady train whose slow states stand still.

    Parameters
    ----------
    frequency_hz : float
        Above 0, to 1000.
    slow, lasting : array_like
        S and L, unit of force x ms; they are broadcast against each other.
    parameters : str or MuscleParameters

    Returns
    -------
    ndarray
        In the set's unit, shaped like `slow` and `lasting` together.

    Raises
    ------
    ValueError
        A frequency out of range.

    Notes
    -----
    Force over a period is F' = a F + c; a train that repeats has F = c/(1 - a), and the mean follows from the period's
    force-time integral p F + q.
    """
    if not 0.0 < frequency_hz <= 1000.0:
        raise ValueError(f"'frequency_hz' must be above 0, to 1000 (got {frequency_hz:g}); stimulators use 1 to 100")
    muscle = parameter_set(parameters)
    s, long = np.broadcast_arrays(np.asarray(slow, dtype=float), np.asarray(lasting, dtype=float))
    period = 1e3 / frequency_hz
    onset: Floats = period * np.arange(math.ceil(_SETTLED * muscle.tau_c_ms / period) + 2, dtype=np.float64)
    spans = activation_spans(onset, onset[-1:], onset[-1], muscle.tau_c_ms)
    here = np.flatnonzero((spans.start_ms >= onset[-2] - 1e-9) & (spans.start_ms < onset[-1] - 1e-9))
    maps = span_maps(spans, muscle, s.ravel(), long.ravel())
    v, w, a, p = (table[..., 0, :] for table in block_maps(maps, here[None, :]))
    force = v.sum(axis=0) / (1.0 - a)
    return np.asarray((p * force + w.sum(axis=0)) / period).reshape(s.shape)
