"""Onset, height and length of every pulse, against plain loops over exact fractions and worked examples."""

from __future__ import annotations

import math
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pulse_settings import presses, scene_with, scenes

from graspwave.simulator.pulses import PulseTrain, pulse_train
from graspwave.simulator.scene import Channel, Pulse, Ramp, Scene, SceneError, Timing, Train

NO_RAMP = {"ramp__up_s": 0.0, "ramp__down_s": 0.0}
HELD = {"timing__control": "held"}
ROUNDING_S = 1e-12
"""Sums of a few numbers below an hour are right to this."""


def exact(value: float) -> Fraction:
    return Fraction(repr(value))


def extra_pulses(scene: Scene) -> int:
    return {"plain": 0, "doublet": 1, "triplet": 2}[scene.channel[0].train.start]


def looped_onsets(scene: Scene, duration_s: float) -> list[Fraction]:
    """Onsets of a timed cycle by a loop over fractions, with the words of the docstring and no array."""
    channel, extra = scene.channel[0], extra_pulses(scene)
    timing, train, pulse = channel.timing, channel.train, channel.pulse
    on = exact(timing.on_s)
    if not timing.ramps_inside:
        on += exact(channel.ramp.up_s) + exact(channel.ramp.down_s)
    ratio = {"symmetric": Fraction(1), "asymmetric": exact(pulse.phase_ratio), "monophasic": Fraction(0)}[pulse.shape]
    busy = (exact(pulse.phase_us) * (1 + ratio) + exact(pulse.gap_us)) / 10**6
    cycle, start, found = on + exact(timing.off_s), exact(timing.delay_s), []
    while start < exact(duration_s):
        k = 0
        while True:
            lead = exact(train.leading_interval_ms) / 1000
            after = min(k, extra) * lead + max(k - extra, 0) / exact(train.frequency_hz)
            if after >= on or start + after >= exact(duration_s):
                break
            if after + busy <= cycle or k == 0:
                found.append(start + after)
            k += 1
        start += cycle
    return found


@settings(deadline=None, derandomize=True, max_examples=150)
@given(scene=scenes("cycle"), duration_s=st.integers(0, 40_000).map(lambda ms: ms / 1000))
def test_cycle_has_the_onsets_of_a_plain_loop(scene: Scene, duration_s: float) -> None:
    train = pulse_train(scene, duration_s=duration_s)
    expected = looped_onsets(scene, duration_s)
    assert len(train) == len(expected)
    if expected:
        assert train.onset_s[-1] == pytest.approx(float(expected[-1]), abs=ROUNDING_S)
        np.testing.assert_allclose(train.onset_s, [float(t) for t in expected], rtol=0, atol=ROUNDING_S)


@settings(deadline=None, derandomize=True, max_examples=150)
@given(scene=scenes(), held=presses(), stop_s=st.one_of(st.none(), st.floats(0.0, 30.0)))
def test_every_train_is_sound(scene: Scene, held: list[tuple[float, float]], stop_s: float | None) -> None:
    channel = scene.channel[0]
    train = pulse_train(scene, held=held, duration_s=30.0, stop_s=stop_s)
    assert len(train.onset_s) == len(train.amplitude_ma) == len(train.phase_us) == len(train)
    assert np.all(train.amplitude_ma <= channel.pulse.amplitude_ma)
    assert np.all(train.amplitude_ma >= 0.0)
    assert np.all(train.phase_us <= channel.pulse.phase_us)
    assert np.all(train.phase_us > 0.0)
    assert np.all(train.onset_s[1:] >= train.end_s[:-1] - 1e-9)
    assert np.all(train.onset_s < 30.0)
    if stop_s is not None:
        assert np.all(train.end_s <= stop_s)
    if train.phase_ratio:
        second_uc = 1e-3 * train.second_ma * train.phase_us * train.phase_ratio
        assert np.all(np.abs(train.charge_uc + second_uc) <= 1e-12 * train.charge_uc)


def merged(held: list[tuple[float, float]], apart_s: float) -> list[tuple[float, float]]:
    out: list[tuple[float, float]] = []
    for t0, t1 in sorted(held):
        if out and t0 < out[-1][1] + apart_s:
            out[-1] = (out[-1][0], max(out[-1][1], t1))
        else:
            out.append((t0, t1))
    return out


@settings(deadline=None, derandomize=True, max_examples=150)
@given(scene=scenes("held"), held=presses())
def test_held_is_on_exactly_while_pressed_and_in_the_fall(scene: Scene, held: list[tuple[float, float]]) -> None:
    scene = scene.replace("channel.0.timing.delay_s", 0.0)
    channel, train = scene.channel[0], pulse_train(scene, held=held, duration_s=40.0)
    apart = train.phase_ratio * channel.pulse.phase_us + channel.pulse.phase_us + channel.pulse.gap_us
    presses_ = merged(held, 1e-6 * apart)
    for t0, _ in presses_:
        assert np.any(train.onset_s == t0)  # a pulse at the very press
    pressed = np.zeros(len(train), bool)
    falling = np.zeros(len(train), bool)
    for t0, t1 in presses_:
        pressed |= (train.onset_s >= t0) & (train.onset_s <= t1)
        falling |= (train.onset_s > t1 - 1e-9) & (train.onset_s < t1 + channel.ramp.down_s + 1e-9)
    assert np.all(pressed | falling)
    again = pulse_train(scene, held=presses_[::-1], duration_s=40.0)
    np.testing.assert_array_equal(again.onset_s, train.onset_s)
    np.testing.assert_array_equal(again.amplitude_ma, train.amplitude_ma)


def levels_by_small_steps(scene: Scene, held: list[tuple[float, float]], times_s: np.ndarray) -> np.ndarray:
    """Rise while pressed and fall while not, walked in steps of 0.1 ms."""
    ramp, level, out, step = scene.channel[0].ramp, 0.0, [], 1e-4
    grid = np.arange(0.0, times_s[-1] + step, step)
    for t in grid:
        out.append(level)
        pressed = any(t0 <= t + step / 2 < t1 for t0, t1 in held)
        level = min(1.0, level + step / ramp.up_s) if pressed else max(0.0, level - step / ramp.down_s)
    return np.interp(times_s, grid, out)


def test_held_level_is_a_walk_up_and_down() -> None:
    held = [(0.5, 1.1), (1.4, 1.6), (1.7, 4.0), (4.5, 4.6), (9.0, 9.002)]
    scene = scene_with(**HELD, ramp__up_s=1.5, ramp__down_s=0.8, pulse__amplitude_ma=10.0)
    train = pulse_train(scene, held=held, duration_s=12.0)
    expected = 10.0 * levels_by_small_steps(scene, held, train.onset_s)
    # one step of the walk is 0.1 ms of a ramp of 0.8 s: 1.25e-4 of the height
    np.testing.assert_allclose(train.amplitude_ma, expected, rtol=0, atol=10.0 * 2.5e-4)


def test_press_during_a_fall_rises_from_where_the_fall_has_got_to() -> None:
    scene = scene_with(**HELD, ramp__up_s=2.0, ramp__down_s=1.0, pulse__amplitude_ma=10.0)
    train = pulse_train(scene, held=[(0.0, 5.0), (5.4, 7.0)], duration_s=20.0)
    height = dict(zip(train.onset_s.tolist(), train.amplitude_ma.tolist(), strict=True))
    assert height[5.4] == pytest.approx(6.0, rel=1e-12)
    np.testing.assert_array_equal(train.span_s[:, 0], [0.0, 5.4])
    np.testing.assert_allclose(train.span_s[:, 1], [5.4, 8.0], rtol=1e-12)


def test_presses_that_overlap_or_touch_are_one() -> None:
    scene = scene_with(**HELD)
    one = pulse_train(scene, held=[(1.0, 4.0)], duration_s=9.0)
    for held in ([(1.0, 2.0), (2.0, 4.0)], [(2.5, 4.0), (1.0, 3.0)], [(1.0, 4.0), (2.0, 3.0)], [(1, 2), (2.0002, 4)]):
        np.testing.assert_array_equal(pulse_train(scene, held=held, duration_s=9.0).onset_s, one.onset_s)


@pytest.mark.parametrize("length_s", [0.0, 1e-4, 0.02])
def test_press_shorter_than_an_interval_gives_one_pulse(length_s: float) -> None:
    train = pulse_train(scene_with(**HELD, **NO_RAMP), held=[(2.0, 2.0 + length_s)], duration_s=5.0)
    assert train.onset_s.tolist() == [2.0]
    assert train.amplitude_ma.tolist() == [20.0]


def test_no_press_no_pulse_and_a_press_without_end() -> None:
    assert len(pulse_train(scene_with(**HELD))) == 0
    assert pulse_train(scene_with(**HELD)).span_s.shape == (0, 2)
    still = pulse_train(scene_with(**HELD, **NO_RAMP, train__frequency_hz=10.0), held=[(1.0, math.inf)], duration_s=3.0)
    np.testing.assert_allclose(still.onset_s, 1.0 + np.arange(20) / 10)


@pytest.mark.parametrize("frequency_hz", [33.3, 7.0, 0.2, 200.0])
def test_awkward_rates_keep_their_interval_for_an_hour(frequency_hz: float) -> None:
    scene = scene_with(**HELD, **NO_RAMP, train__frequency_hz=frequency_hz)
    train = pulse_train(scene, held=[(0.0, 3600.0)], duration_s=3600.0)
    assert len(train) == math.ceil(3600 * exact(frequency_hz))
    np.testing.assert_array_equal(train.onset_s, np.arange(len(train)) / frequency_hz)


def test_ramps_of_a_third_of_a_second() -> None:
    scene = scene_with(ramp__up_s=1 / 3, ramp__down_s=1 / 3, timing__on_s=1.0, train__frequency_hz=30.0)
    train = pulse_train(scene, duration_s=1.0)
    k = np.arange(30)
    expected = 20.0 * np.minimum(1.0, np.minimum(k, 30 - k) / 10)
    np.testing.assert_allclose(train.amplitude_ma, expected, atol=1e-12)


def test_ramps_outside_lengthen_the_cycle() -> None:
    inside = pulse_train(scene_with(timing__on_s=8.0, timing__off_s=4.0))
    outside = pulse_train(scene_with(timing__on_s=8.0, timing__off_s=4.0, timing__ramps_inside=False))
    np.testing.assert_allclose(inside.span_s[1], [12.0, 20.0])
    np.testing.assert_allclose(outside.span_s[1], [14.5, 25.0])
    for train, full_s in ((inside, 5.5), (outside, 8.0)):
        first = (train.onset_s < 12.0) & (train.amplitude_ma > 20.0 * (1 - 1e-12))
        assert np.ptp(train.onset_s[first]) == pytest.approx(full_s, abs=1 / 35)


def test_ramp_of_phase_leaves_the_height() -> None:
    train = pulse_train(scene_with(ramp__of="phase", ramp__up_s=1.0, train__frequency_hz=10.0), duration_s=5.0)
    np.testing.assert_allclose(train.amplitude_ma[:3], [0.0, 20.0, 20.0])
    np.testing.assert_allclose(train.phase_us[1:12], 300.0 * np.minimum(1.0, np.arange(1, 12) / 10))
    np.testing.assert_allclose(train.charge_uc[:12], 6.0 * np.minimum(1.0, np.arange(12) / 10), atol=1e-12)


@pytest.mark.parametrize(("start", "first"), [("plain", [0, 40]), ("doublet", [0, 5, 45]), ("triplet", [0, 5, 10, 50])])
def test_extra_pulses_lead_each_on_time(start: str, first: list[float]) -> None:
    scene = scene_with(train__start=start, train__leading_interval_ms=5.0, train__frequency_hz=25.0,
                       timing__on_s=4.0, timing__off_s=6.0)
    onset = pulse_train(scene).onset_s
    for t0 in (0.0, 10.0):
        within = onset[(onset >= t0) & (onset < t0 + 4)]
        np.testing.assert_allclose(1e3 * (within[: len(first)] - t0), first, atol=1e-9)


def test_second_channel_together_or_in_turns() -> None:
    first = Channel(timing=Timing(on_s=5.0, off_s=5.0))
    together = Scene(channel=(first, first))
    turns = Scene(channel=(first, Channel(timing=Timing(on_s=5.0, off_s=5.0, delay_s=5.0))))
    np.testing.assert_array_equal(pulse_train(together, 1).onset_s, pulse_train(together, 0).onset_s)
    one, two = pulse_train(turns, 0).span_s, pulse_train(turns, 1).span_s
    assert np.all(one[:180, 1] <= two[:180, 0])
    assert np.all(two[:179, 1] <= one[1:180, 0])


def test_delay_while_held_starts_later_and_ends_with_the_press() -> None:
    scene = scene_with(**HELD, **NO_RAMP, timing__delay_s=1.0)
    train = pulse_train(scene, held=[(2.0, 5.0), (7.0, 7.5)], duration_s=10.0)
    np.testing.assert_allclose(train.span_s, [[3.0, 5.0]])


def test_emergency_stop_is_at_once() -> None:
    scene = scene_with(timing__on_s=8.0)
    whole = pulse_train(scene, duration_s=20.0)
    stop_s = float(whole.onset_s[100]) + 1e-4  # in the middle of a pulse
    stopped = pulse_train(scene, duration_s=20.0, stop_s=stop_s)
    np.testing.assert_array_equal(stopped.onset_s, whole.onset_s[:100])
    assert stopped.end_s[-1] <= stop_s
    assert stopped.span_s[-1, 1] == stop_s
    assert len(pulse_train(scene, stop_s=0.0)) == 0


def test_settings_are_carried_and_arrays_are_locked() -> None:
    train = pulse_train(scene_with(pads__swap=True, pulse__shape="asymmetric", pulse__gap_us=100.0))
    assert (train.sign, train.shape, train.gap_us, train.phase_ratio) == (-1, "asymmetric", 100.0, 4.0)
    assert train.duration_s == 60.0
    with pytest.raises(ValueError, match="read-only"):
        train.onset_s[0] = 1.0
    part = train.part(3, 5)
    np.testing.assert_array_equal(part.onset_s, train.onset_s[3:5])
    assert isinstance(part, PulseTrain)


# Common practice, no source: what a person at a stimulator counts on.

def full_cycles(train: PulseTrain, on_s: float) -> int:
    return int(np.sum(train.span_s[:, 1] - train.span_s[:, 0] >= on_s - 1e-9))


def test_thirty_minutes_of_9_s_on_and_5_s_off_have_128_full_cycles() -> None:
    scene = scene_with(timing__on_s=9.0, timing__off_s=5.0, minutes=30.0)
    assert full_cycles(pulse_train(scene), 9.0) == 1 + (1800 - 9) // 14 == 128


def test_twin_ramps_counted_outside_have_fewer_cycles() -> None:
    scene = scene_with(timing__on_s=9.0, timing__off_s=5.0, timing__ramps_inside=False, minutes=30.0)
    assert full_cycles(pulse_train(scene), 9.0) != 128


def test_held_without_ramps_is_on_exactly_while_pressed() -> None:
    train = pulse_train(scene_with(**HELD, **NO_RAMP), held=[(1.0, 2.5), (4.0, 9.0)], duration_s=20.0)
    np.testing.assert_array_equal(train.span_s, [[1.0, 2.5], [4.0, 9.0]])
    inside = [np.any((t >= train.span_s[:, 0]) & (t < train.span_s[:, 1])) for t in train.onset_s]
    assert all(inside)
    assert len(train) == math.ceil(1.5 * 35) + 5 * 35


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ({"channel": 1}, "'channel' must be 0 to 0 (got 1): count channels from 0"),
        ({"channel": True}, "'channel' must be 0 to 0 (got True): count channels from 0"),
        ({"duration_s": -1.0}, "'duration_s' must be 0 to 10800 s (got -1)"),
        ({"duration_s": math.nan}, "'duration_s' must be 0 to 10800 s (got nan)"),
        ({"duration_s": "2"}, "'duration_s' must be a time in s (got '2')"),
        ({"stop_s": -0.5}, "'stop_s' must be 0 s or more (got -0.5)"),
        ({"held": [(0, 1), (3,)]}, "'held.1' must be a pair of press and release, s (got (3,))"),
        ({"held": [4.0]}, "'held.0' must be a pair of press and release, s (got 4)"),
        ({"held": [(-1, 1)]},
         "'held.0' must be pressed at 0 s or later (got -1): count seconds from the start of the session"),
        ({"held": [(3, 2)]}, "'held.0' must be released at or after its press (3 s) (got 2)"),
        ({"held": [(3, math.nan)]}, "'held.0' must be released at or after its press (3 s) (got nan)"),
    ],
)
def test_errors_say_what_to_do(arguments: dict, message: str) -> None:
    with pytest.raises(SceneError) as caught:
        pulse_train(scene_with(**HELD), **arguments)
    assert str(caught.value) == message


def test_no_pulse_of_a_timed_cycle_runs_into_the_next_on_time() -> None:
    # on for 1.0003 s, no rest: the pulse due at 1 s would still run when the next on time begins
    scene = Scene(channel=(Channel(
        train=Train(frequency_hz=30.0), pulse=Pulse(phase_us=300.0, gap_us=0.0), ramp=Ramp(up_s=0.0, down_s=0.0),
        timing=Timing(on_s=1.0003, off_s=0.0)),))
    train = pulse_train(scene, duration_s=2.5)
    assert (train.end_s[:-1] <= train.onset_s[1:] + 1e-12).all()
    assert train.onset_s[29:31] == pytest.approx([29 / 30, 1.0003], abs=1e-9)


def test_a_rest_long_enough_keeps_that_pulse() -> None:
    """Twin: with a rest of 1 ms the pulse due at 1 s ends in time, and stays."""
    scene = Scene(channel=(Channel(
        train=Train(frequency_hz=30.0), pulse=Pulse(phase_us=300.0, gap_us=0.0), ramp=Ramp(up_s=0.0, down_s=0.0),
        timing=Timing(on_s=1.0003, off_s=0.001)),))
    assert pulse_train(scene, duration_s=2.5).onset_s[30] == pytest.approx(1.0)
