"""Force, tiring and rest of the finger opener: the numbers against the muscle itself, and the view that shows them."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from graspwave import simulator as sim
from graspwave.apps.desk.state import DeskState
from graspwave.apps.explore.force_views import LIMITS, ForceViews, findings_of, wrist_line
from graspwave.apps.told import force_studies as studies
from graspwave.apps.told.findings import tired_words
from graspwave.simulator.muscle import muscle_force, session_force, steady_force_fraction
from graspwave.simulator.pulses import pulse_train
from graspwave.simulator.recruitment import recruited_by_pulses

AMPLITUDE = "channel.0.pulse.amplitude_ma"


@pytest.fixture(scope="module")
def scene() -> sim.Scene:
    return sim.presets()["tight"].replace(AMPLITUDE, 20.0)


def direct_n(scene: sim.Scene, time_s: np.ndarray, minutes: float) -> np.ndarray:
    """The finger opener of a scene of one channel by the muscle's own function."""
    train = pulse_train(scene, 0, None, 60.0 * minutes)
    names, share = recruited_by_pulses(scene, train)
    full = sim.facts.number("architecture.edc.force_n")
    return session_force([train.onset_s], [share[:, [names.index("EDC")]]], [full], time_s).force_n[:, 0]


def test_force_is_that_of_the_whole_chain(scene: sim.Scene) -> None:
    run = sim.simulate(scene, duration_s=24.0)
    ours = studies.force_of(scene, run.time_s, until_s=24.0)
    # the chain cuts time for all its muscles together: other spans, single precision
    np.testing.assert_allclose(ours, run.force_n["EDC"], rtol=1e-3, atol=1e-3)


def test_traces_are_the_muscle_untired() -> None:
    found = studies.trace(20.0)
    direct = muscle_force(np.arange(20) / 20.0, tiring=False, until_s=1.4)
    np.testing.assert_allclose(found.percent, np.interp(found.time_s, direct.time_s, direct.force_n), atol=0.1)


def test_pulls_fuse_as_the_frequency_rises() -> None:
    ripple = [one.ripple_percent for one in studies.traces(35.0)]
    assert [one.frequency_hz for one in studies.traces(35.0)] == list(studies.TRACES_HZ)
    assert ripple == sorted(ripple, reverse=True)
    assert ripple[0] > 80.0
    assert ripple[-1] < 0.5


def test_own_frequency_takes_the_nearest_place() -> None:
    assert [one.frequency_hz for one in studies.traces(12.0)] == [5.0, 12.0, 15.0, 20.0, 35.0, 80.0]


def test_half_force_lies_in_the_published_band() -> None:
    curve = studies.force_frequency()
    assert studies.F50_HZ[0] <= curve.half_hz <= studies.F50_HZ[1]
    assert np.all(np.diff(curve.percent) > 0.0)
    assert curve.percent[-1] == pytest.approx(100.0 * steady_force_fraction(100.0))


def test_kept_against_the_muscle_itself(scene: sim.Scene) -> None:
    channel = scene.channel[0]
    number = int((1800.0 - channel.on_total_s) // channel.cycle_s)
    held = np.linspace(channel.ramp.up_s, channel.on_total_s - channel.ramp.down_s, 400)
    force = direct_n(scene, np.concatenate((held, number * channel.cycle_s + held)), 30.0).reshape(2, -1).mean(axis=1)
    # 24 samples of a contraction against 400; they differ where the force has not yet risen
    assert studies.kept(scene).at(30) == pytest.approx(100.0 * force[1] / force[0], rel=0.01)


def test_longer_rest_keeps_more(scene: sim.Scene) -> None:
    found = studies.rests(scene)
    assert list(found) == ["1:1", "1:2", "1:3", "1:5"]
    for minute in studies.AFTER_MIN:
        left = [one.at(minute) for one in found.values()]
        assert all(one + 3.0 < other for one, other in pairwise(left))  # order as Packman-Braun 1988, memory


def test_without_tiring_all_is_kept(scene: sim.Scene) -> None:
    fresh = sim.Scene.loads(scene.dumps().replace("without_mechanisms = []", 'without_mechanisms = ["tiring"]'))
    assert [one.at(30) for one in studies.rests(fresh).values()] == pytest.approx([100.0] * 4, abs=0.5)


def test_higher_frequency_pulls_more_and_keeps_less(scene: sim.Scene) -> None:
    found = list(studies.frequencies(scene).values())
    assert [one.first_n for one in found] == sorted(one.first_n for one in found)
    # what low rates lose lasts, so that the rates draw level within half an hour
    assert [one.at(2) for one in found] == sorted((one.at(2) for one in found), reverse=True)
    assert max(one.at(30) for one in found) - min(one.at(30) for one in found) < 5.0


def test_more_current_pulls_more(scene: sim.Scene) -> None:
    assert list(studies.currents(scene)) == ["20 mA", "25 mA"]
    now, more = studies.currents(scene).values()
    assert more.first_n > now.first_n
    assert list(studies.currents(scene.replace(AMPLITUDE, 60.0))) == ["60 mA"]


def test_last_minute_is_weaker_and_starts_with_a_cycle(scene: sim.Scene) -> None:
    found = studies.minutes(scene)
    assert found.last_from_s % scene.channel[0].cycle_s == pytest.approx(0.0)
    assert found.last_n.max() < found.first_n.max()
    direct = direct_n(scene, found.last_from_s + found.time_s, scene.session.minutes)
    np.testing.assert_allclose(found.last_n, direct, atol=0.01)
    assert found.kept_percent == pytest.approx(studies.kept(scene).at(30), abs=0.2)


def test_rest_brings_the_model_back_over_days(scene: sim.Scene) -> None:
    found = studies.recovery(scene)
    percent = found.percent
    assert list(found.rest_min) == [0.0, 5.0, 10.0, 30.0, 60.0, 1440.0, 2880.0]
    # five minutes of rest still have the slow relaxation that raises force: a little more than half an hour
    assert percent[1] > percent[0] + 8.0
    assert np.all(np.diff(percent) > -1.0)
    assert percent[0] == pytest.approx(studies.minutes(scene).kept_percent, abs=0.01)
    # minutes bring back what they can; what lasts fades with its own time constant
    keep = np.exp(-24.0 / sim.facts.number("muscle.able.lasting_h"))
    assert percent[3] < 95.0
    assert (100.0 - percent[5]) / (100.0 - percent[4]) == pytest.approx(keep, abs=0.15)
    assert 90.0 < percent[-1] < 100.0


def test_a_hand_that_opens_wider_as_it_tires_is_told_as_too_much_current() -> None:
    # past its best current a stiff hand claws, and less pull lets the claw go: that must not look like a cure
    much = sim.presets()["stiff"].replace(AMPLITUDE, 25.0)
    fresh, tired = studies.opened(much) or (0.0, 0.0)
    assert tired > fresh + 2.0
    assert "no gain" in tired_words(fresh, tired)
    found = sim.opening_curve(much, np.arange(5.0, 25.0, 0.5)).opening_mm
    assert found.max() >= tired - 1.0  # less current opens it as wide, fresh
    view = ForceViews(DeskState(much), "light", active=True)
    assert "no gain" in view.opened.object
    enough = sim.presets()["supple"].replace(AMPLITUDE, 15.0)
    fresh, tired = studies.opened(enough) or (0.0, 0.0)
    assert tired < fresh + 2.0
    assert "no gain" not in tired_words(fresh, tired)
    assert studies.opened(enough.replace(AMPLITUDE, 0.0)) is None


def test_settings_of_the_hand_share_the_cache(scene: sim.Scene) -> None:
    other = scene.replace("hand.flexor_length_factor", 1.0).replace("title", "another")
    assert studies.kept(other) is studies.kept(scene)


def test_odd_scenes_have_titles(scene: sim.Scene) -> None:
    held = scene.replace("channel.0.timing.control", "held")
    for odd in (
        held, scene.replace("session.minutes", 0.05), scene.replace("channel.0.train.frequency_hz", 1.0),
        scene.replace("channel.0.timing.on_s", 120.0).replace("channel.0.timing.off_s", 300.0),
        scene.replace(AMPLITUDE, 0.0), scene.replace("channel.0.pads.limb", "upper arm"),
    ):
        assert all("nan" not in title for title in findings_of(odd).values())
        state = DeskState(odd)
        ForceViews(state, "light", active=True)


def test_titles_are_made_from_the_numbers(scene: sim.Scene) -> None:
    found, titles = studies.rests(scene), findings_of(scene)
    assert titles["rests"] == f"Rest 1:5 keeps {found['1:5'].at(30):.0f} % after 30 min, rest 1:1 {found['1:1'].at(30):.0f} %"
    assert "does not pull" in findings_of(scene.replace(AMPLITUDE, 0.0))["rest"]


def test_every_picture_says_what_is_left_out() -> None:
    assert set(LIMITS) == {"fuse", "curve", "session", "left", "rest"}
    assert "ECU −0.1 (published −0.1)" in wrist_line()


def test_view_costs_nothing_until_it_is_shown(scene: sim.Scene) -> None:
    state = DeskState(scene)
    view = ForceViews(state, "light", active=False)
    state.change(AMPLITUDE, 21)
    assert view.figures == {}
    view.active = True
    assert view.findings["rests"].text == findings_of(state.scene)["rests"]


def test_view_follows_the_scene_while_it_is_shown(scene: sim.Scene) -> None:
    state = DeskState(scene)
    view = ForceViews(state, "dark")
    assert view.__panel__().get_root() is not None
    assert len(view.figures) == 13
    before = view.sources["last"].data["y"]
    state.change("channel.0.timing.off_s", 8.0)
    assert view.sources["last"].data["y"].max() < before.max()
    assert view.figures["rests"].html_attributes["aria-label"] == findings_of(state.scene)["rests"] + "."
    view.active = False
    kept = view.sources["last"].data["y"]
    state.change("channel.0.timing.off_s", 40.0)
    assert view.sources["last"].data["y"] is kept
    view.active = True
    assert view.sources["last"].data["y"].max() > kept.max()


def test_view_looks_once_at_a_scene(scene: sim.Scene) -> None:
    state = DeskState(scene)
    view = ForceViews(state, "light", active=True)
    shown = view.sources["first"].data["y"]
    view.active = False
    view.active = True
    assert view.sources["first"].data["y"] is shown
