"""Linear recurrences x_n = a_n x_{n-1} + b_n over long arrays, a block at a time."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

__all__ = ["linear_scan"]

Floats = NDArray[np.float64]


def linear_scan(a: Floats, b: Floats, start: Floats) -> Floats:
    """Solve x_n = a_n x_{n-1} + b_n.

    Rows are folded into about sqrt(n) blocks that step together; each block's start then follows from the one before.
    Only products of the a's are formed, never quotients, so long silences (a near 0) cost no accuracy.

    Parameters
    ----------
    a, b : ndarray (n, columns)
    start : ndarray (columns,)
        x before the first row.

    Returns
    -------
    ndarray (n, columns)
    """
    n, columns = a.shape
    if n == 0:
        return np.empty((0, columns))
    size = max(1, int(np.sqrt(n)))
    blocks = -(-n // size)
    x = np.zeros((blocks * size, columns))
    gain = np.ones((blocks * size, columns))
    x[:n], gain[:n] = b, a
    x, gain = x.reshape(blocks, size, columns), gain.reshape(blocks, size, columns)
    for i in range(1, size):
        x[:, i] += gain[:, i] * x[:, i - 1]
        gain[:, i] *= gain[:, i - 1]
    at = start
    begin = np.empty((blocks, columns))
    for k in range(blocks):
        begin[k] = at
        at = x[k, -1] + gain[k, -1] * at
    gain *= begin[:, None]
    x += gain
    return x.reshape(-1, columns)[:n]
