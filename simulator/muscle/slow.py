"""The two slow states of a layer, and tables over them.

S = int F(t') exp(-(t - t')/tau_fat) dt' recovers in minutes and moves A, K_m and tau_1 (the published model). L lasts for
days and moves K_m and A:

    dL/dt = -L/tau_L + F (1 - L/L_max),   K_m = K_m,rest + alpha_K S + beta_K L,   A = A_rest + alpha_A S + beta_A L

Force at 50 Hz comes back sooner than at 20 Hz (Rankin, Stokes 1992): a higher K_m weakens low rates more than high ones, a
lower A all alike. Tried and left out: a part of tiring that pulses drive whatever force they bring. With the able set it
brings the losses at 20 and 40 Hz no further apart.

A map of a span is smooth in both. It is tabled at Chebyshev nodes of S and of L; the columns of such tables are nearly
alike, so each table is written with the few shapes that all of them share (the eigenvectors of their squares), and the sums
that meet every pulse of every layer are no longer than with one slow state.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.polynomial import chebyshev
from numpy.typing import NDArray

from .activation import Spans
from .parameters import MuscleParameters

__all__ = ["UNTIRED", "Shapes", "SlowPlane", "SlowRange", "highest_bound", "plane_of", "shapes_of", "tops"]

Floats = NDArray[np.float64]

_NODES = 10
_PER_DOUBLING = 1.0
"""Nodes of L: three, and so many more for each doubling of K_m over its range."""

_STEP_MS, _STEPS, _MARGIN = 3000.0, (50, 800), 1.05
"""How finely the bounds of S and L are worked out, and what is added to them for it."""



@dataclass(frozen=True, slots=True)
class SlowRange:
    """Chebyshev nodes over 0 <= x <= top (unit of force x ms); one node holds x at 0."""

    top: float
    count: int

    def nodes(self) -> Floats:
        if self.count == 1:
            return np.zeros(1)
        angle = np.pi * (np.arange(self.count) + 0.5) / self.count
        return np.asarray(0.5 * self.top * (1.0 - np.cos(angle)))

    def to_series(self) -> Floats:
        """Matrix that turns values at the nodes into Chebyshev coefficients; (count, count)."""
        if self.count == 1:
            return np.ones((1, 1))
        x = 2.0 * self.nodes() / self.top - 1.0
        return np.asarray(np.linalg.inv(chebyshev.chebvander(x, self.count - 1)))

    def basis(self, slow: Floats) -> Floats:
        """Chebyshev polynomials at `slow`; (count, *slow.shape)."""
        value = np.empty((self.count, *slow.shape))
        value[0] = 1.0
        if self.count > 1:
            value[1] = slow * (2.0 / self.top) - 1.0
            twice = 2.0 * value[1]
            for k in range(2, self.count):
                np.multiply(twice, value[k - 1], out=value[k])
                value[k] -= value[k - 2]
        return value

    def slope(self, value: Floats) -> Floats:
        """Their derivatives, from what `basis` gave."""
        slope = np.zeros_like(value)
        if self.count > 1:
            scale = 2.0 / self.top
            slope[1] = scale
            for k in range(2, self.count):
                slope[k] = 2.0 * (scale * value[k - 1] + value[1] * slope[k - 1]) - slope[k - 2]
        return slope


@dataclass(frozen=True, slots=True)
class SlowPlane:
    """Nodes over S and L, S outermost: node k is S number k // lasting.count, L number k % lasting.count."""

    quick: SlowRange
    lasting: SlowRange

    @property
    def count(self) -> int:
        return self.quick.count * self.lasting.count

    def nodes(self) -> tuple[Floats, Floats]:
        """S and L of each node, (count,) each."""
        return np.repeat(self.quick.nodes(), self.lasting.count), np.tile(self.lasting.nodes(), self.quick.count)

    def to_series(self) -> Floats:
        """Matrix that turns values at the nodes into coefficients of the products of polynomials; (count, count)."""
        return np.asarray(np.kron(self.quick.to_series(), self.lasting.to_series()), dtype=np.float64)


UNTIRED = SlowPlane(SlowRange(0.0, 1), SlowRange(0.0, 1))
"""One node: slow states at rest."""


@dataclass(frozen=True, slots=True)
class Shapes:
    """Functions of S and L that a set of tables shares.

    Attributes
    ----------
    plane : SlowPlane
    mix : ndarray (shapes, quick nodes, lasting nodes)
        Each shape as coefficients of the products of Chebyshev polynomials.
    to_shapes : ndarray (nodes, shapes)
        Turns a table at the nodes into factors of the shapes.
    """

    plane: SlowPlane
    mix: Floats
    to_shapes: Floats

    def at(self, slow: Floats, lasting: Floats) -> Floats:
        """Each shape at states of one shape; (shapes, *slow.shape)."""
        return self._summed(self.plane.quick.basis(slow), self.plane.lasting.basis(lasting))

    def along(
        self, slow: Floats, lasting: Floats, by_slow: Floats, by_lasting: Floats, leading: int
    ) -> tuple[Floats, Floats]:
        """Each shape at states, and the change of the `leading` strongest ones for changes of S and L that are small."""
        quick, second = self.plane.quick.basis(slow), self.plane.lasting.basis(lasting)
        change = self._summed(self.plane.quick.slope(quick) * by_slow, second, leading)
        if self.plane.lasting.count > 1:
            change += self._summed(quick, self.plane.lasting.slope(second) * by_lasting, leading)
        return self._summed(quick, second), change

    def _summed(self, quick: Floats, second: Floats, leading: int | None = None) -> Floats:
        mix = self.mix[:leading]
        count = mix.shape[0]
        product = quick[:, None] * second[None]
        flat = mix.reshape(count, -1) @ product.reshape(self.plane.count, -1)
        return np.asarray(flat.reshape(count, *quick.shape[1:]))


def shapes_of(plane: SlowPlane, tables: list[tuple[Floats, float]], least: float) -> Shapes:
    """The shapes shared by some tables.

    Parameters
    ----------
    plane : SlowPlane
    tables : list of (ndarray (..., nodes), float)
        Each table with the size that counts as 1 in it.
    least : float
        A shape is kept while its part of the tables is larger than this.
    """
    series = plane.to_series().T
    if plane.count == 1:
        return Shapes(plane, np.ones((1, 1, 1)), np.ones((1, 1)))
    squares = np.zeros((plane.count, plane.count))
    for table, size in tables:
        rows = table.reshape(-1, plane.count) / size
        squares += rows.T @ rows / max(rows.shape[0], 1)
    strength, vector = np.linalg.eigh(squares)
    kept = vector[:, strength > least**2 * strength[-1]][:, ::-1]
    mix = (kept.T @ series).reshape(kept.shape[1], plane.quick.count, plane.lasting.count)
    return Shapes(plane, mix, kept)


def highest_bound(spans: Spans, muscle: MuscleParameters) -> float:
    """Largest m = C_N/(K_m + C_N) that an untired muscle has in these spans; a tired one, with K_m higher, has less."""
    length = spans.length_ms / muscle.tau_c_ms
    p, q = (plain + (muscle.k_m + muscle.r0_offset - 1.0) * gain for plain, gain in (spans.p, spans.q))
    with np.errstate(divide="ignore", invalid="ignore"):
        at = np.clip(np.where(p > 0.0, 1.0 - q / p, 0.0), 0.0, length)
    c_n = float(np.max(np.exp(-at) * (q + p * at), initial=0.0))
    return c_n / (muscle.k_m + c_n)


def tops(muscle: MuscleParameters, edge_ms: Floats, busy_ms: Floats, bound: float) -> tuple[float, float]:
    """Bounds on S and L over a session: the force of m = `bound` whenever there may be force.

    Parameters
    ----------
    muscle : MuscleParameters
    edge_ms, busy_ms : ndarray (n,)
        Rising times, and how much of the time before each was not silence.
    bound : float
        Largest m.
    """
    steps = min(max(int((edge_ms[-1] - edge_ms[0]) / _STEP_MS), _STEPS[0]), _STEPS[1])
    at = np.linspace(edge_ms[0], edge_ms[-1], steps + 1)
    h = float(at[1] - at[0])
    keep = math.exp(-h / (muscle.tau_fat_s * 1e3))
    slow = total = highest = 0.0
    for busy in np.diff(np.interp(at, edge_ms, busy_ms)).tolist():
        rate = max(muscle.a_rest_per_ms + muscle.alpha_a_per_ms2 * slow, 0.0)
        pull = busy * rate * bound * (muscle.tau_1_ms + muscle.alpha_tau_1 * slow + muscle.tau_2_ms * bound)
        total += pull
        slow = max(slow * keep + pull, 0.0)
        if muscle.alpha_a_per_ms2 < 0.0:
            slow = min(slow, -muscle.a_rest_per_ms / muscle.alpha_a_per_ms2)
        highest = max(highest, slow)
    return _MARGIN * highest, -muscle.lasting_max * math.expm1(-_MARGIN * total / muscle.lasting_max)


def plane_of(muscle: MuscleParameters, edge_ms: Floats, busy_ms: Floats, bound: float) -> SlowPlane:
    """Nodes for a session; arguments as in `tops`."""
    slow, lasting = tops(muscle, edge_ms, busy_ms, bound)
    grows = muscle.lasting_k_m * lasting / muscle.k_m
    count = 1 if grows <= 0.0 else 3 + math.ceil(_PER_DOUBLING * math.log2(1.0 + grows))
    return SlowPlane(SlowRange(max(slow, 1e-9), _NODES), SlowRange(max(lasting, 1e-9), count))
