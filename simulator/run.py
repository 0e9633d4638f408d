"""The chain once through: scene -> pulses -> recruited -> force -> posture -> opening. It only chains; no physics here."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from graspwave.simulator import hand as mechanics
from graspwave.simulator import muscle, show
from graspwave.simulator.dose import Dose, dose_of
from graspwave.simulator.facts import number
from graspwave.simulator.field import finger_slips
from graspwave.simulator.pulses import PulseTrain, pulse_train
from graspwave.simulator.recruitment import recruited_by_pulses, recruitment_curve
from graspwave.simulator.results import Result
from graspwave.simulator.scene import Hand, Scene, SceneError, checked_scene

__all__ = [
    "HAND_MUSCLES", "Opening", "Run", "drive_of_hand", "effective_hand", "full_force_n", "hand_pools", "opening_curve",
    "opening_curves", "simulate", "stimulated", "tired_opening_mm",
]  # fmt: skip

Array = NDArray[np.float64]

HAND_MUSCLES = (
    "EDC", *mechanics.FREE_MUSCLES, "INT", "FDP", "FDS", "ECRL", "ECRB", "ECU", "FCR", "FCU", "PL", *mechanics.THUMB_MUSCLES
)
"""Muscles that move the hand of the model; the rest are recruited and pull, but have no joint here."""

MOTION_STEP_S = 0.05
"""Step of the over-damped motion; implicit, so its size bounds accuracy, not stability."""

_LONGEST_S = 3 * 3600.0


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class Opening(Result):
    """Opening of the hand against current, untired and at rest.

    Attributes
    ----------
    amplitude_ma : ndarray, shape (n,)
    opening_mm : ndarray, shape (n,)
        Widest pot between thumb and fingers.
    angle_deg : dict of str to ndarray
        By joint: wrist; MCP, PIP, DIP of the middle finger, ``index.MCP`` and so on of the others, flexion positive; of the thumb
        CMC (abduction), CMC_RADIAL, THUMB_MCP, IP.
    force_n : dict of str to ndarray
        By muscle, whole muscle, mean of the fused pull.
    recruited : dict of str to ndarray
        Share of each muscle's axons.
    claw : ndarray of bool, shape (n,)
        The middle finger's MCP past straight with PIP bent more than 20 degrees (source binder-markey-2019).
    claw_by_finger : dict of str to ndarray of bool, shape (n,)
    gap_mm : dict of str to ndarray, shape (n,)
        Free gap of each finger to the thumb.
    points_mm : ndarray, shape (n, 2, 2)
        Ends of the shortest line from thumb to fingers; wrist at the origin, forearm along -x, y to the back.
    tension_n : dict of str to ndarray
        Active and passive tension of the muscles that move the hand, whole muscle; also by finger, as ``index.EDC``.
    slip_n : dict of str to ndarray
        Tension of the central and the terminal slip of the middle finger.
    slip_share : ndarray, shape (n,)
        Share of its extensor's force that reaches these slips; small where they are slack.
    """

    amplitude_ma: Array
    opening_mm: Array
    angle_deg: dict[str, Array]
    force_n: dict[str, Array]
    recruited: dict[str, Array]
    claw: NDArray[np.bool_]
    claw_by_finger: dict[str, NDArray[np.bool_]]
    gap_mm: dict[str, Array]
    points_mm: Array
    tension_n: dict[str, Array]
    slip_n: dict[str, Array]
    slip_share: Array

    @property
    def index_deg(self) -> dict[str, Array]:
        """MCP, PIP, DIP of the index."""
        return {joint: self.angle_deg[f"index.{joint}"] for joint in mechanics.JOINTS[1:]}

    def _said(self) -> list[str]:
        i, n = int(np.argmax(self.opening_mm)) if self.opening_mm.size else 0, self.opening_mm.size
        if not n:
            return ["Opening at no current: nothing was asked for"]
        claw = self.amplitude_ma[self.claw]
        return [
            f"Opening of the hand at {n} currents, {self.amplitude_ma.min():g} to {self.amplitude_ma.max():g} mA",
            f"widest {self.opening_mm[i]:.1f} mm at {self.amplitude_ma[i]:g} mA; {self.opening_mm[0]:.1f} mm at the first, "
            f"{self.opening_mm[-1]:.1f} mm at the last",
            (f"claw at {claw.size} currents, from {claw.min():g} mA" if claw.size else "no claw")
            + f"; {len(self.angle_deg)} joints, {len(self.force_n)} muscles",
        ]

    def _drawn(self, figure: Any, **look: Any) -> Any:
        drawn = {"opening": (self.amplitude_ma, self.opening_mm)}
        return show.lines("Opening against current", "Current [mA]", "Opening [mm]", drawn, figure, **look)

    def _columns(self) -> Mapping[str, Any]:
        found = {"current [mA]": self.amplitude_ma, "opening [mm]": self.opening_mm, "claw": self.claw}
        found |= {f"{joint} [deg]": value for joint, value in self.angle_deg.items()}
        found |= {f"{name} force [N]": value for name, value in self.force_n.items()}
        return found | {f"{name} recruited [1]": value for name, value in self.recruited.items()}


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class Run(Result):
    """A scene run through the chain, sampled for drawing.

    Attributes
    ----------
    time_s : ndarray, shape (n,)
    current : dict of int to ndarray
        By channel: amplitude of the pulse in force at each sample, mA (0 between trains).
    recruited, force_n : dict of str to ndarray, shape (n,)
        By muscle: share of its axons, force of the whole muscle in newtons.
    angle_deg : dict of str to ndarray, shape (n,)
        By joint, flexion positive.
    opening_mm : ndarray, shape (n,)
    points_mm : ndarray, shape (n, 2, 2)
        Ends of the opening line, as in `Opening`.
    claw : ndarray of bool, shape (n,)
    tired : dict of str to ndarray, shape (n,)
        Share of its force rate A that tiring has taken from the recruited part, 0 to 1. The pull itself falls by less,
        since a tired muscle also relaxes more slowly: compare `force_n`.
    dose : tuple of Dose
        One a channel.
    trains : tuple of PulseTrain
    """

    time_s: Array
    current: dict[int, Array]
    recruited: dict[str, Array]
    force_n: dict[str, Array]
    angle_deg: dict[str, Array]
    opening_mm: Array
    points_mm: Array
    claw: NDArray[np.bool_]
    tired: dict[str, Array]
    dose: tuple[Dose, ...]
    trains: tuple[PulseTrain, ...]

    @property
    def silent(self) -> bool:
        """No pulse was given: no current is set, or a held channel was never pressed."""
        return not any(train.amplitude_ma.any() for train in self.trains)

    def _said(self) -> list[str]:
        pulses = " and ".join(str(len(train)) for train in self.trains)
        told = f"{pulses} pulses; opening {self.opening_mm.min():.1f} to {self.opening_mm.max():.1f} mm"
        if not any(len(train) for train in self.trains):
            told = "no pulse: a held channel runs while held=[(from_s, to_s), ...] says so, and no press was given"
        elif self.silent:
            told = "no current is set: its pulses have no height"
        most = max(self.force_n, key=lambda name: float(self.force_n[name].max()), default="")
        return [
            f"Run of {self.time_s[-1]:g} s, {self.time_s.size} samples, {len(self.trains)} "
            + ("channels" if len(self.trains) > 1 else "channel"),
            told,
            (f"strongest {most}, {self.force_n[most].max():.1f} N; " if most else "") + f"{len(self.force_n)} muscles, "
            f"{len(self.angle_deg)} joints" + ("; claw somewhere" if self.claw.any() else ""),
        ]

    def _drawn(self, figure: Any, **look: Any) -> Any:
        drawn = {"opening": (self.time_s, self.opening_mm)}
        return show.lines("Opening over time", "Time [s]", "Opening [mm]", drawn, figure, **look)

    def _columns(self) -> Mapping[str, Any]:
        found: dict[str, Any] = {"time [s]": self.time_s, "opening [mm]": self.opening_mm, "claw": self.claw}
        found |= {f"current of channel {i + 1} [mA]": value for i, value in self.current.items()}
        found |= {f"{joint} [deg]": value for joint, value in self.angle_deg.items()}
        found |= {f"{name} force [N]": value for name, value in self.force_n.items()}
        return found | {f"{name} force rate lost [1]": value for name, value in self.tired.items()}


def effective_hand(scene: Scene) -> Hand:
    """The hand of a scene less the mechanisms that the scene does without."""
    off, hand = scene.without_mechanisms, scene.hand
    if "tone" in off:
        hand = dataclasses.replace(hand, finger_tone=0.0, wrist_tone=0.0)
    if "length" in off:
        hand = dataclasses.replace(hand, flexor_length_factor=1.0)
    if "own_effort" in off:
        hand = dataclasses.replace(hand, own_opening=0.0, own_grip=0.0)
    if "reflex" in off:
        hand = dataclasses.replace(hand, reflex_gain=0.0)
    return hand


def opening_curve(scene: Scene, amplitude_ma: ArrayLike) -> Opening:
    """Opening of the hand at rest for each current of the first channel, untired.

    Parameters
    ----------
    scene : Scene
        All settings but the first channel's amplitude; a second channel on the same limb adds at its own amplitude.
    amplitude_ma : array_like, shape (n,)
        0 or more, mA.

    Returns
    -------
    Opening

    Raises
    ------
    SceneError
        An amplitude that is negative or not finite.

    Notes
    -----
    Force is recruited share x fused pull at the train's frequency x full force: the mean after the first second,
    without tiring. Every posture is the equilibrium of `graspwave.simulator.hand`. No published curve of opening against current
    in people is known; the shape is a result of the model.

    Examples
    --------
    >>> from graspwave import simulator as sim
    >>> curve = sim.opening_curve(sim.presets()["tight"], [0.0, 10.0, 20.0])
    >>> curve.opening_mm.shape, sorted(curve.angle_deg)[:3]
    ((3,), ['CMC', 'CMC_RADIAL', 'DIP'])
    """
    return opening_curves([scene], amplitude_ma)[0]


def opening_curves(scenes: Sequence[Scene], amplitude_ma: ArrayLike) -> list[Opening]:
    """Openings of several hands against current, each as `opening_curve` has it; all postures are found in one call.

    Parameters
    ----------
    scenes : sequence of Scene
        At least one; they may differ in all.
    amplitude_ma : array_like, shape (n,)
        0 or more, mA; for all of them.

    Returns
    -------
    list of Opening
        In the order of the scenes.

    Raises
    ------
    SceneError
        As `opening_curve`.

    Examples
    --------
    >>> from graspwave import simulator as sim
    >>> hands = sim.presets()
    >>> supple, tight = sim.opening_curves([hands["supple"], hands["tight"]], [18.0])
    >>> bool(supple.opening_mm[0] > tight.opening_mm[0])
    True
    """
    current = np.atleast_1d(np.asarray(amplitude_ma, dtype=np.float64))
    for scene in scenes:
        checked_scene(scene)
    if current.ndim != 1 or not np.all(np.isfinite(current) & (current >= 0.0)):
        raise SceneError("amplitude_ma", "finite and 0 or more", amplitude_ma)
    shares, drives, asked = [], [], []
    for scene in scenes:
        recruited, drive = stimulated(scene, current)
        hand = effective_hand(scene)
        asked.append(mechanics.Asked(
            hand, drive_of_hand(drive, hand, current.size), "slips" not in scene.without_mechanisms, mechanics.scene_hand()
        ))  # fmt: skip
        shares.append(recruited)
        drives.append(drive)
    return [
        _opening(current, *found) for found in zip(shares, drives, mechanics.equilibria(asked), strict=True)
    ]


def _opening(current: Array, recruited: Mapping[str, Array], drive: Mapping[str, Array], posture: mechanics.Posture) -> Opening:
    muscles = [name for name in drive if name not in finger_slips()]
    return Opening(
        amplitude_ma=current, opening_mm=posture.opening_mm, angle_deg=posture.angle_deg,
        force_n={name: drive[name] * full_force_n(name) for name in muscles},
        recruited={name: recruited[name] for name in muscles},
        claw=posture.claw, claw_by_finger=posture.claw_by_finger, gap_mm=posture.gap_mm,
        points_mm=posture.opening_points_mm, tension_n=posture.tension_n,
        slip_n={"central": posture.central_slip_per_ray_n, "terminal": posture.terminal_slip_per_ray_n},
        slip_share=posture.slip_share,
    )


def tired_opening_mm(scene: Scene, kept: ArrayLike) -> Array:
    """Opening at the scene's own current when the stimulated muscles have a share of their pull left.

    Parameters
    ----------
    scene : Scene
    kept : array_like, shape (n,)
        0 to 1; one share for all stimulated muscles.

    Returns
    -------
    ndarray, shape (n,)

    Raises
    ------
    SceneError
        A share out of range.

    Notes
    -----
    Past the current of its widest opening a hand may open wider as it tires: the pull was more than it wanted. That is no gain.

    Examples
    --------
    >>> from graspwave import simulator as sim
    >>> fresh, tired = sim.tired_opening_mm(sim.presets()["supple"], [1.0, 0.5])
    >>> bool(tired < fresh)
    True
    """
    share = np.atleast_1d(np.asarray(kept, dtype=np.float64))
    if share.ndim != 1 or not np.all((share >= 0.0) & (share <= 1.0)):
        raise SceneError("kept", "0 to 1", kept)
    drive = {name: pull * share for name, pull in stimulated(scene, np.full(
        share.size, scene.channel[0].pulse.amplitude_ma))[1].items()}
    hand = effective_hand(scene)
    posture = mechanics.equilibrium(
        hand, drive_of_hand(drive, hand, share.size), slips_slack="slips" not in scene.without_mechanisms,
        model=mechanics.scene_hand(),
    )
    return np.asarray(posture.opening_mm)


def stimulated(scene: Scene, amplitude_ma: Array) -> tuple[dict[str, Array], dict[str, Array]]:
    """Share recruited and steady drive of every muscle and of the finger extensor's slips, each (n,), for each current of the
    first channel."""
    recruited: dict[str, Array] = {}
    drive: dict[str, Array] = {}
    none = np.zeros_like(amplitude_ma)
    for index, channel in enumerate(scene.channel):
        at = amplitude_ma if index == 0 else np.full_like(amplitude_ma, channel.pulse.amplitude_ma)
        fused = muscle.steady_force_fraction(channel.train.frequency_hz)
        for name, share in recruitment_curve(scene, at, index, slips=True).items():
            fresh = share * (1.0 - recruited.get(name, none))
            recruited[name] = recruited.get(name, none) + fresh
            drive[name] = drive.get(name, none) + fresh * fused
    return recruited, drive


def simulate(
    scene: Scene,
    duration_s: float | None = None,
    held: list[tuple[float, float]] | None = None,
    *,
    sample_s: float | None = None,
) -> Run:
    """Run a scene through the chain.

    Parameters
    ----------
    scene : Scene
    duration_s : float, optional
        How long; the scene's session if not given. Up to 3 h.
    held : list of (float, float), optional
        When the switch was held, from and to, for channels with held control.
    sample_s : float, optional
        Step of the samples; by default 2 ms up to 4 s, then a 2000th of the duration, at most 50 ms.

    Returns
    -------
    Run

    Raises
    ------
    SceneError
        A duration or step that is not positive, or presses that cannot be.

    Notes
    -----
    Motion has what a steady hand has not: the stretch reflex, and an own grip that the person gives up at
    `hand.own_grip_until_s` and that dies away `hand.switch_off_s` later.

    Examples
    --------
    >>> from graspwave import simulator as sim
    >>> run = sim.simulate(sim.presets()["tight"], duration_s=2.0)
    >>> bool(run.opening_mm.max() > run.opening_mm[0])
    True
    """
    checked_scene(scene)
    length = scene.session.minutes * 60.0 if duration_s is None else float(duration_s)
    if not 0.0 < length <= _LONGEST_S:
        raise SceneError("duration_s", f"more than 0 and at most {_LONGEST_S:g}", length)
    step = min(max(length / 2000.0, 0.002), 0.05) if sample_s is None else float(sample_s)
    if not 1e-4 <= step <= length:
        raise SceneError("sample_s", "0.0001 to the duration", step)
    time = np.linspace(0.0, length, round(length / step) + 1)

    trains = tuple(pulse_train(scene, i, held, length) for i in range(len(scene.channel)))
    names, shares = _recruited(scene, trains)
    pulled = muscle.session_force(
        [train.onset_s for train in trains], shares, [full_force_n(name) for name in names], time,
        tiring="tiring" not in scene.without_mechanisms,
    )
    force = dict(zip(names, pulled.force_n.T, strict=True))
    hand = effective_hand(scene)
    angles = _motion(scene, hand, time, {name: force[name] / full_force_n(name) for name in names})
    slips = [name for name in names if name in finger_slips()]
    if slips:
        force["EDC"] = np.sum([force.pop(name) for name in slips], axis=0)
    opening, points = mechanics.opening(hand, angles)
    current = {}
    recruited = {name: np.zeros_like(time) for name in names}
    for index, (train, share) in enumerate(zip(trains, shares, strict=True)):
        which, live = _pulse_in_force(train, time, scene.channel[index].train.frequency_hz)
        current[index] = np.where(live, _at(train.amplitude_ma, which), 0.0)
        for column, name in enumerate(names):
            recruited[name] += np.where(live, _at(share[:, column], which), 0.0)
    return Run(
        time_s=time, current=current, recruited={name: r for name, r in recruited.items() if name not in slips}, force_n=force,
        angle_deg=angles, opening_mm=opening,
        points_mm=points, claw=mechanics.is_claw(mechanics.scene_hand(), angles["MCP"], angles["PIP"]),
        tired={name: tired for name, tired in zip(names, pulled.tired.T, strict=True) if name not in slips},
        dose=tuple(dose_of(scene, i, held=held, duration_s=length) for i in range(len(scene.channel))), trains=trains,
    )


def hand_pools() -> tuple[str, ...]:
    """`HAND_MUSCLES` and the slips of the finger extensor."""
    return (*HAND_MUSCLES, *finger_slips())


def full_force_n(name: str) -> float:
    """Largest pull of a healthy adult's whole muscle, or of a slip of the finger extensor."""
    if name in finger_slips():
        whole = sum(number(f"recruitment.slip.{slip.lower()}.share") for slip in finger_slips())
        return number("architecture.edc.force_n") * number(f"recruitment.slip.{name.lower()}.share") / whole
    return number(f"architecture.{name.lower()}.force_n")


def drive_of_hand(
    drive: dict[str, Array], hand: Hand, n: int, *, time_s: Array | None = None
) -> dict[str, Array]:
    """Drives of the hand's muscles, the person's own effort added; no muscle pulls more than all of itself.

    Effort to open calls the extensors of all fingers alike, and with them the small muscles of the hand.

    With the times of the `n` drives, the own grip dies away once the person wants to let go.
    """
    grip: Array | float = hand.own_grip
    if time_s is not None and hand.own_grip_until_s is not None:
        grip = mechanics.grip_after_release(
            time_s, hand.own_grip_until_s, hand.own_grip, switch_off_s=hand.switch_off_s
        )
    along = number("hand.effort.intrinsics_share") * hand.own_opening
    slips = tuple(name for name in finger_slips() if name in drive)
    own = {"INT": along, "FDP": grip, "FDS": grip}
    own |= dict.fromkeys(("EDC", *mechanics.FREE_MUSCLES, *slips), hand.own_opening)
    called = {
        name: np.minimum(drive.get(name, np.zeros(n)) + own.get(name, 0.0), 1.0) for name in (*HAND_MUSCLES, *slips)
    }
    return {name: np.minimum(hand.strength * share, 1.0) for name, share in called.items()}


def _recruited(scene: Scene, trains: tuple[PulseTrain, ...]) -> tuple[tuple[str, ...], list[Array]]:
    """Muscles of all channels, and for each train the share of each that every pulse wakes.

    Axons that an earlier channel wakes at its full amplitude are not woken twice: a later one has the rest.
    """
    found = [recruited_by_pulses(scene, train, i, slips=True) for i, train in enumerate(trains)]
    names = tuple(dict.fromkeys(name for muscles, _ in found for name in muscles))
    taken = np.zeros(len(names))
    shares = []
    for muscles, share in found:
        full = np.zeros((share.shape[0], len(names)))
        full[:, [names.index(name) for name in muscles]] = share
        shares.append(full * (1.0 - taken))
        taken = taken + shares[-1].max(axis=0, initial=0.0)
    return names, shares


def _pulse_in_force(train: PulseTrain, time: Array, frequency_hz: float) -> tuple[NDArray[np.intp], NDArray[np.bool_]]:
    """Last pulse before each time, and whether it is no further back than one interval."""
    which = np.searchsorted(train.onset_s, time + 1e-9, side="right") - 1
    onset = _at(train.onset_s, which)
    return which, (which >= 0) & (time - onset <= 1.001 / frequency_hz)


def _at(values: Array, which: NDArray[np.intp]) -> Array:
    return values[np.maximum(which, 0)] if values.size else np.zeros(which.shape)


def _motion(scene: Scene, hand: Hand, time: Array, drive: dict[str, Array]) -> dict[str, Array]:
    """Joint angles at every sample: the over-damped motion from the equilibrium of the first drive."""
    step = max(MOTION_STEP_S, float(time[1] - time[0]))
    slips, model = "slips" not in scene.without_mechanisms, mechanics.scene_hand()
    grid = step * np.arange(max(1, int(np.ceil(time[-1] / step - 1e-9))) + 1)
    used = drive_of_hand(drive, hand, time.size, time_s=time)
    on_grid = {name: np.interp(grid, time, value) for name, value in used.items()}
    start = mechanics.equilibrium(hand, {name: v[:1] for name, v in on_grid.items()}, slips_slack=slips, model=model)
    moved = mechanics.motion(
        hand, {name: value[1:, None] for name, value in on_grid.items()}, step, start=start, slips_slack=slips, model=model
    )[:, 0]
    first = np.array([[start.angle_deg[joint][0] for joint in mechanics.ANGLES]])
    whole = np.concatenate([first, moved])
    angles = {joint: np.interp(time, grid, whole[:, index]) for index, joint in enumerate(mechanics.ANGLES)}
    # the thumb follows its muscles with the same friction time, each joint on its own
    for joint, follows in mechanics.thumb_motion_deg(
        on_grid, step, model=model, length_factor=hand.flexor_length_factor
    ).items():
        angles[joint] = np.interp(time, grid, follows)
    return angles
