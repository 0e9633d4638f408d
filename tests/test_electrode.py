"""Voltage and current at the pads against stepping the circuit, and what is said of a bad pad."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from graspwave import simulator as sim
from graspwave.simulator.dose import dose_of
from graspwave.simulator.electrode import (
    Load,
    SkinCircuit,
    dried,
    halved,
    lifted,
    load_current,
    load_voltage,
    skin_circuit,
    skin_under,
)
from graspwave.simulator.scene import Channel, Pulse, Scene, SceneError

USUAL = Pulse(amplitude_ma=20.0, phase_us=300.0)


def stepped(pulse: Pulse, skin: SkinCircuit, limit_v: float | None, held_v: float | None) -> tuple[float, float, float]:
    """Charge of each phase (uC) and last skin voltage, from the circuit's equation step by step."""
    ratio = {"symmetric": 1.0, "asymmetric": pulse.phase_ratio, "monophasic": 0.0}[pulse.shape]
    stages = [(1.0, 1.0, pulse.phase_us)]
    if ratio:
        stages += [(0.0, 0.0, pulse.gap_us), (-1.0, 1.0 / ratio, pulse.phase_us * ratio)]
    skin_v, charges = 0.0, []
    for sign, share, length_us in stages:
        if not length_us:
            continue

        def current_ma(v: float, sign: float = sign, share: float = share) -> float:
            if not sign:
                return 0.0
            if held_v is not None:
                return 1e3 * (sign * held_v * share - v) / skin.rs_ohm
            most = 1e3 * ((limit_v or math.inf) - sign * v) / skin.rs_ohm
            return sign * min(pulse.amplitude_ma * share, most)

        def slope(_: float, y: np.ndarray) -> list[float]:
            i_ma = current_ma(y[0])
            return [1e-3 * (i_ma - 1e3 * y[0] / skin.rp_ohm) / skin.c_uf, 1e-3 * i_ma]

        out = solve_ivp(slope, (0.0, length_us), [skin_v, 0.0], rtol=1e-9, atol=1e-9, max_step=length_us / 200)
        skin_v = out.y[0, -1]
        if sign:
            charges.append(sign * out.y[1, -1])
    return charges[0], charges[-1] if ratio else 0.0, skin_v


def after_pulse_v(load: Load, pulse: Pulse) -> float:
    """Voltage at the open output just after the last phase."""
    ratio = {"symmetric": 1.0, "asymmetric": pulse.phase_ratio, "monophasic": 0.0}[pulse.shape]
    end_us = pulse.phase_us * (1 + ratio) + (pulse.gap_us if ratio else 0.0)
    return float(load.voltage_v[np.flatnonzero(np.isclose(load.time_us, end_us, rtol=1e-12))[-1]])


pulses = st.builds(
    Pulse, amplitude_ma=st.floats(1.0, 60.0), phase_us=st.floats(50.0, 600.0),
    gap_us=st.sampled_from([0.0, 100.0]), shape=st.sampled_from(["symmetric", "asymmetric", "monophasic"]),
    phase_ratio=st.floats(1.0, 6.0),
)
skins = st.one_of(
    st.floats(2.0, 40.0).map(skin_circuit),
    st.floats(0.05, 1.0).map(lambda share: lifted(skin_circuit(16.0), share)),
    st.floats(0.05, 1.0).map(lambda share: dried(skin_circuit(16.0), share)),
)


@settings(deadline=None, derandomize=True, max_examples=25)
@given(pulse=pulses, skin=skins, limit_v=st.floats(3.0, 120.0), hold_voltage=st.booleans())
def test_pieces_agree_with_stepping_the_circuit(
    pulse: Pulse, skin: SkinCircuit, limit_v: float, hold_voltage: bool
) -> None:
    if hold_voltage:
        load, (first, second, last_v) = load_current(pulse, skin, limit_v), stepped(pulse, skin, None, limit_v)
    else:
        load, (first, second, last_v) = load_voltage(pulse, skin, limit_v), stepped(pulse, skin, limit_v, None)
    # the kink at the highest voltage costs the stepper some digits
    assert load.charge_uc == pytest.approx(first, rel=1e-5)
    assert load.net_charge_uc == pytest.approx(first - second, abs=2e-5 * (first + abs(second)))
    assert after_pulse_v(load, pulse) == pytest.approx(last_v, abs=2e-5 * max(load.peak_v, 1.0))


@settings(deadline=None, derandomize=True, max_examples=100)
@given(pulse=pulses, skin=skins, limit_v=st.floats(3.0, 120.0))
def test_held_current_never_passes_its_limits(pulse: Pulse, skin: SkinCircuit, limit_v: float) -> None:
    load = load_voltage(pulse, skin, limit_v)
    assert load.peak_v <= limit_v * (1 + 1e-12)
    assert load.peak_ma <= pulse.amplitude_ma * (1 + 1e-12)
    assert np.all(np.diff(load.time_us) >= 0.0)
    assert load.clipped == (load.wanted_v > limit_v * (1 + 1e-12))
    if not load.clipped:
        assert load.charge_uc == pytest.approx(1e-3 * pulse.amplitude_ma * pulse.phase_us, rel=1e-12)
        assert load.peak_v == pytest.approx(load.wanted_v, rel=1e-12)


def test_wave_is_the_formula_and_then_decays() -> None:
    load = load_voltage(USUAL, skin_circuit(25.0))
    rising = (load.time_us <= 300.0) & (load.current_ma > 0.0)
    formula = 0.02 * (250.0 + 1500.0 * -np.expm1(-load.time_us[rising] / 600.0))
    np.testing.assert_allclose(load.voltage_v[rising], formula, rtol=1e-12)
    held = 30.0 * -math.expm1(-0.5)
    end = -30.0 + (held + 30.0) * math.exp(-0.5)
    assert after_pulse_v(load, USUAL) == pytest.approx(end, rel=1e-12)
    assert load.voltage_v[-1] == pytest.approx(end * math.exp(-5.0), rel=1e-12)
    assert load.notices == ()
    assert not load.clipped


def test_pads_of_other_sizes_scale() -> None:
    small = skin_circuit(12.5)
    assert (small.rs_ohm, small.rp_ohm, small.c_uf, small.tau_us) == (500.0, 3000.0, 0.2, 600.0)


def test_half_lifted_pad() -> None:
    whole, half = skin_circuit(25.0), halved(skin_circuit(25.0))
    # one pad as before, the other with twice its half: one and a half of the pair
    assert (half.rs_ohm, half.rp_ohm, half.contact_cm2) == (375.0, 2250.0, 12.5)
    assert half.tau_us == pytest.approx(whole.tau_us)
    assert load_voltage(USUAL, half).peak_v == pytest.approx(1.5 * load_voltage(USUAL, whole).peak_v)
    assert load_current(USUAL, half, 20.0).peak_ma == pytest.approx(load_current(USUAL, whole, 20.0).peak_ma / 1.5)
    scene = Scene(channel=(Channel(),))
    density = dose_of(scene, contact_share=half.contact_share).rms_density_ma_cm2
    assert density == pytest.approx(2 * dose_of(scene).rms_density_ma_cm2)


def test_dried_pad_has_more_resistance_than_a_lifted_one() -> None:
    whole = skin_circuit(25.0)
    assert dried(whole, 0.3).rs_ohm == pytest.approx(125.0 + 4.0 * 125.0 / 0.3)
    assert dried(whole, 0.3).rp_ohm == lifted(whole, 0.3).rp_ohm
    assert dried(whole).contact_share == 0.3


def test_lifting_and_more_lifting_is_less_contact() -> None:
    twice = lifted(halved(skin_circuit(25.0)), 0.5)
    assert (twice.contact_share, twice.contact_cm2) == (0.25, 6.25)


def test_clipped_pulse_says_so() -> None:
    load = load_voltage(USUAL, dried(skin_circuit(25.0)), 30.0)
    assert load.clipped
    assert load.charge_uc < 6.0
    assert [n.text for n in load.notices] == [
        "The current asks for 61.4 V and the output gives 30 V at most: the pulse is cut, less charge gets through "
        "than is set, and the phases may no longer balance. Wet or change the pads, press them on, use larger ones, or "
        "lower the amplitude.",
        "The gel of one pad has dried to spots: the same current passes what is left, 3.3 times as dense: it stings "
        "and can burn. Switch off, look at the skin, and wet the pad's gel or change the pad.",
    ]
    assert [n.kind for n in load.notices] == ["over", "over"]


def test_lifted_pad_under_held_current_and_held_voltage() -> None:
    half = halved(skin_circuit(25.0))
    assert load_voltage(USUAL, half).notices[0].text == (
        "One pad has come off in part: the same current passes what is left, 2 times as dense: it stings and can burn. "
        "Switch off, look at the skin, and press the pad on or change it."
    )
    assert load_current(USUAL, half, 20.0).notices[0].text == (
        "One pad has come off in part: at a held voltage less current flows, and the pull fades. Switch off, look at "
        "the skin, and press the pad on or change it."
    )


def test_held_voltage_is_spiky_and_unbalanced() -> None:
    load = load_current(USUAL, skin_circuit(25.0), 20.0)
    assert load.current_ma[1] == pytest.approx(1e3 * 20.0 / 250.0)
    assert load.net_charge_uc < 0.0
    assert not load.clipped
    no_amplitude = dataclasses.replace(USUAL, amplitude_ma=0.0)
    assert load_current(no_amplitude, skin_circuit(25.0), 20.0).charge_uc == load.charge_uc
    assert load_voltage(no_amplitude, skin_circuit(25.0)).peak_v == 0.0


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: skin_circuit(0.0), "'size_cm2' must be above 0 cm2 (got 0)"),
        (lambda: lifted(skin_circuit(25.0), 0.0),
         "'contact_share' must be above 0 up to 1 (got 0): a pad without contact passes no current"),
        (lambda: dried(skin_circuit(25.0), 2.0),
         "'contact_share' must be above 0 up to 1 (got 2): a pad without contact passes no current"),
        (lambda: load_voltage(USUAL, skin_circuit(25.0), -1.0), "'compliance_v' must be above 0 V, up to 500 V (got -1)"),
        (lambda: load_voltage(USUAL, skin_circuit(25.0), 501.0), "'compliance_v' must be above 0 V, up to 500 V (got 501)"),
        (lambda: load_current(USUAL, skin_circuit(25.0), math.nan), "'voltage_v' must be above 0 V, up to 500 V (got nan)"),
    ],
)
def test_errors_say_the_rule(call, message: str) -> None:
    with pytest.raises(SceneError) as caught:
        call()
    assert str(caught.value) == message


def test_a_fault_of_the_scene_crowds_the_current_and_says_what_to_do() -> None:
    scene = sim.presets()["tight"]
    sound, off = scene, scene.replace("channel.0.pads.contact", "halved")
    one, other = sim.dose_of(sound), sim.dose_of(off)
    assert other.charge_uc == one.charge_uc
    assert other.rms_density_ma_cm2 == pytest.approx(2.0 * one.rms_density_ma_cm2)
    pulse = scene.channel[0].pulse
    volts = [load_voltage(pulse, skin_under(s.channel[0].pads)) for s in (sound, off)]
    assert volts[1].peak_v > 1.2 * volts[0].peak_v
    assert volts[0].notices == ()
    assert "Switch off, look at the skin, and press the pad on or change it." in volts[1].notices[0].text
    dry = load_voltage(pulse, skin_under(scene.replace("channel.0.pads.contact", "dried").channel[0].pads))
    assert "wet the pad's gel" in dry.notices[0].text
