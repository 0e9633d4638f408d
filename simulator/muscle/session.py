"""A whole session: pulses and recruited fractions of every muscle -> force at chosen times, and how tired each is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from .. import facts
from .activation import activation_spans, distinct, distinct_spans
from .force import SpanMaps, span_maps
from .parameters import MuscleParameters, parameter_set
from .slow import UNTIRED, Shapes, SlowPlane, highest_bound, plane_of, shapes_of
from .tiring import BLOCK_MS, Blocks, Layers, block_maps, cut_blocks, layers_of, slow_path

__all__ = ["SessionForce", "checked_fractions", "checked_times", "session_force"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Singles = NDArray[np.float32]
"""What meets every layer at every span is kept in single precision: 1e-6 of peak force, and half the traffic."""

_FORCE_SHAPE, _SLOW_SHAPE, _CHANGE_SHAPES = 1e-5, 2e-5, 6
"""Smallest part of the tables that a shape is kept for: where force is read, and where only the slow states are; how many of
the strongest are followed within a block."""

_CHUNK_NUMBERS = 300_000
"""Numbers in one working array: force of some hundred blocks at a time, whatever the session's length."""


@dataclass(frozen=True, slots=True)
class SessionForce:
    """What `session_force` returns; rows are sample times, columns muscles.

    Attributes
    ----------
    time_s : ndarray (samples,)
    force_n : ndarray (samples, muscles)
        Newtons of the whole muscle.
    slow : ndarray (samples, muscles)
        S, mean of the recruited part, in the parameter set's unit of force x ms.
    lasting : ndarray (samples, muscles)
        L, likewise: what is still there after days.
    tired : ndarray (samples, muscles)
        1 - A/A_rest, mean of the recruited part: 0 fresh, 1 spent.
    """

    time_s: Floats
    force_n: Floats
    slow: Floats
    lasting: Floats
    tired: Floats


def session_force(
    trains: Sequence[ArrayLike],
    recruited: Sequence[ArrayLike],
    f_max_n: ArrayLike,
    sample_s: ArrayLike,
    *,
    parameters: str | MuscleParameters = "able",
    tiring: bool = True,
    layer_width: float | None = None,
    quadrature_nodes: int = 3,
) -> SessionForce:
    """Force of every muscle through a session of one or more pulse trains.

    Parameters
    ----------
    trains : sequence of array_like (pulses,)
        Pulse times of each channel in s, rising; an empty train is allowed.
    recruited : sequence of array_like (pulses, muscles)
        For each train, the fraction of each muscle that each of its pulses recruits, 0 to 1. It holds until the next
        pulse, and after the last one. A muscle that two trains reach is taken as two groups of its units: their
        forces add.
    f_max_n : array_like (muscles,)
        Newtons of each muscle's untired peak at 100 Hz.
    sample_s : array_like (samples,)
        Times wanted, rising.
    parameters : str or MuscleParameters
    tiring : bool
        False holds A, K_m and tau_1 at rest.
    layer_width : float, optional
        Widest layer of thresholds as a share of the muscle; the record ``muscle.layers.width`` if not given.
    quadrature_nodes : int
        Gauss-Legendre points a span.

    Returns
    -------
    SessionForce

    Raises
    ------
    ValueError
        Times that fall or are not finite or negative, shapes that do not match, fractions outside 0 to 1.

    Notes
    -----
    Equations: Ding, Wexler, Binder-Macleod 2003, and a second slow state of ours that lasts for days; see `force`,
    `activation`, `slow` and `tiring`. Not in the model: potentiation; tiring depends too little on frequency. Time and memory
    grow in line with the length of the session; a session whose cycles repeat needs fewer tables and about half the time.
    """
    muscle = parameter_set(parameters)
    peak = np.atleast_1d(np.asarray(f_max_n, dtype=float))
    sample = checked_times(sample_s, "sample_s")
    if len(trains) != len(recruited):
        raise ValueError(
            f"'recruited' must be one array for each of {len(trains)} trains (got {len(recruited)}); pass one a train"
        )
    if peak.ndim != 1 or not np.all(np.isfinite(peak) & (peak >= 0)):
        raise ValueError(f"'f_max_n' must be finite and at least 0 (got {f_max_n!r}); give newtons, one a muscle")
    widest = facts.number("muscle.layers.width") if layer_width is None else layer_width
    if not 0.0 < widest <= 1.0:
        raise ValueError(f"'layer_width' must be above 0, to 1 (got {widest:g}); 0.2 is the default")
    if not 1 <= quadrature_nodes <= 12:
        raise ValueError(f"'quadrature_nodes' must be 1 to 12 (got {quadrature_nodes}); 3 is the default")
    shape = (sample.size, peak.size)
    sums = _Sums(np.zeros(shape), np.zeros(shape), np.zeros(shape), np.zeros(peak.size))
    for number, (onset_s, fraction) in enumerate(zip(trains, recruited, strict=True)):
        onset = checked_times(onset_s, f"trains[{number}]")
        part = checked_fractions(fraction, (onset.size, peak.size), f"recruited[{number}]")
        if onset.size == 0 or sample.size == 0:
            continue
        _one_train(onset * 1e3, part, sample * 1e3, muscle, tiring, widest, quadrature_nodes, sums)
    force = sums.force * (peak / muscle.peak_force)
    whole = np.where(sums.share > 0, sums.share, 1.0)
    slow, lasting = sums.slow / whole, sums.lasting / whole
    tired = (slow * -muscle.alpha_a_per_ms2 + lasting * -muscle.lasting_a_per_ms2) / muscle.a_rest_per_ms
    return SessionForce(sample, force, slow, lasting, tired)


@dataclass(frozen=True, slots=True)
class _Sums:
    """What trains add up to: force, width x S and width x L, each (samples, muscles); width (muscles,)."""

    force: Floats
    slow: Floats
    lasting: Floats
    share: Floats


def _one_train(
    onset: Floats, recruited: Floats, sample: Floats, muscle: MuscleParameters, tiring: bool, widest: float, nodes: int,
    sums: _Sums,
) -> None:
    """Add one train's part to `sums`."""
    layers = layers_of(recruited, widest)
    last = sample[-1]
    wanted = int(np.searchsorted(onset, last, side="right"))  # later pulses change nothing that is asked for
    if wanted == 0 or layers.muscle.size == 0:
        return
    onset, recruited = onset[:wanted], recruited[:wanted]
    spans = activation_spans(onset, sample, last, muscle.tau_c_ms)
    blocks = cut_blocks(spans, onset, recruited)
    edge = np.append(blocks.start_ms, blocks.start_ms[-1] + blocks.length_ms[-1])
    # tables only for spans and blocks that differ; `index` leads from each such block to such spans
    only, which = distinct_spans(spans, muscle.tau_c_ms)
    busy = np.append(blocks.busy_ms, blocks.busy_ms[-1] + blocks.length_ms[-1])
    plane = plane_of(muscle, edge, busy, highest_bound(only, muscle)) if tiring else UNTIRED
    maps = span_maps(only, muscle, *plane.nodes(), nodes=nodes)
    index = np.append(which, only.length_ms.size)[blocks.index]
    example, block = distinct(index)
    index = index[example]
    single = recruited.astype(np.float32)
    path = np.zeros((2, blocks.start_ms.size + 1, layers.muscle.size))
    if tiring:
        path = np.stack(_slow_states(maps, index, block, blocks, spans.pulse, layers, single, plane, muscle))
    shapes = shapes_of(plane, [(maps.a, 1.0), (maps.c, muscle.peak_force)], _FORCE_SHAPE)
    middle = np.append(spans.start_ms + 0.5 * spans.length_ms, 0.0)[blocks.index[example]]
    fraction = (middle - blocks.start_ms[example, None]) / blocks.length_ms[example, None] - 0.5
    a, c = np.ones((1, plane.count)), np.zeros((1, plane.count))  # padding leaves force alone
    pair = np.stack([np.concatenate(table) @ shapes.to_shapes for table in ((maps.a, a), (maps.c, c))])[:, index]
    fraction[index == only.length_ms.size] = 0.0
    if tiring:  # S and L run along lines within a block: a second set of columns takes the change
        pair = np.concatenate((pair, pair[..., :_CHANGE_SHAPES] * fraction[..., None]), axis=3)
    del maps
    to_muscle = np.zeros((layers.muscle.size, sums.share.size))
    to_muscle[np.arange(layers.muscle.size), layers.muscle] = layers.width
    sums.share[:] += to_muscle.sum(axis=0)
    begin = int(np.searchsorted(sample, onset[0], side="right"))
    at = np.searchsorted(spans.start_ms, sample[begin:], side="left")  # every such sample is a span's start, or the end
    _march(
        pair.astype(np.float32), block, shapes, path, blocks, spans.pulse, layers, single, to_muscle, at, begin, sums.force
    )
    if tiring:
        for state, into in zip(path, (sums.slow, sums.lasting), strict=True):
            summed = state @ to_muscle
            for k in np.unique(layers.muscle):
                into[begin:, k] += np.interp(sample[begin:], edge, summed[:, k])


def _slow_states(
    maps: SpanMaps, index: Ints, block: Ints, blocks: Blocks, pulse: Ints, layers: Layers, recruited: Singles,
    plane: SlowPlane, muscle: MuscleParameters,
) -> tuple[Floats, Floats]:
    """S and L at the edges of blocks; `index` (different blocks, longest run) leads to spans, `block` to such blocks."""
    v, w, a, p = block_maps(maps, index)
    shapes = shapes_of(plane, [
        (v, muscle.peak_force), (a, 1.0), (w, muscle.peak_force * BLOCK_MS), (p, muscle.tau_1_ms + muscle.tau_2_ms),
    ], _SLOW_SHAPE)
    weight = np.concatenate((v @ shapes.to_shapes, w @ shapes.to_shapes), axis=2).transpose(1, 2, 0)
    driven = _driven(weight.astype(np.float32, order="C"), block, blocks, pulse, layers, recruited)
    return slow_path(blocks, driven, (np.stack((a, p)) @ shapes.to_shapes)[:, block], shapes, muscle)


def _driven(
    weight: Singles, block: Ints, blocks: Blocks, pulse: Ints, layers: Layers,
    recruited: Singles,
) -> Floats:
    """Sums of u times `weight` (different blocks, 2 count, longest run) over each block; (2, blocks, count, layers)."""
    pulse = np.append(pulse, 0)
    count = weight.shape[1] // 2
    out = np.empty((2, block.size, count, layers.muscle.size))
    for part in _chunks(blocks, layers):
        index = blocks.index[part]
        u = layers.drive(recruited[pulse[index].ravel()]).reshape(*index.shape, -1)
        found = np.matmul(weight[block[part]], u)
        out[0, part], out[1, part] = found[:, :count], found[:, count:]
    return out


def _march(
    pair: Singles, which: Ints, shapes: Shapes, path: Floats, blocks: Blocks, pulse: Ints, layers: Layers,
    recruited: Singles, to_muscle: Floats, at: Ints, begin: int, force: Floats,
) -> None:
    """Force at the starts of spans, chunk by chunk; writes the rows of `force` from `begin` on."""
    pulse = np.append(pulse, 0)
    now = np.zeros(layers.muscle.size, dtype=np.float32)
    done = 0
    for part in _chunks(blocks, layers):
        index = blocks.index[part]
        count, long = index.shape
        middle = 0.5 * (path[:, part] + path[:, 1:][:, part])
        if shapes.plane.count > 1:
            change = path[:, 1:][:, part] - path[:, part]
            value = np.concatenate(shapes.along(middle[0], middle[1], change[0], change[1], _CHANGE_SHAPES))
        else:
            value = shapes.at(middle[0], middle[1])
        value = value.transpose(1, 0, 2).astype(np.float32, order="C")
        a = np.matmul(pair[0][which[part]], value)
        x = np.matmul(pair[1][which[part]], value)
        x *= layers.drive(recruited[pulse[index].ravel()]).reshape(count, long, -1)
        for i in range(1, long):
            x[:, i] += a[:, i] * x[:, i - 1]
            a[:, i] *= a[:, i - 1]
        first = np.empty((count, layers.muscle.size), dtype=np.float32)
        for b in range(count):
            first[b] = now
            now = x[b, -1] + a[b, -1] * now
        a *= first[:, None]
        x += a
        # the force at the start of span n is the one at the end of span n - 1
        low, high = blocks.first[part.start], blocks.first[part.stop]
        until = int(np.searchsorted(at, high, side="right"))
        rows = at[done:until] - 1 - low
        block = np.searchsorted(blocks.first[part], rows + low, side="right") - 1
        take = x[block, rows + low - blocks.first[part][block]]
        force[begin + done : begin + until] += take @ to_muscle
        done = until


def _chunks(blocks: Blocks, layers: Layers) -> list[slice]:
    size = max(1, _CHUNK_NUMBERS // (blocks.index.shape[1] * layers.muscle.size))
    count = blocks.start_ms.size
    return [slice(k, min(k + size, count)) for k in range(0, count, size)]


def _padded(table: Floats, value: float) -> Floats:
    return np.concatenate((table, np.full((1, table.shape[1]), value)))


def checked_times(values: ArrayLike, name: str) -> Floats:
    """Values as one rising row of times, or the error that says what is wrong."""
    out = np.atleast_1d(np.asarray(values, dtype=float))
    if out.ndim != 1:
        raise ValueError(f"'{name}' must be one row of times (got shape {out.shape}); flatten it")
    bad = ~(np.isfinite(out) & (out >= 0.0))
    if bad.any():
        raise ValueError(f"'{name}' must be finite and at least 0 (got {out[bad][0]:g}); drop that time")
    fall = np.flatnonzero(np.diff(out) < 0.0)
    if fall.size:
        raise ValueError(f"'{name}' must be rising (got {out[fall[0] + 1]:g} after {out[fall[0]]:g}); sort it")
    return out


def checked_fractions(values: ArrayLike, shape: tuple[int, ...], name: str) -> Floats:
    """Values as fractions of that shape, or the error that says what is wrong."""
    out = np.asarray(values, dtype=float)
    if out.shape != shape:
        raise ValueError(
            f"'{name}' must be of shape {shape}, a row for each pulse (got {out.shape}); "
            "match the pulses and the muscles"
        )
    bad = ~((out >= 0.0) & (out <= 1.0))
    if bad.any():
        raise ValueError(f"'{name}' must be 0 to 1 (got {out[bad][0]:g}); it is a fraction of the muscle, not per cent")
    return out
