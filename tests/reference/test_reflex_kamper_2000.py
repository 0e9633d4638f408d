"""Work of the finger flexors' stretch reflex against speed: Kamper and Rymer 2000 (in 8 of 13 people after stroke)."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from record import Rows

from graspwave.simulator.hand import changed, reflex_work_nmm, standard_hand
from graspwave.simulator.scene import Hand

PART = "Hand"

SPEEDS = np.array([50.0, 100.0, 150.0, 200.0])  # deg/s: ours, the published ones are not noted
WITHIN = 0.15  # relative: "in proportion" is a word; delay and rise take a growing part of a fast movement


def in_proportion(work: np.ndarray, speeds: np.ndarray) -> bool:
    rate = work / speeds
    return bool((work > 0.0).all() and np.abs(rate / rate.mean() - 1.0).max() <= WITHIN)


def test_work_rises_in_proportion_to_speed(row: Rows) -> None:
    work = reflex_work_nmm(replace(Hand(), reflex_gain=1.0), SPEEDS)
    assert in_proportion(work, SPEEDS), work / SPEEDS
    rate = work / SPEEDS
    for speed, of_mean in zip(SPEEDS, rate / rate.mean(), strict=True):
        row(f"work of the stretch reflex by speed, {speed:g} degrees a second, over its mean", of_mean, 1.0 - WITHIN,
            1.0 + WITHIN, published=1.0, unit="times", source="kamper-rymer-2000",
            note="published in words: in proportion to speed")


def test_a_reflex_that_knows_no_speed_fails() -> None:
    assert not in_proportion(np.full(4, 50.0), SPEEDS)


@pytest.mark.parametrize("change", [{"reflex__delay_s": 0.4}, {"reflex__most": 0.01}, {"reflex__from_per_s": 0.4}])
def test_a_wrong_reflex_fails(change: dict[str, float]) -> None:
    work = reflex_work_nmm(replace(Hand(), reflex_gain=1.0), SPEEDS, model=changed(standard_hand(), **change))
    assert not in_proportion(work, SPEEDS)


def test_size_is_that_of_finger_torques() -> None:
    """Order only: 10 to 500 N mm over a radian at 100 deg/s, between passive finger torque and a weak grip."""
    mean_torque = reflex_work_nmm(replace(Hand(), reflex_gain=1.0), 100.0)[0] / np.radians(60.0)
    assert 10.0 < mean_torque < 500.0
