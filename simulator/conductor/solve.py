"""Direct solution of a mesh's conduction, slice by slice.

Nodes only touch their own slice and its two neighbours, so the matrix is block tridiagonal. Dense Cholesky factors of
the blocks run at the speed of the processor's matrix products, for all sources at once.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import cholesky, solve_triangular
from scipy.sparse import csr_array

__all__ = ["Solver"]

Array = NDArray[np.float64]


class Solver:
    """Factors of a conduction matrix.

    Parameters
    ----------
    matrix : csr_array, shape (nodes, nodes)
        Symmetric; from `graspwave.simulator.conductor.mesh.conduction`.
    slice_start : ndarray
        Of the mesh.
    fixed : ndarray of int, optional
        Nodes held at given potentials. Without any, the first node is held at 0 V: no current passes there as long as
        what enters the conductor also leaves it.
    """

    def __init__(
        self, matrix: csr_array, slice_start: NDArray[np.int64], fixed: NDArray[np.int64] | None = None
    ) -> None:
        n = matrix.shape[0]
        held = np.zeros(n, dtype=bool)
        held[fixed if fixed is not None else [0]] = True
        self._free, self._fixed = np.flatnonzero(~held), np.flatnonzero(held)
        self._link = matrix[self._free][:, self._fixed]
        system = csr_array(matrix[self._free][:, self._free])
        ends = np.searchsorted(self._free, slice_start)
        self._parts = [slice(int(a), int(b)) for a, b in pairwise(ends) if b > a]
        self._factor: list[Array] = []
        self._below: list[csr_array] = []
        for i, part in enumerate(self._parts):
            block = system[part][:, part].toarray()
            if i:
                before = system[part][:, self._parts[i - 1]]
                self._below.append(csr_array(before))
                half = solve_triangular(self._factor[-1], before.toarray().T, lower=True, check_finite=False)
                block -= half.T @ half
            self._factor.append(cholesky(block, lower=True, overwrite_a=True, check_finite=False))

    def potential_v(self, current_ma: Array, fixed_v: Array | None = None) -> Array:
        """Potentials of all nodes.

        Parameters
        ----------
        current_ma : ndarray, shape (nodes,) or (nodes, sources)
            Current that enters each node; with no node fixed it must sum to zero.
        fixed_v : ndarray, shape (fixed,), optional
            Potentials of the fixed nodes in rising order of node; 0 without it.

        Returns
        -------
        ndarray, shape of `current_ma`
        """
        given = current_ma.reshape(len(current_ma), -1)
        v = np.zeros_like(given)
        right = given[self._free]
        if fixed_v is not None:
            v[self._fixed] = fixed_v[:, None]
            right = right - self._link @ v[self._fixed]
        parts: list[Array] = []
        for i, part in enumerate(self._parts):
            b = right[part] - (self._below[i - 1] @ parts[-1] if i else 0.0)
            parts.append(self._block_solve(i, b))
        for i in range(len(parts) - 2, -1, -1):
            parts[i] -= self._block_solve(i, self._below[i].T @ parts[i + 1])
        v[self._free] = np.concatenate(parts)
        return v.reshape(current_ma.shape)

    def _block_solve(self, i: int, b: Array) -> Array:
        half = solve_triangular(self._factor[i], b, lower=True, check_finite=False)
        return np.asarray(solve_triangular(self._factor[i], half, lower=True, trans="T", check_finite=False))
