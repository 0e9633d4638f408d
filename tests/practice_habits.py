"""What practitioners say of half an hour of practice, as functions of scenes that tell whether it holds.

Common practice, no source, where no other source is named. The tests run them at the numbers as they are and over the invented
ranges; `tests/bench/practice_sensitivity.py` prints which of them outlive which number.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from statistics import fmean, median

import numpy as np
from changed_numbers import changed_number

from graspwave import simulator as sim
from graspwave.simulator.facts import all_facts
from graspwave.simulator.practice import Practice, elbow_channel, objects, run_practice, with_object
from graspwave.simulator.practice.opening import Openings, current_found_ma, forget, window_mm
from graspwave.simulator.scene import Scene

Seeds = tuple[int, ...] | None
SEEDS = [(1, 2, 3)]
"""The seeds that are used where none are given: the last of them."""
_MOVES = ("reach", "open", "close", "lift", "carry", "set down", "return")
SUPPLE = sim.presets()["supple"].replace("hand.finger_tone", 0.006)  # a little tone: the relaxed hand does not clear the bulb
CUP = SUPPLE.replace("task.diameter_mm", 55.0)
WEAK = CUP.replace("hand.elbow_strength", 0.1)
HELPS: dict[str, Callable[[Scene], Scene]] = {
    "cloth": lambda s: s.replace("task.friction", 0.15),
    "nearer": lambda s: s.replace("task.distance_mm", 100.0),
    "other hand": lambda s: s.replace("task.other_hand", "lifts"),
    "elbow channel": lambda s: s.replace("channel", (s.channel[0], elbow_channel(s.channel[0]))),
}

INVENTED = (
    "practice.aim.spread_mm", "practice.aim.opening_spread_mm", "practice.aim.pad_mm", "practice.grasp.spread",
    "practice.grasp.miss_per_mm", "practice.grasp.pinch_mm", "practice.time.pinch_s", "practice.time.swap_s",
    "practice.chance.slip", "practice.current.seen_mm", "practice.letting_go.support", "practice.object.bulb_kg",
    "practice.object.pot_kg", "practice.object.bean_kg", "reach.fitts.pace",
)


_changed: dict[str, float] = {}
_worked: dict[tuple[object, ...], Practice] = {}


@contextmanager
def with_number(name: str, value: float) -> Iterator[None]:
    """A number of the tables changed for a while."""
    before = dict(_changed)
    _changed[name] = value
    try:
        with changed_number(name, value, forget):
            yield
    finally:
        _changed.clear()
        _changed.update(before)


@contextmanager
def with_seeds(*seeds: int) -> Iterator[None]:
    """Other seeds for a while."""
    SEEDS.append(seeds)
    try:
        yield
    finally:
        SEEDS.pop()


def ends(name: str) -> tuple[float, float]:
    found = all_facts()[name].range
    assert found is not None, name
    return found


def runs(scene: Scene, control: str = "held", seeds: Seeds = None) -> list[Practice]:
    return [practised(scene, control, seed) for seed in seeds or SEEDS[-1]]


def practised(scene: Scene, control: str, seed: int) -> Practice:
    """One session, worked out once for a scene and the numbers as they are changed: most sayings look at the same ones."""
    key = (scene, control, seed, tuple(sorted(_changed.items())))
    if key not in _worked:
        _worked[key] = run_practice(scene, control, seed)
    return _worked[key]


def done(scene: Scene, control: str = "held", seeds: Seeds = None) -> float:
    """Median repetitions in half an hour."""
    return median(run.repetitions for run in runs(scene, control, seeds))


def failing(run: Practice) -> float:
    """Share of the tries that did not bring the object to its place and let it go."""
    return 1.0 - run.repetitions / run.attempts


def thing(name: str, scene: Scene = SUPPLE) -> Scene:
    return with_object(scene, name)


BULB, BEAN = thing("bulb"), thing("bean")


# ---- the sayings


def small_is_harder(control: str = "held", seeds: Seeds = None, scene: Scene = SUPPLE) -> bool:
    """A bean asks for less opening and less current than a bulb, and yet fewer get there and more tries fail."""
    bean, bulb = (runs(thing(name, scene), control, seeds) for name in ("bean", "bulb"))
    less = bean[0].needed_mm < bulb[0].needed_mm and bean[0].current_ma < bulb[0].current_ma
    fewer = median(r.repetitions for r in bean) < median(r.repetitions for r in bulb)
    return less and fewer and fmean(map(failing, bean)) > fmean(map(failing, bulb))


def large_needs_most(control: str = "held", seeds: Seeds = None, scene: Scene = SUPPLE) -> bool:
    """The largest thing asks for the most opening and current, and fewer get there than of the next smaller."""
    order = [thing(name, scene) for name in sorted(objects(), key=lambda name: objects()[name][0])]
    current = [current_found_ma(s) for s in order]
    count = [done(s, control, seeds) for s in order]
    return current == sorted(current) and current[-1] > current[-2] and count[-1] < count[-2]


def tries_fail(low: float, high: float, seeds: Seeds = None, scene: Scene = SUPPLE) -> bool:
    """At every seed a part of the tries fails, and some of them are drops, with each of the three things."""
    for name in objects():
        for run in runs(thing(name, scene), "held", seeds):
            if not (low <= failing(run) <= high and run.drops > 0):
                return False
    return True


def weak_arm_does_less(weak: Scene = WEAK, strong: Scene = CUP) -> bool:
    return done(weak) < 0.9 * done(strong)


def help_gives_back(name: str, weak: Scene = WEAK, control: str = "held", least: float = 1.0) -> bool:
    """More repetitions with the help than `least` times those without."""
    return done(HELPS[name](weak), control) > least * done(weak, control)


SHORT_MM = 2.0


def short_ma(scene: Scene) -> float:
    """The last step of a set-up at which the hand opens `SHORT_MM` less than the thing needs: somewhat too weak.

    In milliamperes below the current found it would hang on where the steps of half a milliampere fall.
    """
    step = all_facts()["practice.current.step_ma"].value
    steps = step * np.arange(1 + round(current_found_ma(scene) / step))
    return float(steps[sim.opening_curve(scene, steps).opening_mm <= window_mm(scene)[0] - SHORT_MM][-1])


def trying_gives_back(effort: float = 0.2, weak: Scene = WEAK, control: str = "held") -> bool:
    """A little own opening and a little trying: more comes of a current that alone is somewhat too weak.

    The gain is small beside chance (some 4 repetitions of 70), so it is asked of twelve seeds together.
    """
    little = weak.replace("task.current", "as set").replace("channel.0.pulse.amplitude_ma", short_ma(weak))
    tries = little.replace("hand.own_opening", 0.1)
    asked = (tries.replace("task.effort", share) for share in (effort, 0.0))
    helped, alone = (sum(run.repetitions for run in runs(scene, control, tuple(range(1, 13)))) for scene in asked)
    return helped > alone


def letting_go_s(run: Practice) -> float:
    """Time from the set-down object to the free hand, a repetition."""
    return (run.phase_s.get("try", 0.0) + run.phase_s.get("release", 0.0)) / run.repetitions


def letting_go_is_the_bottleneck(scene: Scene = BULB) -> bool:
    """Of all that hand and arm themselves do, letting go takes longest, and a quicker one gives more repetitions."""
    run = practised(scene, "held", 1)
    others = [run.phase_s.get(p, 0.0) / run.repetitions for p in _MOVES]
    return letting_go_s(run) > max(others) and done(scene.replace("hand.switch_off_s", 1.6)) > done(scene)


def stimulation_shortens_letting_go(scene: Scene = BEAN) -> bool:
    """Paired: the same hand and thing, with the stimulus and with the own try alone."""
    own = scene.replace("task.current", "as set").replace("channel.0.pulse.amplitude_ma", 0.0)
    return letting_go_s(practised(scene, "held", 1)) < letting_go_s(practised(own, "held", 1)) - 1.0


def held_saves_waiting(scene: Scene = BULB, other: str = "held") -> bool:
    timed, held = runs(scene, "timed"), runs(scene, other)
    waits = [fmean(r.waiting_s / r.repetitions for r in found) for found in (timed, held)]
    return waits[1] < 0.2 * waits[0] and median(r.repetitions for r in held) > median(r.repetitions for r in timed)


def other_hand_lets_go_sooner(least: float = 0.3, most: float = 0.45) -> bool:
    """Arm support: letting go comes 37 % sooner (Seo 2009, published); here the own try of a hand that opens by itself."""
    alone = thing("bean").replace("task.current", "as set").replace("channel.0.pulse.amplitude_ma", 0.0)
    alone = alone.replace("task.let_go", "at once")
    lifted = alone.replace("task.other_hand", "lifts")
    free = [fmean(e.lasts_s for e in practised(s, "held", 1).log if e.phase == "release") for s in (alone, lifted)]
    return least <= 1.0 - free[1] / free[0] <= most


def gentle_first_mm(minutes_since: float, warm_min: float = 10.0) -> float:
    """Wider opening of the tight hand for a gentle programme of so many minutes, so many minutes after it."""
    cold = sim.presets()["tight"].replace("task.diameter_mm", 10.0)
    ma = current_found_ma(cold)
    warm = Openings(cold.replace("session.warm_up_minutes", warm_min), 2.0 * ma, 0.3, 0.3)
    warm.faded = 1.0 - 0.5 ** (minutes_since / all_facts()["readying.calming.half_time_min"].value)
    return float(warm.mm("open", 1.0, ma, 1.0)[0] - Openings(cold, 2.0 * ma, 0.3, 0.3).mm("open", 1.0, ma, 1.0)[0])


def gentle_first_helps_a_little_for_a_while(warm_min: float = 10.0) -> bool:
    now, soon, late = (gentle_first_mm(minutes, warm_min) for minutes in (0.0, 30.0, 120.0))
    return 0.5 <= now <= 10.0 and 0.25 * now <= soon <= 0.75 * now and late < 0.2 * now


SAYINGS: dict[str, Callable[[], bool]] = {
    "a small thing is harder than a middle one, held": small_is_harder,
    "the same, timed": lambda: small_is_harder("timed"),
    "a large thing needs the most": large_needs_most,
    "5 to 40 of 100 tries fail, with drops, at each seed, pot, bulb and bean": lambda: tries_fail(0.05, 0.40),
    "a weak arm does less": weak_arm_does_less,
    **{f"{name} gives some of it back": (lambda name=name: help_gives_back(name)) for name in HELPS},
    "trying along gives some of it back": trying_gives_back,
    "letting go takes longest": letting_go_is_the_bottleneck,
    "stimulation shortens letting go": stimulation_shortens_letting_go,
    "a held switch saves waiting": held_saves_waiting,
    "a gentle programme first helps a little": gentle_first_helps_a_little_for_a_while,
}
