"""Tiring through a session whose stimulation is decided as it goes: the slow states of the muscle model, burst by burst.

The model's S obeys dS/dt = -S/tau_fat + F, the lasting state dL/dt = -L/tau_L + F (1 - L/L_max). Within a burst at one rate F
is the fused mean at the present S and L, tabulated once with the model itself (`muscle.fused_force`). Steps of a second, second
order, then cost microseconds. Compared with `muscle.session_force` on the pulses that came out in the tests.
"""

from __future__ import annotations

import math
from functools import cache

import numpy as np
from numpy.typing import NDArray

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
        self._muscle = rest = muscle.parameter_set("able")
        self._on, self.slow, self.lasting, self.at_s = on, 0.0, 0.0, 0.0
        self._tau_ms, self._lasting_ms = rest.tau_fat_s * 1e3, rest.lasting_h * 3.6e6
        self._table: list[list[float]] = _fused(frequency_hz).tolist()
        self._top = _most()

    @property
    def kept(self) -> float:
        """Share of its fused force that is left, to four digits."""
        return round(self._force(self.slow, self.lasting) / self._table[0][0], 4)

    def rest_until(self, t_s: float) -> None:
        """No pulses up to `t_s`."""
        if t_s > self.at_s:
            self.slow *= math.exp(-1e3 * (t_s - self.at_s) / self._tau_ms)
            self.lasting *= math.exp(-1e3 * (t_s - self.at_s) / self._lasting_ms)
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
        most = self._muscle.lasting_max
        for _ in range(count):
            first = 0.5 * step_ms * drive * self._force(self.slow, self.lasting)
            pull = drive * self._force(self.slow * half + first, self.lasting + first * (1.0 - self.lasting / most))
            self.slow = self.slow * keep + step_ms * half * pull
            gone = math.exp(-step_ms * (1.0 / self._lasting_ms + pull / most))
            self.lasting = self.lasting * gone - most * math.expm1(-step_ms * pull / most)

    def _force(self, slow: float, lasting: float) -> float:
        """Fused force by lines between the nodes of the table."""
        along, across = min(slow / self._top[0], 1.0) * (_NODES - 1), min(lasting / self._top[1], 1.0) * (_NODES - 1)
        i, j = min(int(along), _NODES - 2), min(int(across), _NODES - 2)
        x, y = along - i, across - j
        first, second = self._table[i], self._table[i + 1]
        low, high = first[j] * (1.0 - y) + first[j + 1] * y, second[j] * (1.0 - y) + second[j + 1] * y
        return low * (1.0 - x) + high * x


@cache
def _most() -> tuple[float, float]:
    """Largest S and L of the table."""
    rest = muscle.parameter_set("able")
    return 0.9 * rest.a_rest_per_ms / -rest.alpha_a_per_ms2, rest.lasting_max


@cache
def _fused(frequency_hz: float) -> NDArray[np.float64]:
    """Fused force at nodes of S (rows) and L (columns)."""
    slow, lasting = (np.linspace(0.0, most, _NODES) for most in _most())
    return muscle.fused_force(frequency_hz, slow[:, None], lasting[None, :])
