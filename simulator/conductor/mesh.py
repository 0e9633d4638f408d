"""Bricks and their conduction: the one kernel behind the forearm and behind every closed-form check.

A mesh is a block of ``ni x nj x nk`` bent bricks. Points may share a node (the axis of a limb, its closed round, an
electrode at one potential), so one kernel serves boxes, wedges and limbs. Conduction is assembled by linear finite
elements: exact balance of current at every node, a symmetric matrix, full tensors on bent bricks.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_array

__all__ = ["Mesh", "block_mesh", "along_first_axis", "conduction", "middles_mm"]

Array = NDArray[np.float64]
Index = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Mesh:
    """Bricks whose corners are numbered by slice.

    Attributes
    ----------
    points_mm : ndarray, shape (nodes, 3)
        Place of each node (of the first of those that share it).
    corners_mm : ndarray, shape (bricks, 8, 3)
    cells : ndarray, shape (bricks, 8)
        Node of each corner; the corner's steps along the three axes are the bits 4, 2, 1 of its number.
    node : ndarray, shape (ni, nj, nk)
        Node of each point of the block.
    slice_start : ndarray, shape (ni + 1,)
        Nodes of slice i of the first axis are ``slice_start[i]`` to ``slice_start[i + 1]``.
    """

    points_mm: Array
    corners_mm: Array
    cells: Index
    node: Index
    slice_start: Index


def block_mesh(points_mm: Array, shared: Index | None = None) -> Mesh:
    """A mesh from a block of points.

    Parameters
    ----------
    points_mm : ndarray, shape (ni, nj, nk, 3)
    shared : ndarray of int, shape (nj, nk) or (ni, nj, nk), optional
        Points of one slice with the same number share a node; without it none do.

    Returns
    -------
    Mesh
    """
    ni, nj, nk, _ = points_mm.shape
    if shared is None:
        shared = np.arange(nj * nk).reshape(nj, nk)
    shared = np.broadcast_to(shared, (ni, nj, nk))
    node = np.empty((ni, nj, nk), dtype=np.int64)
    start = np.zeros(ni + 1, dtype=np.int64)
    places = []
    for i in range(ni):
        _, first, which = np.unique(shared[i], return_index=True, return_inverse=True)
        node[i] = which.reshape(nj, nk) + start[i]
        start[i + 1] = start[i] + len(first)
        places.append(points_mm[i].reshape(-1, 3)[first])
    corners, cells = [], []
    for bits in range(8):
        i, j, k = bits >> 2, bits >> 1 & 1, bits & 1
        corner = slice(i, ni - 1 + i), slice(j, nj - 1 + j), slice(k, nk - 1 + k)
        corners.append(points_mm[corner].reshape(-1, 3))
        cells.append(node[corner].ravel())
    return Mesh(np.concatenate(places), np.stack(corners, 1), np.stack(cells, 1), node, start)


def middles_mm(mesh: Mesh) -> Array:
    """Middles of the bricks, shape (bricks, 3)."""
    return np.asarray(mesh.corners_mm.mean(1))


def along_first_axis(mesh: Mesh) -> Array:
    """Unit vector of each brick's first axis: the way muscle fibres run; shape (bricks, 3)."""
    way = mesh.corners_mm[:, 4:].mean(1) - mesh.corners_mm[:, :4].mean(1)
    return np.asarray(way / np.linalg.norm(way, axis=1, keepdims=True))


def conduction(mesh: Mesh, across_s_m: Array, along_s_m: Array | None = None) -> csr_array:
    """Matrix K of ``K v = i``: currents (mA) that must enter the nodes for potentials v (V).

    ``K_ab = integral of grad N_a . sigma grad N_b``, two Gauss points an axis, from ``div(sigma grad v) = -i``.
    Rows sum to zero: what enters leaves.

    Parameters
    ----------
    mesh : Mesh
    across_s_m : ndarray, shape (bricks,)
        Conductivity across `along_first_axis`.
    along_s_m : ndarray, shape (bricks,), optional
        Conductivity along it; without it the bricks conduct alike in all directions.

    Returns
    -------
    csr_array, shape (nodes, nodes)
        In S/m mm, which is mA/V.
    """
    extra = np.zeros_like(across_s_m) if along_s_m is None else along_s_m - across_s_m
    fibre = along_first_axis(mesh)
    local = np.zeros((len(mesh.cells), 8, 8))
    for at in np.ndindex(2, 2, 2):
        slope, volume = _shape_slopes(mesh, (np.array(at) - 0.5) / np.sqrt(3.0))
        along = np.einsum("cad,cd->ca", slope, fibre)
        local += (across_s_m * volume)[:, None, None] * (slope @ slope.transpose(0, 2, 1))
        local += (extra * volume)[:, None, None] * along[:, :, None] * along[:, None, :]
    rows = np.repeat(mesh.cells, 8, axis=1).ravel()
    columns = np.tile(mesh.cells, (1, 8)).ravel()
    n = len(mesh.points_mm)
    return csr_array((local.ravel(), (rows, columns)), shape=(n, n))


def _shape_slopes(mesh: Mesh, at: Array) -> tuple[Array, Array]:
    """Slopes of the corner functions at a point of the unit brick (-1/2 to 1/2), shape (bricks, 8, 3), and volume."""
    bits = np.array([[b >> 2, b >> 1 & 1, b & 1] for b in range(8)])
    sign = 2.0 * bits - 1.0
    factor = 0.5 + sign * at
    unit = np.stack([sign[:, d] * np.prod(np.delete(factor, d, 1), axis=1) for d in range(3)], 1)
    jacobian = np.einsum("ad,cae->cde", unit, mesh.corners_mm)
    slope = np.linalg.solve(jacobian, np.broadcast_to(unit.T, (len(jacobian), 3, 8)))
    return slope.transpose(0, 2, 1), np.abs(np.linalg.det(jacobian)) / 8.0
