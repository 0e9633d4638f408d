"""The interphase gap against Shepherd and Javel 1999: above 100 us little is left of what the second phase undoes."""

from __future__ import annotations

import csv
from functools import cache
from pathlib import Path

import numpy as np

from graspwave.simulator.axon import axon_threshold

PART = "Nerve"

with (Path(__file__).parent / "gap_shepherd_javel_1999.csv").open(encoding="utf-8", newline="") as held:
    GAP_US = float(next(csv.DictReader(held))["gap_us"])

PHASE_US = np.array([30.0, 60.0, 95.0])
NEAR = 0.03  # the claim is in words; 3 % is far below what a threshold can be read to


@cache
def excess() -> np.ndarray:
    """Symmetric over monophasic threshold of the axon that ends, less 1, by gap (0, 1, 2 times GAP_US) and phase."""
    gap_us = np.array([0.0, GAP_US, 2.0 * GAP_US])[:, None]
    alone = axon_threshold(PHASE_US, 12.0, uniform=True)
    return axon_threshold(PHASE_US, 12.0, shape="symmetric", gap_us=gap_us, uniform=True) / alone - 1.0


def as_published(without: np.ndarray, with_gap: np.ndarray) -> bool:
    """Near the monophasic threshold with the gap; without, the further from it the narrower the phase."""
    lowered = without - with_gap
    return bool((with_gap < NEAR).all() and without[0] > 0.1 and (np.diff(lowered) < 0.0).all())


def test_gap_brings_back_the_monophasic_threshold(row):
    without, published, twice = excess()
    assert as_published(without, published)
    for phase, share in zip(PHASE_US, published, strict=True):
        row(f"threshold of a mirrored pulse with a gap of {GAP_US:g} us over that of one phase alone, {phase:g} us", 1.0 + share,
            0.0, 1.0 + NEAR, source="shepherd-javel-1999", unit="times", note="published in words: near; read as within 3 %")
    assert (twice < 0.01).all()


def test_models_without_a_gap_or_with_one_effect_for_all_phases_fail():
    without = excess()[0]
    assert not as_published(without, without)
    assert not as_published(np.full(3, 0.2), np.full(3, 0.01))
