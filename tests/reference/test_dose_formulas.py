"""Worked doses of a symmetric pulse, the pad area where a limit is met, and the voltage under a held current."""

from __future__ import annotations

import csv
import math
from collections.abc import Callable
from pathlib import Path

import pytest
from record import Rows

from graspwave.simulator.dose import Dose, dose_of
from graspwave.simulator.electrode import load_voltage, skin_circuit
from graspwave.simulator.scene import Channel, Pads, Pulse, Scene, Train

PART = "Dose"

ROWS = list(csv.DictReader((Path(__file__).parent / "dose.csv").read_text("utf-8").splitlines()))
COLUMNS = {
    "charge_uc": "charge_uc", "rms_ma": "rms_ma", "density_ma_cm2": "rms_density_ma_cm2", "energy_mj": "energy_mj",
    "power_mw": "power_mw", "charge_density_uc_cm2": "charge_density_uc_cm2", "k": "shannon_k",
}

SHOWN = {"charge_uc": ("charge of a phase", "uC"), "rms_ma": ("r.m.s. current", "mA"), "k": ("Shannon's k", "1")}
"""What of a worked dose is shown; all of it is checked."""


def scene_of(amplitude_ma: float, phase_us: float, frequency_hz: float, pad_cm2: float) -> Scene:
    channel = Channel(
        pads=Pads(size_cm2=pad_cm2), pulse=Pulse(amplitude_ma=amplitude_ma, phase_us=phase_us),
        train=Train(frequency_hz=frequency_hz),
    )
    return Scene(channel=(channel,))


def half_digit(text: str) -> float:
    """Half of the last digit written, the error of a rounded number (a little more for rounding in binary)."""
    return 0.5000001 * 10.0 ** -len(text.partition(".")[2])


def misses(row: dict[str, str], dose: Callable[[Scene], Dose]) -> list[str]:
    """Columns of a row that the dose does not round to."""
    found = dose(scene_of(*(float(row[key]) for key in ("amplitude_ma", "phase_us", "frequency_hz", "pad_cm2"))))
    return [
        column for column, name in COLUMNS.items()
        if abs(getattr(found, name) - float(row[column])) > half_digit(row[column])
    ]


@pytest.mark.parametrize("worked", ROWS, ids=lambda row: f"{row['amplitude_ma']} mA")
def test_worked_doses(worked: dict[str, str], row: Rows) -> None:
    assert misses(worked, dose_of) == []
    found = dose_of(scene_of(*(float(worked[key]) for key in ("amplitude_ma", "phase_us", "frequency_hz", "pad_cm2"))))
    for column, (what, unit) in SHOWN.items():
        wanted, half = float(worked[column]), half_digit(worked[column])
        at = "{amplitude_ma} mA, {phase_us} us, {frequency_hz} Hz, {pad_cm2} cm2".format(**worked)
        row(f"{what} at {at}",
            getattr(found, COLUMNS[column]), wanted - half, wanted + half, published=wanted, unit=unit, mark="derived",
            source="shannon-1992" if column == "k" else "")


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row['amplitude_ma']} mA")
def test_twin_one_percent_longer_phase_misses(row: dict[str, str]) -> None:
    def longer(scene: Scene) -> Dose:
        path = "channel.0.pulse.phase_us"
        return dose_of(scene.replace(path, 1.01 * scene.channel[0].pulse.phase_us))

    assert set(misses(row, longer)) == set(COLUMNS)


def area_at_limit(share_of_current: float = 1.0) -> float:
    """Contact at which 60 mA, 300 us, 50 Hz reach the density that asks for attention, cm2; by halving."""
    low, high = 1.0, 60.0
    while high - low > 1e-6:
        middle = 0.5 * (low + high)
        notices = dose_of(scene_of(60.0 * share_of_current, 300.0, 50.0, middle)).notices
        over = any(n.kind == "over" for n in notices if n.quantity == "current density (r.m.s.)")
        low, high = (middle, high) if over else (low, middle)
    return high


def is_the_lifting_pad(area_cm2: float) -> bool:
    """5.20 cm2, to the digit written."""
    return abs(area_cm2 - 5.20) <= 0.005


def test_lifting_pad_meets_the_limit(row: Rows) -> None:
    row("contact at which 60 mA, 300 us, 50 Hz reach 2 mA/cm2 r.m.s.", area_at_limit(), 5.195, 5.205, published=5.20, unit="cm2",
        mark="derived", source="iec-60601-2-10")
    assert area_at_limit() == pytest.approx(60.0 * math.sqrt(2 * 300e-6 * 50) / 2.0, abs=1e-5)


def test_twin_lifting_pad() -> None:
    assert not is_the_lifting_pad(area_at_limit(0.99))


def is_the_voltage(peak_v: float) -> bool:
    """16.8 V at 20 mA and 300 us into 250 ohm + (1.5 kohm beside 0.4 uF), to the digit written."""
    return abs(peak_v - 16.8) <= 0.05


def test_voltage_under_a_held_current(row: Rows) -> None:
    row("voltage of 20 mA, 300 us into 250 ohm + (1.5 kohm beside 0.4 uF)",
        load_voltage(Pulse(amplitude_ma=20.0, phase_us=300.0), skin_circuit(25.0)).peak_v, 16.75, 16.85, published=16.8, unit="V",
        mark="derived")


def test_twin_voltage_with_smaller_pads() -> None:
    assert not is_the_voltage(load_voltage(Pulse(amplitude_ma=20.0, phase_us=300.0), skin_circuit(24.0)).peak_v)
