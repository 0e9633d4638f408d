"""Five windows on one pulse train, from one pulse to the session, each inside the next. No Panel here.

Each window shows the same current; moving one takes the shorter ones along, so that they always show a part of it.
"""

from __future__ import annotations

import math
import re
from functools import lru_cache
from typing import Any

import numpy as np

from graspwave import simulator as sim

__all__ = ["LONGEST_PX", "WORDS", "Zooms", "captions", "height_ma", "panel", "panel_points", "spoken_time", "trains"]

WORDS = ("Pulse", "A few", "Ramp", "On, off", "Session")
"""Names of the windows, short to long."""

LONGEST_PX = 1600
"""Widest panel that is drawn; a browser may ask for anything."""

_USUAL_S = (1e-3, 0.1, 3.0, 60.0)
_SHORTEST_S = 1e-4
_STEPS = 16
"""Times are sent as whole parts of a pixel, rounded down, so that none leaves its pixel."""


@lru_cache(maxsize=16)
def trains(scene: sim.Scene) -> tuple[sim.PulseTrain, ...]:
    """The pulses of every channel through the session; one press of the on time where a channel is held."""
    presses = [(0.0, max(c.timing.on_s for c in scene.channel))]
    return tuple(sim.pulse_train(scene, n, presses) for n in range(len(scene.channel)))


def _usual_lengths(scene: sim.Scene) -> list[float]:
    """Lengths that show their subject: a whole pulse, four of them, the rise, two cycles, everything."""
    total, channel = 60.0 * scene.session.minutes, scene.channel[0]
    train = trains(scene)[0]
    busy = 1e-6 * (channel.pulse.phase_us * (1.0 + train.phase_ratio) + channel.pulse.gap_us)
    pulse = max(_USUAL_S[0], 1.6 * busy)
    few = max(_USUAL_S[1], 3.5 / channel.train.frequency_hz, 2.0 * pulse)
    ramp = max(_USUAL_S[2], 2.0 * channel.ramp.up_s, 2.0 * few)
    cycle = max(_USUAL_S[3], 1.2 * channel.cycle_s, 2.0 * ramp)
    lengths = [pulse, few, ramp, cycle, total]
    for n in (3, 2, 1, 0):
        lengths[n] = min(lengths[n], 0.5 * lengths[n + 1])
    return lengths


class Zooms:
    """Where the five windows are, and how they follow each other.

    Window `n` always lies inside window ``n + 1``; the last one lies inside the session. The shortest one settles on
    the nearest pulse when a longer one is moved, so that it shows a pulse and not the long rest between two.

    Attributes
    ----------
    start_s, length_s : list of float
        One for each of `WORDS`, s.
    """

    def __init__(self, scene: sim.Scene) -> None:
        self._factor = [1.0] * len(WORDS)
        self._settled = True
        self.start_s = [0.0] * len(WORDS)
        self.length_s = _usual_lengths(scene)
        self.scene = scene
        self.brush(4, self._first_at_full_s())
        onset = trains(scene)[0].onset_s
        self.start_s[3], self.start_s[2] = 0.0, float(onset[0]) if onset.size else 0.0
        self._nest(3)
        self._settle()

    # ---- what is where

    @property
    def total_s(self) -> float:
        """Length of the session."""
        return 60.0 * self.scene.session.minutes

    def window(self, panel: int) -> tuple[float, float]:
        """Start and end of one window, s."""
        return self.start_s[panel], self.start_s[panel] + self.length_s[panel]

    def centre(self, panel: int) -> float:
        """Middle of one window, s."""
        return self.start_s[panel] + 0.5 * self.length_s[panel]

    def _first_at_full_s(self) -> float:
        train = trains(self.scene)[0]
        if not len(train):
            return 0.0
        return float(train.onset_s[int(np.argmax(train.charge_uc >= (1.0 - 1e-9) * train.charge_uc.max()))])

    # ---- changes

    def show(self, scene: sim.Scene) -> None:
        """Take a changed scene: lengths follow it, windows stay where they are as far as they can."""
        middles = [self.centre(n) for n in range(len(WORDS))]
        self.scene = scene
        self._fit_lengths()
        for n in range(len(WORDS)):
            self.start_s[n] = middles[n] - 0.5 * self.length_s[n]
        self._nest(4)
        if self._settled:
            self._settle()

    def brush(self, panel: int, at_s: float) -> None:
        """Put the windows shorter than `panel` round a time; in the shortest panel the window itself moves there."""
        if panel == 0:
            self.move_to(0, at_s - 0.5 * self.length_s[0])
            return
        for n in range(panel - 1, -1, -1):
            self.start_s[n] = at_s - 0.5 * self.length_s[n]
        self._nest(panel)
        self._settle()

    def move_to(self, panel: int, start_s: float) -> None:
        """Start a window at a time; shorter ones keep their place in it, longer ones give way."""
        by = self._inside(panel, start_s, 0.0, self.total_s) - self.start_s[panel]
        for n in range(panel + 1):
            self.start_s[n] += by
        for n in range(panel + 1, len(WORDS)):  # pushed along just far enough
            low, high = self.window(n - 1)
            if low < self.start_s[n]:
                self.start_s[n] = low
            elif high > self.start_s[n] + self.length_s[n]:
                self.start_s[n] = high - self.length_s[n]
        self._nest(4)
        if panel:
            self._settle()
        else:
            self._settled = False

    def step(self, panel: int, windows: float) -> None:
        """Move a window by so many of its lengths; one that has no room moves its slice instead."""
        by = windows * self.length_s[panel]
        if panel and self.length_s[panel] >= self.total_s * (1.0 - 1e-9):
            # a whole window of the session would be its end, so that is a tenth at most
            self.brush(panel, self.centre(panel - 1) + math.copysign(min(abs(by), 0.1 * self.total_s), by))
        else:
            self.move_to(panel, self.start_s[panel] + by)

    def zoom(self, panel: int, factor: float) -> None:
        """Make a window `factor` times as long round its middle, within what its neighbours allow."""
        self._factor[panel] *= factor
        middle = self.centre(panel) if panel == 0 else self.centre(panel - 1)  # what is looked at stays in view
        self._fit_lengths()
        self._factor[panel] = self.length_s[panel] / _usual_lengths(self.scene)[panel]
        self.start_s[panel] = middle - 0.5 * self.length_s[panel]
        self._nest(4)

    def _fit_lengths(self) -> None:
        usual = _usual_lengths(self.scene)
        lengths = [u * f for u, f in zip(usual, self._factor, strict=True)]
        lengths[-1] = min(lengths[-1], self.total_s)
        for n in (3, 2, 1, 0):
            lengths[n] = min(lengths[n], 0.5 * lengths[n + 1])
        lengths[0] = max(lengths[0], min(_SHORTEST_S, usual[0]))
        for n in range(1, len(WORDS)):
            lengths[n] = max(lengths[n], min(2.0 * lengths[n - 1], self.total_s))
        self.length_s = lengths

    def _inside(self, panel: int, start_s: float, low_s: float, high_s: float) -> float:
        return max(low_s, min(start_s, high_s - self.length_s[panel]))

    def _nest(self, panel: int) -> None:
        """Pull window `panel` into the session and each shorter one into the next longer one."""
        self.start_s[-1] = self._inside(4, self.start_s[-1], 0.0, self.total_s)
        for n in range(min(panel, 3), -1, -1):
            self.start_s[n] = self._inside(n, self.start_s[n], *self.window(n + 1))

    def _settle(self) -> None:
        """Put the nearest pulse of the second window into the middle of the first; where there is none, leave it."""
        self._settled = True
        low, high = self.window(1)
        best = math.inf
        middle = self.centre(0)
        for train in trains(self.scene):
            first, last = np.searchsorted(train.onset_s, [low - 1e-9, high])
            part = train.part(int(first), int(last))
            seen = (part.end_s <= high) & (part.amplitude_ma > 0.0)
            if seen.any():
                middles = 0.5 * (part.onset_s + part.end_s)[seen]
                nearest = float(middles[np.argmin(np.abs(middles - middle))])
                best = min(best, nearest, key=lambda at: abs(at - middle))
        if best < math.inf:
            self.start_s[0] = best - 0.5 * self.length_s[0]
        self._nest(0)


# ---- what is drawn and said


def panel_points(scene: sim.Scene, start_s: float, length_s: float, pixels: int) -> list[dict[str, Any]]:
    """The lines of one panel, one for each of the first two channels, ready to be sent.

    Returns
    -------
    list of dict
        ``x`` in whole parts of the window (0 to ``steps``), ``y`` in mA to two places, ``dense`` where pulses are closer
        than four pixels. At most four points a pixel, with the highest and lowest current of each.
    """
    lines, edges = [], np.linspace(start_s, start_s + length_s, pixels + 1)
    for train in trains(scene)[:2]:
        t_s, current = sim.trace_current(train, start_s, start_s + length_s, pixels)
        pixel = np.minimum(np.searchsorted(edges, t_s, "right") - 1, pixels - 1)
        x = np.floor((t_s - start_s) / length_s * (_STEPS * pixels)).astype(int)
        x = np.clip(x, _STEPS * pixel, _STEPS * (pixel + 1) - 1)
        low, high = np.searchsorted(train.onset_s, [start_s, start_s + length_s])
        lines.append({
            "x": x.tolist(), "y": (np.round(current, 2) + 0.0).tolist(), "steps": _STEPS * pixels,
            "dense": bool(4 * (high - low) > pixels),
        })
    return lines


def captions(scene: sim.Scene) -> list[str]:
    """What each window is about, in the settings' own numbers; of the first channel."""
    channel = scene.channel[0]
    pulse, train, ramp, timing = channel.pulse, channel.train, channel.ramp, channel.timing
    one = f"phase {pulse.phase_us:g} µs"
    if pulse.shape == "monophasic":
        one += ", one way"
    else:
        one += f", gap {pulse.gap_us:g}" + (" µs" if pulse.gap_us else "")
        if pulse.shape == "asymmetric":
            one += f", second {pulse.phase_ratio:g} times as long"
    few = f"{train.frequency_hz:g} a second, {1e3 / train.frequency_hz:.3g} ms apart"
    if train.start != "plain":
        few += f"; {train.start} start, {train.leading_interval_ms:g} ms"
    of = " in length" if ramp.of == "phase" else ""
    rise = f"rises {ramp.up_s:g} s{of}, falls {ramp.down_s:g} s" if ramp.up_s or ramp.down_s else "no rise, no fall"
    cycle = f"on {channel.on_total_s:g} s, off {timing.off_s:g} s"
    if timing.control == "held":
        cycle = f"held: one press of {timing.on_s:g} s as a stand-in"
    count = sum(len(t) for t in trains(scene))
    both = " in all" if len(scene.channel) > 1 else ""
    session = f"{scene.session.minutes:g} min, {_thousands(count)} pulses{both}"
    return [_kept_together(text) for text in (one, few, rise, cycle, session)]


def _kept_together(text: str) -> str:
    """A number stays on one line with its unit, and a short word with its number."""
    return re.sub(r"(?<=\d) (?=[a-zµ]{1,3}\b)|\b(?<=gap|off) (?=\d)|\b(?<=on) (?=\d)", "\N{NO-BREAK SPACE}", text)


def _thousands(count: int) -> str:
    return f"{count:,}".replace(",", "\N{NO-BREAK SPACE}")


def length_words(length_s: float) -> str:
    """A length of time in the unit that suits it."""
    for unit, scale in (("min", 60.0), ("s", 1.0), ("ms", 1e-3)):
        if length_s >= (2.0 if unit == "min" else 1.0) * scale:
            return f"{length_s / scale:.3g} {unit}"
    return f"{1e6 * length_s:.3g} µs"


def spoken_time(at_s: float, length_s: float) -> str:
    """A moment of the session, as exact as a window of this length can show."""
    places = int(min(max(2 - math.floor(math.log10(length_s)), 0), 6))
    at_s = round(at_s, places) + 0.0
    minutes, seconds = divmod(at_s, 60.0)
    return f"{minutes:.0f} min {seconds:.{places}f} s" if minutes else f"{seconds:.{places}f} s"


def panel(zooms: Zooms, number: int, pixels: int) -> dict[str, Any]:
    """Everything that the browser draws and says of one window."""
    start, length = zooms.start_s[number], zooms.length_s[number]
    places = int(min(max(2 - math.floor(math.log10(length)), 0), 6))
    return {
        "start": start, "length": length, "span": length_words(length), "places": places,
        "from": spoken_time(start, length), "to": spoken_time(start + length, length),
        "lines": panel_points(zooms.scene, start, length, pixels),
    }


def height_ma(scene: sim.Scene) -> tuple[float, float]:
    """Lowest and highest current of all channels, mA: the height that all windows share."""
    low, high = 0.0, 0.0
    for channel, train in zip(scene.channel, trains(scene), strict=True):
        first = channel.pulse.amplitude_ma
        second = first / train.phase_ratio if train.phase_ratio else 0.0
        below, above = (first, second) if train.swap else (second, first)
        low, high = min(low, -below), max(high, above)
    return low, high
