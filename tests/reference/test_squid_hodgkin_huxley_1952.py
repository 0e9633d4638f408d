"""A general nerve library's squid axon against Hodgkin and Huxley 1952: how speed is measured on a cable."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

PART = "Nerve"

neuron = pytest.importorskip("neuron", reason="needs the general library 'neuron', which only this check uses")

with (Path(__file__).parent / "squid_hodgkin_huxley_1952.csv").open(encoding="utf-8", newline="") as held:
    ROW = next(csv.DictReader(held))


def squid_velocity_m_s(resistivity_ohm_cm: float) -> float:
    """Speed between two places 20 mm apart on an axon of 80 mm, 476 um thick, at 18.5 degrees C."""
    h = neuron.h
    h.load_file("stdrun.hoc")
    axon = h.Section(name="axon")
    axon.L, axon.diam, axon.nseg, axon.Ra = 80e3, 476.0, 801, resistivity_ohm_cm
    axon.insert("hh")
    stimulus = h.IClamp(axon(0.0))
    stimulus.delay, stimulus.dur, stimulus.amp = 0.1, 0.3, 50e3
    records = [h.Vector().record(axon(x)._ref_v) for x in (0.4, 0.65)]
    time = h.Vector().record(h._ref_t)
    h.celsius, h.dt, h.secondorder = 18.5, 0.0025, 2
    h.finitialize(-65.0)
    h.continuerun(8.0)
    t = np.array(time)
    crossed = []
    for record in records:
        v = np.array(record)
        k = int(np.argmax(v > 0.0))
        crossed.append(t[k - 1] + (0.0 - v[k - 1]) / (v[k] - v[k - 1]) * (t[k] - t[k - 1]))
    return 20.0 / (crossed[1] - crossed[0])


def near(found: float) -> bool:
    return abs(found / float(ROW["value"]) - 1.0) <= float(ROW["tolerance"])


def test_squid(row):
    found, wanted, within = squid_velocity_m_s(35.4), float(ROW["value"]), float(ROW["tolerance"])
    row("speed on the squid's axon, 476 um, 18.5 degrees C, by the library against which our cable is built", found,
        wanted * (1.0 - within), wanted * (1.0 + within), published=wanted, unit="m/s", source="hodgkin-huxley-1952")


def test_squid_of_more_resistance_fails():
    assert not near(squid_velocity_m_s(40.0))
