"""One angle that follows another with a time of its own: one compiled loop.

Stage ``hand``. A library's filter does the same to the last digits (`tests/test_hand_thumb.py`), and takes a third of a
second to load.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from graspwave.simulator.compiling import compiled

__all__ = ["following"]

Array = NDArray[np.float64]


@compiled
def following(aim: Array, first: float, keep: float) -> Array:
    """A lag of first order: ``y_n = (1 - keep) aim_n + keep y_(n-1)``, from a first value."""
    found = np.empty(aim.size)
    found[0] = now = first
    for n in range(1, aim.size):
        now = (1.0 - keep) * aim[n] + keep * now
        found[n] = now
    return found
