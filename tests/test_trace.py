"""The drawn line against the current itself, found pulse by pulse without the code under test."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pulse_settings import presses, scene_with, scenes

from graspwave.simulator.pulses import PulseTrain, pulse_train
from graspwave.simulator.scene import Scene, SceneError
from graspwave.simulator.trace import trace_current


def parts(train: PulseTrain) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Start, end and current of every phase, from onset, height and length alone."""
    on, w = train.onset_s, 1e-6 * train.phase_us
    start, end, height = [on], [on + w], [train.amplitude_ma]
    if train.phase_ratio:
        start.append(on + 1e-6 * (train.phase_us + train.gap_us))
        end.append(on + 1e-6 * (train.phase_us * (1 + train.phase_ratio) + train.gap_us))
        height.append(-train.amplitude_ma / train.phase_ratio)
    order = np.argsort(np.concatenate(start), kind="stable")
    sign = -1.0 if train.swap else 1.0
    return (np.concatenate(start)[order], np.concatenate(end)[order], sign * np.concatenate(height)[order])


def true_extremes(train: PulseTrain, t0: float, t1: float) -> tuple[float, float]:
    """Highest and lowest current in an open window; rest (0) counts where the phases do not fill it."""
    start, end, height = parts(train)
    seen = (start < t1) & (end > t0) & (end > start)
    filled = np.sum(np.minimum(end[seen], t1) - np.maximum(start[seen], t0)) >= (t1 - t0) * (1 - 1e-9)
    values = height[seen] if filled and seen.any() else np.append(height[seen], 0.0)
    return float(values.max()), float(values.min())


def points_a_pixel(t_s: np.ndarray, t0: float, t1: float, pixels: int) -> int:
    edges = np.linspace(t0, t1, pixels + 1)
    return int(np.bincount(np.clip(np.searchsorted(edges, t_s, "right") - 1, 0, pixels - 1)).max())


def integral(t_s: np.ndarray, y: np.ndarray) -> float:
    return float(np.sum(0.5 * (y[1:] + y[:-1]) * np.diff(t_s)))


windows = st.tuples(st.floats(0.0, 30.0), st.floats(math.log(5e-5), math.log(60.0)).map(math.exp))


@settings(deadline=None, derandomize=True, max_examples=300)
@given(scene=scenes(), held=presses(), window=windows, pixels=st.integers(1, 1500))
def test_no_peak_is_lost_and_points_are_few(
    scene: Scene, held: list[tuple[float, float]], window: tuple[float, float], pixels: int
) -> None:
    train = pulse_train(scene, held=held, duration_s=30.0)
    t0, t1 = window[0], window[0] + window[1]
    t_s, current = trace_current(train, t0, t1, pixels)
    assert np.all(np.diff(t_s) >= 0.0)
    assert t_s[0] >= t0
    assert t_s[-1] <= t1
    assert points_a_pixel(t_s, t0, t1, pixels) <= 4
    assert len(t_s) <= 4 * pixels
    top, bottom = true_extremes(train, t0, t1)
    # a window whose edge falls on the edge of a phase may see it or not: then both readings are right
    near = 1e-12
    wide, narrow = true_extremes(train, t0 - near, t1 + near), true_extremes(train, t0 + near, t1 - near)
    assert current.max() in (top, wide[0], narrow[0])
    assert current.min() in (bottom, wide[1], narrow[1])


@settings(deadline=None, derandomize=True, max_examples=60)
@given(scene=scenes("cycle"), window=windows, pixels=st.integers(5, 60))
def test_each_pixel_reaches_its_own_peaks(scene: Scene, window: tuple[float, float], pixels: int) -> None:
    train = pulse_train(scene, duration_s=30.0)
    t0, t1 = window[0], window[0] + window[1]
    t_s, current = trace_current(train, t0, t1, pixels)
    edges = np.linspace(t0, t1, pixels + 1)
    for a, b in pairwise(edges):
        line = np.append(np.interp(a + 1e-11, t_s, current), current[(t_s >= a) & (t_s < b)])
        top, bottom = true_extremes(train, a + 1e-10, b - 1e-10)
        assert line.max() >= top - 1e-9
        assert line.min() <= bottom + 1e-9
        # points may lie on the edge of a pixel, where its neighbour's current counts as well
        top, bottom = true_extremes(train, a - 1e-10, b + 1e-10)
        assert np.all(line[1:] <= top)
        assert np.all(line[1:] >= bottom)


def test_edges_of_one_pulse_are_true() -> None:
    train = pulse_train(scene_with(ramp__up_s=0.0, pulse__gap_us=100.0))
    t_s, current = trace_current(train, -1e-4, 1e-3, 1000)
    np.testing.assert_allclose(1e6 * t_s, [-100, 0, 0, 300, 300, 400, 400, 700, 700, 1000], atol=1e-9)
    np.testing.assert_array_equal(current, [0, 0, 20, 20, 0, 0, -20, -20, 0, 0])


def test_asymmetric_second_phase_is_longer_and_weaker() -> None:
    train = pulse_train(scene_with(ramp__up_s=0.0, pulse__shape="asymmetric", pulse__phase_ratio=4.0))
    t_s, current = trace_current(train, -1e-4, 2e-3, 2000)
    np.testing.assert_allclose(1e6 * t_s, [-100, 0, 0, 300, 300, 1500, 1500, 2000], atol=1e-9)
    np.testing.assert_array_equal(current, [0, 0, 20, 20, -5, -5, 0, 0])


def test_monophasic_never_turns() -> None:
    t_s, current = trace_current(pulse_train(scene_with(pulse__shape="monophasic")), 0.0, 60.0, 800)
    assert current.min() == 0.0
    assert current.max() == 20.0
    assert len(t_s) <= 3200


def test_window_within_a_phase_is_level() -> None:
    train = pulse_train(scene_with(ramp__up_s=0.0))
    t_s, current = trace_current(train, 100e-6, 150e-6, 800)
    np.testing.assert_array_equal(current, [20.0, 20.0])
    np.testing.assert_array_equal(t_s, [100e-6, 150e-6])


@pytest.mark.parametrize("window", [(-5.0, -1.0), (100.0, 200.0), (9.0, 20.0)])
def test_rest_is_zero(window: tuple[float, float]) -> None:
    t_s, current = trace_current(pulse_train(scene_with(), duration_s=60.0), *window, 800)
    np.testing.assert_array_equal(current, 0.0)
    np.testing.assert_array_equal(t_s, window)


def lone_pulse() -> PulseTrain:
    scene = scene_with(timing__control="held", ramp__up_s=0.0, ramp__down_s=0.0, train__frequency_hz=1.0)
    return pulse_train(scene, held=[(1234.5, 1234.6)], duration_s=3600.0)


def shows_both_peaks(current_ma: np.ndarray) -> bool:
    return (current_ma.max(), current_ma.min()) == (20.0, -20.0)


def test_lone_pulse_in_an_hour_is_seen() -> None:
    assert shows_both_peaks(trace_current(lone_pulse(), 0.0, 3600.0, 300)[1])


def test_twin_sampling_misses_the_lone_pulse() -> None:
    start, end, height = parts(lone_pulse())
    t_s = np.linspace(0.0, 3600.0, 1200)
    sampled = sum(np.where((t_s >= a) & (t_s < b), h, 0.0) for a, b, h in zip(start, end, height, strict=True))
    assert not shows_both_peaks(np.asarray(sampled))


@settings(deadline=None, derandomize=True, max_examples=60)
@given(scene=scenes("cycle"), window=windows)
def test_swapped_leads_change_only_the_sign(scene: Scene, window: tuple[float, float]) -> None:
    """Common practice, no source: which lead goes to which pad does not change the pulse."""
    shots = []
    for swap in (False, True):
        train = pulse_train(scene.replace("channel.0.pads.swap", swap), duration_s=30.0)
        shots.append(trace_current(train, window[0], window[0] + window[1], 700))
    np.testing.assert_array_equal(shots[0][0], shots[1][0])
    np.testing.assert_array_equal(shots[0][1], -shots[1][1])


@settings(deadline=None, derandomize=True, max_examples=100)
@given(scene=scenes("cycle"), k=st.integers(0, 50))
def test_charge_of_each_pulse_is_the_area_under_the_line(scene: Scene, k: int) -> None:
    train = pulse_train(scene, duration_s=30.0)
    if k >= len(train):
        return
    t_s, current = trace_current(train, train.onset_s[k], train.end_s[k], 4000)
    current = current * train.sign
    # onsets of up to 30 s hold 3.6e-15 s, of phases of 20 us and more: 2e-10
    scale = 1e-3 * train.amplitude_ma[k] * max(train.phase_us[k], 1.0)
    assert 1e3 * integral(t_s, np.maximum(current, 0.0)) == pytest.approx(train.charge_uc[k], abs=1e-8 * scale)
    if train.phase_ratio:
        assert 1e3 * integral(t_s, current) == pytest.approx(0.0, abs=1e-8 * scale)


@pytest.mark.parametrize("shape", ["symmetric", "monophasic"])
def test_points_do_not_grow_with_the_session(shape: str) -> None:
    scene = scene_with(timing__off_s=0.0, pulse__shape=shape)
    counts = []
    for minutes in (3, 60, 180):
        train = pulse_train(scene.replace("session.minutes", minutes))
        counts.append([len(trace_current(train, 60.0, 60.0 + w, 1200)[0]) for w in (5e-5, 0.01, 1.0, 60.0, 100.0)])
    assert counts[0] == counts[1] == counts[2]


@pytest.mark.parametrize(
    ("window", "pixels", "message"),
    [
        ((2.0, 2.0), 100, "'t1_s' must be later than t0_s (2 s) (got 2)"),
        ((2.0, math.nan), 100, "'t1_s' must be later than t0_s (2 s) (got nan)"),
        ((0.0, 1.0), 0, "'pixels' must be a whole number, at least 1 (got 0)"),
        ((0.0, 1.0), 10.5, "'pixels' must be a whole number, at least 1 (got 10.5)"),
        ((0.0, 1.0), True, "'pixels' must be a whole number, at least 1 (got True)"),
    ],
)
def test_errors_say_the_rule(window: tuple[float, float], pixels: int, message: str) -> None:
    with pytest.raises(SceneError) as caught:
        trace_current(pulse_train(scene_with()), *window, pixels)
    assert str(caught.value) == message
