"""What the Practise page shows of the task: each choice sets and reads back, one press undoes it, the strip tells cycle and the
presses, and the half hour is that of the live hand.
"""

from __future__ import annotations

import dataclasses
import re

import numpy as np
import pytest

from graspwave import simulator as sim
from graspwave.apps.practise.live import Live
from graspwave.apps.practise.settings import controls
from graspwave.apps.practise.showing import DEMONSTRATIONS, demonstrate
from graspwave.apps.practise.state import CHOICES, PractiseState, people_words
from graspwave.apps.practise.step_words import step_words
from graspwave.apps.practise.strip import strip_of
from graspwave.apps.told.scenes import HANDS, hand_changes
from graspwave.simulator.facts import number
from graspwave.simulator.practice import run_practice
from graspwave.simulator.practice.opening import worked_hand
from graspwave.simulator.run import effective_hand


def run(live: Live, start_s: float, end_s: float) -> float:
    """Go on as the page does."""
    for now in np.arange(start_s, end_s, 0.1):
        live.beat(now)
        live.lost(now)
        if live.piece is None or now > live.piece.t_s[-1] - 0.5:
            live.ahead(now)
        live.watch(now)
    return end_s


@pytest.mark.parametrize(("key", "option"), [(key, option) for key, (_, options) in CHOICES.items() for option in options])
def test_every_choice_sets_reads_back_and_is_undone_by_one_press(key: str, option: str) -> None:
    state = PractiseState()
    before, was = state.scene, state.chosen(key)
    assert state.choose(key, option)
    assert state.chosen(key) == option
    state.undo()
    assert state.scene == before or option == was
    assert not state.can_undo


def test_a_refused_change_is_told_and_changes_nothing() -> None:
    state = PractiseState()
    assert state.set_control("timed")
    before = state.scene
    assert not state.change_all({"channel.0.ramp.up_s": 5.0, "channel.0.ramp.down_s": 5.0}, "ramps")
    assert state.scene == before
    assert state.message


def test_the_elbow_channel_comes_and_goes() -> None:
    state = PractiseState()
    assert state.elbow is None
    state.set_elbow(True)
    assert state.elbow is not None
    assert state.elbow.pads.limb == "upper arm"
    state.undo()
    assert state.elbow is None


def test_the_gentle_programme_loosens_the_live_hand_a_little() -> None:
    state = PractiseState(sim.presets()["tight"])
    assert state.live_scene == state.scene
    state.choose("before", "gentle")
    assert state.scene.hand.flexor_length_factor < state.live_scene.hand.flexor_length_factor < 1.0


def test_the_half_hour_starts_from_what_the_live_hand_shows() -> None:
    state = PractiseState(sim.presets()["supple"])
    done = run_practice(state.half_hour_scene.replace("channel.0.timing.control", "cycle"), "held", minutes=10.0)
    assert done.current_ma == state.amplitude_ma


@pytest.mark.parametrize("key", list(DEMONSTRATIONS))
def test_the_half_hour_has_the_live_hand(key: str) -> None:
    state = PractiseState()
    demonstrate(state, key)
    worked, live = worked_hand(state.half_hour_scene), effective_hand(state.live_scene)
    assert dataclasses.replace(worked, own_opening=0.0) == dataclasses.replace(live, own_opening=0.0)
    assert worked.own_opening == pytest.approx(live.own_opening)


def test_the_page_begins_with_a_reason_to_hold() -> None:
    state = PractiseState()
    rest, opened = sim.opening_curve(state.live_scene, [0.0, state.amplitude_ma]).opening_mm
    assert rest < state.scene.task.diameter_mm < opened
    assert step_words(Live(state.live_scene), 0.0).startswith("Hold the switch until the hand is wide")


def test_words_follow_what_the_hand_does() -> None:
    """Through a repetition, and where it cannot go on: never a word that does not hold, never silence."""
    bean = PractiseState()
    bean.set_object("bean")
    live = Live(bean.live_scene)
    assert step_words(live, 0.0).startswith("This hand is wide enough for the bean as it rests")
    state = PractiseState()
    live = Live(state.live_scene)
    live.press(0.0)
    now = run(live, 0.0, 3.5)
    assert step_words(live, now).startswith("Wide enough: move to the pot")
    live.move(live.reach_mm, now)
    assert step_words(live, now).startswith("Let go of the switch")
    live.release(now)
    now = run(live, now, now + 6.0)
    assert step_words(live, now).startswith("Carry it")
    tight = PractiseState()
    tight.change_all(hand_changes("tight"), "hand")
    live = Live(tight.live_scene)
    now = run(live, 0.0, 1.0)
    live.move(live.reach_mm, now)
    assert live.at_mm < live.reach_mm
    stopped = step_words(live, now)
    assert re.match(r"The hand stops at the pot: it is \d+ mm too narrow; this current opens it to \d+ mm", stopped)
    assert stopped.endswith("Hold the switch to open it.")
    live.press(now)
    now = run(live, now, now + 4.0)
    assert not step_words(live, now).endswith("Hold the switch to open it.")
    live = Live(tight.live_scene)
    live.press(0.0)
    now = run(live, 0.0, 4.0)
    assert re.match(r"This current opens the hand to \d+ mm, and the pot is 70 mm", step_words(live, now))
    weak = PractiseState()
    weak.change("hand.grip_left", 0.0)
    weak.set_object("bean")
    live = Live(weak.live_scene)
    now = run(live, 0.0, 1.0)
    live.move(live.reach_mm, now)
    now = run(live, now, now + 9.0)
    assert step_words(live, now).startswith("The own grip closes the hand to")


@pytest.mark.parametrize("hand", HANDS)
@pytest.mark.parametrize("thing", ["pot", "bulb", "bean"])
def test_what_the_hand_goes_round_it_takes_carries_and_puts_down(hand: str, thing: str) -> None:
    state = PractiseState()
    state.change_all(hand_changes(hand), "hand")
    state.set_object(thing)
    live = Live(state.live_scene)
    live.press(0.0)
    now = run(live, 0.0, 3.5)
    live.move(live.reach_mm, now)
    if not live.wide(now):
        assert hand == "tight"
        return
    live.release(now)
    now = run(live, now, now + 7.0)
    assert live.step == "carry"
    width = state.scene.task.diameter_mm
    small = width < number("practice.grasp.pinch_mm")
    most = number("practice.grasp.pinch_mm") if small else width + 1.0
    assert width - 0.1 <= live.opening_mm(now) <= most, "it lies in the hand"
    live.move(live.reach_mm, now)
    now = run(live, now, now + 0.5)
    live.press(now)
    run(live, now, now + 4.0)
    assert (live.repetitions, live.drops) == (1, 0)


def test_words_of_the_person_promise_no_more_than_the_model_knows() -> None:
    state = PractiseState()
    assert people_words(state) == ""
    state.choose("person", "pictures")
    assert "moves nothing in this model" in people_words(state)
    assert "common practice" in people_words(state)


def test_the_strip_of_the_timer_is_the_scenes_own_cycle() -> None:
    scene = sim.presets()["supple"]
    channel = scene.channel[0]
    told = strip_of(Live(scene, control="timed", begun_s=2.0), 5.0)
    assert told["cycle_s"] == channel.cycle_s
    assert told["age_s"] == pytest.approx(3.0)
    levels = dict(map(tuple, told["profile"]))
    assert levels[channel.ramp.up_s] == 1.0
    assert levels[channel.on_total_s] == levels[channel.cycle_s] == 0.0


def test_the_strip_of_the_switch_tells_presses_as_seconds_ago() -> None:
    live = Live(sim.presets()["supple"])
    live.press(1.0)
    live.release(3.0)
    live.press(6.0)
    told = strip_of(live, 10.0)
    assert told["presses"] == [[9.0, 7.0], [4.0, -1.0]]


def test_controls_follow_an_undo() -> None:
    state = PractiseState()
    found = {getattr(each, "label", ""): each for each in controls(state)}
    found["The arm"].value = "weak"
    assert state.scene.hand.elbow_strength == 0.1
    state.undo()
    assert found["The arm"].value == "usual"
    found["Hand"].value = "tight"
    assert state.hand_key == "tight"
    assert state.scene.hand.finger_tone == sim.presets()["tight"].hand.finger_tone
