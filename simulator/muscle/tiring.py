"""Tiring: layers of threshold, and the slow states of each layer through a whole session.

A muscle is cut into layers of recruitment threshold: equal parts, none wider than ``muscle.layers.width``, of the
largest share of it that is ever recruited. A layer's drive is u = clip((r - lower)/width, 0, 1): when current rises,
layers join one after the other, each fresh; a layer fully on tires as the published model does at full recruitment,
because S, L and what they change act on the layer's own normalised force.

S changes over minutes, L over days, force over a tenth of a second. So time is cut into blocks over which S hardly moves, and the
maps of a block's spans are multiplied out beforehand into one map a block, whatever the layer:

    F_{b+1} = A F_b + sum u v,    S_{b+1} = exp(-h/tau_fat) S_b + exp(-h/2 tau_fat) (P F_b + sum u w)

with A, P, v, w read at the S and L of the block's middle (second order in h). Only these sums meet every pulse of every
layer. What tires over the block, I = P F_b + sum u w (force and pulses), moves L too, in closed form:

    L_{b+1} = exp(-h/tau_L - I/L_max) L_b + exp(-h/2 tau_L) L_max (1 - exp(-I/L_max))
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from .activation import Spans
from .force import SpanMaps
from .parameters import MuscleParameters
from .slow import Shapes

__all__ = ["Blocks", "Layers", "block_maps", "cut_blocks", "layers_of", "slow_path"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

BLOCK_MS = 500.0
"""Longest block at steady drive: tau_fat/250, so S moves by less than a hundredth of its range within it."""

CHANGE_BLOCK_MS = 400.0
"""Longest block while force rises or falls (ramps, first and last pulses of a burst)."""

REST_BLOCK_MS = 1500.0
"""Longest block between bursts, where S only recovers."""

_BURST_GAP_MS = 250.0
"""A longer silence ends a burst: blocks start anew at its edges, where force turns."""

_SETTLED_MS = 300.0
"""Drive that has not changed for so long counts as steady."""

_NOBODY = 1e-9
"""A share of a muscle this small is no motor unit at all, and its inverse is too large for single precision."""

_SAME = 1e-3
"""Change of drive, as a share of the muscle between two pulses, that still counts as steady."""

_BLOCK_SPANS = 64


@dataclass(frozen=True, slots=True)
class Layers:
    """Recruited layers of a train: each one's muscle, lower edge and width (shares of the muscle), all (layers,)."""

    muscle: Ints
    lower: Floats
    width: Floats

    def drive(self, recruited: NDArray[Any]) -> NDArray[Any]:
        """u of each layer, (pulses, layers), for `recruited` (pulses, muscles)."""
        u = recruited[:, self.muscle]
        u -= self.lower.astype(u.dtype)
        u *= (1.0 / self.width).astype(u.dtype)
        return np.clip(u, 0.0, 1.0, out=u)


@dataclass(frozen=True, slots=True)
class Blocks:
    """Runs of spans: `first` (blocks + 1,), and `index` (blocks, longest run), padded with the number of spans.

    `busy_ms` (blocks,) is the time before each block's start that was not silence.
    """

    first: Ints
    index: Ints
    start_ms: Floats
    length_ms: Floats
    busy_ms: Floats


def layers_of(recruited: Floats, widest: float) -> Layers:
    """Cut each muscle's recruited part into layers; `recruited` (pulses, muscles)."""
    high = recruited.max(axis=0)
    low = recruited.min(axis=0)
    called = high > _NOBODY
    count = np.where(called, np.ceil(high / widest - 1e-9), 0).astype(np.int64)
    count[called & (count == 0)] = 1
    count[called & (low == high)] = 1  # never varies: all layers would be alike
    muscle = np.repeat(np.arange(high.size), count)
    width = high[muscle] / count[muscle]
    place = np.arange(muscle.size) - np.repeat(np.cumsum(count) - count, count)
    return Layers(muscle, place * width, width)


def cut_blocks(spans: Spans, onset_ms: Floats, recruited: Floats) -> Blocks:
    """Group spans into blocks: short where force turns, longer where drive is steady, longest between bursts."""
    start, pulse = spans.start_ms, spans.pulse
    gap = np.diff(onset_ms, prepend=-np.inf)
    moved = gap >= _BURST_GAP_MS
    moved[1:] |= np.abs(np.diff(recruited, axis=0)).max(axis=1) > _SAME
    last_move = np.maximum.accumulate(np.where(moved, onset_ms, -np.inf))
    final = np.append(gap[1:], np.inf) >= _BURST_GAP_MS
    late = start - onset_ms[pulse] >= _BURST_GAP_MS
    brisk = ~late & (final[pulse] | (start - last_move[pulse] < _SETTLED_MS))
    kind = late + 2 * brisk
    turn = np.concatenate(([True], np.diff(kind) != 0))
    turn |= moved[pulse] & (gap[pulse] >= _BURST_GAP_MS) & np.concatenate(([True], np.diff(pulse) > 0))
    phase = np.cumsum(turn) - 1
    origin = start[np.flatnonzero(turn)][phase]
    tick = np.floor((start - origin) / np.array([BLOCK_MS, REST_BLOCK_MS, CHANGE_BLOCK_MS])[kind] + 1e-9)
    cut = turn.copy()
    cut[1:] |= np.diff(tick) != 0
    opened = np.flatnonzero(cut)
    within = np.arange(start.size) - opened[np.cumsum(cut) - 1]
    cut |= within % _BLOCK_SPANS == 0
    first = np.append(np.flatnonzero(cut), start.size)
    size = np.diff(first)
    place = np.arange(size.max())
    index = np.where(place < size[:, None], first[:-1, None] + place, start.size)
    begin = start[first[:-1]]
    end = start[-1] + spans.length_ms[-1]
    length = np.diff(begin, append=end)
    busy = np.where(late[first[:-1]], 0.0, length)
    return Blocks(first, index, begin, length, np.cumsum(busy) - busy)


def block_maps(maps: SpanMaps, index: Ints) -> tuple[Floats, Floats, Floats, Floats]:
    """Multiply out the maps of each block's spans.

    Parameters
    ----------
    maps : SpanMaps
    index : ndarray of int (blocks, longest run)

    Returns
    -------
    v, w : ndarray (longest run, blocks, count)
        What one span's drive adds to the force at the block's end, and to its force-time integral [ms].
    a, p : ndarray (blocks, count)
        The same for the force at the block's start.
    """
    count = maps.a.shape[1]
    order = np.ascontiguousarray(index.T)
    a, c, p, q = (
        np.concatenate((table, np.full((1, count), fill)))[order]
        for table, fill in ((maps.a, 1.0), (maps.c, 0.0), (maps.p, 0.0), (maps.q, 0.0))
    )
    keep, held = np.ones(a.shape[1:]), np.zeros(a.shape[1:])
    for i in range(order.shape[0] - 1, -1, -1):
        q[i] += c[i] * held
        c[i] *= keep
        held *= a[i]
        held += p[i]
        keep *= a[i]
    return c, q, keep, held


def slow_path(
    blocks: Blocks, driven: Floats, own: Floats, shapes: Shapes, muscle: MuscleParameters
) -> tuple[Floats, Floats]:
    """S and L at the edges of blocks, in order, from rest.

    Parameters
    ----------
    blocks : Blocks
    driven : ndarray (2, blocks, shapes, layers)
        Sums of u v and u w over each block, as factors of the shapes.
    own : ndarray (2, blocks, shapes)
        A and P of each block, likewise.
    shapes : Shapes
    muscle : MuscleParameters

    Returns
    -------
    S, L : ndarray (blocks + 1, layers)
    """
    from .path import path_of

    keep: Floats = np.exp(-np.minimum(blocks.length_ms / (muscle.tau_fat_s * 1e3), 300.0))
    stays: Floats = blocks.length_ms / (muscle.lasting_h * 3.6e6)
    top = np.array([shapes.plane.quick.top, shapes.plane.lasting.top])
    path, lasting = path_of(
        keep, stays, np.ascontiguousarray(driven), np.ascontiguousarray(own), np.ascontiguousarray(shapes.mix), top,
        float(muscle.lasting_max),
    )
    return path, lasting
