"""Words of the lessons against direct calls of the simulator and against cases whose answer is known."""

from __future__ import annotations

import dataclasses
import math
import re
import threading

import numpy as np
import pytest

from graspwave import simulator as sim
from graspwave.lessons import vocabulary
from graspwave.lessons.vocabulary import NAMES, lesson_scenes, memory, short_names, warned

S, F, T = (lesson_scenes()[key] for key in "sft")


@pytest.fixture(autouse=True)
def _no_old_warnings() -> None:
    warned()


def call(name: str, *args: object, **kwargs: object) -> object:
    return NAMES[name](*args, **kwargs)


def test_three_hands_are_the_presets() -> None:
    for scene, key in ((S, "supple"), (F, "stiff"), (T, "tight")):
        assert scene.dumps() == sim.presets()[key].dumps()


def test_changes_are_those_of_the_settings() -> None:
    wanted = sim.presets()["tight"]
    for path, value in (("channel.0.pulse.amplitude_ma", 20), ("hand.wrist_held_deg", 0), ("hand.finger_tone", 0.01),
                        ("task.friction", 0.15), ("channel.0.pads.swap", True), ("channel.0.train.frequency_hz", 50)):
        wanted = wanted.replace(path, value)
    assert T(amp=20, wrist=0, tone=0.01, mu=0.15, swap=True, freq=50).dumps() == wanted.dumps()


def test_every_short_name_leads_to_a_setting_of_its_kind() -> None:
    numbers = {name for name, entry in vocabulary.scenes._table().items() if isinstance(_value(entry["path"]), float)}
    for name in numbers:
        low, high = sim.setting(vocabulary.scenes._table()[name]["path"].replace("*", "0")).range or (0.0, 1.0)
        changed = T(ramps_inside=False)(**{name: low if name == "phase" else high})
        assert _value(vocabulary.scenes._table()[name]["path"], changed) in (low, high)


def _value(path: str, scene: sim.Scene = T) -> object:
    found: object = scene
    for part in path.replace("*", "0").split("."):
        found = found[int(part)] if isinstance(found, tuple) else getattr(found, part)  # type: ignore[index]
    return 0.0 if path == "hand.wrist_held_deg" and found is None else found


def test_order_of_changes_does_not_matter_where_one_alone_would_be_refused() -> None:
    assert S(on=1, up=0, down=0) == S(down=0, up=0, on=1)
    with pytest.raises(sim.SceneError):
        S(on=1)


def test_switches_of_a_run() -> None:
    assert S(held=True).channel[0].timing.control == "held"
    assert T(without="spread").without_mechanisms == ("spread",)
    assert set(T(without=("spread", "slips")).without_mechanisms) == {"spread", "slips"}
    assert T(wrist=10)(wrist=None).hand.wrist_held_deg is None
    assert T(stretches=10, after=40).hand == sim.readied(T.hand, 10, 40)


def test_second_channel_comes_and_goes() -> None:
    assert S(elbow=True).channel[1] == sim.practice.elbow_channel(S.channel[0])
    assert S(extend=30).channel[1].pulse.amplitude_ma == 30.0
    assert len(S(elbow=True)(elbow=False).channel) == 1
    both = S(elbow=True, on=5, off=15)
    assert [channel.timing.off_s for channel in both.channel] == [15.0, 15.0]


@pytest.mark.parametrize(
    ("asked", "told"),
    [
        (lambda: S(ampp=3), "'ampp' must be a short name of a setting (got unknown name): did you mean amp?"),
        (lambda: S(amp=100), "'channel.0.pulse.amplitude_ma' must be 0 to 60 (got 100)"),
        (lambda: S(after=3), "'after' must be given with stretches (got 3): write t(stretches=10, after=40)"),
        (lambda: S(stretches=-1), "'stretches' must be 0 to 1000 (got -1)"),
        (lambda: S(held=1), "'held' must be true or false (got 1)"),
        (lambda: S(elbow="x"), "'elbow' must be true, false or a current in mA (got 'x')"),
        (lambda: S(without=3), "'without' must be the name of a mechanism, or several (got 3): write without='spread'"),
        (lambda: call("mm", 3),
         "'scene' must be a scene: s, f or t, or one of them changed (got 3): write for example t(amp=20)"),
        (lambda: call("mm"), "'mm' must be called as mm(scene, amp) (got missing a required argument: 'scene')"),
        (lambda: call("i50", S, "EDCX"), "did you mean EDC?"),
        (lambda: call("ang", S, "knuckle"), "'joint' must be one of wrist, index.MCP, "),
        (lambda: call("i_at", S, "EDC", 1.5), "'share' must be more than 0 and less than 1 (got 1.5)"),
        (lambda: call("share", 3, "wrist"), "'share' must be asked of why(a, b) (got 'int'): write share(why(a, b), 'wrist')"),
        (lambda: call("fact", "readying.stretch.half_time"), "did you mean readying.stretch.half_time_min?"),
        (lambda: call("run", S, 1e9), "'seconds' must be more than 0 and at most 10800 (got 1e+09)"),
        (lambda: call("run", S, 100, 1e-4), "'step' must be at least 0.002 s for so long a run (got 0.0001)"),
        (lambda: call("open_at", S, 5, 5), "'t0' must be 0 or more and before t1 (got from 5 to 5)"),
        (lambda: call("twitch_ms", S), "'scene' must be a slow train that makes the muscle twitch"),
        (lambda: call("slow_pull", 1e-9), "'rate' must be 1 to 200 (got 1e-09)"),
        (lambda: call("minutes_in", S, "held", "dozing"), "'doing' must be one of setting up, waiting, reaching"),
        (lambda: call("practice", S, "led"), "'control' must be one of timed, held (got 'led')"),
        (lambda: call("each", NAMES["mm"], S, wrist=3), "'wrist' must be a list of values (got 3)"),
        (lambda: call("each", NAMES["mm"], S), "'each' must be given one setting and its values (got 0 settings)"),
        (lambda: call("steps", 0, 1, 0), "'step' must be one that gives 1 to 1000 numbers (got 0)"),
        (lambda: call("ripple", S(amp=0)), "'ripple' must be asked of a muscle that pulls (got no force): raise the current"),
        (lambda: call("grade", "..."), "'grade' must be called with values it can take"),
        (lambda: call("largest"), "'values' must be at least one (got 'none'): write largest(A=1, B=2)"),
    ],
)
def test_what_is_asked_wrongly_is_told(asked: object, told: str) -> None:
    with pytest.raises(sim.SceneError, match=re.escape(told)):
        asked()  # type: ignore[operator]


def test_curve_is_that_of_the_simulator() -> None:
    direct = sim.opening_curve(sim.presets()["tight"], NAMES["A"])
    assert np.array_equal(call("oc", T).opening_mm, direct.opening_mm)  # type: ignore[attr-defined]
    assert call("widest", T) == direct.opening_mm.max()
    first = np.flatnonzero(direct.opening_mm >= 0.98 * direct.opening_mm.max())[0]
    assert call("best", T) == direct.amplitude_ma[first]


@pytest.mark.parametrize("amp", [0.0, 13.0, 14.5, 14.37, 60.0])
def test_hand_at_a_current_is_that_of_the_simulator(amp: float) -> None:
    direct = sim.opening_curve(T, [amp])
    assert call("mm", T, amp) == pytest.approx(direct.opening_mm[0], abs=1e-9)
    assert call("ang", T, "PIP", amp) == pytest.approx(direct.angle_deg["PIP"][0], abs=1e-9)
    assert call("pull", T, "EDC", amp) == pytest.approx(direct.force_n["EDC"][0], abs=1e-9)
    assert call("tension", T, "FDS", amp) == pytest.approx(direct.tension_n["FDS"][0], abs=1e-9)
    assert call("claws", T, amp) == bool(direct.claw[0])


def test_own_current_and_several_currents() -> None:
    assert call("mm", T(amp=14)) == call("mm", T, 14)
    assert call("mm", T, [10, 14.2]) == pytest.approx([call("mm", T, 10), call("mm", T, 14.2)])


def test_recruitment_is_that_of_the_simulator() -> None:
    direct = sim.recruitment_curve(T, [20.0])
    assert call("rc", T, 20) == {name: share[0] for name, share in direct.items()}
    assert call("recruited", T, "EDC", 20) == direct["EDC"][0]
    assert call("rc", 40, 200) == call("rc", S(phase=200), 40)


@pytest.mark.parametrize(("word", "level"), [("i50", 0.5), ("i10", 0.1)])
def test_a_threshold_calls_its_share(word: str, level: float) -> None:
    assert sim.recruitment_curve(T, [call(word, T, "EDC")])["EDC"][0] == pytest.approx(level, abs=0.002)  # type: ignore[list-item]


def test_threshold_that_is_not_reached_is_the_last_current_and_warns() -> None:
    assert call("i50", S(along=75), "FDP") == 60.0
    assert warned() == ["FDP of 'Potting bench, supple hand' is not recruited to 0.5 by 60 mA"]
    assert warned() == []


def test_best_at_the_end_of_the_currents_warns(monkeypatch: pytest.MonkeyPatch) -> None:
    class Rising:
        opening_mm = np.arange(121.0)

    monkeypatch.setattr(vocabulary.curve, "oc", lambda scene: Rising)
    assert call("best", S) > 58.0
    assert warned() == []
    Rising.opening_mm = np.where(np.arange(121) == 120, 50.0, 0.0)
    assert call("best", S) == 60.0
    assert warned() == ["best current of 'Potting bench, supple hand' lies at the end of the currents tried (60 mA)"]


def test_shares_are_those_of_the_simulator_and_add_up() -> None:
    found = call("why", T(amp=14), T(amp=22))
    direct = sim.explain_opening(T(amp=14), T(amp=22))
    assert found == direct
    assert sum(direct.shares.values()) == pytest.approx(call("mm", T, 22) - call("mm", T, 14))  # type: ignore[operator]
    assert call("share", found, "wrist") == direct.shares["wrist"]
    assert call("share", found, "reflex") == 0.0
    told = [call("told_mm", found, name) for name in direct.shares]
    assert told == [direct.told_mm.get(name, 0) for name in direct.shares]
    assert call("told_mm", found) == round(direct.after_mm) - round(direct.before_mm)
    assert call("told_mm", found, "reflex") == 0
    sign = 1.0 if direct.total_mm > 0.0 else -1.0  # the cause that did most, in the direction of the whole change
    assert call("why_most", found) == max(direct.shares, key=lambda name: sign * direct.shares[name])
    assert call("why_most", call("why", T, T)) == ""


def test_what_fits_is_what_the_simulator_clears() -> None:
    width = call("widest", F)
    assert call("fits", F, (20, 33, 55, 75), 20) == [d for d in (20, 33, 55, 75) if d + 20 <= width]
    assert call("fits", F, 33) is True
    assert call("least", F, 55) == sim.clears(F, 55).least_ma
    assert call("least", F, 110) == math.inf
    assert call("advice", F, 110) == tuple(entry.words for entry in sim.clears(F, 110).advice)


def test_feeling_and_limit_are_the_bands_of_the_simulator() -> None:
    assert (call("felt", S), call("limit", S)) == (sim.sensation_levels(S).felt_ma, sim.sensation_levels(S).discomfort_ma)


def test_readying_is_that_of_the_simulator() -> None:
    assert call("eased", 4).tension_fall / call("eased", 10).tension_fall == pytest.approx(0.8, abs=0.02)  # type: ignore[attr-defined]
    assert call("eased", 10, 60).tone_fall < call("eased", 10).tone_fall  # type: ignore[attr-defined]


def test_pad_place_is_the_least_threshold() -> None:
    places = (20, 30, 40, 50)
    assert call("pad", S, "EDC", places) == min(places, key=lambda at: call("i10", S(along=at), "EDC"))  # type: ignore[arg-type, return-value]


def test_run_is_that_of_the_simulator() -> None:
    direct = sim.simulate(S, 3.0)
    assert np.array_equal(call("track", S, "opening", 3.0), direct.opening_mm)
    assert np.array_equal(call("track", S, "force", 3.0, "EDC"), direct.force_n["EDC"])
    assert np.array_equal(call("track", S, "angle", 3.0, "wrist"), direct.angle_deg["wrist"])
    assert np.array_equal(call("track", S, "current", 3.0), direct.current[0])
    assert call("F", S, "EDC", 0, 3) == direct.force_n["EDC"].max()
    assert call("open_at", S, 1, 3) == direct.opening_mm[direct.time_s >= 1].max()
    assert np.array_equal(call("train", S, 3.0).onset_s, sim.pulse_train(S, 0, None, 3.0).onset_s)  # type: ignore[attr-defined]


def test_held_scene_is_held_all_along() -> None:
    assert call("train", S(held=True), 30).onset_s[-1] > 29.9  # type: ignore[attr-defined]
    assert call("train", S, 20).onset_s[-1] < 8.1  # type: ignore[attr-defined]


def test_pull_and_ripple_at_a_rate() -> None:
    assert call("F", 20) > call("F", 10)  # type: ignore[operator]
    assert call("F", 20, of="highest") > call("F", 20)  # type: ignore[operator]
    ripples = [call("ripple", rate) for rate in (5, 12, 25, 50)]
    assert ripples == sorted(ripples, reverse=True)  # type: ignore[type-var]
    assert call("ripple", 12) == call("ripple", S(freq=12))


@pytest.mark.parametrize("rate", [5, 7, 10])
def test_a_rate_cut_at_whole_periods_has_the_steady_mean(rate: float) -> None:
    ratio = sim.muscle.steady_force_fraction(50.0) / sim.muscle.steady_force_fraction(rate)
    assert call("F", 50) / call("F", rate) == pytest.approx(ratio, rel=0.02)  # type: ignore[operator]


def test_slower_muscle_is_smooth_earlier() -> None:
    usual, slow = call("smooth_from"), call("smooth_from", slower=1.5)
    assert slow < usual  # type: ignore[operator]
    assert call("slow_ripple", usual, 1.0) < 0.05 <= call("slow_ripple", usual - 1, 1.0)  # type: ignore[operator]
    assert call("smooth_from", below=0.0) == 100
    assert warned() == ["no rate up to 100 Hz brings the ripple below 0"]


def test_twitch_is_as_wide_as_the_simulated_one() -> None:
    scene = S(freq=1, up=0, amp=25)
    direct = sim.simulate(scene, 1.0, sample_s=0.0005)
    force = direct.force_n["EDC"]
    wide = 1e3 * 0.0005 * np.count_nonzero(force >= 0.5 * force.max())
    assert call("twitch_ms", scene) == pytest.approx(wide, abs=1.5)


def test_cycles_and_what_a_rest_brings_back() -> None:
    scene = S(on=10, off=10)
    pulls = call("by_cycle", scene, "force", 2.0)
    assert len(pulls) == len(call("cycles", scene, 2.0)) == 6  # type: ignore[arg-type]
    assert pulls[0] == call("F", scene, "EDC", 0, 20) or pulls[0] == pytest.approx(call("F", scene, "EDC", 0, 20), rel=1e-3)  # type: ignore[index]
    late = pulls[-1] / pulls[0]  # type: ignore[index]
    assert late < 0.95
    assert late < call("after_rest", scene, 2.0, 5.0) <= 1.001  # type: ignore[operator]
    assert call("after_rest", scene, 2.0, 0.0) == pytest.approx(late, abs=0.05)


def test_current_turned_up_calls_fresh_fibres() -> None:
    scene = S(on=10, off=10, amp=11)
    same, up = (call("turned", scene, amp, 3.0, 6.0, "force") for amp in (11, 13))
    assert len(same) == len(up) == 18  # type: ignore[arg-type]
    run = sim.simulate(scene, 360.0)
    ends = [20.0 * cycle + 9.0 for cycle in range(18)]
    assert same == pytest.approx(np.interp(ends, run.time_s, run.force_n["EDC"]), rel=0.1)
    np.testing.assert_allclose(up[:9], same[:9], rtol=0.05)  # type: ignore[index]
    fresh = call("turned", S(on=10, off=10, amp=13), 13, 0.0, 6.0, "force")
    assert same[9] < 0.8 * up[9] < 0.8 * fresh[0]  # type: ignore[index]
    assert up[9] > fresh[9]  # type: ignore[index]
    wide = call("turned", scene, 13, 3.0, 6.0)
    assert wide[8] < wide[9] < call("mm", scene(amp=13))  # type: ignore[index]
    with pytest.raises(sim.SceneError, match="single channel on a timer"):
        call("turned", S(held=True), 13, 3.0, 6.0)


def test_practice_is_the_mean_of_five() -> None:
    scene = S(minutes=4)
    runs = [sim.run_practice(scene, control="held", seed=seed) for seed in (1, 2, 3, 4, 5)]
    found = call("pr", scene, "held")
    assert found.repetitions == np.mean([one.repetitions for one in runs])  # type: ignore[attr-defined]
    assert found.on_s == pytest.approx(np.mean([one.on_s for one in runs]))  # type: ignore[attr-defined]
    assert call("reps", scene) == found.repetitions  # type: ignore[attr-defined]
    assert call("minutes_on", scene, "held") == pytest.approx(found.on_s / 60)  # type: ignore[attr-defined]
    left = np.mean([one.opening_left_mm for one in runs]) / np.mean([one.opening_first_mm for one in runs])
    assert call("left", scene) == pytest.approx(left)


@pytest.mark.parametrize("control", ["timed", "held"])
def test_minutes_of_what_is_done_add_up_to_the_session(control: str) -> None:
    spent = call("minutes_by", S(minutes=4), control)
    assert sum(spent.values()) == pytest.approx(4.0, abs=0.01)  # type: ignore[attr-defined]


def test_every_phase_is_something_that_is_done() -> None:
    told = [phase for phases in NAMES["DOING"].values() for phase in phases]
    assert sorted(told) == sorted(sim.practice.PHASES)


def test_commonest_drop() -> None:
    scene = S(minutes=10, on=6, off=4, carry=500, grip_left=0.02)
    found = call("pr", scene, "timed").drop_causes  # type: ignore[attr-defined]
    assert any(found.values())
    assert call("commonest_drop", scene) == max(found, key=found.get)
    assert call("drops_by", scene, "timed", call("commonest_drop", scene)) == max(found.values())
    assert call("success", scene, "timed") < 1.0  # type: ignore[operator]


def test_nothing_dropped_warns(monkeypatch: pytest.MonkeyPatch) -> None:
    none = dataclasses.replace(call("pr", S(minutes=2)), drop_causes={"object too wide": 0.0})  # type: ignore[type-var]
    monkeypatch.setattr(vocabulary.half_hour, "pr", lambda scene, control: none)
    assert call("commonest_drop", S) == ""
    assert warned() == ["nothing was dropped in the practice of 'Potting bench, supple hand'"]


def test_dose_is_that_of_the_simulator() -> None:
    direct = sim.dose_of(S)
    assert (call("charge", S), call("rms", S), call("density", S)) == (
        direct.charge_uc, direct.rms_ma, direct.rms_density_ma_cm2)
    assert call("charge", S(phase=150)) == pytest.approx(0.5 * call("charge", S))  # type: ignore[operator]
    assert call("pulses", S) == direct.session_pulses
    assert call("pulses", S(elbow=True)) == 2 * direct.session_pulses
    assert call("density", S(contact="halved")) == pytest.approx(2.0 * direct.rms_density_ma_cm2)


def test_plain_words() -> None:
    assert call("largest", A=1, B=3, C=2) == "B"
    assert call("smallest", A=1, B=3, C=2) == "A"
    assert call("rank", A=3, B=1, C=2) == ("B", "C", "A")
    assert call("mean", [1, 2, 6]) == 3.0
    assert list(call("steps", 10, 30, 10)) == [10.0, 20.0, 30.0]  # type: ignore[call-overload]
    assert list(call("span", 0, 1, 3)) == [0.0, 0.5, 1.0]  # type: ignore[call-overload]
    assert call("fact", "readying.stretch.half_time_min") == sim.all_facts()["readying.stretch.half_time_min"].value
    assert call("grade", "The cat sat on the mat.") == pytest.approx(0.39 * 6 + 11.8 - 15.59)


def test_two_alike_are_told() -> None:
    assert call("largest", A=2, B=2, C=1) == "A"
    assert warned() == ["A and B are alike (2)"]


def test_each_and_most_at_walk_one_setting() -> None:
    values = call("span", 60, -60, 5)
    found = call("each", NAMES["mm"], T(amp=20), wrist=values)
    assert list(found) == [call("mm", T(amp=20, wrist=float(w))) for w in values]  # type: ignore[call-overload, attr-defined]
    assert call("most_at", NAMES["i50"], S, "EDC", along=(20, 30, 40)) == 30


def test_results_are_remembered_by_scene_and_forgotten_when_told() -> None:
    vocabulary.clear()
    first = call("oc", T)
    assert call("oc", T(amp=30)) is first, "the curve does not depend on the current that is set"
    assert call("oc", T(title="another name")) is first
    assert call("oc", T(tone=0.01)) is not first
    vocabulary.clear()
    assert call("oc", T) is not first


def test_a_store_is_bounded_and_drops_what_was_asked_for_longest_ago() -> None:
    store = memory.Store(2)
    made: list[str] = []

    def get(key: str) -> str:
        return store.get(key, lambda: made.append(key) or key)

    for key in "abaca":
        get(key)
    assert made == ["a", "b", "c"]
    assert len(store) == 2
    get("b")
    assert made[-1] == "b"


def test_warnings_are_of_their_own_thread() -> None:
    memory.warn("here")
    seen: list[list[str]] = []
    other = threading.Thread(target=lambda: (memory.warn("there"), memory.warn("there"), seen.append(warned())))
    other.start()
    other.join()
    assert seen == [["there"]]
    assert warned() == ["here"]


def test_scenes_can_be_asked_what_they_are() -> None:
    assert isinstance(T(amp=20), sim.Scene)
    assert T(amp=20)(amp=T.channel[0].pulse.amplitude_ma) == T
    assert hash(T(amp=20)) == hash(T(amp=20.0))
    assert vocabulary.callable_scene(sim.presets()["tight"]) == T
    assert T.replace("hand.finger_tone", 0.01)(amp=5).hand.finger_tone == 0.01
    assert set(short_names()) >= {"amp", "wrist", "stretches", "without"}


def test_every_word_says_what_it_is() -> None:
    ours = "graspwave.lessons.vocabulary"
    own = {name: word for name, word in NAMES.items() if getattr(word, "__module__", "").startswith(ours)}
    assert len(own) > 50
    for name, word in own.items():
        if callable(word) and not isinstance(word, sim.Scene):
            assert (word.__doc__ or "").strip(), name
