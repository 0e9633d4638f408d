"""The slow states of every layer from block to block: one compiled loop.

Stage ``muscle``. Block by block S and L are carried to the block's middle, the maps read there, and the block taken with them
(second order in its length):

    F' = A F + sum u v,   I = P F + sum u w,   S' = exp(-h/tau_fat) S + exp(-h/2 tau_fat) I
    L' = exp(-h/tau_L - I/L_max) L + exp(-h/2 tau_L) L_max (1 - exp(-I/L_max))

The way to the middle is found with the maps of the middle before, which are those of half a block ago.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from graspwave.simulator.compiling import compiled, uncounted

__all__ = ["path_of"]


@uncounted
def _shapes_at(mix: Any, top: Any, slow: Any, lasting: Any, quick: Any, second: Any, inner: Any, out: Any) -> None:
    """Every shape at states S and L of all layers into `out` (shapes, layers): a sum of products of Chebyshev polynomials."""
    layers = slow.shape[0]
    for state, basis, high in ((slow, quick, top[0]), (lasting, second, top[1])):
        for at in range(layers):
            basis[0, at] = 1.0
        if basis.shape[0] > 1:
            for at in range(layers):
                basis[1, at] = state[at] * (2.0 / high) - 1.0
        for k in range(2, basis.shape[0]):
            for at in range(layers):
                basis[k, at] = 2.0 * basis[1, at] * basis[k - 1, at] - basis[k - 2, at]
    for r in range(mix.shape[0]):
        for at in range(layers):
            out[r, at] = 0.0
        for i in range(mix.shape[1]):
            for at in range(layers):
                inner[at] = mix[r, i, 0]
            for j in range(1, mix.shape[2]):
                share = mix[r, i, j]
                for at in range(layers):
                    inner[at] += share * second[j, at]
            for at in range(layers):
                out[r, at] += inner[at] * quick[i, at]


@uncounted
def _taken(own: Any, driven: Any, block: int, shape: Any, force: Any, end: Any, step: Any) -> None:
    """Force after a block into `end`, its integral into `step`, with the maps that `shape` (shapes, layers) gives."""
    for at in range(force.shape[0]):
        end[at] = 0.0
        step[at] = 0.0
    for r in range(shape.shape[0]):
        keeps, pulls = own[0, block, r], own[1, block, r]
        for at in range(force.shape[0]):
            end[at] += (keeps * force[at] + driven[0, block, r, at]) * shape[r, at]
            step[at] += (pulls * force[at] + driven[1, block, r, at]) * shape[r, at]


@compiled
def path_of(keep: Any, stays: Any, driven: Any, own: Any, mix: Any, top: Any, most: float) -> Any:
    """S and L at the edges of blocks, each (blocks + 1, layers), from rest.

    Parameters
    ----------
    keep, stays : ndarray (blocks,)
        Part of S that a block leaves, and its length over tau_L.
    driven : ndarray (2, blocks, shapes, layers)
        Sums of u v and u w over each block, as factors of the shapes.
    own : ndarray (2, blocks, shapes)
        A and P of each block, likewise.
    mix : ndarray (shapes, nodes of S, nodes of L)
        Each shape as coefficients of products of Chebyshev polynomials, over S to `top[0]` and L to `top[1]`.
    most : float
        L_max.
    """
    blocks, layers = keep.shape[0], driven.shape[3]
    path, lasting = np.zeros((blocks + 1, layers)), np.zeros((blocks + 1, layers))
    quick, second = np.empty((mix.shape[1], layers)), np.empty((mix.shape[2], layers))
    shape, inner = np.empty((mix.shape[0], layers)), np.empty(layers)
    force, end, step = np.zeros(layers), np.empty(layers), np.empty(layers)
    mid, long = np.empty(layers), np.empty(layers)
    _shapes_at(mix, top, path[0], lasting[0], quick, second, inner, shape)
    for b in range(blocks):
        half = math.sqrt(keep[b])
        _taken(own, driven, b, shape, force, end, step)
        for at in range(layers):
            mid[at] = max(half * path[b, at] + 0.5 * step[at], 0.0)
            long[at] = max(lasting[b, at] + (1.0 - lasting[b, at] / most) * 0.5 * step[at], 0.0)
        _shapes_at(mix, top, mid, long, quick, second, inner, shape)
        _taken(own, driven, b, shape, force, end, step)
        grows = -most * math.exp(-0.5 * stays[b])
        for at in range(layers):
            share = step[at] / most
            path[b + 1, at] = keep[b] * path[b, at] + half * step[at]
            lasting[b + 1, at] = math.exp(-stays[b] - share) * lasting[b, at] + grows * math.expm1(-share)
            force[at] = end[at]
    return path, lasting
