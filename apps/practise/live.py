"""The task done by the learner: the switch, the moving arm, the object. No Panel here; time is handed in.

The hand is the model's: pulses of the presses so far, force with tiring, and the over-damped motion from where the hand is. It
is worked out ahead in pieces of `AHEAD_S`, which the page plays; a press or release replaces what was ahead.
"""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from graspwave import simulator as sim
from graspwave.simulator import hand as mechanics
from graspwave.simulator import muscle
from graspwave.simulator.facts import number
from graspwave.simulator.reach import Reach, triceps_channel
from graspwave.simulator.recruitment import recruited_by_pulses
from graspwave.simulator.run import drive_of_hand, effective_hand, full_force_n, hand_pools

__all__ = ["AHEAD_S", "LOST_S", "Event", "Live", "Piece"]

AHEAD_S = 1.0
"""How far the hand is worked out; the page asks for more before it ends."""

STEP_S = 1.0 / 30.0
LOST_S = 1.0
"""Without a beat for so long the switch counts as let go."""

BUSY_S = 0.3
"""Most that one look at the switch counts as silence."""

NEAR_MM = number("practice.live.near_mm")
SPARE_MM = number("practice.live.spare_mm")
LOOSE_MM = number("practice.live.loose_mm")
HELD_S = number("practice.live.held_s")

STEPS = ("reach", "grasp", "carry", "let go", "go back")


@dataclass(frozen=True, slots=True)
class Event:
    """What happened when, and why."""

    t_s: float
    what: str


@dataclass(frozen=True, slots=True, eq=False)
class Piece:
    """The hand from one time on: sample times, angles in degrees by joint, opening and its points, current."""

    t_s: NDArray[np.float64]
    angle_deg: dict[str, NDArray[np.float64]]
    opening_mm: NDArray[np.float64]
    points_mm: NDArray[np.float64]
    current_ma: NDArray[np.float64]
    force_n: NDArray[np.float64]


@dataclass(eq=False)
class Live:
    """One learner's practice.

    Parameters
    ----------
    scene : simulator.Scene
        Its first channel is taken as `control` says, whatever it has itself.
    control : str
        ``"held"``: while the switch is pressed; ``"timed"``: by the scene's own cycle, from `begun_s` on.
    closing_s, let_go_s : float or None
        When the person began to want to close the hand on the object, and to let it go: their flexors answer later.
    held_mm : float
        How far the hand is open round the object that it holds.
    reach_mm : float
        From the start of the hand to the object, and from there to the place to put it; the scene's own where not given.
    """

    scene: sim.Scene
    control: str = "held"
    begun_s: float = 0.0
    reach_mm: float = 0.0
    presses: list[tuple[float, float]] = field(default_factory=list)
    held_since: float | None = None
    silent_s: float = 0.0
    ended_s: float | None = None
    watched_s: float = 0.0
    at_mm: float = 0.0
    step: str = "reach"
    repetitions: int = 0
    drops: int = 0
    log: list[Event] = field(default_factory=list)
    piece: Piece | None = None
    closing_s: float | None = None
    let_go_s: float | None = None
    tilting_s: float | None = None
    held_mm: float = 0.0

    def __post_init__(self) -> None:
        self.scene = self.scene.replace("channel.0.timing.control", "held" if self.control == "held" else "cycle")
        self.reach_mm = self.reach_mm or self.scene.task.distance_mm
        self._hand = effective_hand(self.scene)
        self._told: tuple[float | None, ...] = ()
        self._rest = mechanics.equilibrium(self._hand, drive_of_hand({}, self._hand, 1), model=mechanics.scene_hand())

    # ---- the switch

    @property
    def held(self) -> bool:
        """Whether the switch is held."""
        return self.held_since is not None

    def press(self, now_s: float) -> None:
        """The switch goes down; it does nothing where the timer is in charge."""
        if not self.held and self.control == "held":
            self.held_since = self.watched_s = now_s
            self.silent_s, self.ended_s = 0.0, None
            self.log.append(Event(now_s, "switch held"))
            self.ahead(now_s)

    def beat(self, now_s: float) -> None:
        """The page says that it is still held."""
        self.silent_s, self.watched_s = 0.0, now_s

    def end(self, now_s: float) -> None:
        """The page has let go; its own word for that may still wait: noted here, done at the next look."""
        self.ended_s = now_s

    def release(self, now_s: float, why: str = "switch let go") -> None:
        """The switch comes up: the current falls as the ramp says from this moment."""
        if self.held_since is not None:
            self.presses.append((self.held_since, max(now_s, self.held_since)))
            self.held_since = None
            self.log.append(Event(now_s, why))
            self.ahead(now_s)

    def lost(self, now_s: float) -> bool:
        """Let go where no beat has come for `LOST_S`; true when that happened.

        A server that was busy itself has not listened: of a time in which nobody looked here, no more than `BUSY_S` counts as
        silence, since beats may wait to be read. A hold that the page has ended was not lost.
        """
        if self.held_since is not None and self.ended_s is not None:
            self.release(max(self.ended_s, self.held_since))
            return False
        self.silent_s += min(max(now_s - self.watched_s, 0.0), BUSY_S)
        self.watched_s = now_s
        if self.held and self.silent_s > LOST_S:
            self.release(now_s, "connection lost: current off")
            return True
        return False

    # ---- the hand

    def ahead(self, now_s: float) -> Piece:
        """Work the hand out from now on, from the posture it has now."""
        time = now_s + STEP_S * np.arange(round(AHEAD_S / STEP_S) + 1)
        held = [*self.presses, *([(self.held_since, np.inf)] if self.held_since is not None else [])]
        train = sim.pulse_train(self.scene, 0, held, duration_s=float(time[-1]) + 0.1)
        if self.control == "timed":  # the timer begins when it was chosen
            train = _later(train, self.begun_s, float(time[-1]))
        names, share = recruited_by_pulses(self.scene, train, slips=True)
        used = [i for i, name in enumerate(names) if name in hand_pools()]
        full = np.array([full_force_n(names[i]) for i in used])
        pulled = muscle.session_force([train.onset_s], [share[:, used]], full, time, tiring=True)
        drive = {names[i]: pulled.force_n[:, k] / full[k] for k, i in enumerate(used)}
        last = np.searchsorted(train.onset_s, time + 1e-9, side="right") - 1
        live = (last >= 0) & (time - train.onset_s[np.maximum(last, 0)] < 1.0 / self.scene.channel[0].train.frequency_hz + 1e-6) \
            if len(train) else np.zeros(time.size, dtype=bool)
        current = np.where(live, train.amplitude_ma[np.maximum(last, 0)], 0.0) if len(train) else np.zeros(time.size)
        level = current / max(self.scene.channel[0].pulse.amplitude_ma, 1e-9)
        own = self._flexors(np.asarray(time, dtype=np.float64), level, now_s)
        drive |= {name: np.minimum(drive.get(name, 0.0) + own, 1.0) for name in ("FDP", "FDS")}
        driven = drive_of_hand(drive, self._hand, time.size)
        steps = {name: value[1:, None] for name, value in driven.items()}
        moved = mechanics.motion(self._hand, steps, STEP_S, start=self._posture(now_s), model=mechanics.scene_hand())
        first = np.array([[self._now(joint, now_s) for joint in mechanics.ANGLES]])
        angles = np.concatenate([first, moved[:, 0]])
        by_joint = {joint: angles[:, k] for k, joint in enumerate(mechanics.ANGLES)}
        by_joint |= mechanics.thumb_motion_deg(
            driven, STEP_S, start_deg={joint: self._now(joint, now_s) for joint in mechanics.THUMB_JOINTS},
            model=mechanics.scene_hand(), length_factor=self._hand.flexor_length_factor,
        )
        opening, points = mechanics.opening(self._hand, by_joint)
        if self.step in ("grasp", "carry", "let go"):  # the object is in the way: the hand stops on it
            self._stop_on_object(opening, points, by_joint)
        opener = [k for k, i in enumerate(used) if names[i] == "EDC"]
        force = pulled.force_n[:, opener[0]] if opener else np.zeros(time.size)
        self.piece = Piece(np.asarray(time, dtype=np.float64), by_joint, opening, points, current, force)
        return self.piece

    def _flexors(self, time_s: NDArray[np.float64], level: NDArray[np.float64], now_s: float) -> NDArray[np.float64]:
        """The person's own drive of the finger flexors: what the reach brings with it, and their grip on the object.

        The grip comes `switch_on_s` after they want it and dies away `switch_off_s` after they want to let go; stimulation calms
        a part of it, as in half an hour of practice.
        """
        self._told = (self.closing_s, self.let_go_s, self.bending(now_s))
        hand, none = self.scene.hand, np.zeros(time_s.size)
        if "own_effort" in self.scene.without_mechanisms:
            return none
        if self.closing_s is None:
            return none + self.bending(now_s)
        grip = np.where(time_s >= self.closing_s + hand.switch_on_s, hand.grip_left, 0.0)
        if self.let_go_s is not None:
            grip = np.minimum(grip, mechanics.grip_after_release(
                time_s, self.let_go_s, hand.grip_left, switch_off_s=hand.switch_off_s))
        calmed: NDArray[np.float64] = grip * (1.0 - number("practice.grasp.calmed") * level)
        return calmed

    def bending(self, now_s: float) -> float:
        """Drive of the finger flexors that the effort of the reach brings with it, while the arm is on its way."""
        if self.step != "reach" or self.at_mm < NEAR_MM:
            return 0.0
        return float(round(min(self.reach(now_s).co_contraction, 1.0), 4))

    def _stop_on_object(self, opening: NDArray[np.float64], points: NDArray[np.float64], angle: dict[str, Any]) -> None:
        """Hold the posture, in place, wherever the hand would close further than the object is wide: it lies in the hand."""
        width = self.scene.task.diameter_mm
        for i in range(1, opening.size):
            before, after = float(opening[i - 1]), float(opening[i])
            if after >= min(width, before):
                continue
            part = (before - width) / (before - after) if before > width else 0.0
            opening[i], points[i] = min(before, width), points[i - 1] + part * (points[i] - points[i - 1])
            for value in angle.values():
                value[i] = value[i - 1] + part * (value[i] - value[i - 1])

    def _now(self, joint: str, now_s: float) -> float:
        if self.piece is None:
            return float(self._rest.angle_deg[joint][0])
        return float(np.interp(now_s, self.piece.t_s, self.piece.angle_deg[joint]))

    def _posture(self, now_s: float) -> Any:
        angles = {joint: np.array([self._now(joint, now_s)]) for joint in mechanics.ANGLES}
        return dataclasses.replace(self._rest, angle_deg=angles)

    def opening_mm(self, now_s: float) -> float:
        """Opening now."""
        if self.piece is None:
            return float(self._rest.opening_mm[0])
        return float(np.interp(now_s, self.piece.t_s, self.piece.opening_mm))

    def on(self, now_s: float) -> bool:
        """Whether current flows now: the switch is held, or the timer is on."""
        if self.held:
            return True
        return self.piece is not None and float(np.interp(now_s, self.piece.t_s, self.piece.current_ma)) > 0.0

    # ---- the task

    @property
    def target_mm(self) -> float:
        """Where the hand has to go in this step: the object, the place for it, or back."""
        return {"reach": self.reach_mm, "grasp": self.reach_mm, "carry": 2.0 * self.reach_mm, "let go": 2.0 * self.reach_mm,
                "go back": 0.0}[self.step]

    @property
    def object_mm(self) -> float:
        """Where the object is along the bench."""
        if self.step == "carry":
            return self.at_mm
        return 2.0 * self.reach_mm if self.step in ("let go", "go back") else self.reach_mm

    @property
    def on_cloth(self) -> bool:
        """Whether the arm lies on a cloth: its friction is nearer to a cloth's than to a sleeve's."""
        task = self.scene.task
        between = 0.5 * (number("practice.help.cloth_friction") + number("settings.task.friction"))
        return task.arm == "slides" and task.friction < between

    def elbow_level(self, now_s: float) -> float:
        """Level of the second channel now, 0 to 1 by its own delay and ramps; 0 where there is none."""
        at = triceps_channel(self.scene)
        if at is None:
            return 0.0
        channel = self.scene.channel[at]
        up, down, after = channel.ramp.up_s, channel.ramp.down_s, channel.timing.delay_s
        if self.control == "timed":
            since = now_s - self.begun_s - after
            spans = [(0.0, channel.on_total_s - down)] if since >= 0.0 else []
            now = since % channel.cycle_s
        else:
            ends = [*self.presses, *([(self.held_since, np.inf)] if self.held_since is not None else [])]
            spans, now = [(a + after, b) for a, b in ends if a + after < b], now_s
        return max((_ramped(now - a, now - b, up, down) for a, b in spans), default=0.0)

    def reach(self, now_s: float) -> Reach:
        """How far the elbow goes now, and what it costs: a second channel helps while it is on."""
        return _reach(self.scene, round(self.elbow_level(now_s), 1))

    def move(self, by_mm: float, now_s: float) -> None:
        """Move the arm along the bench, as far as elbow and trunk go, and no further than the object until it is held.

        A hand that is too narrow pushes up against the object and stops there.
        """
        wanted = min(max(self.at_mm + by_mm, 0.0), 2.0 * self.reach_mm)
        if self.step in ("reach", "grasp"):
            lean = number("reach.lean.most_mm") if self.scene.task.lean else 0.0
            wanted = min(wanted, self.reach_mm, max(self.reach(now_s).limit_mm + lean, self.at_mm))
        if self.step == "reach" and not self.wide(now_s):
            wanted = min(wanted, self.reach_mm - NEAR_MM - 1.0)
        self.at_mm = wanted
        self.watch(now_s)

    def holds(self, now_s: float) -> bool:
        """Whether the hand has closed on the object: it is as narrow as that; a small one the fingertips take, a moment later."""
        width, least = self.scene.task.diameter_mm, number("practice.grasp.pinch_mm")
        gap = self.opening_mm(now_s)
        if gap <= width + 0.5 * SPARE_MM:
            return True
        waited = -np.inf if self.closing_s is None else now_s - self.closing_s
        return gap <= least > width and waited > self.scene.hand.switch_on_s + number("practice.time.pinch_s")

    def wide(self, now_s: float) -> bool:
        """Whether the hand can go round the object now: it is as wide as that, as Explore says that it fits."""
        return self.opening_mm(now_s) >= self.scene.task.diameter_mm

    def watch(self, now_s: float) -> None:
        """Go on to the next step when this one is done; drop the object where the hand opens in mid-carry."""
        self._go_on(now_s)
        if self.step == "grasp":
            self.closing_s = None if self.on(now_s) else now_s if self.closing_s is None else self.closing_s
        elif self.step == "let go":
            self.let_go_s = now_s if self.let_go_s is None else self.let_go_s
        elif self.step != "carry":
            self.closing_s = self.let_go_s = None
        if self.piece is not None and self._told != (self.closing_s, self.let_go_s, self.bending(now_s)):
            self.ahead(now_s)

    def _go_on(self, now_s: float) -> None:
        gap, width = self.opening_mm(now_s), self.scene.task.diameter_mm
        near = abs(self.at_mm - self.target_mm) <= NEAR_MM
        if self.step == "reach" and near and self.wide(now_s):
            self._go("grasp", now_s, "hand round the object")
        elif self.step == "grasp":
            if abs(self.at_mm - self.reach_mm) > NEAR_MM:
                self._go("reach", now_s, "hand drawn away")
            elif self.holds(now_s) and not self.on(now_s):
                self.held_mm = max(gap, width)
                self._go("carry", now_s, "object held")
        elif self.step == "carry":
            if gap > max(self.held_mm, width) + SPARE_MM and not near:
                self.drops += 1
                self.at_mm = min(self.at_mm, self.reach_mm - NEAR_MM - 1.0)
                self._go("reach", now_s, "dropped: the current opened the hand in mid-carry")
            elif near:
                self._go("let go", now_s, "over its place")
        elif self.step == "let go" and self._freed(gap, now_s):
            self.repetitions += 1
            tilted = self.tilting_s is not None
            self._go("go back", now_s, "put down: slid out as the hand tilted sideways" if tilted else "put down")
        elif self.step == "go back" and near:
            self._go("reach", now_s, "ready for the next")

    def _freed(self, gap_mm: float, now_s: float) -> bool:
        """Whether the object is out of the hand: it opens round it, or is tilted off it sideways as soon as the grip is loose."""
        held = max(self.held_mm, self.scene.task.diameter_mm)
        if not self.scene.task.side_to_side:
            return gap_mm > held + SPARE_MM
        if not (self.on(now_s) and gap_mm > held + LOOSE_MM):
            self.tilting_s = None
            return False
        self.tilting_s = now_s if self.tilting_s is None else self.tilting_s
        return self.tilt(now_s) >= 1.0

    def tilt(self, now_s: float) -> float:
        """How far the hand is tilted sideways to let go, 0 to 1; it takes as long as in half an hour of practice."""
        if self.step != "let go" or self.tilting_s is None:
            return 0.0
        return float(min(1.0, (now_s - self.tilting_s) / number("practice.time.side_s")))

    def over_its_place(self, now_s: float) -> None:
        """The object is held over its place: the moment before letting go, for who shows just that."""
        self.at_mm, self.tilting_s, self.let_go_s = 2.0 * self.reach_mm, None, None
        self.step, self.closing_s = "carry", now_s - HELD_S
        for ago in range(round(HELD_S / AHEAD_S), 0, -1):  # so long the own grip has closed on it
            self.ahead(now_s - ago * AHEAD_S)
        self.held_mm = max(self.opening_mm(now_s), self.scene.task.diameter_mm)
        self._go("let go", now_s, "over its place")
        self.let_go_s = now_s
        self.ahead(now_s)

    def _go(self, step: str, now_s: float, why: str) -> None:
        self.step = step
        self.log.append(Event(now_s, why))


def _ramped(since_s: float, ended_s: float, up_s: float, down_s: float) -> float:
    """Level of a current begun so long ago that began to fall so long ago (negative: still to come)."""
    if since_s < 0.0:
        return 0.0
    risen = min(1.0, (since_s - max(ended_s, 0.0)) / up_s) if up_s else 1.0
    return risen if ended_s <= 0.0 else max(0.0, risen - ended_s / down_s) if down_s else 0.0


@lru_cache(maxsize=64)
def _reach(scene: sim.Scene, level: float) -> Reach:
    return sim.reach_of(scene, kept=level, stimulated=level > 0.0)


def _later(train: sim.PulseTrain, by_s: float, end_s: float) -> sim.PulseTrain:
    """The same train begun so much later, as far as `end_s`."""
    onset = train.onset_s + by_s
    keep = onset <= end_s
    return dataclasses.replace(train, onset_s=onset[keep], amplitude_ma=train.amplitude_ma[keep], phase_us=train.phase_us[keep])
