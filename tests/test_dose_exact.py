"""What a dose says of itself, and its charges one worked example each (gaps that `tests.bench.mutants` found)."""

from __future__ import annotations

import math

import pytest

from graspwave import simulator as sim
from graspwave.simulator.dose import _at_most, _down, _kind, _percent, _up
from graspwave.simulator.electrode import dried, load_current, skin_circuit
from graspwave.simulator.facts import fact
from graspwave.simulator.words import said

STRONG = sim.presets()["tight"].replace("channel.0.pads.size_cm2", 4).replace("channel.0.pulse.amplitude_ma", 60)


def test_a_dose_says_what_is_past_its_limit_and_draws_parts_of_limits() -> None:
    dose = sim.dose_of(STRONG)
    over = [notice.quantity for notice in dose.notices if notice.kind == "over"]
    assert 0 < len(over) < len(dose.notices)
    assert repr(dose).split("\n")[-1].strip() == f"past its limit: {', '.join(over)}"
    mild = sim.dose_of(STRONG.replace("channel.0.pulse.amplitude_ma", 1))
    assert repr(mild).split("\n")[-1].strip() == f"none of {len(mild.notices)} limits passed"
    drawn = dose.plot().renderers[0].data_source.data
    limited = ("density", "power", "rms", "energy")
    shares = sorted(notice.value / notice.limit for notice in dose.notices if notice.key in limited)
    bars = sorted(value for column in drawn.values() for value in column if isinstance(value, float) and value > 0)
    assert bars == pytest.approx(shares)
    assert list(dose.frame().columns) == ["quantity", "value", "limit", "unit", "stands"]


@pytest.mark.parametrize(("shape", "second"), [("symmetric", 1.0), ("asymmetric", 1.0), ("monophasic", 0.0)])
def test_charges_of_each_shape(shape: str, second: float) -> None:
    scene = sim.presets()["tight"].replace("channel.0.pulse.shape", shape).replace("channel.0.pulse.amplitude_ma", 20)
    dose = sim.dose_of(scene)
    pulse, rate = scene.channel[0].pulse, scene.channel[0].train.frequency_hz
    charge = 20.0 * pulse.phase_us * 1e-3
    assert dose.charge_uc == pytest.approx(charge)
    more = {"symmetric": 1.0, "asymmetric": 1.0 / pulse.phase_ratio, "monophasic": 0.0}[shape]
    assert dose.rms_ma == pytest.approx(20.0 * (1e-6 * pulse.phase_us * rate * (1.0 + more)) ** 0.5)
    assert dose.net_charge_uc == pytest.approx(charge * (1.0 - second), abs=1e-12)
    assert dose.mean_rectified_ma == pytest.approx(1e-3 * charge * (1.0 + second) * rate)
    assert dose.dc_ma == pytest.approx(1e-3 * charge * (1.0 - second) * rate, abs=1e-12)


def test_loads_are_above_nothing_and_finite() -> None:
    assert sim.dose_of(STRONG, load_ohm=0.5).load_ohm == 0.5
    for wrong in (0.0, float("inf")):
        with pytest.raises(sim.SceneError, match="'load_ohm' must be above 0 ohm"):
            sim.dose_of(STRONG, load_ohm=wrong)


def test_a_one_way_pulse_draws_its_direct_current_and_not_what_it_leaves_behind() -> None:
    dose = sim.dose_of(STRONG.replace("channel.0.pulse.shape", "monophasic"))
    drawn = dose.plot().renderers[0].data_source.data
    shares = sorted(n.value / n.limit for n in dose.notices if n.key in ("density", "power", "rms", "energy", "dc"))
    assert sorted(v for column in drawn.values() for v in column if isinstance(v, float) and v > 0) == pytest.approx(shares)


def test_a_line_of_charge_is_drawn_for_the_least_of_charges_and_for_none() -> None:
    small, none = (sim.dose_of(STRONG.replace("channel.0.pulse.amplitude_ma", ma)) for ma in (1.0, 0.0))
    assert small.charge_uc < 1.0
    assert small.shannon_k == pytest.approx(math.log10(small.charge_uc * small.charge_density_uc_cm2))
    assert {n.key: n.text for n in small.notices}["charge"].endswith("the lowest k with damage on nerve tissue was 1.85.")
    assert none.shannon_k == -math.inf
    assert {n.key: n.text for n in none.notices}["charge"] == "No current: no charge."
    one_way = sim.dose_of(STRONG.replace("channel.0.pulse.amplitude_ma", 0.0).replace("channel.0.pulse.shape", "monophasic"))
    assert {n.key: (n.kind, n.text) for n in one_way.notices}["net"] == ("inside", "No current: no net charge.")


def test_a_limit_is_close_from_its_share_on_and_passed_only_past_it() -> None:
    near = fact("dose.limits.close_share").value
    assert [_kind(share) for share in (near - 1e-9, near, 1.0, 1.0 + 1e-9)] == ["inside", "close", "close", "over"]


@pytest.mark.parametrize(("key", "name"), [("rms", "rms_ma"), ("energy", "energy_mj"), ("dc", "dc_ma")])
def test_what_is_close_says_which_part_of_the_limit_it_is(key: str, name: str) -> None:
    limit = fact(f"dose.limits.{name}")
    close = _at_most(key, name, 0.9 * float(limit.value), said("repair.rms"))
    assert close.kind == "close"
    assert close.text.endswith(f" is {close.value:.3g} {limit.unit}, 90 % of {limit.value:g} {limit.unit}.")


def test_what_is_past_by_little_is_told_in_two_digits() -> None:
    assert [_percent(share).told() for share in (0.0523, 0.0999, 0.1, 0.523, 5.23)] == ["5.2 %", "10 %", "10 %", "52 %", "523 %"]


def test_advice_is_rounded_to_the_side_that_is_enough() -> None:
    for tenths in range(1, 600):
        exact = tenths / 10
        assert _up(exact * (1.0 + 1e-13)) == _down(exact * (1.0 - 1e-13)) == exact
        assert _up(exact + 0.01) == pytest.approx(exact + 0.1)
        assert _down(exact + 0.09) == exact


def test_notices_of_a_load_are_of_the_first_channel_until_one_is_named() -> None:
    pulse = STRONG.channel[0].pulse
    found = load_current(pulse, dried(skin_circuit(25.0)), 20.0).notices
    assert {n.channel for n in found} == {0}
