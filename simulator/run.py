"""The chain once through: scene -> pulses -> recruited -> force -> posture -> opening. It only chains; no physics here."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from graspwave.simulator import hand as mechanics
from graspwave.simulator import muscle, show
from graspwave.simulator.curve import Opening, opening_curve, opening_curves, tired_opening_mm
from graspwave.simulator.dose import Dose, dose_of
from graspwave.simulator.driving import HAND_MUSCLES, drive_of_hand, effective_hand, full_force_n, hand_pools, stimulated
from graspwave.simulator.field import finger_slips
from graspwave.simulator.pulses import PulseTrain, pulse_train
from graspwave.simulator.recruitment import recruited_by_pulses
from graspwave.simulator.results import Result
from graspwave.simulator.scene import Hand, Scene, SceneError, checked_scene

__all__ = [
    "HAND_MUSCLES", "Opening", "Run", "drive_of_hand", "effective_hand", "full_force_n", "hand_pools", "opening_curve",
    "opening_curves", "simulate", "stimulated", "tired_opening_mm",
]  # fmt: skip

Array = NDArray[np.float64]

MOTION_STEP_S = 0.05
"""Step of the over-damped motion; implicit, so its size bounds accuracy, not stability."""

_LONGEST_S = 3 * 3600.0


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
            f"{len(self.angle_deg)} joints" + ("; claw by the published rule somewhere" if self.claw.any() else ""),
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
