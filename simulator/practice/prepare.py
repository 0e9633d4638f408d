"""Before the first repetition: what a session needs to know, setting up, warming up; and changing the current later on."""

from __future__ import annotations

import math

import numpy as np

from graspwave.simulator.facts import number
from graspwave.simulator.reach import Reach, least_effort, reach_of, required_torque_nm, triceps_channel
from graspwave.simulator.scene import Scene, SceneError, setting

from .clock import Clock
from .control import Stimulus
from .opening import Openings, current_found_ma, grip_n, window_mm

__all__ = ["Prepared"]

_NO_GAIN_MM = 0.2
"""A step of current that changes the opening by less is not seen."""


class Prepared(Clock):
    """A session with everything worked out that its phases need: reach, openings, grip, current, the switch.

    Parameters
    ----------
    scene : Scene
    control : str
        "timed" or "held".
    seed : int
    minutes : float
    carry_pulses : bool
        False takes out every on time that would start while the object is carried.
    """

    def __init__(self, scene: Scene, control: str, seed: int, minutes: float, carry_pulses: bool) -> None:
        if scene.channel[0].pads.limb != "forearm":
            raise SceneError("channel.0.pads.limb", "forearm", scene.channel[0].pads.limb, "the first channel opens the hand")
        self.minutes, self.seed, self.control, self.carry_pulses = minutes, seed, control, carry_pulses
        super().__init__(seed, 60.0 * minutes)
        self.current_ma = self.first_ma = round(current_found_ma(scene), 3)
        self.scene = scene.replace("channel.0.pulse.amplitude_ma", self.current_ma or number("practice.current.step_ma"))
        self.task, self.hand = scene.task, scene.hand
        self.need_mm, self.most_mm = window_mm(scene)
        self.triceps = triceps_channel(scene)
        self.reach: Reach = reach_of(self.scene)
        raises = number("practice.current.raises") * number("practice.current.step_ma")
        top = self.current_ma + raises + self.task.boost_ma
        self.openings = Openings(self.scene, top, min(self.reach.effort, 1.0), self._release_effort())
        bones_grip = dict.fromkeys(("FDP", "FDS"), self.hand.own_grip + self.hand.grip_left)
        self.grip_n = grip_n(self.openings.hand, bones_grip)
        share = number("practice.grasp.slide_share") if self.task.move == "slide" else 1.0
        weight = self.task.mass_kg * number("reach.arm.gravity_m_s2")
        self.holds_n = share * weight / (2.0 * number("practice.grasp.skin_friction"))
        if self.task.other_hand == "lifts":
            self.holds_n *= 0.5
        self.off_s = self.hand.switch_off_s * (1.0 - number("practice.letting_go.support") * self._relieved())
        self.repetitions, self.spills, self.warmed_s = 0, 0, 0.0
        self.drops: dict[str, int] = {}
        self.failures: dict[str, int] = {}
        begin = self._set_up_s() + 60.0 * scene.session.warm_up_minutes + number("practice.time.rest_s")
        self.stimulus = Stimulus(self.scene, 0, control, begin, self.end_s)
        self.elbow = None if self.triceps is None else Stimulus(self.scene, self.triceps, control, begin, self.end_s)

    def _set_up_s(self) -> float:
        steps = max(1, math.ceil(self.first_ma / number("practice.current.step_ma")))
        pads = number("practice.time.pads_s") + number("practice.time.lead_s")
        return pads * len(self.scene.channel) + steps * number("practice.time.step_s")

    def _set_up(self) -> None:
        self._lasts("set up", number("practice.time.pads_s") * len(self.scene.channel), "pads")
        self._lasts("set up", number("practice.time.lead_s") * len(self.scene.channel), "leads")
        step = number("practice.current.step_ma")
        set_ma = 0.0
        stimulus = self.stimulus
        stimulus.current = [(0.0, 0.0)]
        begun = self.t
        while set_ma < self.first_ma - 1e-9:
            set_ma = min(set_ma + step, self.first_ma)
            stimulus.set_current(self.t, set_ma)
            mm = float(self.openings.mm("open", 1.0, set_ma, 1.0)[0])
            self._lasts("set up", number("practice.time.step_s"), "current raised", opening_mm=mm, current_ma=set_ma)
        if self.first_ma == 0.0:
            self._lasts("set up", number("practice.time.step_s"), "opens far enough without current")
        elif self.t > begun:
            stimulus.press(begun)
            stimulus.release(self.t)
        minutes = self.scene.session.warm_up_minutes
        if minutes:
            self._warm_up(60.0 * minutes)
        stimulus.set_current(self.t, self.first_ma)
        self._lasts("rest", number("practice.time.rest_s"), "after set-up")

    def _warm_up(self, lasts_s: float) -> None:
        """Gentle cycles of the scene's own on and off times."""
        stimulus, channel, begun = self.stimulus, self.stimulus.channel, self.t
        gentle = self.scene.session.warm_up_share * self.first_ma
        stimulus.set_current(self.t, gentle)
        end = min(begun + lasts_s, self.end_s)
        at = begun + 1.0
        while at + channel.on_total_s < end:
            stimulus.press(at)
            stimulus.release(at + channel.on_total_s - channel.ramp.down_s)
            at += max(channel.cycle_s, channel.on_total_s + 1.0)
        self._lasts("warm up", lasts_s, current_ma=gentle)
        self.warmed_s = self.t

    def _react(self, *, letting_go: bool = False, after_lift: bool = False) -> None:
        """Time to press or let go of the switch; after the carry the other hand must come back from lifting first."""
        lasts = self.chance.around(self.task.reaction_s, number("practice.time.spread"))
        if after_lift and self.task.presser == "other hand" and self.task.other_hand == "lifts":
            lasts += number("practice.time.swap_s")
        if lasts > 0.0:
            self._lasts("react", lasts, "let go" if letting_go else "press")

    def _relieved(self) -> float:
        """Share of the arm's effort that help takes off it: all where the other hand lifts, else as the reach tells."""
        if self.task.other_hand == "lifts":
            return 1.0
        default = float(setting("task.friction").value)
        plain = self.scene.replace("channel", self.scene.channel[:1])
        alone = reach_of(plain.replace("task.friction", max(default, self.task.friction)))
        return max(0.0, 1.0 - self.reach.effort / alone.effort) if alone.effort > 0.0 else 0.0

    def _better_ma(self, kept: float) -> float | None:
        """Current a step up or down at which the hand opens wider; none if it may not be changed or nothing gains."""
        if self.task.current != "raised":
            return None
        step, top = number("practice.current.step_ma"), float(self.openings.current[-1]) - self.task.boost_ma
        now = float(self.openings.mm("open", 1.0, self.current_ma, kept)[0])
        found = [(now + _NO_GAIN_MM, self.current_ma)]
        for current in (self.current_ma + step, self.current_ma - step):
            if 0.0 <= current <= top + 1e-9:
                found.append((float(self.openings.mm("open", 1.0, current, kept)[0]), round(current, 3)))
        best = max(found)
        return None if best[1] == self.current_ma else best[1]

    def _step_current(self) -> None:
        """One small step of current to where the hand opens wider, as one sees it do."""
        better = self._better_ma(self.stimulus.tiring.kept)
        if better is not None:
            self.current_ma = better
            self.stimulus.set_current(self.t, better)

    def _release_all(self) -> None:
        if not self.stimulus.timed:
            self.stimulus.release(self.t)
            if self.elbow is not None:
                self.elbow.release(self.t)

    def _release_effort(self) -> float:
        """Effort while letting go: on a shelf the arm's weight is held up."""
        if self.task.to != "shelf":
            return self.task.effort
        elbow = np.array([60.0])
        held = float(least_effort(self.scene, elbow, required_torque_nm(
            self.scene, elbow, lifted=True, load_kg=self.task.mass_kg))[0])
        return max(self.task.effort, min(held, number("reach.elbow.hardest")))
