"""Strength and duration, field of an axon that ends, anode over cathode: the cable against what is expected."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

from graspwave.simulator.axon import axon_threshold, threshold_field_v_m

PART = "Nerve"

with (Path(__file__).parent / "strength_duration_axon.csv").open(encoding="utf-8", newline="") as held:
    ROWS = {row["quantity"]: row for row in csv.DictReader(held)}

PHASE_US = np.geomspace(50.0, 1000.0, 7)


def worst_of_weiss(phase_us: np.ndarray, amplitude: np.ndarray) -> float:
    """Largest relative distance from the line Q = I_rh (w + c), fitted with equal relative weight."""
    charge = phase_us * amplitude
    line = np.polyfit(phase_us, charge, 1, w=1.0 / charge)
    return float(np.abs(np.polyval(line, phase_us) / charge - 1.0).max())


def anode_over_cathode(ends: bool) -> np.ndarray:
    far = np.array([5.0, 10.0])
    return axon_threshold(100.0, 20.0, far, "anode", ends=ends) / axon_threshold(100.0, 20.0, far, ends=ends)


def inside(quantity: str, found: np.ndarray | float) -> bool:
    row = ROWS[quantity]
    return bool(np.all((np.asarray(found) >= float(row["low"])) & (np.asarray(found) <= float(row["high"]))))


@pytest.mark.parametrize("place", [{"diameter_um": 12.0, "uniform": True}, {}], ids=["ended", "passing"])
def test_weiss_line(place, row):
    row(f"worst distance from Weiss' line, axon that {'ends' if place else 'passes'}",
        worst_of_weiss(PHASE_US, axon_threshold(PHASE_US, **place)), 0.0, float(ROWS["weiss_worst_share"]["high"]), unit="share",
        mark="practice")


def test_the_other_law_is_no_weiss_line():
    """Lapicque's exponential, at any constant near the cable's own."""
    for chronaxie_us in (100.0, 200.0, 300.0):
        amplitude = 1.0 / (1.0 - 2.0 ** (-PHASE_US / chronaxie_us))
        assert not inside("weiss_worst_share", worst_of_weiss(PHASE_US, amplitude))


def test_field_of_an_axon_that_ends(row):
    for us, found in zip((200, 300), axon_threshold([200.0, 300.0], 12.0, uniform=True), strict=True):
        printed = ROWS[f"field_{us}us_v_m"]
        row(f"field that wakes a 12-um axon at its end, {us} us", found, float(printed["low"]), float(printed["high"]),
            unit="V/m",
            mark=printed["mark"])


def test_field_of_another_diameter_fails():
    found = axon_threshold([200.0, 300.0], 11.4, uniform=True)
    assert not inside("field_200us_v_m", found[0])
    assert not inside("field_300us_v_m", found[1])


def test_anode_asks_for_about_three_times_more(row):
    for ends, key in ((True, "ended"), (False, "passing")):
        printed = ROWS[f"anode_ratio_{key}"]
        for far, ratio in zip((5, 10), anode_over_cathode(ends), strict=True):
            row(f"anode over cathode, {far} mm from an axon that {'ends' if ends else 'passes'}", ratio, float(printed["low"]),
                float(printed["high"]), unit="times", mark=printed["mark"])
    under_anode = threshold_field_v_m([100.0, 300.0], polarity="anode") / threshold_field_v_m([100.0, 300.0])
    assert inside("anode_ratio_ended", under_anode)


def test_a_model_blind_to_polarity_fails():
    assert not inside("anode_ratio_ended", 1.0)
    blind = threshold_field_v_m(300.0, polarity="anode", anode_ratio=np.inf) / threshold_field_v_m(300.0)
    assert not inside("anode_ratio_ended", blind)
