"""How far the hand opens at each current, tiring and effort: a small table, worked out once a session by the hand's own model."""

from __future__ import annotations

import dataclasses
from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import NDArray

from graspwave.simulator import hand as mechanics
from graspwave.simulator import muscle
from graspwave.simulator.facts import number
from graspwave.simulator.field import finger_slips
from graspwave.simulator.reach import co_contraction
from graspwave.simulator.recruitment import recruitment_curve
from graspwave.simulator.run import HAND_MUSCLES, effective_hand
from graspwave.simulator.scene import Hand, Scene
from graspwave.simulator.sensation import sensation_levels

__all__ = ["Openings", "current_found_ma", "forget", "grip_n", "window_mm", "worked_hand"]

Array = NDArray[np.float64]

_KEPT_STEP = 0.1
_KEPT = tuple(round(1.0 - _KEPT_STEP * i, 1) for i in range(8))  # shares of its pull that a tired muscle has left
_REACHING = ("reached", "open", "free")
_LEVELS = 41
_CURRENTS = 33


def worked_hand(scene: Scene, warm: bool = True) -> Hand:
    """The hand in practice: own opening by effort, tone just after the warm-up or (not `warm`) without one."""
    hand, minutes = effective_hand(scene), scene.session.warm_up_minutes if warm else 0.0
    falls = number("practice.warm_up.tone_falls") * min(minutes / number("practice.warm_up.full_min"), 1.0)
    return dataclasses.replace(
        hand, own_opening=hand.own_opening * scene.task.effort, finger_tone=hand.finger_tone * (1.0 - falls)
    )


def window_mm(scene: Scene) -> tuple[float, float]:
    """Opening that the object needs, and the widest from which the hand still closes on it well."""
    size = scene.task.diameter_mm
    spare = min(number("practice.grasp.spare_of_size") * size, number("practice.grasp.spare_most_mm"))
    least = size + scene.task.clearance_mm
    return least, max(size + spare, least)


class Openings:
    """Opening against current, tiring and what the flexors do.

    Parameters
    ----------
    scene : Scene
    top_ma : float
        Highest current asked for.
    reach_effort, release_effort : float
        Effort at the end of the reach and at the place.

    Notes
    -----
    States: "reached" while the flexors that came with the reach are still on, "open" once they are off, "free" at the place
    when letting go, "gripped" there while the own grip is on and the stimulus calms it, "alone" the person's own try there.
    `faded` is the share of a warm-up that is gone. Equilibria as in `curve.opening_curve`; tiring scales the
    stimulated pull of all muscles alike. Other forearm channels rise and fall with the first.
    """

    def __init__(self, scene: Scene, top_ma: float, reach_effort: float, release_effort: float) -> None:
        self.scene, self.hand, self.faded = scene, worked_hand(scene), 0.0
        self.current = _currents(top_ma)
        self._efforts = (reach_effort, scene.task.effort, release_effort)  # of `_REACHING`, in its order

    @cached_property
    def drive(self) -> dict[str, Array]:
        """Stimulated pull of each muscle of the hand at each current, share of its full force, untired."""
        return _drives(self.scene, float(self.current[-1]))

    @cached_property
    def table(self) -> dict[str, Array]:
        """Opening by state, (kept, currents), mm; states that are alike are worked out once."""
        return self._table(True)

    @cached_property
    def table_cold(self) -> dict[str, Array]:
        """The same without the warm-up."""
        return self._table(False) if self.scene.session.warm_up_minutes else self.table

    def _table(self, warm: bool) -> dict[str, Array]:
        return _openings(self.scene, float(self.current[-1]), self._efforts, warm)

    def mm(self, state: str, level: Array | float, current_ma: float, kept: float) -> Array:
        """Opening at shares `level` of a current, mm, to a hundredth."""
        rows = self.table[state]
        if self.faded > 0.0 and self.table_cold is not self.table:
            rows = rows + self.faded * (self.table_cold[state] - rows)
        at = min(max((_KEPT[0] - kept) / _KEPT_STEP, 0.0), len(_KEPT) - 1.0)
        low = int(min(at, len(_KEPT) - 2))
        row = rows[low] + (at - low) * (rows[low + 1] - rows[low])
        asked = np.atleast_1d(np.asarray(level, dtype=np.float64)) * current_ma
        out: Array = np.round(np.interp(asked, self.current, row), 2)
        return out

    def level_for(self, state: str, need_mm: float, current_ma: float, kept: float) -> float | None:
        """Least share of the current at which the hand opens so far; none if it never does."""
        levels = np.linspace(0.0, 1.0, _LEVELS)
        good = self.mm(state, levels, current_ma, kept) >= need_mm
        return round(float(levels[int(np.argmax(good))]), 4) if good.any() else None

    def extensors_n(self, current_ma: float, kept: float) -> float:
        """Closing force at the fingers that stimulation takes away, N: see `grip_n`."""
        drive = {name: float(np.interp(current_ma, self.current, value)) * kept for name, value in self.drive.items()}
        return -round(grip_n(self.hand, drive), 3)


def _currents(top_ma: float) -> Array:
    return np.linspace(0.0, max(top_ma, 0.1), _CURRENTS)


@lru_cache(maxsize=64)
def _drives(scene: Scene, top_ma: float) -> dict[str, Array]:
    return _stimulated(scene, _currents(top_ma), _currents(top_ma)[-1])


@lru_cache(maxsize=64)
def _openings(scene: Scene, top_ma: float, efforts: tuple[float, ...], warm: bool) -> dict[str, Array]:
    """Opening by state, (kept, currents), mm: the same for every seed and control of a scene."""
    hand, above = worked_hand(scene, warm), scene.task.approach == "above"
    asked = {
        state: (above and state != "free", hand.own_opening, co_contraction(effort))
        for state, effort in zip(_REACHING, efforts, strict=True)
    }
    grip = hand.grip_left * (1.0 - number("practice.grasp.calmed"))
    asked["gripped"] = (False, hand.own_opening, asked["free"][2] + grip)
    asked["alone"] = asked["free"]
    if scene.task.let_go == "pictured try":
        asked["alone"] = (False, hand.own_opening * number("practice.effort.pictured"), 0.0)
    worked = {key: _rows(scene, hand, top_ma, *key) for key in dict.fromkeys(asked.values())}
    return {state: worked[key] for state, key in asked.items()}


def _rows(scene: Scene, hand: Hand, top_ma: float, above: bool, own: float, grip: float) -> Array:
    if above:
        hand = dataclasses.replace(hand, wrist_held_deg=number("practice.grasp.above_wrist_deg"))
    return _opening(scene, hand, _drives(scene, top_ma), own, grip, np.array(_KEPT))


def forget() -> None:
    """Drop what is kept from one session to the next: after a number of the tables was changed by hand."""
    for kept in (_drives, _openings, _arms_mm, current_found_ma):
        kept.cache_clear()


@lru_cache(maxsize=1)
def _arms_mm() -> dict[str, float]:
    """Moment arms about the base joint at a round object: of a hand of the reference length, so the same for all."""
    round_object = {"wrist": 0.0, "MCP": 40.0, "PIP": 40.0, "DIP": 20.0}
    return {name: float(mechanics.moment_arm_mm(Hand(), name, "MCP", round_object)) for name in ("EDC", "FDP", "FDS")}


def grip_n(hand: Hand, drive: dict[str, float]) -> float:
    """Force that closes the fingers on an object for these drives, N, negative where it opens.

    Torque of EDC, FDP and FDS about the base joints (arms of the hand's model at a round object) over the lever to the
    middle of the middle bones.
    """
    torque = 0.0
    for name, arm_mm in _arms_mm().items():
        pull = min(drive.get(name, 0.0), 1.0) * hand.strength * number(f"architecture.{name.lower()}.force_n")
        torque += pull * arm_mm
    bones = number("hand.bones.proximal") + 0.5 * number("hand.bones.middle")
    return torque / (bones * hand.hand_length_mm)


@lru_cache(maxsize=64)
def current_found_ma(scene: Scene) -> float:
    """Current found at set-up: raised from 0 by steps until the relaxed hand opens enough, and is seen to, and no further.

    Never above the upper end of what most people bear; where the hand never opens enough, the step of its widest opening.
    As the task says, the scene's own current instead.
    """
    if scene.task.current == "as set":
        return scene.channel[0].pulse.amplitude_ma
    step = number("practice.current.step_ma")
    limit = sensation_levels(scene).discomfort_ma
    top = 60.0 if limit is None else min(limit[1], 60.0)
    current: Array = step * np.arange(max(2, int(top / step)) + 1, dtype=np.float64)
    hand = worked_hand(scene)
    if scene.task.approach == "above":
        hand = dataclasses.replace(hand, wrist_held_deg=number("practice.grasp.above_wrist_deg"))
    mm = np.round(_opening(
        scene, hand, _stimulated(scene, current, scene.channel[0].pulse.amplitude_ma or 1.0), hand.own_opening,
        co_contraction(scene.task.effort), np.ones(1),
    )[0], 2)
    good = mm >= max(window_mm(scene)[0], float(mm[0]) + number("practice.current.seen_mm"))
    return float(current[int(np.argmax(good))] if good.any() else current[int(np.argmax(mm))])


def _stimulated(scene: Scene, current: Array, full_ma: float) -> dict[str, Array]:
    taken: dict[str, Array] = {}
    drive: dict[str, Array] = {}
    for index, channel in enumerate(scene.channel):
        if channel.pads.limb != "forearm":
            continue
        at = current if index == 0 else channel.pulse.amplitude_ma * np.minimum(current / full_ma, 1.0)
        fused = muscle.steady_force_fraction(channel.train.frequency_hz)
        for name, share in recruitment_curve(scene, at, index, slips=True).items():
            fresh = share * (1.0 - taken.get(name, np.zeros_like(current)))
            taken[name] = taken.get(name, np.zeros_like(current)) + fresh
            drive[name] = drive.get(name, np.zeros_like(current)) + fresh * fused
    return {name: value for name, value in drive.items() if name in (*HAND_MUSCLES, *finger_slips())}


def _opening(scene: Scene, hand: Hand, drive: dict[str, Array], own: float, grip: float, kept: Array) -> Array:
    """Equilibrium opening, (kept, currents), mm; at each share kept every current is risen to from the one before."""
    count = next(iter(drive.values())).size if drive else 1
    slips = tuple(name for name in finger_slips() if name in drive)
    added = {"INT": number("hand.effort.intrinsics_share") * own, "FDP": hand.own_grip + grip, "FDS": hand.own_grip + grip}
    added |= dict.fromkeys(("EDC", *mechanics.FREE_MUSCLES, *slips), own)
    used = {
        name: np.minimum(hand.strength * np.minimum(
            np.outer(kept, drive.get(name, np.zeros(count))).ravel() + added.get(name, 0.0), 1.0
        ), 1.0)
        for name in (*HAND_MUSCLES, *slips)
    }
    slack = "slips" not in scene.without_mechanisms
    rows = np.arange(kept.size * count)
    since = np.where(rows % count == 0, -1, rows - 1)
    (posture,) = mechanics.equilibria([mechanics.Asked(hand, used, slack, mechanics.scene_hand(), since=since)])
    return np.asarray(posture.opening_mm, dtype=np.float64).reshape(kept.size, count)
