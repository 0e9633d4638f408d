"""A session, phase by phase: set up, then reach, open, close, lift, carry, set down, let go, return, over and over.

Phases wait for what they need: an opening larger than the object plus its clearance before the hand goes round it, the
stimulus gone before the own grip holds, the flexors off before the hand lets go. Every draw comes from one generator, in a
fixed order; times are kept to the millisecond so that rounding cannot turn a decision.
"""

from __future__ import annotations

import math

import numpy as np

from graspwave.simulator.facts import number
from graspwave.simulator.reach import Reach, fitts_s, index_bits, reach_of

from .clock import Failed, TimeUp
from .control import Stimulus, Window
from .log import Practice
from .prepare import Prepared

__all__ = ["Session"]

_LONG_ENOUGH_S = 2.0
"""A hand that has not opened this long after full current is given up for this time."""


class Session(Prepared):
    """One run of `run_practice`."""

    def run(self) -> Practice:
        """The session to its end."""
        try:
            self._set_up()
            begun = -1.0
            while self.t > begun:  # an attempt that took no time would be made for ever
                begun = self.t
                self._attempt()
        except TimeUp:
            pass
        return self._told()

    def _attempt(self) -> None:
        self.attempt += 1
        if self.scene.session.warm_up_minutes:
            minutes = (self.t - self.warmed_s) / 60.0
            self.openings.faded = 1.0 - 0.5 ** (minutes / number("readying.calming.half_time_min"))
        try:
            self._reach()
            self._open_and_close()
            self._take_up()
            self._carry()
            self._let_go()
            self.repetitions += 1
        except Failed as failed:
            counted = self.drops if failed.drop else self.failures
            counted[failed.cause] = counted.get(failed.cause, 0) + 1
            name = "drop" if failed.drop else "failed"
            self._lasts(name, number("practice.time.reset_s") if failed.drop else 0.0, failed.cause)
            rest = number("practice.time.rest_s") if failed.cause == "hand did not open" else 0.0
            self._return()
            return self._lasts("rest", rest, failed.cause) if rest else None
        self._return()

    def _reach(self) -> None:
        reach = self.reach
        if self.elbow is not None:
            reach = self._helped_reach(self.elbow)
        if not reach.within:
            self._moves("reach", reach.seconds)
            self._release_all()
            raise Failed("out of reach")
        bits = index_bits(self.task.distance_mm, self.task.diameter_mm)
        cause = f"lean {reach.lean_mm:.0f} mm" if reach.lean_mm > 0.0 else ""
        self._moves("reach", reach.seconds, cause, bits=bits)
        if self.task.approach == "above":
            self._moves("reach", number("practice.time.above_s"), "from above")

    def _helped_reach(self, elbow: Stimulus) -> Reach:
        """Start the second channel, or wait for it; what it makes of the reach, or the reach alone where it is too short."""
        if not elbow.timed:
            self._react()
            elbow.press(self.t)
            self.stimulus.press(self.t)
            return reach_of(self.scene, kept=elbow.tiring.kept)
        window = elbow.next_window(self.t, self.reach.seconds)
        self._wait_until(window.on_s, "cycle not yet on")
        reach = reach_of(self.scene, kept=elbow.kept_at(self.t))
        return reach if self.t + reach.seconds <= window.fall_s else reach_of(self.scene, stimulated=False)

    def _open_and_close(self) -> None:
        relaxed = self.t + self._delay(self.off_s)
        for _ in range(int(number("practice.grasp.tries"))):
            if self.current_ma == 0.0:
                opened = self._opened_alone(relaxed)
            else:
                opened = self._opened_timed(relaxed) if self.stimulus.timed else self._opened_held(relaxed)
            if opened is not None:
                return self._close(*opened)
            self._step_current()
        self._release_all()
        raise Failed("hand did not open")

    def _opened_alone(self, relaxed_s: float) -> tuple[float, float] | None:
        """A hand that opens far enough without current."""
        when, mm = self._when_open(self.t, self.t, relaxed_s, 1.0)
        self._until("open", relaxed_s if when is None else when, "without current", mm)
        return None if when is None else (mm, self.t)

    def _opened_timed(self, relaxed_s: float) -> tuple[float, float] | None:
        """Wait for the cycle and open: opening and the end of the plateau; none if this cycle was missed."""
        window = self.stimulus.next_window(self.t, number("practice.time.open_lag_s"))
        self._wait_until(window.on_s, "cycle not yet on")
        self.stimulus.used.add(window.number)
        kept = self.stimulus.kept_at(max(window.on_s, self.t))
        when, mm = self._when_open(window.on_s, self.t, relaxed_s, kept)
        if when is None or when > window.fall_s:
            self._until("open", max(window.off_s, self.t), "not open enough: cycle missed", mm)
            return None
        self._until("open", when, opening_mm=mm)
        return mm, window.fall_s

    def _opened_held(self, relaxed_s: float) -> tuple[float, float] | None:
        stimulus = self.stimulus
        if self.elbow is None:
            self._react()
            stimulus.press(self.t)
        on = self.t
        kept = stimulus.tiring.kept if self.elbow is not None else stimulus.kept_at(self.t)
        begun = on - (self.reach.seconds if self.elbow is not None else 0.0)
        when, mm = self._when_open(begun, on, relaxed_s, kept)
        late = self._ms(max(on, relaxed_s) + stimulus.up_s + _LONG_ENOUGH_S)
        if when is None or when > late:
            self._until("open", late, "not open enough", mm)
            self._release_all()
            return None
        self._until("open", when, opening_mm=mm)
        return mm, self.t

    def _when_open(self, on_s: float, from_s: float, relaxed_s: float, kept: float) -> tuple[float | None, float]:
        """When the hand is open for the object, and how far: before or after the flexors of the reach are off."""
        lag, up = number("practice.time.open_lag_s"), self.stimulus.up_s
        found: list[tuple[float, float]] = []
        for state, free in (("reached", from_s), ("open", relaxed_s)):
            level = self.openings.level_for(state, self.need_mm, self.current_ma, kept)
            if level is not None:
                mm = float(self.openings.mm(state, 1.0, self.current_ma, kept)[0])
                found.append((max(on_s + level * up, from_s, free) + lag, max(mm, self.need_mm)))
        if found:
            return min(found)
        widest = float(self.openings.mm("open", 1.0, self.current_ma, kept)[0])
        if widest >= self.task.diameter_mm and self._better_ma(kept) is None:  # it might just go round
            return max(on_s + up, from_s, relaxed_s) + lag, widest
        return None, widest

    def _close(self, opening_mm: float, fall_s: float) -> None:
        """Wait until the stimulus ends, or let the switch go; then the own grip closes."""
        ramp = self.stimulus.down_s
        if self.current_ma == 0.0:
            ramp = 0.0
        elif self.stimulus.timed:
            self._wait_until(fall_s, "stimulus still on")
        else:
            self._react(letting_go=True)
            self._release_all()
        size, spread, pad = self.task.diameter_mm, number("practice.aim.spread_mm"), number("practice.aim.pad_mm")
        spare = opening_mm + number("practice.aim.opening_spread_mm") * self.chance.normal() - size
        across, along = (abs(spread * self.chance.normal()) for _ in range(2))
        if across > 0.5 * (spare + pad):
            self._step_current()
            raise Failed("object too wide" if spare < 0.0 else "pushed away", drop=True)
        wide = max(0.0, opening_mm - self.most_mm)
        lasts = max(ramp, self._delay(self.hand.switch_on_s)) + number("practice.time.close_lag_s")
        if size < number("practice.grasp.pinch_mm"):
            lasts += number("practice.time.pinch_s")
        self._moves("close", lasts + wide * number("practice.time.fine_s_per_mm"), "with care" if wide else "")
        if along > 0.5 * (size + pad):
            raise Failed("closed beside it")
        if self.chance.less_than(min(0.9, wide * number("practice.grasp.miss_per_mm"))):
            raise Failed("pushed away", drop=True)

    def _take_up(self) -> None:
        self._moves(self.task.move, number("practice.time.lift_s"))
        self.held_n = round(self.chance.around(self.grip_n, number("practice.grasp.spread")), 4)
        if self.held_n < self.holds_n:
            raise Failed("grip too weak", drop=True)

    def _carry(self) -> None:
        path, legs = self._path_mm()
        place = self.task.place_mm * min(self.task.diameter_mm / number("settings.task.diameter_mm"), 1.0)
        seconds = legs * fitts_s(path, place) * (1.0 + number("reach.fitts.load") * self.reach.effort)
        if self.task.filled:
            seconds *= number("practice.chance.filled_slower")
        lasts = self._ms(self.chance.around(seconds, number("practice.time.spread")))
        lapse, how_long = self.chance.less_than(number("practice.chance.lapse")), self.chance.uniform()
        pause = self._ms(how_long * number("practice.time.lapse_s")) if lapse else 0.0
        down = self._ms(self.chance.around(number("practice.time.set_down_s"), number("practice.time.spread")))
        spilt, slips, when = (self.chance.uniform() for _ in range(3))
        window = self._stimulus_in_carry(self.t + lasts + pause + down)
        if window is not None:
            self._fall(window)
        if slips < number("practice.chance.slip"):
            self._lasts("carry", self._ms(when * (lasts + pause)))
            raise Failed("grip too weak", drop=True)
        self._lasts("carry", lasts + pause, "attention wandered" if pause else "", bits=index_bits(path, place))
        spill = number("practice.chance.spill_base") + number("practice.chance.spill_weak") * self.holds_n / self.held_n
        if self.task.filled and spilt < spill:
            self.spills += 1
            self._lasts("carry", 0.0, "spilt")
        self._lasts("set down", down)

    def _stimulus_in_carry(self, end_s: float) -> Window | None:
        """An on time that starts while the object is held and is strong enough to open the grip."""
        stimulus = self.stimulus
        if not stimulus.timed or self.current_ma == 0.0:
            return None
        number = max(stimulus.used, default=-1) + 1  # the last one used opened the hand for this grasp
        while (window := stimulus.window(number)).on_s < end_s:
            number += 1
            if not self.carry_pulses:
                stimulus.withheld.add(window.number)
            elif self._opens_at(window) < min(end_s, window.fall_s):
                return window
        return None

    def _opens_at(self, window: Window) -> float:
        """When stimulation has taken and calmed so much of the grip that the object slips; infinite if it never does."""
        kept = self.stimulus.kept_at(self.t)
        for level in np.linspace(0.0, 1.0, 21).tolist():
            own = self.held_n * (1.0 - number("practice.grasp.calmed") * level)
            if own - self.openings.extensors_n(level * self.current_ma, kept) < self.holds_n:
                return self._ms(window.on_s + level * self.stimulus.up_s + number("practice.time.open_lag_s"))
        return math.inf

    def _fall(self, window: Window) -> None:
        when = max(self._opens_at(window), self.t)
        self.stimulus.used.add(window.number)
        self._until("carry", when)
        raise Failed("stimulus in mid-carry", drop=True)

    # --- letting go

    def _let_go(self) -> None:
        need, side = self.task.diameter_mm, number("practice.time.clear_s")
        if self.task.side_to_side:
            need -= number("practice.grasp.beside_mm")
            side += number("practice.time.side_s")
        begun, off = self.t, self._delay(self.off_s)
        tried = 0.0 if self.task.let_go == "at once" else number("practice.time.try_s")
        alone = float(self.openings.mm("alone", 0.0, 0.0, 1.0)[0])
        own = self._grip_gone_s(begun, off, 0.0, alone, need)
        if own < math.inf and (own <= begun + tried or self.current_ma == 0.0):
            return self._until("release", self._ms(own + side), "own try", alone)
        if tried:
            self._until("try", begun + tried, self.task.let_go)
        for _ in range(int(number("practice.grasp.tries"))):
            if self._helped_open(need, begun, off, side):
                return
            self._step_current()
        self._lasts("release", number("practice.time.freed_s"), "freed by somebody")
        raise Failed("hand did not let go")

    def _grip_gone_s(self, begun_s: float, off_s: float, gripped_mm: float, free_mm: float, need_mm: float) -> float:
        """When the own grip has fallen so far that the hand is open for the object; infinite if it never is.

        The opening is taken in line with the grip that is left, from `free_mm` without to `gripped_mm` with all of it, and the
        grip falls as in `hand.grip_after_release`, `off_s` after the wish to let go.
        """
        if free_mm < need_mm:
            return math.inf
        lag = number("practice.time.off_lag_s")
        if gripped_mm >= need_mm:
            return begun_s
        share = (free_mm - need_mm) / (free_mm - gripped_mm)
        place = math.acos(2.0 * share - 1.0) / math.pi - 0.5
        return begun_s + off_s * (1.0 + number("effort.letting_go.fall_share") * place) + lag

    def _helped_open(self, need_mm: float, begun_s: float, off_s: float, side_s: float) -> bool:
        """Stimulus as help to let go; whether the object is free."""
        stimulus, lag = self.stimulus, number("practice.time.open_lag_s")
        if self.current_ma == 0.0:
            self._step_current()
        current = self.current_ma + self.task.boost_ma
        if stimulus.timed:
            window = stimulus.next_window(self.t, lag)
            self._wait_until(window.on_s, "cycle not yet on")
            stimulus.used.add(window.number)
            on, late = window.on_s, window.fall_s
        else:
            self._react(after_lift=self.task.other_hand == "lifts")
            on, late = self.t, self.t + 1.5 * off_s + stimulus.up_s + _LONG_ENOUGH_S
        kept = stimulus.kept_at(max(on, self.t))
        boosted = self.task.boost_ma > 0.0
        if boosted:
            stimulus.set_current(on, current)
        if not stimulus.timed:
            stimulus.press(on)
        level = self.openings.level_for("gripped", need_mm, current, kept)
        mm, gripped = (float(self.openings.mm(state, 1.0, current, kept)[0]) for state in ("free", "gripped"))
        begun = self.t
        when = on + (1.0 if level is None else level) * stimulus.up_s + lag
        when = max(when, begun + lag, self._grip_gone_s(begun_s, off_s, gripped, mm, need_mm)) + side_s
        if when <= late:
            self._until("release", self._ms(when), opening_mm=max(mm, need_mm))
        else:
            self._until("release", late, "not open enough" if mm < need_mm else "flexors still on", mm)
        if not stimulus.timed:
            self._react(letting_go=True)
            stimulus.release(self.t)
        if boosted:
            stimulus.set_current(self.t, self.current_ma)
        if when > late and stimulus.timed and self.chance.less_than(number("practice.chance.late")):
            raise Failed("hand let go late", drop=True)
        return when <= late

    def _return(self) -> None:
        width = number("practice.move.rest_mm")
        distance = self.task.distance_mm
        self._moves("return", fitts_s(distance, width), bits=index_bits(distance, width))

    def _path_mm(self) -> tuple[float, int]:
        rise = {"bench": 0.0, "shelf": number("practice.move.shelf_mm"), "face": number("practice.move.face_mm")}[self.task.to]
        return math.sqrt(self.task.carry_mm**2 + rise**2), 2 if self.task.to == "face" else 1

    def _told(self) -> Practice:
        stimulus = self.stimulus
        if not stimulus.timed:
            self._release_all()
        kept = stimulus.kept_at(max(self.end_s, stimulus.tiring.at_s))
        count, charge, on, spans = stimulus.pulses()
        if self.elbow is not None:
            others = self.elbow.pulses()
            count, charge = count + others[0], round(charge + others[1], 4)
        phases: dict[str, float] = {}
        for event in self.events:
            phases[event.phase] = round(phases.get(event.phase, 0.0) + event.lasts_s, 3)
        cycles = [w for w in spans if w[0] >= stimulus.begin_s - 1e-6] if stimulus.timed else []
        return Practice(
            control=self.control, seed=self.seed, minutes=self.minutes, repetitions=self.repetitions, attempts=self.attempt,
            drops=sum(self.drops.values()), spills=self.spills, drop_causes=dict(sorted(self.drops.items())),
            failures=dict(sorted(self.failures.items())), waiting_s=phases.get("wait", 0.0), on_s=on, pulses=count,
            charge_mc=charge, missed_cycles=max(0, len(cycles) - len(stimulus.used)), current_ma=self.first_ma,
            last_current_ma=self.current_ma, needed_mm=self.need_mm, most_mm=self.most_mm,
            opening_first_mm=float(self.openings.mm("open", 1.0, self.first_ma, 1.0)[0]),
            opening_left_mm=float(self.openings.mm("open", 1.0, self.first_ma, kept)[0]), force_left=kept, reach=self.reach,
            phase_s=phases, stimulated_s=spans, log=tuple(self.events),
        )
