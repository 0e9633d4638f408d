"""What practitioners say of practice holds at the numbers as they are and over their ranges; each has a failing twin."""

from __future__ import annotations

import sys
from contextlib import ExitStack
from pathlib import Path
from statistics import median

import pytest

sys.path.insert(0, str(Path(__file__).parent))
from practice_habits import (
    CUP,
    HELPS,
    INVENTED,
    SAYINGS,
    WEAK,
    ends,
    failing,
    gentle_first_helps_a_little_for_a_while,
    held_saves_waiting,
    help_gives_back,
    large_needs_most,
    letting_go_is_the_bottleneck,
    other_hand_lets_go_sooner,
    runs,
    small_is_harder,
    stimulation_shortens_letting_go,
    thing,
    tries_fail,
    trying_gives_back,
    weak_arm_does_less,
    with_number,
    with_seeds,
)

from graspwave import simulator as sim
from graspwave.simulator.practice import objects


@pytest.mark.parametrize("saying", SAYINGS)
def test_what_practitioners_say(saying: str) -> None:
    assert SAYINGS[saying]()


@pytest.mark.parametrize("control", ["held", "timed"])
def test_a_small_thing_is_harder_in_a_stiff_hand_too(control: str) -> None:
    assert small_is_harder(control, scene=sim.presets()["stiff"])


@pytest.mark.parametrize("name", INVENTED)
def test_what_practitioners_say_over_the_invented_ranges(name: str) -> None:
    for end in ends(name):
        with with_number(name, end), with_seeds(1, 2):
            fails = [saying for saying, holds in SAYINGS.items() if not holds()]
            assert fails == [], (name, end)


@pytest.mark.parametrize("name", objects())
def test_ten_to_thirty_of_a_hundred_tries_fail(name: str) -> None:
    shares = [failing(run) for run in runs(thing(name), "held", tuple(range(1, 9)))]
    assert 0.10 <= median(shares) <= 0.30


@pytest.mark.parametrize("seed", range(1, 9))
def test_so_many_fail_and_some_drop_at_every_seed(seed: int) -> None:
    tries = [run for name in objects() for run in runs(thing(name), "held", (seed,))]
    share = 1.0 - sum(run.repetitions for run in tries) / sum(run.attempts for run in tries)
    assert 0.10 <= share <= 0.30
    assert all(run.drops > 0 for run in tries)


def test_letting_go_comes_37_percent_sooner_with_the_arm_carried() -> None:
    assert other_hand_lets_go_sooner()  # Seo 2009, published


# ---- twins


def test_small_twin() -> None:
    sure = {"practice.aim.spread_mm": 0.1, "practice.time.pinch_s": 0.0, "practice.grasp.miss_per_mm": 0.0}
    with ExitStack() as changed:
        for name, value in sure.items():
            changed.enter_context(with_number(name, value))
        assert not small_is_harder()


def test_large_twin() -> None:
    with with_number("practice.object.pot_mm", 45.0):  # as large as the bulb: nothing is the largest
        assert not large_needs_most()


def test_tries_twin() -> None:
    with with_number("practice.aim.spread_mm", 0.1), with_number("practice.chance.slip", 0.0):
        assert not tries_fail(0.05, 0.40, (1,))


def test_weak_arm_twin() -> None:
    assert not weak_arm_does_less(CUP, CUP)


@pytest.mark.parametrize("name", ["cloth", "other hand"])
def test_help_twin(name: str) -> None:
    strong = CUP.replace("hand.elbow_strength", 1.0)  # whose arm does not mind
    with with_number("practice.letting_go.support", 0.0):
        assert not help_gives_back(name, strong.replace("task.friction", 0.15), least=1.05)


def test_help_twin_out_of_use(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(HELPS, "nearer", lambda scene: scene.replace("task.distance_mm", 400.0))
    assert not help_gives_back("nearer")
    no_current = WEAK.replace("channel.0.pulse.amplitude_ma", 10.0)
    monkeypatch.setitem(HELPS, "elbow channel", lambda scene: scene)
    assert not help_gives_back("elbow channel", no_current)


def test_trying_twin() -> None:
    assert not trying_gives_back(1.0)  # hard effort bends


def test_letting_go_twin() -> None:
    healthy = thing("bulb").replace("hand.switch_off_s", 0.4).replace("hand.switch_on_s", 0.2).replace("task.let_go", "at once")
    assert not letting_go_is_the_bottleneck(healthy)


def test_stimulation_twin() -> None:
    assert not stimulation_shortens_letting_go(thing("bean").replace("hand.switch_off_s", 0.4))


def test_held_twin() -> None:
    assert not held_saves_waiting(other="timed")


def test_other_hand_twin() -> None:
    with with_number("practice.letting_go.support", 0.1):
        assert not other_hand_lets_go_sooner()


def test_gentle_twin() -> None:
    assert not gentle_first_helps_a_little_for_a_while(0.5)
