"""Force over one span as a linear map: F_end = a F_start + u c, for several tired states at once.

With m = C_N/(K_m + C_N) the published dF/dt = u A m - F/(tau_1 + tau_2 m) is linear in F, so a span of length d gives

    a = exp(-I(0, d)),  c = int A m exp(-I(s, d)) ds,  I(s, t) = int_s^t ds/(tau_1 + tau_2 m)

and the force-time integral of the span is p F_start + u q. All are Gauss-Legendre quadratures (order 2 x nodes). A,
K_m and tau_1 recover with one time constant and are driven by the same force, hence all three are lines in one slow state S (A =
A_rest + alpha_A S, and so on); K_m has a second, lasting one, L (`slow`). The maps are smooth in both.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.polynomial import legendre
from numpy.typing import NDArray

from .activation import Spans
from .parameters import MuscleParameters

__all__ = ["SpanMaps", "span_maps"]

Floats = NDArray[np.float64]

_CHUNK = 4096
"""Spans tabled at a time: the working arrays stay in the cache."""


@dataclass(frozen=True, slots=True)
class SpanMaps:
    """Values at the nodes of S and L, each (spans, count): `a`, `c` for force, `p`, `q` [ms] for its integral."""

    a: Floats
    c: Floats
    p: Floats
    q: Floats


def span_maps(
    spans: Spans, muscle: MuscleParameters, slow: Floats, lasting: Floats, *, nodes: int = 3
) -> SpanMaps:
    """Tabulate the maps of every span at each slow state.

    Parameters
    ----------
    spans : Spans
    muscle : MuscleParameters
    slow, lasting : ndarray (count,)
        Values of S and L, unit of force x ms.
    nodes : int
        Gauss-Legendre points a span; the error of a map falls as length ** (2 nodes).
    """
    shape = (spans.length_ms.size, slow.size)
    out = SpanMaps(*(np.empty(shape) for _ in range(4)))
    rate, k_m = muscle.a_per_ms(slow, lasting), muscle.k_m_at(slow, lasting)
    tau_1 = muscle.tau_1_ms + muscle.alpha_tau_1 * slow
    for first in range(0, shape[0], _CHUNK):
        part = slice(first, first + _CHUNK)
        _tabulate(spans, part, muscle, (rate, k_m, tau_1), nodes, out)
    silent = np.flatnonzero(~spans.active)
    if silent.size:  # m = 0: exact, and a span may be long
        out.a[silent] = np.exp(-spans.length_ms[silent, None] / tau_1)
        out.p[silent] = -tau_1 * np.expm1(-spans.length_ms[silent, None] / tau_1)
        out.c[silent] = out.q[silent] = 0.0
    return out


def _tabulate(
    spans: Spans, part: slice, muscle: MuscleParameters, at: tuple[Floats, Floats, Floats], nodes: int, out: SpanMaps
) -> None:
    rate, k_m, tau_1 = at
    gain = k_m + (muscle.r0_offset - 1.0)  # R0 - 1
    x, weight, inner = _rule(nodes)
    length = np.where(spans.active[part], spans.length_ms[part], 0.0)
    p, q = spans.p[:, part], spans.q[:, part]
    loss: list[Floats] = []
    drive: list[Floats] = []
    for i in range(nodes):
        s = length * (x[i] / muscle.tau_c_ms)
        c_n = np.exp(-s) * (q + s * p)
        total = c_n[1][:, None] * gain
        total += c_n[0][:, None]
        m = total / (total + k_m)
        loss.append(length[:, None] / (tau_1 + muscle.tau_2_ms * m))
        m *= rate
        m *= length[:, None]
        drive.append(m)
    a = np.exp(-_mix(weight, loss))
    grown = []
    integral_p = np.zeros_like(a)
    for i in range(nodes):
        e = np.exp(_mix(inner[i], loss))
        drive[i] *= e
        np.divide(1.0, e, out=e)
        grown.append(e)
        integral_p += weight[i] * e
    integral_q = np.zeros_like(a)
    for i in range(nodes):
        integral_q += weight[i] * grown[i] * _mix(inner[i], drive)
    out.a[part] = a
    out.c[part] = a * _mix(weight, drive)
    out.p[part] = integral_p * length[:, None]
    out.q[part] = integral_q * length[:, None]


def _mix(factor: Floats, terms: list[Floats]) -> Floats:
    total = factor[0] * terms[0]
    for w, term in zip(factor[1:], terms[1:], strict=True):
        total += w * term
    return np.asarray(total)


def _rule(nodes: int) -> tuple[Floats, Floats, Floats]:
    """Points and weights on 0..1, and the matrix of integrals from 0 to each point."""
    z, w = legendre.leggauss(nodes)
    x = 0.5 * (z + 1.0)
    power = np.arange(nodes)
    vander = x[:, None] ** power
    inner = (x[:, None] ** (power + 1) / (power + 1)) @ np.linalg.inv(vander)
    return x, 0.5 * w, inner
