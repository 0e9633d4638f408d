"""Closed forms of dose against the drawn current, and what the notices say."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from pulse_settings import scene_with, scenes

from graspwave.simulator.dose import Dose, Notice, dose_of
from graspwave.simulator.pulses import pulse_train
from graspwave.simulator.scene import Scene, SceneError
from graspwave.simulator.trace import trace_current


def notice(dose: Dose, quantity: str) -> Notice:
    return next(n for n in dose.notices if n.quantity == quantity)


def integrated(scene: Scene) -> dict[str, float]:
    """The steady values from the area under one full pulse of the drawn line."""
    scene = scene.replace("channel.0.ramp.up_s", 0.0).replace("channel.0.ramp.down_s", 0.0)
    scene = scene.replace("channel.0.timing.delay_s", 0.0)
    train = pulse_train(scene, held=[(0.0, 1.0)], duration_s=1.0)
    t_s, y = trace_current(train, train.onset_s[0], train.end_s[0], 5000)
    y = train.sign * y
    dt, y2 = np.diff(t_s), 0.5 * (y[1:] ** 2 + y[:-1] ** 2)  # every stretch is level or has no length
    mean = 0.5 * (y[1:] + y[:-1])
    f = scene.channel[0].train.frequency_hz
    square = float(np.sum(y2 * dt))
    return {
        "charge_uc": 1e3 * float(np.sum(np.maximum(mean, 0.0) * dt)),
        "net_charge_uc": 1e3 * float(np.sum(mean * dt)),
        "rms_ma": math.sqrt(square * f),
        "mean_rectified_ma": float(np.sum(np.abs(mean) * dt)) * f,
        "energy_mj": 500.0 * 1e-3 * square,
        "dc_ma": float(np.sum(mean * dt)) * f,
    }


@settings(deadline=None, derandomize=True, max_examples=200)
@given(scene=scenes())
def test_closed_forms_are_the_area_under_the_line(scene: Scene) -> None:
    dose, area = dose_of(scene), integrated(scene)
    for name in ("charge_uc", "rms_ma", "mean_rectified_ma", "energy_mj"):
        assert getattr(dose, name) == pytest.approx(area[name], rel=1e-11, abs=1e-300)
    assert dose.net_charge_uc == pytest.approx(area["net_charge_uc"], abs=1e-11 * dose.charge_uc)
    assert dose.dc_ma == pytest.approx(area["dc_ma"], abs=1e-11 * dose.mean_rectified_ma)


@settings(deadline=None, derandomize=True, max_examples=200)
@given(scene=scenes())
def test_balanced_shapes_have_no_net_charge(scene: Scene) -> None:
    dose, pulse = dose_of(scene), scene.channel[0].pulse
    if pulse.shape == "monophasic":
        assert dose.net_charge_uc == dose.charge_uc
    else:
        assert abs(dose.net_charge_uc) <= 1e-12 * dose.charge_uc


def test_values_of_an_asymmetric_pulse() -> None:
    dose = dose_of(scene_with(pulse__shape="asymmetric", pads__size_cm2=25.0))
    assert dose.rms_ma == pytest.approx(20 * math.sqrt(35 * 300e-6 * 1.25))
    assert dose.energy_mj == pytest.approx(1e3 * 0.02**2 * 500 * 300e-6 * 1.25)
    assert dose.power_density_w_cm2 == pytest.approx(1e-3 * dose.power_mw / 25)


def test_session_totals() -> None:
    scene = scene_with(timing__on_s=8.0, timing__off_s=12.0, minutes=10.0)
    dose, train = dose_of(scene), pulse_train(scene)
    assert dose.session_on_s == pytest.approx(30 * 8.0)
    assert dose.session_pulses == len(train) == 30 * 280
    # a ramp of t seconds counts half: 8 - 1.25 s at full height
    assert dose.session_charge_mc == pytest.approx(30 * 35 * 6.75 * 6e-3, rel=0.01)
    held = dose_of(scene.replace("channel.0.timing.control", "held"), held=[(0.0, 5.0)], duration_s=20.0)
    assert held.session_on_s == pytest.approx(6.0)
    assert dose_of(scene.replace("channel.0.timing.control", "held")).session_pulses == 0


def test_contact_share_raises_density_only() -> None:
    whole, half = dose_of(scene_with()), dose_of(scene_with(), contact_share=0.5)
    assert half.rms_density_ma_cm2 == pytest.approx(2 * whole.rms_density_ma_cm2)
    assert half.charge_density_uc_cm2 == pytest.approx(2 * whole.charge_density_uc_cm2)
    assert (half.rms_ma, half.energy_mj, half.contact_cm2) == (whole.rms_ma, whole.energy_mj, 8.0)
    assert dose_of(scene_with(), load_ohm=1000.0).energy_mj == pytest.approx(2 * whole.energy_mj)


STRONG = {"pulse__amplitude_ma": 60.0, "train__frequency_hz": 50.0}


@pytest.mark.parametrize(
    ("size_cm2", "kind", "text"),
    [
        (4.0, "over", "Current density (r.m.s.) is 2.6 mA/cm2, 30 % over 2 mA/cm2. Use at least 5.2 cm2 of pad in full "
                      "contact, or at most 46.1 mA."),
        (2.0, "over", "Current density (r.m.s.) is 5.2 mA/cm2, 160 % over 2 mA/cm2. Use at least 5.2 cm2 of pad in "
                      "full contact, or at most 23 mA."),
        (5.5, "close", "Current density (r.m.s.) is 1.89 mA/cm2, 94 % of 2 mA/cm2. The limit is reached at 5.2 cm2 of "
                       "contact, or at 63.5 mA."),
        (25.0, "inside", "Current density (r.m.s.) is 0.416 mA/cm2, inside 2 mA/cm2."),
    ],
)
def test_density_notice(size_cm2: float, kind: str, text: str) -> None:
    dose = dose_of(scene_with(**STRONG, pads__size_cm2=size_cm2))
    found = notice(dose, "current density (r.m.s.)")
    assert (found.kind, found.text, found.limit, found.unit, found.mark) == (kind, text, 2.0, "mA/cm2", "published")
    assert found.value == dose.rms_density_ma_cm2
    assert "IEC 60601-2-10:2012" in found.source
    assert "edges" in found.not_covered


@pytest.mark.parametrize("size_cm2", [1.0, 2.0, 3.3, 5.0])
def test_advice_of_the_density_notice_is_enough(size_cm2: float) -> None:
    scene = scene_with(**STRONG, pads__size_cm2=size_cm2)
    words = notice(dose_of(scene), "current density (r.m.s.)").text.split()
    area, current = float(words[words.index("least") + 1]), float(words[words.index("most") + 1])
    for mended in (scene.replace("channel.0.pads.size_cm2", area),
                   scene.replace("channel.0.pulse.amplitude_ma", current)):
        assert notice(dose_of(mended), "current density (r.m.s.)").kind == "close"


def test_power_density_notice() -> None:
    scene = scene_with(pulse__amplitude_ma=60.0, pulse__phase_us=1000.0, train__frequency_hz=200.0, pads__size_cm2=1.0)
    found = notice(dose_of(scene), "power density")
    assert found.kind == "over"
    assert found.text == ("Power density is 0.72 W/cm2, 188 % over 0.25 W/cm2. Use at least 2.9 cm2 of pad in full "
                          "contact, or at most 35.3 mA.")
    words = found.text.split()
    current = float(words[words.index("most") + 1])
    assert notice(dose_of(scene.replace("channel.0.pulse.amplitude_ma", current)), "power density").kind == "close"


def test_shannon_notice() -> None:
    over = notice(dose_of(scene_with(**STRONG, pads__size_cm2=2.0)), "charge and charge density (k)")
    assert over.kind == "over"
    assert over.text == (
        "Charge and charge density give k = 2.21; the lowest k with damage on nerve tissue was 1.85. They multiply to "
        "2.3 times that line: use a shorter phase, a lower amplitude or larger pads."
    )
    assert "no promise of safety" in over.not_covered
    inside = notice(dose_of(scene_with()), "charge and charge density (k)")
    assert (inside.kind, inside.limit) == ("inside", 1.85)


@pytest.mark.parametrize(("spacing_mm", "kind"), [(25.0, "inside"), (30.0, "inside"), (24.0, "over"), (5.0, "over")])
def test_spacing_notice(spacing_mm: float, kind: str) -> None:
    found = notice(dose_of(scene_with(pads__spacing_mm=spacing_mm)), "pad spacing")
    assert (found.kind, found.mark, found.source) == (kind, "practice", "")
    if spacing_mm == 5.0:
        assert found.text == (
            "Pads are 5 mm apart, edge to edge, 20 mm less than common practice (25 mm). Current crowds between near "
            "edges and stays shallow: move the pads apart."
        )


def test_monophasic_notice() -> None:
    dose = dose_of(scene_with(pulse__shape="monophasic"))
    assert [n.kind for n in dose.notices] == ["over"] + ["inside"] * (len(dose.notices) - 1)
    assert dose.notices[0].text == (
        "Each pulse leaves 6 uC behind, a direct current of 0.21 mA. One-way current changes the skin's chemistry "
        "under the pads and can burn: use a symmetric or asymmetric balanced pulse."
    )
    assert notice(dose, "direct current").kind == "inside"
    assert not [n for n in dose_of(scene_with()).notices if "net" in n.quantity]


def test_no_current_has_no_dose() -> None:
    dose = dose_of(scene_with(pulse__amplitude_ma=0.0, pulse__shape="monophasic"))
    assert (dose.charge_uc, dose.rms_ma, dose.energy_mj, dose.shannon_k) == (0.0, 0.0, 0.0, -math.inf)
    assert {n.kind for n in dose.notices} == {"inside"}


def test_every_notice_says_where_its_limit_is_from_and_ends() -> None:
    for n in dose_of(scene_with(pulse__shape="monophasic")).notices:
        assert n.not_covered
        assert n.source or n.mark == "practice"


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ({"contact_share": 0.0},
         "'contact_share' must be above 0 up to 1 (got 0): a pad without contact passes no current"),
        ({"contact_share": 1.5},
         "'contact_share' must be above 0 up to 1 (got 1.5): a pad without contact passes no current"),
        ({"load_ohm": 0.0}, "'load_ohm' must be above 0 ohm (got 0)"),
        ({"channel": 2}, "'channel' must be 0 to 0 (got 2): count channels from 0"),
    ],
)
def test_errors_say_the_rule(arguments: dict, message: str) -> None:
    with pytest.raises(SceneError) as caught:
        dose_of(scene_with(), **arguments)
    assert str(caught.value) == message
