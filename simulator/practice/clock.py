"""The clock of a session: its events, and every draw of chance.

Times are kept to the millisecond, and draws use uniform numbers only, so that rounding cannot turn a decision.
"""

from __future__ import annotations

import math

import numpy as np

from graspwave.simulator.facts import number

from .log import Event

__all__ = ["Chance", "Clock", "Failed", "TimeUp"]


class TimeUp(Exception):
    """The session is over."""


class Failed(Exception):
    """This attempt ended without the object at its place."""

    def __init__(self, cause: str, drop: bool = False) -> None:
        super().__init__(cause)
        self.cause, self.drop = cause, drop


class Chance:
    """Draws that are the same on every machine: uniform numbers only."""

    def __init__(self, seed: int) -> None:
        self._rng = np.random.Generator(np.random.PCG64(seed))

    def less_than(self, share: float) -> bool:
        return self.uniform() < share

    def uniform(self) -> float:
        return float(self._rng.random())

    def normal(self) -> float:
        """Sum of twelve uniform numbers less six: mean 0, deviation 1, never past 6."""
        return math.fsum(self._rng.random(12).tolist()) - 6.0

    def around(self, mean: float, spread: float) -> float:
        return mean * max(0.3, 1.0 + spread * self.normal())


class Clock:
    """Time, chance and the log; `t` is now, s.

    Parameters
    ----------
    seed : int
    end_s : float
    """

    def __init__(self, seed: int, end_s: float) -> None:
        # the end is a time like any other: one between two milliseconds would never be reached
        self.end_s, self.t, self.attempt, self.current_ma = self._ms(end_s), 0.0, 0, 0.0
        self.chance, self.events = Chance(seed), list[Event]()

    def _lasts(
        self, phase: str, lasts_s: float, cause: str = "", *, opening_mm: float = 0.0, current_ma: float | None = None,
        bits: float = 0.0,
    ) -> None:
        lasts = self._ms(min(lasts_s, self.end_s - self.t))
        current = self.current_ma if current_ma is None else current_ma
        self.events.append(Event(
            self.t, lasts, phase, cause, self.attempt, round(opening_mm, 2), round(current, 3), round(bits, 4),
        ))
        self.t = self._ms(self.t + lasts)
        if self.t >= self.end_s - 1e-9:
            raise TimeUp

    def _until(self, phase: str, when_s: float, cause: str = "", opening_mm: float = 0.0) -> None:
        self._lasts(phase, max(0.0, when_s - self.t), cause, opening_mm=opening_mm)

    def _moves(self, phase: str, mean_s: float, cause: str = "", *, bits: float = 0.0) -> None:
        self._lasts(phase, self.chance.around(mean_s, number("practice.time.spread")), cause, bits=bits)

    def _wait_until(self, when_s: float, cause: str) -> None:
        if when_s > self.t:
            self._until("wait", when_s, cause)

    def _delay(self, mean_s: float) -> float:
        return self._ms(self.chance.around(mean_s, number("practice.time.spread")))

    @staticmethod
    def _ms(seconds: float) -> float:
        return math.floor(seconds * 1000.0 + 0.5) / 1000.0  # a tenth of the time that round() takes, and it is asked for often
