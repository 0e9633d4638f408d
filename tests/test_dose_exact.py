"""What a dose says of itself, and its charges one worked example each (gaps that `tests.bench.mutants` found)."""

from __future__ import annotations

import pytest

from graspwave import simulator as sim

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
