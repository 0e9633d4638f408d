"""Currents of every curve, and from which of them a muscle answers."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["ANSWER_SHARE", "CURVE_MA", "FINE_MA", "reached_ma"]

Array = NDArray[np.float64]

_MOST_MA = 60.0
"""Highest current of a curve, and the end of its setting's range."""

CURVE_MA: Array = np.linspace(0.0, _MOST_MA, 121)
"""Currents of a curve, mA: half a milliampere apart, for within a whole one a hand can pass from posture to posture."""
CURVE_MA.setflags(write=False)

FINE_MA: Array = np.linspace(0.0, _MOST_MA, 1201)
"""The same range for what is read off a curve, mA."""
FINE_MA.setflags(write=False)

ANSWER_SHARE = 0.1
"""Share of a muscle's axons from which it counts as answering (common practice, no source)."""


def reached_ma(current_ma: ArrayLike, share: ArrayLike, level: float = ANSWER_SHARE) -> float | None:
    """Where a rising line first reaches a level, straight between its points; None where it does not.

    Parameters
    ----------
    current_ma, share : array_like, shape (n,)
    level : float, default `ANSWER_SHARE`

    Examples
    --------
    >>> reached_ma([0.0, 10.0, 20.0], [0.0, 0.2, 0.9])
    5.0
    >>> reached_ma([0.0, 10.0], [0.0, 0.05]) is None
    True
    """
    x, y = np.asarray(current_ma, dtype=np.float64), np.asarray(share, dtype=np.float64)
    if not (y >= level).any():
        return None
    k = int(np.argmax(y >= level))
    if k == 0:
        return float(x[0])
    return float(x[k - 1] + (level - y[k - 1]) / (y[k] - y[k - 1]) * (x[k] - x[k - 1]))
