"""Force kept after two minutes of bursts: Klein 2006, J Physiol; Fuglevand 1999; order of rests: Packman-Braun 1988."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
from record import Rows

from graspwave.simulator.muscle import MuscleParameters, muscle_force, parameter_set

PART = "Force and tiring"

ROWS = {
    row["group"]: row
    for row in csv.DictReader(Path(__file__).with_name("force_kept_klein_2006.csv").read_text("utf-8").splitlines())
}
NEAR_MEDIAN = 0.03  # two digits are printed, and the sets were fitted to these medians


def kept(muscle: MuscleParameters) -> float:
    onset = (np.arange(120)[:, None] + np.arange(13) / 40).ravel()
    force = muscle_force(onset, parameters=muscle, until_s=120.0)
    return float(force.force_n[force.time_s >= 119.0].max() / force.force_n[force.time_s < 1.0].max())


def near(group: str, muscle: MuscleParameters) -> bool:
    row, share = ROWS[group], kept(muscle)
    return float(row["low"]) <= share <= float(row["high"]) and abs(share - float(row["median"])) < NEAR_MEDIAN


def kept_after_rest(off_s: float, tiring: bool = True) -> float:
    """Share of force kept in the tenth contraction of 10 s at 35 Hz."""
    period = 10.0 + off_s
    onset = (period * np.arange(10)[:, None] + np.arange(350) / 35.0).ravel()
    force = muscle_force(onset, tiring=tiring, until_s=9 * period + 10.0)
    return float(force.force_n[force.time_s >= 9 * period].max() / force.force_n[force.time_s < 10.0].max())


def longer_rest_tires_less(tiring: bool = True) -> bool:
    rests = [kept_after_rest(off, tiring) for off in (10.0, 30.0, 50.0)]  # on:off 1:1, 1:3, 1:5
    return rests[0] + 0.02 < rests[1] and rests[1] + 0.02 < rests[2]


def test_default_keeps_what_most_units_keep(row: Rows) -> None:
    row("force kept after two minutes of bursts, able set", kept(parameter_set("able")), 0.25, 0.75, unit="share",
        source="hand-units-1991", note="64 % of units lie there")


def test_default_twin() -> None:
    assert not 0.25 < kept(parameter_set("able").tiring_scaled(0.3)) < 0.75


def test_resistant_and_paralysed_are_near_the_medians(row: Rows) -> None:
    for group, name in (("control", "resistant"), ("paralysed", "paralysed")):
        median = float(ROWS[group]["median"])
        assert near(group, parameter_set(name))
        row(f"force kept after two minutes of bursts, {name} set", kept(parameter_set(name)), median - NEAR_MEDIAN,
            median + NEAR_MEDIAN, published=median, unit="share", source="klein-2006", note="fitted to this median")


def test_resistant_and_paralysed_twin() -> None:
    assert not near("control", parameter_set("paralysed"))
    assert not near("paralysed", parameter_set("able"))


def test_longer_rest_tires_less() -> None:
    assert longer_rest_tires_less()  # memory: 1:5 least


def test_longer_rest_twin() -> None:
    assert not longer_rest_tires_less(tiring=False)
