"""Who decides when current runs: the timer, or a switch that is held. Keeps the spans, and how tired they leave the muscle."""

from __future__ import annotations

import bisect
import dataclasses
import math
from operator import itemgetter

import numpy as np

from graspwave.simulator.pulses import pulse_train
from graspwave.simulator.recruitment import recruitment_curve
from graspwave.simulator.scene import Channel, Scene

from .tiring import Tiring

__all__ = ["Stimulus", "Window"]


@dataclasses.dataclass(frozen=True, slots=True)
class Window:
    """One on time: start, start of the fall, end of the fall; seconds."""

    number: int
    on_s: float
    fall_s: float
    off_s: float


class Stimulus:
    """One channel through a session.

    Parameters
    ----------
    scene : Scene
    index : int
        Which channel.
    control : str
        "timed" or "held".
    begin_s : float
        When the timer is started.
    end_s : float
    """

    def __init__(self, scene: Scene, index: int, control: str, begin_s: float, end_s: float) -> None:
        self.channel: Channel = scene.channel[index]
        self.scene, self.index, self.timed, self.begin_s, self.end_s = scene, index, control == "timed", begin_s, end_s
        self.tiring = Tiring(self.channel.train.frequency_hz, "tiring" not in scene.without_mechanisms)
        self.up_s, self.down_s = self.channel.ramp.up_s, self.channel.ramp.down_s
        self._ramp_share = _share_of_ramp(scene, index)
        self._next, self._pressed_s = 0, -1.0
        self.withheld: set[int] = set()
        self.used: set[int] = set()
        self.presses: list[tuple[float, float]] = []
        self.current: list[tuple[float, float]] = [(0.0, self.channel.pulse.amplitude_ma)]

    def window(self, number: int) -> Window:
        """On time `number` of the timer."""
        on = self.begin_s + self.channel.timing.delay_s + number * self.channel.cycle_s
        off = on + self.channel.on_total_s
        return Window(number, round(on, 6), round(off - self.down_s, 6), round(off, 6))

    def next_window(self, t_s: float, lasts_s: float) -> Window:
        """First on time that has at least `lasts_s` of its plateau left after `t_s`, or is yet to come."""
        cycle = self.channel.cycle_s
        number = max(0, math.floor((t_s - self.begin_s - self.channel.timing.delay_s) / cycle))
        found = self.window(number)
        while number in self.withheld or (found.on_s < t_s and found.fall_s < t_s + lasts_s):
            number += 1
            found = self.window(number)
        return found

    def kept_at(self, t_s: float) -> float:
        """Share of its force that the muscle has left at a time not before the last one asked for."""
        if self.timed:
            while (found := self.window(self._next)).on_s < t_s and found.on_s < self.end_s:
                if self._next not in self.withheld:
                    self._burst(found.on_s, found.fall_s, found.off_s)
                self._next += 1
        self.tiring.rest_until(t_s)
        return self.tiring.kept

    def press(self, t_s: float) -> None:
        """The switch is pressed."""
        self._pressed_s = t_s

    def release(self, t_s: float) -> None:
        """The switch is let go: the current falls with its ramp from the level it has reached."""
        t_s = min(t_s, self.end_s)
        if self._pressed_s < 0.0 or t_s <= self._pressed_s:
            self._pressed_s = -1.0
            return
        self.presses.append((round(self._pressed_s, 6), round(t_s, 6)))
        high = min(1.0, (t_s - self._pressed_s) / self.up_s) if self.up_s else 1.0
        self._burst(self._pressed_s, t_s, t_s + high * self.down_s)
        self._pressed_s = -1.0

    def set_current(self, t_s: float, current_ma: float) -> None:
        """From now on this current is set."""
        self.current.append((t_s, current_ma))

    def pulses(self) -> tuple[int, float, float, tuple[tuple[float, float, float], ...]]:
        """Number of pulses, charge of their first phases in mC, time on in s, and when: from, to, current."""
        timing = dataclasses.replace(self.channel.timing, control="held", delay_s=0.0)
        channel = dataclasses.replace(self.channel, timing=timing)
        spans = list(self.presses)
        if self.timed:
            number = 0
            while (found := self.window(number)).on_s < self.end_s:
                if number not in self.withheld:
                    spans.append((found.on_s, found.fall_s))
                number += 1
        scene = self.scene.replace("channel", (channel,))
        train = pulse_train(scene, 0, sorted(span for span in spans if self._set_ma(span[0]) > 0.0), self.end_s)
        times, set_ma = zip(*self.current, strict=True)
        at = np.searchsorted(np.array(times), train.onset_s + 1e-9, side="right") - 1
        base = self.channel.pulse.amplitude_ma
        factor = np.array(set_ma)[np.maximum(at, 0)] / base if base else np.zeros(len(train))
        charge = 1e-3 * float(np.sum(train.charge_uc * factor))
        where = tuple(
            (round(float(a), 3), round(float(b), 3), self._set_ma(float(a)))
            for a, b in train.span_s
        )
        return len(train), round(charge, 4), round(math.fsum(b - a for a, b, _ in where), 3), where

    def _set_ma(self, t_s: float) -> float:
        """Current that was set at a time."""
        return self.current[max(bisect.bisect_right(self.current, t_s + 1e-6, key=itemgetter(0)) - 1, 0)][1]

    def _burst(self, on_s: float, fall_s: float, off_s: float) -> None:
        self.tiring.rest_until(on_s)
        if self._set_ma(on_s) <= 0.0:
            return
        up = min(self.up_s, fall_s - on_s)
        reached = up / self.up_s if self.up_s else 1.0
        self.tiring.run(up, self._ramp_share * reached)
        self.tiring.run(fall_s - on_s - up, reached)
        self.tiring.run(off_s - fall_s, self._ramp_share * reached)


def _share_of_ramp(scene: Scene, index: int) -> float:
    """Mean of recruited share over a ramp, as part of that at its top: layers of high threshold join late and leave early."""
    level = np.linspace(0.0, 1.0, 21)
    curves = recruitment_curve(scene, level * scene.channel[index].pulse.amplitude_ma, index)
    curve = curves.get("TRI", curves.get("EDC", next(iter(curves.values()))))
    return round(float(curve.mean() / curve[-1]), 4) if curve[-1] > 1e-6 else 0.5
