"""The myelinated axon as a cable of excitable nodes (stage axon: membrane and time stepping).

At each node, in voltage v above rest, per area of node::

    c dv/dt = g (second difference of v + drive) - i_ion(v, gates),   g = d / (4 rho_i L l)

`drive` is the second difference of the voltage outside (at an end: the one step there is). McNeal 1976; nodes of
Frankenhaeuser and Huxley 1964. With d and L proportional to the fibre's diameter, g does not depend on it: diameter
enters by the place of the nodes alone, so speed goes as D and the threshold in a uniform field as 1/D, exactly.

Time steps are second order: gates half a step apart from the voltage (trapezoid), voltage by the linearised midpoint
rule, one tridiagonal solve for all axons at once. Only half of a fibre that is symmetric about its first node is kept.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray
from scipy.constants import physical_constants
from scipy.linalg.lapack import dgtsv

from graspwave.simulator.facts import fact, number

__all__ = ["SPIKE_MV", "Fibres", "Membrane", "internode_mm", "membrane"]

Array = NDArray[np.float64]

SPIKE_MV = 50.0
"""A node this far above rest carries a spike: half its height, far above what a threshold stimulus does by itself."""

_GATES = ("m", "h", "n", "p")
_WIDEST_MV = 250.0  # rates are held beyond this voltage: they are all but linear or zero there, and e^(v/3) overflows


def internode_mm(diameter_um: Array | float) -> Array:
    """Distance between nodes, L = 100 D [mm], for outer diameters [um]."""
    return np.asarray(diameter_um, float) * number("axon.fibre.internode_share") * 1e-3


@dataclass(frozen=True)
class Membrane:
    """Constants of the cable and its nodes in mV, ms, uA/cm2, mS/cm2, uF/cm2.

    Attributes
    ----------
    coupling_ms_cm2 : float
        Conductance between neighbouring nodes per area of node, g.
    capacitance_uf_cm2, leak_ms_cm2, leak_mv : float
        Of the node; the leak's voltage above rest.
    per_mv : float
        F/(R T).
    rest_mv : float
        Resting voltage inside.
    sodium, potassium, other : float
        P F [uA/cm2 for each mmol/l].
    sodium_mm, potassium_mm : tuple of float
        Concentrations inside and outside.
    rates : tuple
        (A, v0, y) of opening and closing for m, h, n, p.
    """

    coupling_ms_cm2: float
    capacitance_uf_cm2: float
    leak_ms_cm2: float
    leak_mv: float
    per_mv: float
    rest_mv: float
    sodium: float
    potassium: float
    other: float
    sodium_mm: tuple[float, float]
    potassium_mm: tuple[float, float]
    rates: tuple[tuple[float, float, float], ...]

    def gate_rates(self, v: Array) -> list[Array]:
        """Opening and closing rates [1/ms] of m, h, n, p at voltages above rest [mV], in that order."""
        v = np.clip(v, -_WIDEST_MV, _WIDEST_MV)
        # x/(e^x - 1) is 0/0 where v meets a v0; all of them are whole millivolts
        v = np.where(np.abs(v - np.rint(v)) < 1e-9, v + 1e-7, v)
        rising = {y: np.exp(v / y) for y in {abs(rate[2]) for rate in self.rates}}
        falling = {y: 1.0 / e for y, e in rising.items()}
        found = []
        for k, (a, v0, y) in enumerate(self.rates):
            e = (rising[y] if y > 0 else falling[-y]) * np.exp(-v0 / y)
            if k == 3:  # closing of h
                found.append(a / (1.0 + e))
            else:
                found.append(np.copysign(a, y) * (v - v0) / (e - 1.0))
        return found

    def resting_gates(self) -> list[float]:
        """Steady values of m, h, n, p at rest."""
        r = self.gate_rates(np.zeros(1))
        return [float(r[2 * i][0] / (r[2 * i][0] + r[2 * i + 1][0])) for i in range(4)]

    def ionic(self, v: Array, gates: list[Array]) -> tuple[Array, Array]:
        """Current through the membrane [uA/cm2] and its slope [mS/cm2]: constant-field equation and leak."""
        m, h, n, p = gates
        u = (v + self.rest_mv) * self.per_mv
        u = np.where(np.abs(u) < 1e-9, 1e-9, u)
        e = np.exp(np.clip(u, -30.0, 30.0))
        d = 1.0 / (1.0 - e)
        steep = u * e * d * d
        (na_in, na_out), (k_in, k_out) = self.sodium_mm, self.potassium_mm
        na = self.sodium * m * m * h + self.other * p * p
        k = self.potassium * n * n
        q_na = (na_out - na_in * e) * d
        q_k = (k_out - k_in * e) * d
        current = u * (na * q_na + k * q_k) + self.leak_ms_cm2 * (v - self.leak_mv)
        slope = self.per_mv * (na * (q_na + steep * (na_out - na_in)) + k * (q_k + steep * (k_out - k_in)))
        return current, slope + self.leak_ms_cm2


@cache
def membrane() -> Membrane:
    """The published constants, read from the tables once."""
    node, fibre = "axon.node.", "axon.fibre."
    faraday = physical_constants["Faraday constant"][0]
    gas = physical_constants["molar gas constant"][0]
    rest = number(node + "rest_mv")
    # mS/cm2; d/L is a pure number, the node's length in cm, resistivity in kohm cm
    shape = number(fibre + "axon_share") / number(fibre + "internode_share")
    coupling = shape / (4.0 * number(fibre + "inside_ohm_cm") * 1e-3 * number(fibre + "node_um") * 1e-4)
    return Membrane(
        coupling_ms_cm2=coupling,
        capacitance_uf_cm2=number(node + "capacitance_uf_cm2"),
        leak_ms_cm2=number(node + "leak_ms_cm2"),
        leak_mv=number(node + "leak_mv") - rest,
        per_mv=faraday / (gas * number(node + "temperature_k")) * 1e-3,
        rest_mv=rest,
        sodium=number(node + "sodium_cm_s") * faraday,
        potassium=number(node + "potassium_cm_s") * faraday,
        other=number(node + "other_cm_s") * faraday,
        sodium_mm=(number(node + "sodium_in_mm"), number(node + "sodium_out_mm")),
        potassium_mm=(number(node + "potassium_in_mm"), number(node + "potassium_out_mm")),
        rates=tuple(
            tuple(fact(f"axon.rate.{gate}_{way}").value) for gate in _GATES for way in ("open", "close")
        ),
    )


class Fibres:
    """Many axons stepped together from rest.

    Parameters
    ----------
    drive_mv : array, shape (rows, nodes)
        Second difference of the outside voltage for a stimulus of 1; at an end the one step there is.
    ended : array of bool, shape (rows,)
        True: the axon ends at its first node. False: it goes on, the mirror image of what is kept.
    step_ms : float
        Time step; thresholds are within 0.2 % at 0.005 ms for phases of 100 us.
    cell : Membrane, optional
        Constants other than the published ones.

    Attributes
    ----------
    v_mv : array, shape (rows, nodes)
        Voltage above rest.
    """

    def __init__(self, drive_mv: Array, ended: NDArray[np.bool_], step_ms: float, cell: Membrane | None = None) -> None:
        self.cell = cell or membrane()
        self.step_ms = step_ms
        self.v_mv: Array = np.zeros(drive_mv.shape)
        self._gates = [np.full(drive_mv.shape, rest) for rest in self.cell.resting_gates()]
        self._drive, self._ended = drive_mv, ended
        self._first = True
        self._couple()

    def keep(self, rows: NDArray[np.bool_]) -> None:
        """Go on with some of the axons only."""
        self.v_mv, self._drive, self._ended = self.v_mv[rows], self._drive[rows], self._ended[rows]
        self._gates = [g[rows] for g in self._gates]
        self._couple()

    def _couple(self) -> None:
        rows, nodes = self.v_mv.shape
        down, up = np.ones((rows, nodes)), np.ones((rows, nodes))
        down[:, 0] = 0.0
        up[:, -1] = 0.0  # the far end is sealed, and far
        up[:, 0] = np.where(self._ended, 1.0, 2.0)
        half = 0.5 * self.cell.coupling_ms_cm2
        self._down, self._up, self._sum = down, up, down + up
        self._lower, self._upper = -half * down.ravel()[1:], -half * up.ravel()[:-1]
        self._diagonal = self.cell.capacitance_uf_cm2 / self.step_ms + half * self._sum

    def step(self, stimulus: Array) -> Array:
        """One time step under a stimulus (rows,), its mean over the step; returns the new voltage [mV]."""
        cell, v = self.cell, self.v_mv
        rates = cell.gate_rates(v)
        ahead = 0.5 * self.step_ms if self._first else self.step_ms  # gates stand half a step ahead of the voltage
        self._first = False
        for i, gate in enumerate(self._gates):
            opening, closing = rates[2 * i], rates[2 * i + 1]
            s = 0.5 * ahead * (opening + closing)
            self._gates[i] = (gate * (1.0 - s) + ahead * opening) / (1.0 + s)
        current, slope = cell.ionic(v, self._gates)
        bend = self._drive * stimulus[:, None] - self._sum * v
        bend[:, 1:] += self._down[:, 1:] * v[:, :-1]
        bend[:, :-1] += self._up[:, :-1] * v[:, 1:]
        right = cell.coupling_ms_cm2 * bend - current
        change = dgtsv(self._lower, (self._diagonal + 0.5 * slope).ravel(), self._upper, right.ravel())[3]
        self.v_mv = v + change.reshape(v.shape)
        return self.v_mv
