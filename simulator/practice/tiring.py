"""Tiring through a session whose stimulation is decided as it goes: the slow state of the muscle model, burst by burst.

The published model's S obeys dS/dt = -S/tau_fat + F. Within a burst at one rate F is the fused mean at the present S, which is
tabulated once with the model itself (`muscle.steady_force_fraction` at the A, K_m, tau_1 of that S). Steps of a second, second
order, then cost microseconds. Compared with `muscle.session_force` on the pulses that came out in the tests.
"""

from __future__ import annotations

import dataclasses
import math

import numpy as np

from graspwave.simulator import muscle

__all__ = ["Tiring"]

_NODES = 9
_STEP_S = 1.0


class Tiring:
    """How much of its force one channel's muscle has left.

    Parameters
    ----------
    frequency_hz : float
    on : bool
        False: nothing tires.
    """

    def __init__(self, frequency_hz: float, on: bool = True) -> None:
        rest = muscle.parameter_set("forearm extensors")
        self._on, self._tau_ms, self.slow, self.at_s = on, rest.tau_fat_s * 1e3, 0.0, 0.0
        most = 0.9 * rest.a_rest_per_ms / -rest.alpha_a_per_ms2
        self._nodes = np.linspace(0.0, most, _NODES if on else 1)
        self._force = np.array([
            rest.peak_force * muscle.steady_force_fraction(frequency_hz, dataclasses.replace(
                rest, a_rest_per_ms=rest.a_rest_per_ms + rest.alpha_a_per_ms2 * slow, k_m=rest.k_m + rest.alpha_k_m * slow,
                tau_1_ms=rest.tau_1_ms + rest.alpha_tau_1 * slow,
            ))
            for slow in self._nodes.tolist()
        ])
        self.tired_per_slow = -rest.alpha_a_per_ms2 / rest.a_rest_per_ms

    @property
    def kept(self) -> float:
        """Share of its fused force that is left, to four digits."""
        return round(float(np.interp(self.slow, self._nodes, self._force) / self._force[0]), 4)

    def rest_until(self, t_s: float) -> None:
        """No pulses up to `t_s`."""
        if t_s > self.at_s:
            self.slow *= math.exp(-1e3 * (t_s - self.at_s) / self._tau_ms)
            self.at_s = t_s

    def run(self, lasts_s: float, drive: float) -> None:
        """Pulses for so long, the share `drive` of the recruited part taking part."""
        if lasts_s <= 0.0:
            return
        self.at_s += lasts_s
        if not self._on:
            return
        count = math.ceil(lasts_s / _STEP_S)
        step_ms = 1e3 * lasts_s / count
        keep, half = math.exp(-step_ms / self._tau_ms), math.exp(-0.5 * step_ms / self._tau_ms)
        for _ in range(count):
            first = float(np.interp(self.slow, self._nodes, self._force)) * drive
            middle = self.slow * half + 0.5 * step_ms * first
            self.slow = self.slow * keep + step_ms * half * drive * float(np.interp(middle, self._nodes, self._force))
