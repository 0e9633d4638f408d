"""Pulses at the ends of trains, ramps, presses and cycles, one worked example each (gaps that `tests.bench.mutants` found)."""

from __future__ import annotations

import math

import numpy as np
import pytest
from pulse_settings import scene_with

from graspwave.simulator import pulses
from graspwave.simulator.pulses import PulseTrain, pulse_train
from graspwave.simulator.scene import SceneError

NO_RAMP = {"ramp__up_s": 0.0, "ramp__down_s": 0.0}
HELD = {"timing__control": "held"}
ASYMMETRIC = {"pulse__shape": "asymmetric", "pulse__phase_ratio": 4.0, "pulse__phase_us": 200.0, "pulse__gap_us": 100.0}


def test_the_parts_of_an_asymmetric_pulse() -> None:
    two = {"timing__on_s": 1.0, "train__frequency_hz": 2.0}
    scene = scene_with(**ASYMMETRIC, **NO_RAMP, **two, pads__swap=True, pulse__amplitude_ma=8.0)
    train = pulse_train(scene, duration_s=1.0)
    np.testing.assert_allclose(train.onset_s, [0.0, 0.5], atol=1e-15)
    # 200 us, a gap of 100 us, then 4 x 200 us at a quarter of the height
    np.testing.assert_allclose(train.first_end_s - train.onset_s, 200e-6, rtol=1e-9)
    np.testing.assert_allclose(train.second_start_s - train.onset_s, 300e-6, rtol=1e-9)
    np.testing.assert_allclose(train.end_s - train.onset_s, 1100e-6, rtol=1e-9)
    np.testing.assert_allclose(train.second_ma, -2.0)
    np.testing.assert_allclose(train.charge_uc, 1.6)
    assert train.sign == -1
    assert pulses._busy_s(scene.channel[0]) == pytest.approx(1100e-6, rel=1e-12)


def test_a_monophasic_pulse_has_one_part() -> None:
    scene = scene_with(pulse__shape="monophasic", pulse__phase_us=300.0, pulse__gap_us=100.0, **NO_RAMP)
    train = pulse_train(scene, duration_s=1.0)
    np.testing.assert_array_equal(train.end_s, train.first_end_s)
    np.testing.assert_array_equal(train.second_ma, 0.0)
    assert train.sign == 1


def test_a_train_that_was_typed_in_is_symmetric_and_not_swapped() -> None:
    train = PulseTrain(np.array([0.0]), np.array([5.0]), np.array([100.0]))
    assert (train.shape, train.gap_us, train.phase_ratio, train.swap, train.sign) == ("symmetric", 0.0, 1.0, False, 1)
    assert train.duration_s == math.inf
    assert train.span_s.shape == (0, 2)


def test_a_train_prints_what_it_is_and_draws_every_pulse() -> None:
    scene = scene_with(**NO_RAMP, pads__swap=True, pulse__amplitude_ma=8.0, timing__on_s=1.0, train__frequency_hz=2.0)
    train = pulse_train(scene, duration_s=1.0)
    assert repr(train).endswith("on 1 times, leads swapped")
    assert "swapped" not in repr(pulse_train(scene_with(**NO_RAMP), duration_s=1.0))
    assert repr(pulse_train(scene_with(**HELD))) == "PulseTrain without pulses: a held channel gives none until it is pressed"
    line = train.plot().renderers[0].data_source.data
    np.testing.assert_array_equal(line["x"], [0.0, 0.0, 0.0, 0.5, 0.5, 0.5])
    np.testing.assert_array_equal(line["y"], [0.0, -8.0, np.nan, 0.0, -8.0, np.nan])


@pytest.mark.parametrize("channel", [-1, 1, True])
def test_channels_are_counted_from_nought(channel: int) -> None:
    with pytest.raises(SceneError, match=r"'channel' must be 0 to 0"):
        pulse_train(scene_with(), channel)


@pytest.mark.parametrize(
    ("start", "length_s", "count"),
    # leading interval 10 ms, then every 100 ms; a pulse at the very end of the length is not in it
    [
        ("plain", 0.0, 1), ("plain", 0.3, 3), ("plain", 0.301, 4), ("doublet", 0.005, 1), ("doublet", 0.01, 1),
        ("doublet", 0.011, 2),
        ("triplet", 0.01, 1), ("triplet", 0.015, 2), ("triplet", 0.02, 2), ("triplet", 0.021, 3), ("triplet", 0.12, 3),
        ("triplet", 0.121, 4),
    ],
)
def test_how_many_pulses_start_within_a_time(start: str, length_s: float, count: int) -> None:
    channel = scene_with(train__start=start, train__leading_interval_ms=10.0, train__frequency_hz=10.0).channel[0]
    assert pulses._count(channel, np.array([length_s])).tolist() == [count]
    slow = scene_with(train__start="triplet", train__leading_interval_ms=50.0, train__frequency_hz=200.0).channel[0]
    assert pulses._count(slow, np.array([0.06])).tolist() == [2]  # steady ones would have begun long before: they take none away


def test_a_pulse_that_just_fits_before_the_next_on_time_is_given() -> None:
    # 1000 us and 4000 us at 200 Hz: each pulse ends as the next begins, and the last as the next on time does
    fits = {"pulse__shape": "asymmetric", "pulse__phase_ratio": 4.0, "pulse__phase_us": 1000.0, "train__frequency_hz": 200.0}
    scene = scene_with(**fits, **NO_RAMP, timing__on_s=0.1, timing__off_s=0.0)
    assert len(pulse_train(scene, duration_s=0.3)) == 60
    over = scene.replace("channel.0.train.frequency_hz", 199.0)
    train = pulse_train(over, duration_s=0.3)  # the last of an on time would run 0.5 ms into the next
    assert len(train) == 57
    assert np.all(train.onset_s[1:] >= train.end_s[:-1] - 1e-9)


def test_on_times_begin_within_the_time_asked_for() -> None:
    scene = scene_with(**NO_RAMP, timing__on_s=2.0, timing__off_s=3.0, timing__delay_s=1.0)
    assert pulse_train(scene, duration_s=0.5).span_s.shape == (0, 2)  # it ends before the first begins
    assert pulse_train(scene, duration_s=1.0).span_s.shape == (0, 2)
    np.testing.assert_array_equal(pulse_train(scene, duration_s=11.0).span_s, [[1.0, 3.0], [6.0, 8.0]])
    np.testing.assert_array_equal(pulse_train(scene, duration_s=11.5).span_s, [[1.0, 3.0], [6.0, 8.0], [11.0, 11.5]])


def test_three_presses_each_in_the_fall_of_the_one_before() -> None:
    scene = scene_with(**HELD, ramp__up_s=2.0, ramp__down_s=4.0, pulse__amplitude_ma=8.0, train__frequency_hz=10.0)
    train = pulse_train(scene, held=[(0.0, 1.0), (2.0, 3.0), (4.0, 5.0)], duration_s=20.0)
    # up to 1/2, down to 1/4, up to 3/4, down to 1/2, up to 1, and four seconds down
    np.testing.assert_allclose(train.span_s, [[0.0, 2.0], [2.0, 4.0], [4.0, 9.0]])
    height = dict(zip(np.round(train.onset_s, 6).tolist(), train.amplitude_ma.tolist(), strict=True))
    for at, ma in ((0.5, 2.0), (1.5, 3.0), (2.0, 2.0), (2.5, 4.0), (3.5, 5.0), (4.0, 4.0), (4.5, 6.0), (6.0, 6.0), (8.5, 1.0)):
        assert height[at] == pytest.approx(ma, rel=1e-9), at
    assert train.onset_s.max() < 9.0


def test_a_press_at_the_end_is_none_and_one_without_a_rise_is_at_full_height_at_once() -> None:
    scene = scene_with(**HELD, **NO_RAMP, pulse__amplitude_ma=8.0, train__frequency_hz=10.0)
    none = pulse_train(scene, held=[(5.0, 6.0)], duration_s=5.0)
    assert len(none) == 0
    assert none.span_s.shape == (0, 2)
    assert pulse_train(scene, held=[]).span_s.shape == (0, 2)
    once = pulse_train(scene, held=[(1.0, 1.25)], duration_s=5.0)
    np.testing.assert_allclose(once.onset_s, [1.0, 1.1, 1.2])
    np.testing.assert_array_equal(once.amplitude_ma, 8.0)
    np.testing.assert_allclose(once.span_s, [[1.0, 1.25]])
    # a pulse at the very release is of the fall, and there is none; the first pulse of a press is given however short it is
    np.testing.assert_allclose(pulse_train(scene, held=[(1.0, 1.2)], duration_s=5.0).onset_s, [1.0, 1.1])
    np.testing.assert_allclose(pulse_train(scene, held=[(1.0, 1.0)], duration_s=5.0).onset_s, [1.0])


def test_a_fall_from_full_height_without_a_rise() -> None:
    scene = scene_with(**HELD, ramp__up_s=0.0, ramp__down_s=1.0, pulse__amplitude_ma=8.0, train__frequency_hz=10.0)
    train = pulse_train(scene, held=[(0.0, 1.0)], duration_s=5.0)
    np.testing.assert_allclose(train.span_s, [[0.0, 2.0]])
    height = dict(zip(np.round(train.onset_s, 6).tolist(), train.amplitude_ma.tolist(), strict=True))
    assert (height[0.5], height[1.0]) == (8.0, pytest.approx(8.0))
    assert height[1.5] == pytest.approx(4.0)
    assert max(height) == 1.9


def test_a_pulse_of_the_fall_gives_way_to_the_next_press() -> None:
    fits = {"pulse__shape": "asymmetric", "pulse__phase_ratio": 4.0, "pulse__phase_us": 1000.0, "train__frequency_hz": 100.0}
    scene = scene_with(**HELD, **fits, ramp__up_s=0.0, ramp__down_s=1.0)
    kept = pulse_train(scene, held=[(0.0, 0.1), (0.205, 0.3)], duration_s=0.205 + 1e-6)  # one ends as the press begins
    assert 0.2 in np.round(kept.onset_s, 9)
    cut = pulse_train(scene, held=[(0.0, 0.1), (0.203, 0.3)], duration_s=0.5)
    assert 0.2 not in np.round(cut.onset_s, 9)
    assert 0.203 in cut.onset_s
    assert np.all(cut.onset_s[1:] >= cut.end_s[:-1] - 1e-9)


def test_presses_closer_than_a_pulse_are_one_and_a_delay_leaves_out_what_is_too_short() -> None:
    scene = scene_with(**HELD, **ASYMMETRIC, **NO_RAMP)  # 1100 us a pulse
    channel = scene.channel[0]
    assert pulses._merged([(0.0, 1.0), (1.0011, 2.0)], channel) == [(0.0, 1.0), (1.0011, 2.0)]
    assert pulses._merged([(0.0, 1.0), (1.001, 2.0)], channel) == [(0.0, 2.0)]
    assert pulses._merged([(3.0, 4.0), (0.0, 2.5), (1.0, 2.0)], channel) == [(0.0, 2.5), (3.0, 4.0)]
    assert pulses._merged([(0.0, 1.0), (3.0, 4.0), (3.5, 6.0)], channel) == [(0.0, 1.0), (3.0, 6.0)]
    assert pulses._merged([(0.0, 1.0), (3.0, 7.0), (3.5, 6.0)], channel) == [(0.0, 1.0), (3.0, 7.0)]
    late = scene.replace("channel.0.timing.delay_s", 1.0).channel[0]
    assert pulses._merged([(0.0, 1.0), (2.0, 3.5)], late) == [(3.0, 3.5)]


def test_a_ramp_of_length_shortens_pulses_and_begins_without_height() -> None:
    scene = scene_with(ramp__of="phase", ramp__up_s=1.0, ramp__down_s=0.0, pulse__phase_us=400.0, pulse__amplitude_ma=8.0,
                       train__frequency_hz=2.0, timing__on_s=2.0)  # fmt: skip
    train = pulse_train(scene, duration_s=2.0)
    np.testing.assert_allclose(train.phase_us, [400.0, 200.0, 400.0, 400.0])
    np.testing.assert_allclose(train.amplitude_ma, [0.0, 8.0, 8.0, 8.0])


def test_a_stop_leaves_out_a_pulse_that_could_not_end() -> None:
    scene = scene_with(**ASYMMETRIC, **NO_RAMP, train__frequency_hz=10.0, timing__on_s=1.0)
    for stop_s, count in ((0.2, 2), (0.20105, 2), (0.2012, 3), (math.inf, 10)):
        assert len(pulse_train(scene, duration_s=1.0, stop_s=stop_s)) == count, stop_s


def test_presses_and_times_at_the_ends_of_what_is_allowed() -> None:
    scene = scene_with(**HELD)
    with pytest.raises(SceneError, match=r"'held\.0' must be pressed at 0 s or later \(got inf\)"):
        pulse_train(scene, held=[(math.inf, math.inf)])
    assert pulse_train(scene, held=[(0.0, 0.5)], duration_s=0.0).span_s.shape == (0, 2)
    assert len(pulse_train(scene, held=[(0.0, 0.5)], duration_s=1.0, stop_s=0.0)) == 0
    longest = 60.0 * 180.0
    assert len(pulse_train(scene, held=[(0.0, 0.5)], duration_s=longest)) > 0
    with pytest.raises(SceneError, match="0 to 10800 s"):
        pulse_train(scene, duration_s=longest + 1.0)
