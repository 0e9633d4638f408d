"""One muscle, given pulse times; and its steady force when pulses fuse."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from graspwave.simulator import show
from graspwave.simulator.results import Result

from .. import facts
from .parameters import MuscleParameters, parameter_set
from .session import checked_fractions, checked_times, session_force

__all__ = ["Force", "muscle_force", "steady_force_fraction"]

Floats = NDArray[np.float64]

_SAMPLE_S = 0.0025
"""Half the longest step promised."""

_TAIL_S = 0.5
"""What is shown after the last pulse unless `until_s` says otherwise: relaxation, ten times tau_1 at rest."""


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class Force(Result):
    """Force of one muscle and its slow states, each (samples,).

    Attributes
    ----------
    time_s : ndarray
        From 0, samples at most 5 ms apart.
    force_n : ndarray
        Newtons.
    a_per_ms, k_m, tau_1_ms : ndarray
        A (unit of force of the set per ms), K_m and tau_1, mean of the recruited part.
    tired : ndarray
        1 - A/A_rest: 0 fresh, 1 spent.
    a_rest_per_ms : float
        A at rest.
    """

    time_s: Floats
    force_n: Floats
    a_per_ms: Floats
    k_m: Floats
    tau_1_ms: Floats
    tired: Floats
    a_rest_per_ms: float

    def _said(self) -> list[str]:
        last = f"force rate lost at the end: {100.0 * self.tired[-1]:.1f} %" if self.tired.size else "no samples"
        return [
            f"Force of one muscle over {self.time_s[-1] if self.time_s.size else 0.0:g} s, {self.time_s.size} samples",
            f"highest {self.force_n.max(initial=0.0):.1f} N", last,
        ]

    def _drawn(self, figure: Any, **look: Any) -> Any:
        return show.lines("Force", "Time [s]", "Force [N]", {"force": (self.time_s, self.force_n)}, figure, **look)

    def _columns(self) -> Mapping[str, Any]:
        return {"time [s]": self.time_s, "force [N]": self.force_n, "force rate lost [1]": self.tired}


def muscle_force(
    onset_s: ArrayLike,
    recruited: ArrayLike = 1.0,
    parameters: str | MuscleParameters = "able",
    tiring: bool = True,
    until_s: float | None = None,
    *,
    f_max_n: float | None = None,
) -> Force:
    """Isometric force of one muscle for given pulse times.

    Parameters
    ----------
    onset_s : array_like (pulses,)
        Pulse times in s, rising, from 0 on.
    recruited : float or array_like (pulses,)
        Fraction of the muscle each pulse recruits; one number for all pulses.
    parameters : str or MuscleParameters
        One of `PARAMETER_SETS`, or a record.
    tiring : bool
        False holds the slow states at rest.
    until_s : float, optional
        Last sample; 0.5 s after the last pulse if not given.
    f_max_n : float, optional
        Newtons of the untired peak at 100 Hz. If not given, force is in the set's own unit: newtons for the
        quadriceps; for the forearm sets a muscle of 100 N, so that newtons read as per cent.

    Returns
    -------
    Force

    Raises
    ------
    ValueError
        Times or fractions out of range, an unknown parameter set.

    Notes
    -----
    Ding, Wexler, Binder-Macleod 2003, with the recruited fraction scaling A; limits as in `session_force`.

    Examples
    --------
    >>> from graspwave import simulator as sim
    >>> import numpy as np
    >>> twitch, train = sim.muscle_force([0.0]), sim.muscle_force(np.arange(0.0, 1.0, 0.03))
    >>> bool(train.force_n.max() > 2.0 * twitch.force_n.max())
    True
    """
    muscle = parameter_set(parameters)
    onset = checked_times(onset_s, "onset_s")
    share = np.asarray(recruited, dtype=float)
    share = checked_fractions(np.full(onset.shape, share) if share.ndim == 0 else share, onset.shape, "recruited")
    end = _end(onset, until_s)
    time = np.linspace(0.0, end, max(2, math.ceil(end / _SAMPLE_S - 1e-9) + 1))
    peak = muscle.peak_force if f_max_n is None else f_max_n
    found = session_force([onset], [share[:, None]], [peak], time, parameters=muscle, tiring=tiring)
    slow, lasting = found.slow[:, 0], found.lasting[:, 0]
    return Force(
        time_s=time,
        force_n=found.force_n[:, 0],
        a_per_ms=muscle.a_per_ms(slow, lasting),
        k_m=muscle.k_m_at(slow, lasting),
        tau_1_ms=muscle.tau_1_ms + muscle.alpha_tau_1 * slow,
        tired=found.tired[:, 0],
        a_rest_per_ms=muscle.a_rest_per_ms,
    )


def steady_force_fraction(frequency_hz: float, parameters: str | MuscleParameters = "able") -> float:
    """Mean untired force of a steady train, as a fraction of the 100-Hz peak.

    Parameters
    ----------
    frequency_hz : float
        Above 0, to 1000.
    parameters : str or MuscleParameters

    Returns
    -------
    float
        Mean from ``muscle.steady.from_s`` to the end of a train of ``muscle.steady.train_s``; remembered by argument.

    Raises
    ------
    ValueError
        A frequency out of range.
    """
    if not 0.0 < frequency_hz <= 1000.0:
        raise ValueError(f"'frequency_hz' must be above 0, to 1000 (got {frequency_hz:g}); stimulators use 1 to 100")
    return _steady(float(frequency_hz), parameter_set(parameters))


@cache
def _steady(frequency_hz: float, muscle: MuscleParameters) -> float:
    start, end = facts.number("muscle.steady.from_s"), facts.number("muscle.steady.train_s")
    period = 1.0 / frequency_hz
    # whole periods only, or the mean would depend on where the ripple is cut
    start = period * math.ceil(start / period - 1e-9)
    end = start + period * max(1, math.floor((end - start) / period + 1e-9))
    onset = period * np.arange(round(end / period))
    time = np.linspace(start, end, 2 * math.ceil((end - start) / 0.002) + 1)
    force = session_force([onset], [np.ones((onset.size, 1))], [1.0], time, parameters=muscle,
    tiring=False).force_n[:, 0]
    return float((force[0] + force[-1] + 4.0 * force[1::2].sum() + 2.0 * force[2:-1:2].sum()) / (3.0 * (time.size - 1)))


def _end(onset: Floats, until_s: float | None) -> float:
    if until_s is None:
        return float(onset[-1]) + _TAIL_S if onset.size else _TAIL_S
    if not (math.isfinite(until_s) and until_s > 0.0):
        raise ValueError(f"'until_s' must be finite and above 0 (got {until_s:g}); leave it out for the whole train")
    return float(until_s)
