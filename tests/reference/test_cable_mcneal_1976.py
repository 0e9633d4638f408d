"""The cable against McNeal 1976 and Reilly 1985, its nodes against Frankenhaeuser and Huxley 1964."""

from __future__ import annotations

import csv
from dataclasses import replace
from pathlib import Path

import pytest

from graspwave.simulator.axon import axon_threshold, spike_mv, velocity_m_s
from graspwave.simulator.axon.cable import Membrane, membrane

PART = "Nerve"

WHAT = {"threshold_ma": "threshold of an axon", "velocity_m_s": "speed of its spike", "ended_5ms_v_m": "field that wakes it"}


def rows(name: str) -> list[dict[str, str]]:
    with (Path(__file__).parent / name).open(encoding="utf-8", newline="") as held:
        return list(csv.DictReader(held))


def value(quantity: str, cell: Membrane) -> float:
    if quantity.endswith("_rest"):
        return cell.resting_gates()["mhnp".index(quantity[0])]
    return float(
        {
            "threshold_ma": lambda: axon_threshold(100.0, 20.0, 2.0, cell=cell),
            "velocity_m_s": lambda: velocity_m_s(20.0, cell=cell),
            "ended_5ms_v_m": lambda: axon_threshold(5000.0, 20.0, uniform=True, cell=cell),
            "spike_mv": lambda: spike_mv(cell=cell),
        }[quantity]()
    )


def near(row: dict[str, str], found: float) -> bool:
    return abs(found / float(row["value"]) - 1.0) <= float(row["tolerance"])


def inside(row: dict[str, str], found: float) -> bool:
    return float(row["low"]) <= found <= float(row["high"])


CABLE = rows("cable_mcneal_1976.csv")
NODES = rows("nodes_frankenhaeuser_huxley_1964.csv")


@pytest.mark.parametrize("printed", CABLE, ids=lambda r: r["quantity"])
def test_cable(printed, row):
    found, wanted, within = value(printed["quantity"], membrane()), float(printed["value"]), float(printed["tolerance"])
    row(f"{WHAT[printed['quantity']]}: {printed['where'].split(';')[0]}", found, wanted * (1.0 - within), wanted * (1.0 + within),
        published=wanted, unit=printed["unit"], mark=printed["mark"],
        source="reilly-1985" if "Reilly" in printed["where"] else "mcneal-1976")


@pytest.mark.parametrize("printed", CABLE, ids=lambda r: r["quantity"])
def test_cable_of_a_quarter_less_resistance_fails(printed):
    wrong = replace(membrane(), coupling_ms_cm2=1.3 * membrane().coupling_ms_cm2)
    assert not near(printed, value(printed["quantity"], wrong))


@pytest.mark.parametrize("printed", NODES, ids=lambda r: r["quantity"])
def test_nodes(printed, row):
    row(f"node of Ranvier: {printed['where']}, {printed['quantity'][0]}" if "gate" in printed["where"] else printed["where"],
        value(printed["quantity"], membrane()), float(printed["low"]), float(printed["high"]), unit=printed["unit"],
        mark=printed["mark"], source="frankenhaeuser-huxley-1964")


@pytest.mark.parametrize("printed", NODES, ids=lambda r: r["quantity"])
def test_nodes_of_less_sodium_or_shifted_gates_fail(printed):
    cell = membrane()
    na_in, na_out = cell.sodium_mm
    shifted = tuple((a, v0 + 1.0, y) if k % 2 == 0 else (a, v0, y) for k, (a, v0, y) in enumerate(cell.rates))
    wrong = replace(cell, rates=shifted, sodium_mm=(na_in, 0.7 * na_out))
    assert not inside(printed, value(printed["quantity"], wrong))
