"""Force and tiring: against the equations solved apart, orders of convergence, layers, extremes, errors."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from graspwave.simulator import facts
from graspwave.simulator.muscle import fused_force, muscle_force, parameter_set, session_force, steady_force_fraction
from graspwave.simulator.muscle.activation import activation_spans
from graspwave.simulator.muscle.force import span_maps
from graspwave.simulator.muscle.scan import linear_scan

sys.path.insert(0, str(Path(__file__).parent / "reference"))
from force_solver import solve_session

OF_PEAK = 1e-3  # agreement asked of the engine, of the session's peak force


def ramped(length_s: float, hz: float, on_s: float, off_s: float) -> tuple[np.ndarray, np.ndarray]:
    """Bursts with a doublet at the head and 1-s ramps of recruitment up to 0.75."""
    bursts, shares = [], []
    for start in np.arange(0.0, length_s, on_s + off_s):
        t = np.insert(np.arange(0.0, on_s, 1.0 / hz), 1, 0.005)
        bursts.append(start + t)
        shares.append(0.75 * np.clip(np.minimum(t, on_s - t), 0.0, 1.0) ** 1.5)
    return np.concatenate(bursts), np.concatenate(shares)


def error_of_peak(name: str, hz: float, wrong: float = 1.0) -> float:
    """Largest difference from the solver over 60 s, as a share of peak force."""
    onset, share = ramped(60.0, hz, 7.0, 5.0)
    time = np.arange(0.0, 60.0, 0.0137)
    muscle = parameter_set(name)
    wanted, _ = solve_session(onset, share, time, muscle, rtol=1e-8)
    tried = muscle.tiring_scaled(wrong)
    found = session_force([onset], [share[:, None]], [muscle.peak_force], time, parameters=tried).force_n[:, 0]
    return float(np.abs(found - wanted).max() / wanted.max())


@pytest.mark.parametrize(("name", "hz"), [("able", 40.0), ("paralysed", 20.0), ("quadriceps", 30.0)])
def test_agrees_with_the_solver(name: str, hz: float) -> None:
    assert error_of_peak(name, hz) < OF_PEAK


def test_agrees_with_the_solver_twin() -> None:
    assert error_of_peak("able", 40.0, wrong=1.05) > OF_PEAK


def test_agrees_with_the_solver_over_a_session_and_hours_later() -> None:
    # three minutes of work, five hours of rest, and work again: S is gone by then, the lasting state is not
    onset, share = ramped(180.0, 25.0, 7.0, 5.0)
    again, after = ramped(24.0, 25.0, 7.0, 5.0)
    onset, share = np.concatenate((onset, 18180.0 + again)), np.concatenate((share, after))
    time = np.concatenate((np.arange(0.0, 180.0, 0.0537), np.arange(18180.0, 18204.0, 0.0137)))
    muscle = parameter_set("able")
    wanted, _ = solve_session(onset, share, time, muscle, rtol=1e-7)
    found = session_force([onset], [share[:, None]], [100.0], time, parameters=muscle)
    assert np.abs(found.force_n[:, 0] - wanted).max() < OF_PEAK * wanted.max()
    late = time > 18000.0
    assert found.slow[late, 0].min() < 1e-6 * found.slow.max()
    assert found.lasting[late, 0].min() > 0.5 * found.lasting.max()
    forgets = replace(muscle, lasting_h=1.0)
    other = session_force([onset], [share[:, None]], [100.0], time, parameters=forgets).force_n[:, 0]
    assert np.abs(other - wanted).max() > 50.0 * OF_PEAK * wanted.max()


def test_the_lasting_state_is_the_closed_form() -> None:
    # steady force with nothing that moves it: L' = -L/tau + F (1 - L/L_max)
    held = replace(parameter_set("able"), alpha_a_per_ms2=0.0, alpha_k_m=0.0, alpha_tau_1=0.0, lasting_k_m=1e-12,
                   lasting_a_per_ms2=0.0)
    force = muscle_force(np.arange(0.0, 300.0, 0.01), parameters=held, until_s=300.0)
    found = session_force([np.arange(0.0, 300.0, 0.01)], [np.ones((30000, 1))], [100.0], force.time_s, parameters=held)
    late, time = force.time_s > 1.0, 1e3 * force.time_s
    mean = force.force_n[late].mean()
    rate = mean / held.lasting_max + 1.0 / (3.6e6 * held.lasting_h)
    start = found.lasting[late, 0][0] - mean / rate
    wanted = mean / rate + start * np.exp(-rate * (time[late] - time[late][0]))
    np.testing.assert_allclose(found.lasting[late, 0], wanted, rtol=1e-3)


def test_activation_that_ends_just_before_a_cut_stays_finite() -> None:
    # ten seconds at 30 Hz leave the last cut of the tail a rounding error short of silence
    onset = (20.0 * np.arange(10)[:, None] + np.arange(300) / 30.0).ravel()
    found = session_force([onset], [np.ones((onset.size, 1))], [100.0], [191.0])
    assert np.isfinite(found.lasting).all()
    assert found.lasting[0, 0] > 0.0


def test_fused_force_is_the_mean_of_a_train() -> None:
    muscle = parameter_set("able")
    for hz in (10.0, 35.0):
        assert float(fused_force(hz, 0.0, 0.0)) == pytest.approx(100.0 * steady_force_fraction(hz), rel=2e-3)
    slow, lasting = np.array([0.0, 1e6]), np.array([0.0, 3e6])
    moved = replace(
        muscle, a_rest_per_ms=float(muscle.a_per_ms(slow, lasting)[1]), k_m=float(muscle.k_m_at(slow, lasting)[1]),
        tau_1_ms=muscle.tau_1_ms + 1e6 * muscle.alpha_tau_1,
    )
    assert fused_force(35.0, slow, lasting)[1] == pytest.approx(100.0 * steady_force_fraction(35.0, moved), rel=2e-3)
    assert fused_force(35.0, slow, lasting)[1] < 0.9 * fused_force(35.0, slow, lasting)[0]


def test_agrees_with_the_solver_when_nothing_repeats() -> None:
    rng = np.random.default_rng(5)
    onset = np.cumsum(rng.uniform(0.004, 0.05, 600))
    share = rng.uniform(0.3, 0.9, onset.size)
    time = np.arange(0.0, onset[-1] + 0.5, 0.0173)
    muscle = parameter_set("paralysed")
    wanted, _ = solve_session(onset, share, time, muscle, rtol=1e-8)
    found = session_force([onset], [share[:, None]], [100.0], time, parameters=muscle).force_n[:, 0]
    assert np.abs(found - wanted).max() < OF_PEAK * wanted.max()


def test_no_tiring_is_the_limit_of_weak_tiring() -> None:
    onset = np.arange(0.0, 20.0, 0.03)
    never = muscle_force(onset, tiring=False).force_n
    zero = muscle_force(onset, parameters=parameter_set("able").tiring_scaled(0.0))
    np.testing.assert_allclose(zero.force_n, never, atol=1e-3)
    assert not zero.tired.any()


@pytest.mark.parametrize("nodes", [1, 2, 3])
def test_quadrature_order(nodes: int) -> None:
    # Force built between 20 and 36 ms of a twitch, in 2, 4, 8 spans: its error falls as length ** (2 nodes).
    muscle = parameter_set("paralysed")

    def force(cuts: int, points: int) -> float:
        spans = activation_spans(np.zeros(1), np.linspace(20.0, 36.0, cuts + 1), 40.0, muscle.tau_c_ms)
        here = (spans.start_ms >= 20.0 - 1e-9) & (spans.start_ms < 36.0 - 1e-9)
        maps = span_maps(spans, muscle, np.zeros(1), np.zeros(1), nodes=points)
        return float(linear_scan(maps.a[here], maps.c[here], np.zeros(1))[-1, 0])

    exact = force(8, 10)
    errors = np.array([abs(force(cuts, nodes) - exact) for cuts in (2, 4, 8)])
    order = np.log2(errors[:-1] / errors[1:])
    assert np.all(order > 2 * nodes - 0.4)
    assert np.all(order < 2 * nodes + 1.0)


def test_scan_is_the_recurrence() -> None:
    rng = np.random.default_rng(3)
    a, b = rng.uniform(0.0, 1.0, (57, 2)), rng.normal(size=(57, 2))
    a[10] = 0.0
    x = np.array([2.0, -1.0])
    wanted = np.empty_like(b)
    start = x.copy()
    for i in range(57):
        x = a[i] * x + b[i]
        wanted[i] = x
    np.testing.assert_allclose(linear_scan(a, b, start), wanted, rtol=1e-12, atol=1e-14)


def test_activation_of_one_pulse_peaks_at_tau_c() -> None:
    spans = activation_spans(np.zeros(1), np.array([14.0]), 40.0, 14.0)
    at = int(np.searchsorted(spans.start_ms, 14.0))
    assert spans.q[0, at] == pytest.approx(np.exp(-1.0), rel=1e-12)


def test_samples_are_close_and_cover_the_train() -> None:
    force = muscle_force([0.0, 0.3])
    assert np.diff(force.time_s).max() <= 0.005
    assert force.time_s[0] == 0.0
    assert force.time_s[-1] == pytest.approx(0.8)


def test_no_pulse_no_force() -> None:
    assert not muscle_force([]).force_n.any()
    late = muscle_force([2.0], until_s=1.0)
    assert not late.force_n.any()
    assert not late.tired.any()


def test_thousand_hertz_and_far_apart() -> None:
    fast = muscle_force(np.arange(2000) / 1000.0, tiring=False)
    assert 100.0 < fast.force_n.max() < 115.0
    far = muscle_force([0.0, 900.0], until_s=901.0)
    first = far.force_n[far.time_s < 1.0].max()
    assert far.force_n[far.time_s > 899.0].max() == pytest.approx(first, rel=2e-3)  # one twitch leaves a trace for days
    assert np.isfinite(far.force_n).all()


def test_two_pulses_at_once_and_samples_at_pulses() -> None:
    both = session_force([[0.0, 0.0, 0.1]], [np.ones((3, 1))], [100.0], [0.0, 0.1, 0.1, 0.2])
    assert both.force_n[0, 0] == 0.0
    assert both.force_n[1, 0] == both.force_n[2, 0] > 0.0


def test_samples_do_not_change_force() -> None:
    onset, share = ramped(24.0, 33.0, 7.0, 5.0)
    wide = session_force([onset], [share[:, None]], [1.0], np.arange(0.0, 24.0, 0.5)).force_n
    fine = session_force([onset], [share[:, None]], [1.0], np.arange(0.0, 24.0, 0.005)).force_n[::100]
    np.testing.assert_allclose(wide, fine, atol=3e-4 * fine.max(), rtol=0)


def test_each_muscle_and_train_stands_alone() -> None:
    onset, share = ramped(24.0, 40.0, 7.0, 5.0)
    second = 0.004 + onset
    pair = np.stack((share, 0.4 * share, 0.0 * share), axis=1)
    none = np.zeros_like(pair)
    time = np.arange(0.0, 24.0, 0.02)
    both = session_force([onset, second], [pair, none], [50.0, 20.0, 70.0], time)
    alone = session_force([onset], [pair[:, 1:2]], [20.0], time)
    np.testing.assert_allclose(both.force_n[:, 1], alone.force_n[:, 0], atol=2e-4 * 20.0)
    assert not both.force_n[:, 2].any()
    assert not both.tired[:, 2].any()


def test_recruited_part_tires_as_the_published_model_does() -> None:
    onset = np.arange(0.0, 20.0, 0.025)
    full, half = muscle_force(onset), muscle_force(onset, 0.5)
    np.testing.assert_allclose(half.force_n, 0.5 * full.force_n, rtol=1e-6)
    np.testing.assert_allclose(half.tired, full.tired, rtol=1e-6)


def test_units_recruited_late_are_fresh() -> None:
    onset = np.arange(0.0, 60.0, 0.025)
    step = np.where(onset < 40.0, 0.5, 1.0)
    raised = muscle_force(onset, step)
    fresh = muscle_force(onset[onset < 2.0]).force_n.max()
    gain = raised.force_n[raised.time_s > 40.0].max() - raised.force_n[np.searchsorted(raised.time_s, 39.9)]
    assert gain == pytest.approx(0.5 * fresh, rel=0.15)  # a layer of 0.2 straddles the half: a tenth is tired


def test_weak_muscle_tires_like_a_strong_one() -> None:
    base = parameter_set("able")
    weak = replace(base, a_rest_per_ms=0.2 * base.a_rest_per_ms, alpha_k_m=base.alpha_k_m / 0.2,
                   alpha_tau_1=base.alpha_tau_1 / 0.2, lasting_k_m=base.lasting_k_m / 0.2,
                   lasting_max=0.2 * base.lasting_max, peak_force=0.2 * base.peak_force)
    onset = np.arange(0.0, 30.0, 0.025)
    np.testing.assert_allclose(
        muscle_force(onset, parameters=weak).force_n, 0.2 * muscle_force(onset).force_n, rtol=2e-3, atol=1e-4
    )


def test_slow_states_are_the_published_ones() -> None:
    onset = np.arange(0.0, 30.0, 0.025)
    force = muscle_force(onset, until_s=40.0)
    muscle = parameter_set("able")
    time = 1e3 * force.time_s
    tau = 1e3 * muscle.tau_fat_s
    grown = np.exp(time / tau) * force.force_n
    s = np.exp(-time / tau) * np.concatenate(([0.0], np.cumsum(0.5 * np.diff(time) * (grown[1:] + grown[:-1]))))
    late = time > 500.0
    impulse = np.concatenate(([0.0], np.cumsum(0.5 * np.diff(time) * (force.force_n[1:] + force.force_n[:-1]))))
    lasting = -muscle.lasting_max * np.expm1(-impulse / muscle.lasting_max)  # no time to recover in 40 s
    a = muscle.a_rest_per_ms + muscle.alpha_a_per_ms2 * s + muscle.lasting_a_per_ms2 * lasting
    np.testing.assert_allclose(force.a_per_ms[late], a[late], rtol=2e-3)
    k_m = muscle.k_m + muscle.alpha_k_m * s + muscle.lasting_k_m * lasting
    np.testing.assert_allclose(force.k_m[late], k_m[late], rtol=2e-3)
    np.testing.assert_allclose(force.tau_1_ms[late], (muscle.tau_1_ms + muscle.alpha_tau_1 * s)[late], rtol=2e-3)
    assert force.tired[-1] == pytest.approx(1.0 - force.a_per_ms[-1] / force.a_rest_per_ms, rel=1e-9)


def test_steady_fraction_rises_to_one() -> None:
    share = np.array([steady_force_fraction(hz) for hz in (5.0, 10.0, 20.0, 35.0, 50.0, 100.0)])
    assert np.all(np.diff(share) > 0.0)
    assert share[-1] == pytest.approx(1.0, abs=0.02)
    assert 0.7 < share[3] < 1.0


def test_full_forces_are_the_models_times_the_adult_factor() -> None:
    for kind, names in (("extensors", "ecrl ecrb ecu edc edm eip epl epb apl"), ("flexors", "fds fdp fpl fcr fcu pl")):
        for name in names.split():
            wanted = facts.number(f"architecture.{name}.model_force_n") * facts.number(f"architecture.adult.{kind}")
            assert facts.number(f"architecture.{name}.force_n") == pytest.approx(wanted, abs=0.051), name


@pytest.mark.parametrize(
    ("call", "text"),
    [
        (lambda: muscle_force([0.2, 0.1]), "'onset_s' must be rising (got 0.1 after 0.2); sort it"),
        (lambda: muscle_force([-0.1]), "'onset_s' must be finite and at least 0 (got -0.1); drop that time"),
        (lambda: muscle_force([0.0], 1.5),
         "'recruited' must be 0 to 1 (got 1.5); it is a fraction of the muscle, not per cent"),
        (lambda: muscle_force([0.0], [0.5, 0.5]),
         "'recruited' must be of shape (1,), a row for each pulse (got (2,)); match the pulses and the muscles"),
        (lambda: muscle_force([0.0], parameters="biceps"),
         "'parameters' must be one of quadriceps, able, paralysed, resistant, forearm extensors (got 'biceps'); "
         "or pass a MuscleParameters record"),
        (lambda: muscle_force([0.0], until_s=-1.0),
         "'until_s' must be finite and above 0 (got -1); leave it out for the whole train"),
        (lambda: replace(parameter_set("quadriceps"), tau_c_ms=-1.0),
         "'parameters.tau_c_ms' must be finite and above 0 (got -1); check its unit"),
        (lambda: steady_force_fraction(0.0),
         "'frequency_hz' must be above 0, to 1000 (got 0); stimulators use 1 to 100"),
        (lambda: session_force([[0.0]], [np.ones((2, 1))], [1.0], [0.0]),
         "'recruited[0]' must be of shape (1, 1), a row for each pulse (got (2, 1)); match the pulses and the muscles"),
        (lambda: session_force([[0.0]], [], [1.0], [0.0]),
         "'recruited' must be one array for each of 1 trains (got 0); pass one a train"),
    ],
)
def test_errors(call: object, text: str) -> None:
    with pytest.raises(ValueError) as caught:  # noqa: PT011 the whole text is compared
        call()  # type: ignore[operator]
    assert str(caught.value) == text


def test_a_vanishing_share_is_no_muscle_at_all() -> None:
    # the foot of a ramp: a share far below one motor unit must give no force, and no warning
    onset = np.arange(10) / 35.0
    force = session_force([onset], [np.full((10, 2), 1e-50)], [100.0, 100.0], np.linspace(0.0, 0.5, 50))
    assert not force.force_n.any()
