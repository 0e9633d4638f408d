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

from .parameters import MuscleParameters

__all__ = ["Shapes", "SlowPlane", "SlowRange", "plane_of", "shapes_of", "tops"]

Floats = NDArray[np.float64]

_NODES = 6
_PER_DOUBLING = 1.0
"""Nodes of L: three, and so many more for each doubling of K_m over its range."""

_SHAPE = 2e-6
"""A shape is kept while its part of the tables is larger than this."""


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

    def both(self, slow: Floats, lasting: Floats) -> tuple[Floats, Floats]:
        """Each shape at states, and its derivative by S; (shapes, *slow.shape) each."""
        quick, second = self.plane.quick.basis(slow), self.plane.lasting.basis(lasting)
        return self._summed(quick, second), self._summed(self.plane.quick.slope(quick), second)

    def along(self, slow: Floats, lasting: Floats, by_slow: Floats, by_lasting: Floats) -> tuple[Floats, Floats]:
        """Each shape at states, and its change for changes of S and L that are small."""
        quick, second = self.plane.quick.basis(slow), self.plane.lasting.basis(lasting)
        change = self._summed(self.plane.quick.slope(quick) * by_slow, second)
        if self.plane.lasting.count > 1:
            change += self._summed(quick, self.plane.lasting.slope(second) * by_lasting)
        return self._summed(quick, second), change

    def _summed(self, quick: Floats, second: Floats) -> Floats:
        count = self.mix.shape[0]
        product = quick[:, None] * second[None]
        flat = self.mix.reshape(count, -1) @ product.reshape(self.plane.count, -1)
        return np.asarray(flat.reshape(count, *quick.shape[1:]))


def shapes_of(plane: SlowPlane, tables: list[tuple[Floats, float]]) -> Shapes:
    """The shapes shared by some tables.

    Parameters
    ----------
    plane : SlowPlane
    tables : list of (ndarray (..., nodes), float)
        Each table with the size that counts as 1 in it.
    """
    series = plane.to_series().T
    if plane.count == 1:
        return Shapes(plane, np.ones((1, 1, 1)), np.ones((1, 1)))
    squares = np.zeros((plane.count, plane.count))
    for table, size in tables:
        rows = table.reshape(-1, plane.count) / size
        squares += rows.T @ rows / max(rows.shape[0], 1)
    strength, vector = np.linalg.eigh(squares)
    kept = vector[:, strength > (_SHAPE**2) * strength[-1]][:, ::-1]
    mix = (kept.T @ series).reshape(kept.shape[1], plane.quick.count, plane.lasting.count)
    return Shapes(plane, mix, kept)


def tops(muscle: MuscleParameters, session_ms: float) -> tuple[float, float]:
    """Bounds on S and L after `session_ms`: saturated force (m = 1) without rest."""
    tau = muscle.tau_fat_s * 1e3
    steps = 400
    shown = min(session_ms, 8.0 * tau)
    h = shown / steps
    slow = total = force = 0.0
    for _ in range(steps):
        rate = max(muscle.a_rest_per_ms + muscle.alpha_a_per_ms2 * slow, 0.0)
        force = rate * (muscle.tau_1_ms + muscle.alpha_tau_1 * slow + muscle.tau_2_ms)
        total += h * force
        slow = max(slow, slow * math.exp(-h / tau) + h * force)
        if muscle.alpha_a_per_ms2 < 0.0:
            slow = min(slow, -muscle.a_rest_per_ms / muscle.alpha_a_per_ms2)
    total += force * (session_ms - shown)
    return slow, -muscle.lasting_max * math.expm1(-total / muscle.lasting_max)


def plane_of(muscle: MuscleParameters, session_ms: float, tiring: bool) -> SlowPlane:
    """Nodes for a session of so long."""
    if not tiring:
        return SlowPlane(SlowRange(0.0, 1), SlowRange(0.0, 1))
    slow, lasting = tops(muscle, session_ms)
    grows = muscle.lasting_k_m * lasting / muscle.k_m
    count = 1 if grows <= 0.0 else 3 + math.ceil(_PER_DOUBLING * math.log2(1.0 + grows))
    return SlowPlane(SlowRange(slow, _NODES), SlowRange(lasting, count))
