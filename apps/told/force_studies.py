"""What a scene's pulses make of the finger opener: fusing, tiring and recovery. The hand is left out; no Panel here."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from graspwave import simulator as sim
from graspwave.simulator import muscle
from graspwave.simulator.facts import fact, number
from graspwave.simulator.pulses import pulse_train
from graspwave.simulator.recruitment import recruited_by_pulses

__all__ = [
    "AFTER_MIN", "F50_HZ", "FREQUENCIES_HZ", "MUSCLE", "PEOPLE_KEPT", "RATIOS", "RESTS_MIN", "TRACES_HZ", "WRIST_TORQUE",
    "ForceFrequency", "Kept", "Minutes", "Recovery", "Trace", "currents", "force_frequency", "force_of", "frequencies",
    "kept", "minutes", "opened", "own_frequency_hz", "recovery", "rests", "ripple_words", "trace", "traces", "wrist_extension_nm",
]

Array = NDArray[np.float64]

MUSCLE = "EDC"
"""The finger opener, which all studies follow."""

TRACES_HZ = (5.0, 10.0, 15.0, 20.0, 35.0, 80.0)
RATIOS = (1, 2, 3, 5)
FREQUENCIES_HZ = (20.0, 35.0, 50.0)
AFTER_MIN = (10.0, 20.0, 30.0)
RESTS_MIN = (5.0, 10.0, 30.0)
"""Rests after the session at which the model is tried; and again after each rest of `PEOPLE_KEPT`."""
MORE_CURRENT = 1.25

F50_HZ = tuple(fact("pages.f50_hz.units").value)
"""Half-force frequency of units of the human hand, lowest and highest."""

PEOPLE_KEPT = tuple(zip(fact("pages.people_kept.hours").value, fact("pages.people_kept.percent").value, strict=True))
"""Hours of rest and per cent of the 20-Hz force that people have back."""

WRIST_TORQUE = {
    name: (number(f"pages.wrist_torque.{name.lower()}_nm"), number(f"pages.wrist_torque.{name.lower()}_deg"))
    for name in ("ECRL", "ECRB", "ECU")
}
"""Wrist torque of one stimulated muscle, N m, and its direction in degrees (0 radial deviation, 90 extension)."""

_SESSION_MIN = AFTER_MIN[-1]
_DRAWN_MIN = (0.0, 0.5, 1.0, 1.5, 2.0, 3.0, 4.0, 6.0, 10.0, 15.0, 20.0, 25.0, 30.0)
_SAMPLES = 24
_GOLDEN = 0.6180339887498949


# ---- one second of pulses, untired


@dataclass(frozen=True, slots=True)
class Trace:
    """An untired one-second train: force in per cent of the 100-Hz peak, and its ripple as a share of its top."""

    frequency_hz: float
    time_s: Array
    percent: Array
    ripple_percent: float


@lru_cache(maxsize=128)
def trace(frequency_hz: float) -> Trace:
    """One second of pulses at this frequency, all units at work; ripple is that of the last interval of 2 s of it."""
    period = 1.0 / frequency_hz
    onset: Array = np.float64(period) * np.arange(max(int(np.ceil(frequency_hz - 1e-9)), 1))
    time = np.linspace(0.0, 1.4, 281)
    long: Array = np.float64(period) * np.arange(max(int(np.ceil(2.0 * frequency_hz - 1e-9)), 2) + 1)
    last = np.linspace(long[-2], long[-1], 41)
    steady = _percent(long, last)
    ripple = 100.0 * float(np.ptp(steady)) / float(steady.max())
    return Trace(frequency_hz, time, _percent(onset, time), ripple)


def traces(own_hz: float) -> tuple[Trace, ...]:
    """Six trains in rising order; the scene's own frequency takes the place of the one nearest to it."""
    nearest = min(TRACES_HZ, key=lambda hz: abs(np.log(hz / own_hz)))
    return tuple(trace(hz) for hz in sorted(own_hz if hz == nearest else hz for hz in TRACES_HZ))


def ripple_words(ripple_percent: float) -> str:
    """What a ripple feels like; the bounds are ours."""
    if ripple_percent < number("pages.seen.smooth_percent"):
        return "smooth"
    return "trembles" if ripple_percent < number("pages.seen.twitch_percent") else "twitches"


def _percent(onset_s: Array, time_s: Array) -> Array:
    found = muscle.session_force([onset_s], [np.ones((onset_s.size, 1))], [100.0], time_s, tiring=False)
    return np.asarray(found.force_n[:, 0])


@dataclass(frozen=True, slots=True)
class ForceFrequency:
    """Mean untired force against frequency, per cent of the 100-Hz peak, and where half of the 100-Hz mean is passed."""

    frequency_hz: Array
    percent: Array
    half_hz: float


@lru_cache(maxsize=1)
def force_frequency() -> ForceFrequency:
    """The steady force of `graspwave.simulator.muscle` at 1 to 100 Hz."""
    hz = np.concatenate((np.arange(1.0, 30.0), np.arange(30.0, 101.0, 5.0)))
    percent = np.array([100.0 * muscle.steady_force_fraction(float(f)) for f in hz])
    return ForceFrequency(hz, percent, float(np.interp(0.5 * percent[-1], percent, hz)))


def own_frequency_hz(scene: sim.Scene) -> float:
    """Frequency of the first channel."""
    return scene.channel[0].train.frequency_hz


# ---- sessions


def force_of(scene: sim.Scene, time_s: Array, *, extra_s: tuple[float, ...] = (), until_s: float | None = None) -> Array:
    """Force of the finger opener through a session, newtons of the whole muscle.

    Parameters
    ----------
    scene : simulator.Scene
        Channels held by a switch are run on their timed cycle.
    time_s : ndarray (n,)
        Rising.
    extra_s : tuple of float, optional
        Starts of single contractions after the session.
    until_s : float, optional
        End of the session; the scene's own if not given.

    Returns
    -------
    ndarray (n,)

    Notes
    -----
    Pulses, recruited shares and force as in `graspwave.simulator.simulate`, the hand left out: what an earlier channel wakes at
    its full amplitude is not woken twice.
    """
    scene = _timed(scene)
    end_s = 60.0 * scene.session.minutes if until_s is None else until_s
    onsets, shares, taken = [], [], 0.0
    for index, channel in enumerate(scene.channel):
        train = pulse_train(scene, index, None, end_s)
        names, share = recruited_by_pulses(scene, train, index)
        if MUSCLE not in names:
            continue
        onset, own = train.onset_s, share[:, names.index(MUSCLE)]
        if extra_s:
            single = pulse_train(scene, index, None, channel.timing.delay_s + channel.on_total_s)
            part = recruited_by_pulses(scene, single, index)[1][:, names.index(MUSCLE)]
            onset = np.concatenate((onset, *(single.onset_s + start for start in extra_s)))
            own = np.concatenate((own, *(part for _ in extra_s)))
        onsets.append(onset)
        shares.append((own * (1.0 - taken))[:, None])
        taken += float(shares[-1].max(initial=0.0))
    found = muscle.session_force(
        onsets, shares, [number(f"architecture.{MUSCLE.lower()}.force_n")], time_s,
        tiring="tiring" not in scene.without_mechanisms,
    )
    return np.asarray(found.force_n[:, 0])


@dataclass(frozen=True, slots=True)
class Minutes:
    """First and last minute of a session; seconds from the start of each, newtons.

    `last_from_s` is where the last one begins: at the start of a cycle, so that the two can be laid side by side.
    `first_held_n` and `last_held_n` are the mean force at full current in the first and the last whole contraction.
    """

    time_s: Array
    first_n: Array
    last_n: Array
    last_from_s: float
    first_held_n: float
    last_held_n: float

    @property
    def kept_percent(self) -> float:
        """Share of the first contraction's force that the last one still has."""
        return _share(self.last_held_n, self.first_held_n)


@lru_cache(maxsize=16)
def _minutes(scene: sim.Scene) -> Minutes:
    channel = scene.channel[0]
    session_s = 60.0 * scene.session.minutes
    length = min(60.0, session_s)
    cycles = max(int((session_s - length - channel.timing.delay_s) // channel.cycle_s), 0)
    last_from = cycles * channel.cycle_s
    time = np.linspace(0.0, length, 751)
    first, last = _held_at(scene, 0), _held_at(scene, max(_whole(scene, session_s), 0))
    wanted, back = np.unique(np.concatenate((time, last_from + time, first, last)), return_inverse=True)
    force = force_of(scene, wanted)[back]
    n = time.size
    held = force[2 * n :].reshape(2, -1).mean(axis=1)
    return Minutes(time, force[:n], force[n : 2 * n], last_from, float(held[0]), float(held[1]))


def minutes(scene: sim.Scene) -> Minutes:
    """First and last minute of the scene's session."""
    return _minutes(_bare(scene))


def opened(scene: sim.Scene) -> tuple[float, float] | None:
    """Opening at the scene's current, fresh and with what the session leaves of the pull, mm; None where nothing pulls."""
    found = minutes(scene)
    if found.first_held_n <= 0.05:
        return None
    fresh, tired = sim.tired_opening_mm(scene, [1.0, min(found.last_held_n / found.first_held_n, 1.0)])
    return float(fresh), float(tired)


@dataclass(frozen=True, slots=True)
class Kept:
    """What is left of the first contraction's force through half an hour; mean force at full current."""

    minute: Array
    percent: Array
    first_n: float

    def at(self, minute: float) -> float:
        """Per cent left after so many minutes, in the last contraction that had ended by then."""
        return float(self.percent[np.searchsorted(self.minute, minute + 1e-9, side="right") - 1])


@lru_cache(maxsize=64)
def _kept(scene: sim.Scene) -> Kept:
    numbers = np.unique([max(_whole(scene, 60.0 * minute), 0) for minute in _DRAWN_MIN])
    time = np.concatenate([_held_at(scene, int(i)) for i in numbers])
    force = force_of(scene, time, until_s=60.0 * _SESSION_MIN).reshape(numbers.size, -1).mean(axis=1)
    channel = scene.channel[0]
    ends = (channel.timing.delay_s + numbers * channel.cycle_s + channel.on_total_s) / 60.0
    ends[0] = 0.0  # the first contraction is the measure of the rest
    first = float(force[0])
    return Kept(ends, np.array([_share(f, first) for f in force]), first)


def kept(scene: sim.Scene) -> Kept:
    """What is left through half an hour of this scene, however long its own session is."""
    return _kept(_bare(scene.replace("session.minutes", _SESSION_MIN)))


def rests(scene: sim.Scene) -> dict[str, Kept]:
    """The same for an off time of 1, 2, 3 and 5 on times; a rest beyond the longest that can be set is left out."""
    channel = scene.channel[0]
    longest = (sim.setting("channel.0.timing.off_s").range or (0.0, np.inf))[1]
    wanted = {f"1:{ratio}": ratio * channel.on_total_s for ratio in RATIOS}
    return {word: kept(scene.replace("channel.0.timing.off_s", off)) for word, off in wanted.items() if off <= longest}


def frequencies(scene: sim.Scene) -> dict[str, Kept]:
    """The same at 20, 35 and 50 Hz, all else as it is."""
    out = {}
    for hz in FREQUENCIES_HZ:
        try:
            out[f"{hz:.0f} Hz"] = kept(scene.replace("channel.0.train.frequency_hz", hz))
        except sim.SceneError:  # long phases do not fit between fast pulses
            continue
    return out


def currents(scene: sim.Scene) -> dict[str, Kept]:
    """The same at the present current and at a quarter more, or at the most that can be set."""
    now = scene.channel[0].pulse.amplitude_ma
    most = (sim.setting("channel.0.pulse.amplitude_ma").range or (0.0, np.inf))[1]
    more = min(float(np.ceil(MORE_CURRENT * now)), most)  # whole milliamperes, as the slider
    return {f"{ma:.3g} mA": kept(scene.replace("channel.0.pulse.amplitude_ma", ma)) for ma in dict.fromkeys((now, more))}


@dataclass(frozen=True, slots=True)
class Recovery:
    """Per cent of the first contraction at the end of the session and after each rest (minutes, from 0)."""

    rest_min: Array
    percent: Array


@lru_cache(maxsize=16)
def _recovery(scene: sim.Scene) -> Recovery:
    end = 60.0 * scene.session.minutes
    rests = (*RESTS_MIN, *(60.0 * hours for hours, _ in PEOPLE_KEPT))
    inside = np.concatenate((_held_at(scene, 0), _held_at(scene, max(_whole(scene, end), 0))))
    wanted, back = np.unique(inside, return_inverse=True)
    held = force_of(scene, wanted)[back].reshape(2, -1).mean(axis=1)
    tests = []
    for rest in rests:  # each from a session of its own: a test tires too
        start = end + 60.0 * rest
        time = start + _held_at(scene, 0)
        tests.append(float(force_of(scene, time, extra_s=(start,), until_s=end).mean()))
    percent = np.array([_share(force, float(held[0])) for force in (held[1], *tests)])
    return Recovery(np.array((0.0, *rests)), percent)


def recovery(scene: sim.Scene) -> Recovery:
    """One contraction after 5, 10 and 30 min and 1, 24 and 48 h of rest, beside the last of the session."""
    return _recovery(_bare(scene))


# ---- the wrist


def wrist_extension_nm(name: str) -> float:
    """Extension torque of one whole muscle at a straight wrist, N m: full force x moment arm."""
    arm = float(sim.moment_arm_mm(sim.Hand(), name, "wrist"))
    return -arm * number(f"architecture.{name.lower()}.force_n") / 1000.0


# ---- helpers


def _bare(scene: sim.Scene) -> sim.Scene:
    """The scene less what does not change the muscle's force, so that those settings do not split the cache."""
    plain = sim.Hand()
    hand = dataclasses.replace(plain, fat_mm=scene.hand.fat_mm, forearm=scene.hand.forearm)
    off = tuple(name for name in scene.without_mechanisms if name == "tiring")
    return dataclasses.replace(_timed(scene), title="", story="", hand=hand, task=type(scene.task)(), without_mechanisms=off)


def _timed(scene: sim.Scene) -> sim.Scene:
    """The same scene with every channel on its timed cycle."""
    for index, channel in enumerate(scene.channel):
        if channel.timing.control == "held":
            scene = scene.replace(f"channel.{index}.timing.ramps_inside", False)
            scene = scene.replace(f"channel.{index}.timing.control", "cycle")
    return scene


def _whole(scene: sim.Scene, until_s: float) -> int:
    """Number of the last contraction of the first channel that has ended by then; -1 for none."""
    channel = scene.channel[0]
    return int(np.floor((until_s - channel.timing.delay_s - channel.on_total_s) / channel.cycle_s + 1e-9))


def _held_at(scene: sim.Scene, contraction: int) -> Array:
    """Times at full current in one contraction, spread so that they do not beat with the pulses."""
    channel = scene.channel[0]
    low, high = channel.ramp.up_s, channel.on_total_s - channel.ramp.down_s
    if high - low < 0.2:  # all ramp: the top of it
        low, high = max(low - 0.1, 0.0), min(high + 0.1, channel.on_total_s)
    spread = np.sort(np.mod(_GOLDEN * np.arange(1, _SAMPLES + 1), 1.0))
    return np.asarray(channel.timing.delay_s + contraction * channel.cycle_s + low + spread * (high - low))


def _share(part: float, whole: float) -> float:
    return 100.0 * part / whole if whole > 1e-9 else float("nan")
