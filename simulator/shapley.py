"""A game's value for every set of its parts -> each part's share of the whole. Stage ``why``."""

from __future__ import annotations

from collections.abc import Sequence
from math import factorial

import numpy as np
from numpy.typing import NDArray

__all__ = ["shapley"]


def shapley(parts: Sequence[str], value: NDArray[np.float64]) -> dict[str, float]:
    """Shapley value of each part (Shapley 1953).

    Parameters
    ----------
    parts : sequence of str, length n
    value : ndarray, shape (2**n,)
        Of every set; bit i of the index is part i.

    Returns
    -------
    dict of str to float
        ``phi_i = sum_S |S|! (n - |S| - 1)! / n! [v(S + i) - v(S)]``; they add up to ``value[-1] - value[0]``.

    Examples
    --------
    >>> import numpy as np
    >>> shapley(("a", "b"), np.array([0.0, 1.0, 2.0, 5.0]))
    {'a': 2.0, 'b': 3.0}
    """
    n = len(parts)
    sets = np.arange(2**n)
    size = np.array([int(s).bit_count() for s in sets])
    weight = np.array([factorial(k) * factorial(n - k - 1) / factorial(n) for k in range(n)])
    shares = {}
    for i, name in enumerate(parts):
        without = sets[(sets >> i) & 1 == 0]
        shares[name] = float((weight[size[without]] * (value[without | (1 << i)] - value[without])).sum())
    return shares
