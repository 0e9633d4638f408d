"""Answers in time: a scene run through the chain, the pull at a rate, ripple, and one cycle after the other."""

from __future__ import annotations

import dataclasses
import difflib
import math
from functools import lru_cache
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from graspwave import simulator as sim
from graspwave.simulator import PulseTrain, Run, Scene, SceneError
from graspwave.simulator import hand as mechanics
from graspwave.simulator.driving import full_force_n, stimulated
from graspwave.simulator.muscle import parameter_set, session_force
from graspwave.simulator.recruitment import recruited_by_pulses
from graspwave.simulator.rising import risen

from .memory import Store, warn, word
from .scenes import LessonScene, lesson_scenes, scene_of

__all__ = [
    "F", "after_rest", "by_cycle", "claw_at", "cycles", "muscle", "open_at", "ripple", "run", "slow_pull", "slow_ripple",
    "smooth_from", "track", "train", "turned", "twitch_ms",
]

Array = NDArray[np.float64]

_RUNS, _TRAINS, _TURNED = Store(12), Store(24), Store(24)
_HELD_S, _LAST_S = 1.5, 0.5
_TRACKS = ("time", "current", "recruited", "force", "angle", "opening", "tired")
_HIGHEST_RATE = 100
_LONGEST_S = 3 * 3600.0
_MOST_SAMPLES = 50_000
_FINE_LAYERS = 0.02
"""Layers that tire by themselves, share of a muscle: so fine that those which join late are told from those that ran before."""



@word
def run(scene: Scene, seconds: float, step: float | None = None) -> Run:
    """The scene run for so many seconds; held control is held from start to end."""
    chosen, lasts = scene_of(scene), _seconds(seconds)
    if step is not None and not lasts / _MOST_SAMPLES <= step:
        raise SceneError("step", f"at least {lasts / _MOST_SAMPLES:g} s for so long a run", step)
    return _RUNS.get((chosen, lasts, step), lambda: sim.simulate(chosen, lasts, _presses(chosen, lasts), sample_s=step))


@word
def track(scene: Scene, what: str, seconds: float, of: str = "EDC", step: float | None = None) -> Array:
    """One row of a run, for a picture: time [s], current [mA], recruited, force [N], angle [deg], opening [mm] or tired.

    `of` is the muscle of recruited, force and tired, and the joint of angle.
    """
    _one_of("track", what, _TRACKS)
    found = run(scene, seconds, step)
    if what == "current":
        return found.current[0]
    by_name: dict[str, dict[str, Array]] = {
        "recruited": found.recruited, "force": found.force_n, "angle": found.angle_deg, "tired": found.tired,
    }
    if what in by_name:
        return by_name[what][_one_of("joint" if what == "angle" else "muscle", of, by_name[what])]
    return found.time_s if what == "time" else found.opening_mm


@word
def train(scene: Scene, seconds: float = 10.0, channel: int = 0) -> PulseTrain:
    """Pulses of a channel: `onset_s`, `amplitude_ma`, `phase_us`."""
    chosen, lasts = scene_of(scene), _seconds(seconds)
    if channel not in range(len(chosen.channel)):
        raise SceneError("channel", f"0 to {len(chosen.channel) - 1}", channel)
    return _TRAINS.get((chosen, lasts, channel), lambda: sim.pulse_train(chosen, channel, _presses(chosen, lasts), lasts))


@word
def F(scene: Any, muscle: str = "EDC", t0: float = 0.0, t1: float = 1.0, *, of: str = "mean") -> float:
    """Force of a whole muscle, newtons: ``F(s, 'EDC', 0, 2)`` is the highest between two times of a run.

    ``F(20)`` is the supple hand at 20 Hz, held for 1.5 s without ramps: mean over the whole periods of the last half second,
    or the highest there with ``of='highest'``; ``F(20, 'EDC')`` of another muscle.
    """
    _one_of("of", of, ("mean", "highest"))
    if isinstance(scene, Scene):
        _between(t0, t1)
        found = run(scene, t1)
        return float(np.max(_muscle(found.force_n, muscle)[_window(found, t0, t1)]))
    force = _steady(lesson_scenes()["s"], float(scene), muscle)
    return float(np.max(force) if of == "highest" else np.mean(force))


@word
def ripple(scene: Any, muscle: str = "EDC") -> float:
    """(Highest - lowest) / mean of the force in the last half second of 1.5 s held without ramps: of a scene, or at a rate."""
    if isinstance(scene, Scene):
        chosen = scene_of(scene)
        force = _steady(chosen, chosen.channel[0].train.frequency_hz, muscle)
    else:
        force = _steady(lesson_scenes()["s"], float(scene), muscle)
    return _ripple(force)


@word
def twitch_ms(scene: Scene, muscle: str = "EDC") -> float:
    """Width of the first pull at half its height, ms: of a slow train, so that it is one twitch."""
    chosen = scene_of(scene)
    found = run(chosen, min(1.0 / chosen.channel[0].train.frequency_hz, 2.0), 0.0005)
    force = _muscle(found.force_n, muscle)
    top = int(np.argmax(force))
    half = 0.5 * float(force[top])
    if half <= 0.0 or force[-1] > half:
        raise SceneError("scene", "a slow train that makes the muscle twitch", chosen.title, "write s(freq=1, up=0, amp=20)")
    rise = float(np.interp(half, force[: top + 1], found.time_s[: top + 1]))
    fall = float(np.interp(-half, -force[top:], found.time_s[top:]))
    return 1e3 * (fall - rise)


@word
def open_at(scene: Scene, t0: float, t1: float) -> float:
    """Widest opening between two times of a run, mm."""
    _between(t0, t1)
    found = run(scene, t1)
    return float(np.max(found.opening_mm[_window(found, t0, t1)]))


@word
def claw_at(scene: Scene, t0: float, t1: float) -> bool:
    """Whether the hand claws at any time between two times of a run."""
    _between(t0, t1)
    found = run(scene, t1)
    return bool(np.any(found.claw[_window(found, t0, t1)]))


@word
def cycles(scene: Scene, minutes: float) -> Array:
    """Start of every whole cycle of a timed session, s."""
    chosen = scene_of(scene)
    _seconds(minutes * 60.0)
    count = int((minutes * 60.0 + 1e-6) // chosen.channel[0].cycle_s)
    if count < 1:
        raise SceneError("minutes", "long enough for a cycle", minutes)
    return np.asarray(chosen.channel[0].timing.delay_s + chosen.channel[0].cycle_s * np.arange(count), dtype=np.float64)


@word
def by_cycle(scene: Scene, what: str, minutes: float, of: str = "EDC") -> Array:
    """Highest value in every whole cycle of a timed session, of one row of `track`."""
    starts = cycles(scene, minutes)
    seconds = minutes * 60.0
    time, row = track(scene, "time", seconds), track(scene, what, seconds, of)
    edges = np.searchsorted(time, [*starts, starts[-1] + scene_of(scene).channel[0].cycle_s])
    return np.array([float(np.max(row[a:b])) for a, b in pairwise(edges)])


@word
def after_rest(scene: Scene, minutes: float, rest: float, muscle: str = "EDC") -> float:
    """Highest force after cycles for `minutes` and `rest` minutes off, as share of the very first cycle's."""
    chosen = scene_of(scene)
    channel = chosen.channel[0]
    starts = cycles(chosen(delay=0), minutes)
    held_s = channel.on_total_s - channel.ramp.down_s
    again = _seconds(60.0 * (minutes + rest))
    presses = [(float(at), float(at) + held_s) for at in (*starts, again)]
    switched = chosen(held=True)
    lasts = again + channel.on_total_s
    found = _RUNS.get((switched, minutes, rest), lambda: sim.simulate(switched, lasts, presses))
    force = _muscle(found.force_n, muscle)
    first, last = (
        float(np.max(force[_window(found, at, at + channel.on_total_s)])) for at in (float(starts[0]), again)
    )
    return last / first


@word
def turned(scene: Scene, amp: float, after: float, minutes: float, what: str = "opening", muscle: str = "EDC") -> Array:
    """Opening [mm] or force [N] in every cycle of a timed session whose current becomes `amp` after so many minutes.

    At the end of each full current; the hand as it comes to rest there. Fibres that only `amp` wakes join fresh.
    """
    _one_of("what", what, ("opening", "force"))
    chosen = scene_of(scene)
    if len(chosen.channel) > 1 or chosen.channel[0].timing.control == "held":
        raise SceneError("scene", "one with a single channel on a timer", chosen.title, "write s(on=10, off=10)")
    opening, force = _TURNED.get((chosen, amp, after, minutes), lambda: _turned(chosen, amp, after, minutes))
    return opening if what == "opening" else _muscle(force, muscle)


def _turned(scene: LessonScene, amp: float, after: float, minutes: float) -> tuple[Array, dict[str, Array]]:
    starts, lasts = cycles(scene, minutes), _seconds(60.0 * minutes)
    up = scene(amp=amp)
    before, later = train(scene, lasts), train(up, lasts)
    current = np.where(before.onset_s < 60.0 * after - 1e-6, before.amplitude_ma, later.amplitude_ma)
    names, shares = recruited_by_pulses(scene, dataclasses.replace(before, amplitude_ma=current), slips=True)
    whole = [full_force_n(name) for name in names]
    full_until = starts + scene.channel[0].on_total_s - scene.channel[0].ramp.down_s
    pulled = session_force([before.onset_s], [shares], whole, full_until, layer_width=_FINE_LAYERS).force_n
    share = {name: pulled[:, i] / whole[i] for i, name in enumerate(names)}
    postures = mechanics.equilibria([
        _tired(up if at >= 60.0 * after - 1e-6 else scene, {name: float(part[i]) for name, part in share.items()})
        for i, at in enumerate(full_until)
    ])
    return np.array([posture.opening_mm[0] for posture in postures]), dict(zip(names, pulled.T, strict=True))


def _tired(scene: LessonScene, share: dict[str, float]) -> mechanics.Asked:
    """The hand that a scene's own current is risen to when its muscles pull these shares of their full force."""
    current = np.array([scene.channel[0].pulse.amplitude_ma])
    untired = stimulated(scene, current)[1]
    left = {name: pull / float(untired[name][0]) for name, pull in share.items() if untired[name][0] > 0.0}
    return risen(scene, current, left=left).asked


@word
def slow_pull(rate: float, slower: float = 1.5) -> float:
    """Mean pull of a muscle whose two times, of activation and of relaxation, are so many times as long; unit of its own."""
    return float(np.mean(_slow(float(rate), float(slower))))


@word
def slow_ripple(rate: float, slower: float = 1.5) -> float:
    """`ripple` of such a muscle."""
    return _ripple(_slow(float(rate), float(slower)))


@word
def smooth_from(below: float = 0.05, slower: float = 1.0) -> int:
    """First whole rate, Hz, at which a muscle's ripple is smaller than `below`; 100 and a warning where none is."""
    for rate in range(1, _HIGHEST_RATE + 1):
        if slow_ripple(rate, slower) < below:
            return rate
    warn(f"no rate up to {_HIGHEST_RATE} Hz brings the ripple below {below:g}")
    return _HIGHEST_RATE


@word
def muscle(name: str = "EDC") -> float:
    """Largest pull of a healthy adult's whole muscle, newtons."""
    found = sim.all_facts()
    key = f"architecture.{name.lower()}.force_n"
    if key not in found:
        raise SceneError("muscle", "one whose force is known", name)
    return float(found[key].value)


def _slow(rate: float, slower: float) -> Array:
    for name, value, low, high in (("rate", rate, 1.0, 200.0), ("slower", slower, 0.2, 5.0)):
        if not low <= value <= high:
            raise SceneError(name, f"{low:g} to {high:g}", value)
    return _slow_force(rate, slower)


@lru_cache(maxsize=512)
def _slow_force(rate: float, slower: float) -> Array:
    """Force over the last whole periods of a second and a half."""
    base = parameter_set("forearm extensors")
    changed = dataclasses.replace(base, tau_c_ms=slower * base.tau_c_ms, tau_1_ms=slower * base.tau_1_ms)
    lasts = max(_HELD_S, 3.0 / rate)
    onset = np.arange(math.ceil(lasts * rate - 1e-9)) / rate
    found = sim.muscle_force(onset, parameters=changed, tiring=False, until_s=lasts)
    kept: Array = found.force_n[found.time_s >= lasts - _whole_s(rate) - 1e-9]
    return kept


def _steady(scene: Scene, rate: float, name: str) -> Array:
    chosen = scene_of(scene)(freq=rate, up=0, down=0, held=True, delay=0)
    found = run(chosen, max(_HELD_S, 3.0 / rate))
    kept: Array = _muscle(found.force_n, name)[found.time_s >= found.time_s[-1] - _whole_s(rate) - 1e-9]
    return kept


def _whole_s(rate: float) -> float:
    """Whole periods in the last half second; one where there is none."""
    return max(math.floor(_LAST_S * rate + 1e-9), 1) / rate


def _ripple(force: Array) -> float:
    mean = float(np.mean(force))
    if mean <= 0.0:
        raise SceneError("ripple", "asked of a muscle that pulls", "no force", "raise the current")
    return float(np.max(force) - np.min(force)) / mean


def _presses(scene: Scene, lasts: float) -> list[tuple[float, float]] | None:
    return [(0.0, lasts)] if any(c.timing.control == "held" for c in scene.channel) else None


def _seconds(value: float) -> float:
    if not 0.0 < value <= _LONGEST_S:
        raise SceneError("seconds", f"more than 0 and at most {_LONGEST_S:g}", value)
    return float(value)


def _between(t0: float, t1: float) -> None:
    if not 0.0 <= t0 < t1:
        raise SceneError("t0", "0 or more and before t1", f"from {t0:g} to {t1:g}")


def _window(found: Run, t0: float, t1: float) -> NDArray[np.bool_]:
    return (found.time_s >= t0 - 1e-9) & (found.time_s <= t1 + 1e-9)


def _muscle(force: dict[str, Array], name: str) -> Array:
    return force[_one_of("muscle", name, force)]


def _one_of(what: str, name: object, known: Any) -> str:
    if isinstance(name, str) and name in known:
        return name
    near = difflib.get_close_matches(str(name), list(known), 1, 0.5)
    raise SceneError(what, "one of " + ", ".join(known), name, f"did you mean {near[0]}?" if near else "")
