"""The cable's numerics, its table and its errors. Published numbers are under tests/reference."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from graspwave.simulator.axon import axon_threshold, fire, spike_mv, threshold_field_v_m, velocity_m_s
from graspwave.simulator.axon.cable import Fibres, internode_mm, membrane
from graspwave.simulator.axon.make_table import GAP_US, PHASE_US, SHARE, fields_v_m
from graspwave.simulator.axon.table import field_table
from graspwave.simulator.scene import SceneError

END_MV, PULSE_MS, NODES = 20.0, 0.2, 12  # a stimulus above threshold at the end of a short axon


def voltage(step_ms: float, until_ms: float) -> np.ndarray:
    drive = np.zeros((1, NODES))
    drive[0, 0] = END_MV
    fibres = Fibres(drive, np.array([True]), step_ms)
    for k in range(round(until_ms / step_ms)):
        fibres.step(np.array([float((k + 0.5) * step_ms < PULSE_MS)]))
    return fibres.v_mv[0]


def by_general_solver(until_ms: float, gain: float = 1.0) -> np.ndarray:
    """The same equations, written out for one axon and given to a stiff solver with tight tolerance."""
    cell = membrane()

    def change(t: float, state: np.ndarray, on: float) -> np.ndarray:
        v, gates = state[:NODES], list(state[NODES:].reshape(4, NODES))
        padded = np.concatenate([v[:1], v, v[-1:]])
        bend = padded[2:] - 2.0 * v + padded[:-2]
        bend[0] += END_MV * on
        dv = (gain * cell.coupling_ms_cm2 * bend - cell.ionic(v, gates)[0]) / cell.capacitance_uf_cm2
        r = cell.gate_rates(v)
        return np.concatenate([dv, *(r[2 * i] * (1.0 - g) - r[2 * i + 1] * g for i, g in enumerate(gates))])

    state = np.concatenate([np.zeros(NODES), np.repeat(cell.resting_gates(), NODES)])
    for start, stop, on in ((0.0, PULSE_MS, 1.0), (PULSE_MS, until_ms, 0.0)):
        state = solve_ivp(change, (start, stop), state, "BDF", args=(on,), rtol=1e-7, atol=1e-8).y[:, -1]
    return state[:NODES]


def agrees(found: np.ndarray, expected: np.ndarray) -> bool:
    """Within 1 mV at every node: 1 % of the spike, on whose flank a node moves 100 mV in 0.1 ms."""
    return bool(np.abs(found - expected).max() < 1.0)


def test_agrees_with_a_general_solver_in_mid_flight():
    expected = by_general_solver(0.4)
    assert expected.max() > 100.0  # a spike is under way
    assert expected.min() < 20.0
    assert agrees(voltage(0.00125, 0.4), expected)


def test_a_coupling_five_percent_off_does_not_agree():
    assert not agrees(voltage(0.00125, 0.4), by_general_solver(0.4, gain=1.05))


def test_steps_are_second_order():
    true = voltage(0.0003125, 0.3)
    errors = [np.abs(voltage(step, 0.3) - true).max() for step in (0.01, 0.005, 0.0025)]
    assert 3.5 < errors[0] / errors[1] < 4.7  # 4 for the second order, 2 for the first, 8 for the third
    assert 3.5 < errors[1] / errors[2] < 4.7


def test_thresholds_do_not_hang_on_the_time_step():
    phase = [10.0, 30.0, 100.0]
    fine = axon_threshold(phase, step_us=0.625)
    assert axon_threshold(phase) == pytest.approx(fine, rel=4e-3)  # 0.3 % of the step, 0.1 % of the search
    assert axon_threshold(phase, step_us=20.0) != pytest.approx(fine, rel=4e-3)


def test_thresholds_do_not_hang_on_the_number_of_nodes():
    assert axon_threshold(100.0, spare_nodes=32) == pytest.approx(axon_threshold(100.0), rel=2e-3)
    assert axon_threshold(300.0, uniform=True, spare_nodes=32) == pytest.approx(
        axon_threshold(300.0, uniform=True), rel=2e-3
    )


def test_diameter_scales_speed_and_field():
    assert velocity_m_s([6.0, 12.0]) == pytest.approx(velocity_m_s(20.0) * np.array([0.3, 0.6]), rel=1e-12)
    field = axon_threshold(200.0, [10.0, 20.0], uniform=True)
    assert field[0] == pytest.approx(2.0 * field[1], rel=2e-3)
    assert threshold_field_v_m(200.0, diameter_um=6.0) == pytest.approx(2.0 * threshold_field_v_m(200.0), rel=1e-12)


def test_threshold_is_where_firing_begins():
    least = float(axon_threshold(100.0))
    assert not fire(0.995 * least, until_us=4000.0).fired
    assert fire(1.005 * least, until_us=4000.0).fired
    ended = float(axon_threshold(300.0, 12.0, shape="symmetric", gap_us=50.0, uniform=True))
    kind = {"phase_us": 300.0, "diameter_um": 12.0, "shape": "symmetric", "gap_us": 50.0, "uniform": True}
    assert not fire(0.995 * ended, until_us=4000.0, **kind).fired
    assert fire(1.005 * ended, until_us=4000.0, **kind).fired


def test_picture_of_a_spike():
    both = fire(1.0, until_us=1500.0)
    assert both.voltage_mv.shape == (both.time_us.size, both.place_mm.size) == (151, 61)
    assert both.voltage_mv == pytest.approx(both.voltage_mv[:, ::-1])
    assert both.place_mm[[0, 30, 60]] == pytest.approx([-60.0, 0.0, 60.0])
    assert both.voltage_mv[:, 45].max() == pytest.approx(spike_mv(), rel=0.01)
    one = fire(20.0, 300.0, 12.0, uniform=True)
    assert one.place_mm[1] == pytest.approx(internode_mm(12.0))
    assert one.fired


def test_extremes_of_the_range_have_a_threshold():
    shortest, longest = axon_threshold([1.0, 10000.0])
    assert shortest > 50.0 * longest
    far = axon_threshold(300.0, 20.0, [10.0, 20.0])
    assert far[1] > 5.0 * far[0]
    assert np.isinf(axon_threshold(300.0, 12.0, polarity="anode", uniform=True))
    assert axon_threshold([]).shape == (0,)


def same(found: np.ndarray, expected: np.ndarray) -> bool:
    finite = np.isfinite(expected)
    if (np.isfinite(found) != finite).any():
        return False
    return bool(np.abs(found[finite] / expected[finite] - 1.0).max() < 2e-3)  # each search stops within 0.1 %


def test_table_is_the_cable():
    table = field_table()
    at = np.ix_([0, 1], [0, 3, 6], [6], [6, 18])
    made = fields_v_m(PHASE_US[[6, 18]], GAP_US[[6]], SHARE[[0, 3, 6]])
    assert same(table.field_v_m[at], made)
    assert not same(1.01 * table.field_v_m[at], made)


@pytest.mark.parametrize("polarity", ["cathode", "anode"])
@pytest.mark.parametrize(("shape", "ratio"), [("symmetric", 1.0), ("asymmetric", 4.0)])
def test_table_between_its_entries(shape, ratio, polarity):
    phase, gap = np.array([38.3, 310.0]), np.array([3.0, 130.0])
    cable = axon_threshold(phase, 12.0, shape=shape, gap_us=gap, polarity=polarity, phase_ratio=ratio, uniform=True)
    read = threshold_field_v_m(phase, gap, shape, ratio, polarity, anode_ratio=np.inf)
    assert read == pytest.approx(cable, rel=0.01)  # what the docstring promises
    for i in range(phase.size):  # one gap takes another way through the table
        alone = threshold_field_v_m(phase[i], gap[i], shape, ratio, polarity, anode_ratio=np.inf)
        assert alone == pytest.approx(read[i], rel=1e-6)


def test_table_shapes_and_order():
    assert threshold_field_v_m(300.0).shape == ()
    assert threshold_field_v_m(np.full((2, 3), 300.0), 50.0, "symmetric").shape == (2, 3)
    assert threshold_field_v_m(np.full(3, 300.0), np.zeros((4, 1)), "symmetric").shape == (4, 3)
    assert threshold_field_v_m([]).shape == (0,)
    single, uneven, even = (threshold_field_v_m(100.0, 0.0, s) for s in ("monophasic", "asymmetric", "symmetric"))
    assert single < uneven < even
    assert threshold_field_v_m(100.0, 0.0, "asymmetric", 1.0) == pytest.approx(even)
    assert threshold_field_v_m(100.0, 300.0) == single


@pytest.mark.parametrize(
    ("call", "text"),
    [
        (
            lambda: axon_threshold(0.5),
            "'phase_us' must be 1 to 10000 (got 0.5): use 20 to 1000 for a stimulator's pulse",
        ),
        (lambda: axon_threshold(100.0, 1.0), "'diameter_um' must be 2 to 30 (got 1): motor axons are 8 to 20"),
        (
            lambda: axon_threshold(100.0, distance_mm=80.0),
            "'distance_mm' must be 0.1 to 50 (got 80): use uniform=True for a source farther away",
        ),
        (
            lambda: axon_threshold([100.0, np.nan]),
            "'phase_us' must be 1 to 10000 (got nan): use 20 to 1000 for a stimulator's pulse",
        ),
        (
            lambda: axon_threshold(100.0, shape="saw"),
            "'shape' must be one of monophasic, symmetric, asymmetric (got 'saw')",
        ),
        (lambda: fire(1.0, polarity="red"), "'polarity' must be one of cathode, anode (got 'red')"),
        (lambda: fire(-1.0), "'amplitude' must be 0 or more (got -1): turn the pulse round with polarity"),
        (lambda: fire(1.0, nodes=4), "'nodes' must be 8 or more (got 4): a spike needs room to travel"),
        (
            lambda: threshold_field_v_m(300.0, diameter_um=0.0),
            "'diameter_um' must be 2 to 30 (got 0): motor axons are 8 to 20",
        ),
        (
            lambda: threshold_field_v_m([300.0, 10.0]),
            "'phase_us' must be 20 to 1000 (got 10): the table ends there; run axon_threshold beyond",
        ),
        (
            lambda: threshold_field_v_m(300.0, 600.0),
            "'gap_us' must be 0 to 500 (got 600): a longer gap acts as the longest",
        ),
        (
            lambda: threshold_field_v_m(300.0, 0.0, "asymmetric", 20.0),
            "'phase_ratio' must be 1 to 10 (got 20): 1 is a symmetric pulse",
        ),
    ],
)
def test_errors_say_what_to_do(call, text):
    with pytest.raises(SceneError) as caught:
        call()
    assert str(caught.value) == text
