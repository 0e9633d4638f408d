"""Activation C_N: exact between pulses, one kernel shared by all muscles of a train.

C_N(t) = sum_i R_i x exp(-x), x = (t - t_i)/tau_c, with R_i = 1 + (R0 - 1) exp(-(t_i - t_{i-1})/tau_c), is carried by
two numbers a pulse, P = sum R_i exp(-x) and Q = sum R_i x exp(-x), so that C_N = exp(-s/tau_c)(Q + P s/tau_c) at s
after a pulse. R0 = K_m + offset changes with tiring, but only over minutes while C_N forgets within tenths of a
second; so C_N is kept as two parts, C = C_plain + (R0 - 1) C_gain, and R0 is that of the moment.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .scan import linear_scan

__all__ = ["Activation", "Spans", "activation_spans", "carry", "distinct", "distinct_spans"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

_LONGEST_PIECE = 1.6
"""Longest span for one quadrature while the muscle is active, in tau_c."""

_SAME = 1e-7
"""Spans whose activation [1] and length [tau_c] differ by less are one: far below the quadrature's error."""

_MIX = np.random.default_rng(64).integers(1, 2**63, 512, dtype=np.uint64) * np.uint64(2) + np.uint64(1)
"""Odd multipliers that turn a row of whole numbers into one key."""

_SILENT = 24.0
"""Time after a pulse, in tau_c, when activation is gone: 24 exp(-24) = 1e-9."""


@dataclass(frozen=True, slots=True)
class Activation:
    """P and Q just after each pulse, for the plain part and the part that R0 - 1 multiplies; each (pulses,)."""

    p_plain: Floats
    q_plain: Floats
    p_gain: Floats
    q_gain: Floats


@dataclass(frozen=True, slots=True)
class Spans:
    """Time cut at pulses, at samples and wherever the quadrature needs it.

    Attributes
    ----------
    start_ms, length_ms : ndarray (spans,)
    pulse : ndarray of int (spans,)
        Last pulse at or before the start.
    p, q : ndarray (2, spans)
        Activation at the start, plain part and gain part.
    active : ndarray of bool (spans,)
        False where activation is gone and force only decays.
    """

    start_ms: Floats
    length_ms: Floats
    pulse: Ints
    p: Floats
    q: Floats
    active: NDArray[np.bool_]


def carry(onset_ms: Floats, tau_c_ms: float) -> Activation:
    """P and Q at each pulse by the two-state recurrence; `onset_ms` (pulses,) rising."""
    gap = np.diff(onset_ms, prepend=onset_ms[:1]) / tau_c_ms
    decay = np.exp(-gap)
    source = np.ones((onset_ms.size, 2))
    source[:, 1] = decay
    source[0, 1] = 0.0  # the first pulse has none before it
    both = np.repeat(decay[:, None], 2, axis=1)
    p = linear_scan(both, source, np.zeros(2))
    before = np.vstack((np.zeros((1, 2)), p[:-1]))
    q = linear_scan(both, both * gap[:, None] * before, np.zeros(2))
    return Activation(*(np.ascontiguousarray(x) for x in (p[:, 0], q[:, 0], p[:, 1], q[:, 1])))


def activation_spans(onset_ms: Floats, sample_ms: Floats, end_ms: float, tau_c_ms: float) -> Spans:
    """Cut the time from the first pulse to `end_ms` into spans that one quadrature handles.

    Parameters
    ----------
    onset_ms : ndarray (pulses,)
        Rising, at least one.
    sample_ms : ndarray (samples,)
        Times that must be ends of spans; those outside are left out.
    end_ms : float
    tau_c_ms : float
    """
    first = onset_ms[0]
    end_ms = max(end_ms, onset_ms[-1] + _SILENT * tau_c_ms)
    cuts = np.concatenate((onset_ms, sample_ms[(sample_ms > first) & (sample_ms < end_ms)]))
    cuts.sort(kind="stable")
    cuts = cuts[np.concatenate(([True], np.diff(cuts) > 0.0))]
    extra = _pieces(cuts, onset_ms, end_ms, tau_c_ms)
    if extra.size:
        cuts = np.concatenate((cuts, extra))
        cuts.sort(kind="stable")
        cuts = cuts[np.concatenate(([True], np.diff(cuts) > 0.0))]
    length = np.diff(cuts, append=end_ms)
    cuts, length = cuts[length > 0.0], length[length > 0.0]
    pulse = np.searchsorted(onset_ms, cuts, side="right") - 1
    since = (cuts - onset_ms[pulse]) / tau_c_ms
    kernel = carry(onset_ms, tau_c_ms)
    decay = np.exp(-since)
    p_at = np.stack((kernel.p_plain, kernel.p_gain))[:, pulse]
    q_at = np.stack((kernel.q_plain, kernel.q_gain))[:, pulse]
    # a cut laid where activation ends may round to just before it, and the span after it is long
    active = since < _SILENT * (1.0 - 1e-9)
    return Spans(cuts, length, pulse, decay * p_at, decay * (q_at + since * p_at), active)


def distinct(rows: Ints) -> tuple[Ints, Ints]:
    """First place of each different row of `rows` (n, columns), and for each row which of them it is."""
    key = np.zeros(rows.shape[0], dtype=np.uint64)
    for k in range(rows.shape[1]):
        key += rows[:, k].astype(np.uint64) * _MIX[k]
        key ^= key >> np.uint64(29)
    _, first, which = np.unique(key, return_index=True, return_inverse=True)
    return first.astype(np.int64), which.reshape(-1).astype(np.int64)


def distinct_spans(spans: Spans, tau_c_ms: float) -> tuple[Spans, Ints]:
    """Spans that differ, and for each span which of them it is: a regular train repeats itself cycle by cycle."""
    rows = np.stack((spans.length_ms / tau_c_ms, *spans.p, *spans.q), axis=1) / _SAME
    first, which = distinct(np.rint(rows).astype(np.int64))
    only = Spans(
        spans.start_ms[first], spans.length_ms[first], spans.pulse[first], spans.p[:, first], spans.q[:, first],
        spans.active[first],
    )
    return only, which


def _pieces(cuts: Floats, onset_ms: Floats, end_ms: float, tau_c_ms: float) -> Floats:
    """Cuts added inside long spans: pieces of one longest length until activation is gone, then none."""
    length = np.diff(cuts, append=end_ms)
    long = np.flatnonzero(length > _LONGEST_PIECE * tau_c_ms)
    if not long.size:
        return np.empty(0)
    start, size = cuts[long], length[long]
    silent = onset_ms[np.searchsorted(onset_ms, start, side="right") - 1] + _SILENT * tau_c_ms
    busy = np.clip(silent - start, 0.0, size)
    count = np.ceil(busy / (_LONGEST_PIECE * tau_c_ms)).astype(np.int64)
    which = np.repeat(np.arange(long.size), count)
    step = np.arange(which.size) - np.repeat(np.cumsum(count) - count, count) + 1
    at: Floats = start[which] + busy[which] * step / count[which]
    return at[at < end_ms]
