"""What a run and a curve say of themselves and where their inputs end, one worked example each (`tests.bench.mutants`)."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from graspwave import simulator as sim
from graspwave.simulator.pulses import PulseTrain
from graspwave.simulator.run import _at, _pulse_in_force, drive_of_hand, effective_hand, simulate, stimulated, tired_opening_mm

AMPLITUDE = "channel.0.pulse.amplitude_ma"
TIGHT = sim.presets()["tight"]


@pytest.fixture(scope="module")
def curve() -> sim.Opening:
    return sim.opening_curve(TIGHT, [0.0, 14.0, 40.0])


@pytest.fixture(scope="module")
def run() -> sim.Run:
    return simulate(TIGHT.replace("channel.0.ramp.up_s", 0.0), 0.5, sample_s=0.05)


def test_a_curve_says_what_it_found(curve: sim.Opening) -> None:
    widest = int(np.argmax(curve.opening_mm))
    said = repr(curve)
    assert f"widest {curve.opening_mm[widest]:.1f} mm at {curve.amplitude_ma[widest]:g} mA; {curve.opening_mm[0]:.1f} mm" in said
    clawed = dataclasses.replace(curve, claw=np.array([False, True, True]))
    assert "claw by the published rule at 2 currents, from 14 mA" in repr(clawed)
    assert "no claw" in repr(sim.opening_curve(TIGHT, [0.0]))
    assert repr(sim.opening_curve(TIGHT, [])) == "Opening at no current: nothing was asked for"
    assert set(curve.index_deg) == {"MCP", "PIP", "DIP"}
    np.testing.assert_array_equal(curve.index_deg["PIP"], curve.angle_deg["index.PIP"])
    assert set(curve.slip_n) == {"central", "terminal"}
    assert not [name for name in curve.force_n if "_" in name]  # muscles, not their slips
    assert {"current [mA]", "opening [mm]", "claw"} <= set(curve.frame().columns)


def test_a_curve_without_slack_is_another(curve: sim.Opening) -> None:
    taut = sim.opening_curve(TIGHT.without("slips"), [0.0, 14.0, 40.0])
    assert abs(taut.opening_mm[1] - curve.opening_mm[1]) > 0.05
    at = TIGHT.replace(AMPLITUDE, 14.0)
    assert tired_opening_mm(at, 1.0)[0] == pytest.approx(curve.opening_mm[1], abs=1e-3)
    assert tired_opening_mm(at.without("slips"), 1.0)[0] == pytest.approx(taut.opening_mm[1], abs=1e-3)


def test_amplitudes_and_shares_are_each_in_their_range() -> None:
    for wrong in ([1.0, -1.0], [1.0, np.inf], [[1.0]]):
        with pytest.raises(sim.SceneError, match="amplitude_ma"):
            sim.opening_curve(TIGHT, wrong)
    for wrong in ([0.5, -0.1], [0.5, 1.1], [[0.5]]):
        with pytest.raises(sim.SceneError, match="'kept' must be 0 to 1"):
            tired_opening_mm(TIGHT, wrong)
    two = TIGHT.replace(AMPLITUDE, 20.0).with_channel({AMPLITUDE.removeprefix("channel.0."): 5.0})
    alone = tired_opening_mm(TIGHT.replace(AMPLITUDE, 20.0).with_channel({"pads.limb": "upper arm"}), 1.0)
    assert tired_opening_mm(two, 1.0).shape == alone.shape == (1,)


def test_a_hand_without_its_reflex_has_none() -> None:
    with_it = TIGHT.replace("hand.reflex_gain", 0.7)
    assert effective_hand(with_it).reflex_gain == 0.7
    assert effective_hand(with_it.without("reflex")).reflex_gain == 0.0


def test_a_second_channel_has_the_axons_that_the_first_left() -> None:
    one, _ = stimulated(TIGHT, np.array([14.0]))
    other, _ = stimulated(TIGHT, np.array([10.0]))
    both, drive = stimulated(TIGHT.with_channel({"pulse.amplitude_ma": 10.0}), np.array([14.0]))
    for name, share in both.items():
        assert share[0] == pytest.approx(1.0 - (1.0 - one[name][0]) * (1.0 - other[name][0]))
        assert 0.0 <= drive[name][0] <= 1.0


def test_a_run_says_what_it_found(run: sim.Run) -> None:
    said = repr(run).split("\n")
    most = max(run.force_n, key=lambda name: run.force_n[name].max())
    assert said[0] == f"Run of 0.5 s, {run.time_s.size} samples, 1 channel"
    assert said[2].strip().startswith(f"strongest {most}, {run.force_n[most].max():.1f} N; {len(run.force_n)} muscles")
    some = dataclasses.replace(run, claw=np.arange(run.time_s.size) == 3)
    none = dataclasses.replace(run, claw=np.zeros(run.time_s.size, bool))
    assert ("rule somewhere" in repr(some), "rule somewhere" in repr(none)) == (True, False)
    assert "strongest" not in repr(dataclasses.replace(run, force_n={}))
    assert {"time [s]", "opening [mm]", "claw", "current of channel 1 [mA]"} <= set(run.frame().columns)


def test_a_run_of_two_channels_is_silent_only_where_both_are(run: sim.Run) -> None:
    full, empty = run.trains[0], PulseTrain(np.empty(0), np.empty(0), np.empty(0))
    flat = PulseTrain(np.array([0.0]), np.array([0.0]), np.array([100.0]))
    two = dataclasses.replace(run, trains=(full, empty))
    assert not two.silent
    assert "2 channels" in repr(two)
    assert f"{len(full)} and 0 pulses" in repr(two)
    assert "no pulse" in repr(dataclasses.replace(run, trains=(empty, empty)))
    assert "no current is set" in repr(dataclasses.replace(run, trains=(flat, empty)))
    assert dataclasses.replace(run, trains=(flat, empty)).silent


def test_length_and_step_of_a_run_and_their_ends() -> None:
    still = TIGHT.replace(AMPLITUDE, 0.0).replace("session.minutes", 1.0)
    assert simulate(still, sample_s=1.0).time_s[-1] == 60.0
    for length, step in ((1.0, 0.002), (6.0, 0.003), (150.0, 0.05)):
        assert simulate(still, length).time_s[1] == pytest.approx(step, rel=1e-3), length
    assert simulate(still, 0.5, sample_s=0.5).time_s.tolist() == [0.0, 0.5]
    for name, wrong in (("duration_s", {"duration_s": 0.0}), ("duration_s", {"duration_s": 10800.1}),
                        ("sample_s", {"duration_s": 0.5, "sample_s": 0.51}), ("sample_s", {"duration_s": 0.5, "sample_s": 9e-5})):
        with pytest.raises(sim.SceneError, match=f"'{name}' must be"):
            simulate(still, **wrong)
    assert simulate(still, 10800.0, sample_s=100.0).time_s[-1] == 10800.0
    assert simulate(still, 0.001, sample_s=1e-4).time_s.size == 11


def test_own_effort_calls_the_finger_extensor() -> None:
    hand = dataclasses.replace(TIGHT.hand, own_opening=0.4, own_grip=0.0, strength=0.5)
    assert drive_of_hand({}, hand, 1)["EDC"] == pytest.approx([0.2])
    assert drive_of_hand({"EDC": np.array([0.9])}, hand, 1)["EDC"] == pytest.approx([0.5])  # called in whole, and weak


def test_a_channel_that_is_never_pressed_takes_no_axon() -> None:
    held = TIGHT.replace("channel.0.timing.control", "held")
    two = held.with_channel({"timing.control": "cycle", AMPLITUDE.removeprefix("channel.0."): 14.0})
    alone = TIGHT.replace(AMPLITUDE, 14.0)
    one, other = (simulate(scene, 0.5, sample_s=0.1).recruited["EDC"] for scene in (two, alone))
    np.testing.assert_allclose(one, other)


def test_the_pulse_in_force_is_the_last_that_began() -> None:
    train = PulseTrain(np.array([0.1, 0.2, 0.3]), np.array([1.0, 2.0, 3.0]), np.full(3, 100.0))
    which, live = _pulse_in_force(train, np.array([0.05, 0.1, 0.15, 0.2, 0.39, 0.41]), 10.0)
    assert live.tolist() == [False, True, True, True, True, False]
    assert _at(train.amplitude_ma, which)[live].tolist() == [1.0, 1.0, 2.0, 3.0]


def test_motion_does_not_hang_on_how_finely_it_is_looked_at() -> None:
    scene = TIGHT.replace(AMPLITUDE, 14.0).replace("channel.0.ramp.up_s", 0.0)
    fine, coarse = simulate(scene, 0.5, sample_s=0.01), simulate(scene, 0.5, sample_s=0.05)
    np.testing.assert_allclose(fine.angle_deg["MCP"][::5], coarse.angle_deg["MCP"], atol=0.02)  # forces differ by 2e-5
    longer = simulate(scene, 1.0, sample_s=0.01)
    short = simulate(scene, 0.13, sample_s=0.01)  # its end lies between two steps of the motion
    at = np.searchsorted(longer.time_s, short.time_s[-1] - 1e-6)
    assert abs(longer.angle_deg["MCP"][at] - longer.angle_deg["MCP"][at - 3]) > 2.0  # it moves meanwhile
    assert short.angle_deg["MCP"][-1] == pytest.approx(longer.angle_deg["MCP"][at], abs=1.0)
    taut = simulate(TIGHT.replace(AMPLITUDE, 24.0).without("slips"), 3.0, sample_s=0.5)
    slack = simulate(TIGHT.replace(AMPLITUDE, 24.0), 3.0, sample_s=0.5)
    assert abs(taut.angle_deg["PIP"] - slack.angle_deg["PIP"]).max() > 0.5
