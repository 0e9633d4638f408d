"""From a channel's settings to its pulses: onset, height and length of every one.

Second stage of the chain. No time grid: onsets are sums and quotients of the settings, so awkward rates keep their
true intervals for hours.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, fields, replace
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from graspwave.simulator import show
from graspwave.simulator.results import Result
from graspwave.simulator.scene import Channel, Scene, SceneError, checked_scene, setting

__all__ = ["PulseTrain", "pulse_train"]

Array = NDArray[np.float64]
Held = Sequence[tuple[float, float]]

_SAME_S = 1e-9
"""Times closer than this are one and the same; far below any pulse, far above rounding at hours."""

_EXTRA = {"plain": 0, "doublet": 1, "triplet": 2}
"""Pulses ahead of the steady ones."""


@dataclass(frozen=True, eq=False, repr=False)
class PulseTrain(Result):
    """The pulses of one channel, in order, none overlapping another.

    Attributes
    ----------
    onset_s : ndarray, shape (n,)
        Start of the first phase.
    amplitude_ma : ndarray, shape (n,)
        Height of the first phase, never negative; 0 at the very start of a ramp.
    phase_us : ndarray, shape (n,)
        Length of the first phase, always above 0.
    shape : str
        "symmetric", "asymmetric" or "monophasic".
    gap_us : float
        Pause between the phases.
    phase_ratio : float
        Second phase in lengths of the first, and as many times weaker: 1 when symmetric, 0 when there is none.
    swap : bool
        Leads swapped: the current changes its sign, nothing else.
    duration_s : float
        End of what was asked for.
    span_s : ndarray, shape (m, 2)
        From when to when the channel is on, ramps included.
    """

    onset_s: Array
    amplitude_ma: Array
    phase_us: Array
    shape: str = "symmetric"
    gap_us: float = 0.0
    phase_ratio: float = 1.0
    swap: bool = False
    duration_s: float = math.inf
    span_s: Array = field(default_factory=lambda: np.empty((0, 2)))

    def __post_init__(self) -> None:
        for f in fields(self):
            value = getattr(self, f.name)
            if isinstance(value, np.ndarray):
                value.setflags(write=False)

    def _said(self) -> list[str]:
        if not len(self):
            return ["PulseTrain without pulses: a held channel gives none until it is pressed"]
        return [
            f"PulseTrain of {len(self)} {self.shape} pulses, {self.onset_s[0]:g} to {self.onset_s[-1]:g} s",
            f"up to {self.amplitude_ma.max():g} mA and {self.phase_us.max():g} us; {self.charge_uc.sum() / 1e3:.3g} mC in all",
            f"on {len(self.span_s)} times" + (", leads swapped" if self.swap else ""),
        ]

    def _drawn(self, figure: Any, **look: Any) -> Any:
        drawn = {"pulses": (np.repeat(self.onset_s, 3), np.ravel([[0.0, ma, np.nan] for ma in self.sign * self.amplitude_ma]))}
        return show.lines("Height of every pulse", "Time [s]", "Current [mA]", drawn, figure, **look)

    def _columns(self) -> Mapping[str, Any]:
        return {"onset [s]": self.onset_s, "amplitude [mA]": self.amplitude_ma, "phase [us]": self.phase_us}

    def __len__(self) -> int:
        return len(self.onset_s)

    def part(self, first: int, last: int) -> PulseTrain:
        """The same channel with pulses `first` up to `last` only."""
        cut = slice(first, last)
        return replace(
            self, onset_s=self.onset_s[cut], amplitude_ma=self.amplitude_ma[cut], phase_us=self.phase_us[cut]
        )

    @property
    def sign(self) -> int:
        """Sign of the first phase: 1, or -1 with swapped leads."""
        return -1 if self.swap else 1

    @cached_property
    def first_end_s(self) -> Array:
        """End of every first phase, s."""
        return self.onset_s + 1e-6 * self.phase_us

    @cached_property
    def second_start_s(self) -> Array:
        """Start of every second phase, s."""
        return self.onset_s + 1e-6 * (self.phase_us + self.gap_us)

    @cached_property
    def end_s(self) -> Array:
        """End of every pulse, s."""
        if not self.phase_ratio:
            return self.first_end_s
        return self.onset_s + 1e-6 * (self.phase_us * (1.0 + self.phase_ratio) + self.gap_us)

    @cached_property
    def second_ma(self) -> Array:
        """Height of every second phase, at or below 0: its charge is that of the first (mA)."""
        return -self.amplitude_ma / self.phase_ratio if self.phase_ratio else np.zeros_like(self.amplitude_ma)

    @cached_property
    def charge_uc(self) -> Array:
        """Charge of every first phase, uC."""
        return 1e-3 * self.amplitude_ma * self.phase_us


def pulse_train(
    scene: Scene,
    channel: int = 0,
    held: Held | None = None,
    duration_s: float | None = None,
    stop_s: float | None = None,
) -> PulseTrain:
    """The pulses that one channel of a scene gives.

    Pulse number k of an on time that starts at t0 begins at ``t0 + k/f``. With a doublet or triplet start, one or two
    extra pulses come first, each followed by the leading interval, and the steady rate counts from the last of them.
    A ramp is linear in time and read at each onset: the pulse that starts a rise from rest has no height yet.

    *Timed cycle*: on time number i starts at ``delay_s + i (on + off)``; whether ramps count inside the on time is
    the scene's setting. Two channels run together with equal delays, and take turns when the delay of one is the on
    time of the other; there is no other rule between them.

    *Held*: on exactly while the switch is pressed, and for the fall after it. Presses may come in any order;
    overlapping and touching ones, and those less than one pulse apart, are one press. Each press starts its pulses
    anew with one at its onset, however short it is. A fall runs from the level that was reached, at the set slope;
    a press during a fall rises from the level it meets. ``delay_s`` makes a channel start so long after the press
    and still end with it. Without presses there are no pulses.

    Parameters
    ----------
    scene : Scene
    channel : int, default 0
        Which of its channels.
    held : sequence of (t0_s, t1_s), optional
        When the switch was pressed and released; ``inf`` as the release of one that is still pressed. Channels on a
        timed cycle take no notice of it.
    duration_s : float, optional
        How long; the scene's session where not given. No pulse starts at or after it.
    stop_s : float, optional
        Emergency stop: no current from then on. A pulse that could not end by then is left out, so that charge stays
        balanced.

    Returns
    -------
    PulseTrain

    Raises
    ------
    SceneError
        No such channel, or times that cannot be used.

    Examples
    --------
    >>> from graspwave import simulator as sim
    >>> scene = sim.presets()["tight"].replace("channel.0.timing.control", "held")
    >>> len(sim.pulse_train(scene)), len(sim.pulse_train(scene, held=[(1.0, 2.0)])) > 0
    (0, True)
    """
    checked_scene(scene)
    if isinstance(channel, bool) or not isinstance(channel, int) or not 0 <= channel < len(scene.channel):
        raise SceneError("channel", f"0 to {len(scene.channel) - 1}", channel, "count channels from 0")
    set_to = scene.channel[channel]
    end_s = 60.0 * scene.session.minutes if duration_s is None else _checked_duration(duration_s)
    stop = math.inf if stop_s is None else _checked_time("stop_s", stop_s)
    presses = _merged(held or (), set_to) if set_to.timing.control == "held" else None

    if presses is None:
        onset, level, span = _cycle(set_to, min(end_s, stop))
    else:
        onset, level, span = _held(set_to, presses, min(end_s, stop))
    return _shaped(set_to, onset, level, span, end_s, stop)


def _busy_s(channel: Channel) -> float:
    """Start to end of a pulse at full length."""
    return 1e-6 * (channel.pulse.phase_us * (1.0 + channel.pulse.second_phase) + channel.pulse.gap_us)


def _offsets(channel: Channel, count: NDArray[np.int64]) -> Array:
    """Onset of pulses number `count` after the start of their on time, s."""
    train = channel.train
    extra = _EXTRA[train.start]
    if not extra:
        return count / train.frequency_hz
    lead_s = 1e-3 * train.leading_interval_ms
    return np.where(count < extra, count * lead_s, extra * lead_s + (count - extra) / train.frequency_hz)


def _count(channel: Channel, length_s: Array) -> NDArray[np.int64]:
    """How many pulses start within `length_s` of the start of an on time; at least one."""
    train = channel.train
    extra = _EXTRA[train.start]
    lead_s = 1e-3 * train.leading_interval_ms
    leading = np.minimum(np.ceil(length_s / lead_s - _SAME_S), extra)
    steady = np.ceil((length_s - extra * lead_s) * train.frequency_hz - _SAME_S)
    count: NDArray[np.int64] = np.maximum(leading + np.maximum(steady, 0.0), 1.0).astype(np.int64)
    return count


def _cycle(channel: Channel, end_s: float) -> tuple[Array, Array, Array]:
    """Onsets, levels and spans of a timed cycle: one on time, repeated."""
    on_s, cycle_s, ramp = channel.on_total_s, channel.cycle_s, channel.ramp
    length = min(on_s, end_s)
    after = _offsets(channel, np.arange(int(_count(channel, np.array([length]))[0])))
    after = after[(after + _busy_s(channel) <= cycle_s + _SAME_S) | (after == 0.0)]  # ends before the next on time
    level = np.ones_like(after)
    if ramp.up_s:
        level = np.minimum(level, after / ramp.up_s)
    if ramp.down_s:
        level = np.minimum(level, np.maximum(on_s - after, 0.0) / ramp.down_s)
    first = channel.timing.delay_s
    starts = first + cycle_s * np.arange(max(0, math.ceil((end_s - first) / cycle_s - _SAME_S)))
    onset = (starts[:, None] + after).ravel()
    span = np.column_stack([starts, np.minimum(starts + on_s, end_s)])
    return onset, np.tile(level, len(starts)), span


def _held(channel: Channel, presses: list[tuple[float, float]], end_s: float) -> tuple[Array, Array, Array]:
    """Onsets, levels and spans while a switch is held: one train a press, with its fall."""
    up, down = channel.ramp.up_s, channel.ramp.down_s
    rows: list[tuple[float, float, float, float, float]] = []  # start, release, end, level at start, level at release
    for t0, t1 in presses:
        if t0 >= end_s:
            break
        low = 0.0
        if rows and rows[-1][2] > t0:  # still falling: begin where the fall has got to
            start, release, _, _, top = rows[-1]
            low = top - (t0 - release) / down
            rows[-1] = (start, release, t0, rows[-1][3], top)
        t1 = min(t1, end_s)
        high = min(1.0, low + (t1 - t0) / up) if up else 1.0
        rows.append((t0, t1, min(t1 + high * down, end_s), low, high))
    if not rows:
        return np.empty(0), np.empty(0), np.empty((0, 2))

    start, release, end, low_, high_ = np.array(rows).T
    count = _count(channel, end - start)
    of = np.repeat(np.arange(len(rows)), count)
    after = _offsets(channel, np.arange(len(of), dtype=np.int64) - np.repeat(np.cumsum(count) - count, count))
    onset = start[of] + after
    level = np.minimum(1.0, low_[of] + after / up) if up else np.ones_like(after)
    past = onset - release[of]
    falling = (past > -_SAME_S) & (after > 0.0)
    if down:
        level = np.where(falling, np.clip(high_[of] - past / down, 0.0, 1.0), level)
        falling[:] = False
    until = np.append(start[1:], math.inf)[of]  # a pulse of the fall gives way to the next press
    keep = ~falling & ((onset + _busy_s(channel) <= until + _SAME_S) | (after == 0.0))
    return onset[keep], level[keep], np.column_stack([start, end])


def _shaped(channel: Channel, onset: Array, level: Array, span: Array, end_s: float, stop_s: float) -> PulseTrain:
    """Levels turned into height or length; what starts too late is cut."""
    pulse, by_phase = channel.pulse, channel.ramp.of == "phase"
    phase = np.full_like(level, pulse.phase_us)
    if by_phase:
        phase = np.where(level > 0.0, level, 1.0) * pulse.phase_us  # no pulse of no length: that one gets no height
        amplitude = np.where(level > 0.0, pulse.amplitude_ma, 0.0)
    else:
        amplitude = level * pulse.amplitude_ma
    n = int(np.searchsorted(onset, end_s - _SAME_S))
    if stop_s < math.inf:
        busy = 1e-6 * (phase * (1.0 + channel.pulse.second_phase) + pulse.gap_us)
        n = min(n, int(np.searchsorted(onset + busy, stop_s, "right")))
    return PulseTrain(
        onset_s=onset[:n], amplitude_ma=amplitude[:n], phase_us=phase[:n], shape=pulse.shape, gap_us=pulse.gap_us,
        phase_ratio=pulse.second_phase, swap=channel.pads.swap, duration_s=end_s, span_s=span,
    )


def _merged(held: Held, channel: Channel) -> list[tuple[float, float]]:
    """Presses as this channel meets them: in order, apart by more than a pulse, each begun after the delay."""
    pairs = sorted(_checked_press(i, press) for i, press in enumerate(held))
    apart_s, merged = max(_busy_s(channel), _SAME_S), list[tuple[float, float]]()
    for t0, t1 in pairs:
        if merged and t0 < merged[-1][1] + apart_s:
            merged[-1] = (merged[-1][0], max(merged[-1][1], t1))
        else:
            merged.append((t0, t1))
    delay = channel.timing.delay_s
    return [(t0 + delay, t1) for t0, t1 in merged if not delay or t0 + delay < t1]


def _checked_press(index: int, press: Any) -> tuple[float, float]:
    try:
        t0, t1 = (float(t) for t in press)
    except (TypeError, ValueError):
        raise SceneError(f"held.{index}", "a pair of press and release, s", press) from None
    if not 0.0 <= t0 < math.inf:
        raise SceneError(f"held.{index}", "pressed at 0 s or later", t0, "count seconds from the start of the session")
    if not t1 >= t0:
        raise SceneError(f"held.{index}", f"released at or after its press ({t0:g} s)", t1)
    return t0, t1


def _checked_duration(duration_s: float) -> float:
    longest = setting("session.minutes").range
    return _checked_time("duration_s", duration_s, 60.0 * longest[1] if longest else math.inf)


def _checked_time(name: str, value: Any, most: float = math.inf) -> float:
    if isinstance(value, bool) or not isinstance(value, (int, float, np.integer, np.floating)):
        raise SceneError(name, "a time in s", value)
    if not 0.0 <= value <= most:
        raise SceneError(name, "0 s or more" if most == math.inf else f"0 to {most:g} s", float(value))
    return float(value)
