"""Reach: elbow, table, weight, synergy, second channel; Fitts' law."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from graspwave.simulator.facts import number
from graspwave.simulator.presets import presets
from graspwave.simulator.reach import (
    co_contraction,
    elbow_balance_nm,
    fitts_s,
    index_bits,
    least_effort,
    reach_of,
    reach_s,
    required_torque_nm,
    triceps_torque_nm,
)
from graspwave.simulator.scene import Pads, Scene

WEAK = presets()["supple"].replace("hand.elbow_strength", 0.1)
ANGLES = np.array([110.0, 30.0])


def with_triceps(scene: Scene, amplitude_ma: float = 40.0) -> Scene:
    first = scene.channel[0]
    second = dataclasses.replace(
        first, pads=Pads(limb="upper arm", along_percent=50.0), pulse=dataclasses.replace(first.pulse, amplitude_ma=amplitude_ma)
    )
    return scene.replace("channel", (first, second))


def lengthens(help_: Scene, by_mm: float = 50.0) -> bool:
    """Whether a help carries a weak elbow at least so much further."""
    return reach_of(help_).limit_mm > reach_of(WEAK).limit_mm + by_mm


@pytest.mark.parametrize("helped", [WEAK.replace("task.friction", 0.15), with_triceps(WEAK)], ids=["cloth", "second channel"])
def test_a_help_lengthens_the_reach_of_a_weak_elbow(helped: Scene) -> None:
    assert lengthens(helped)


def test_a_help_that_is_none_lengthens_nothing() -> None:
    assert not lengthens(WEAK)
    assert not lengthens(with_triceps(WEAK, 5.0))  # below every threshold
    assert not lengthens(WEAK.replace("task.friction", 0.4))


def test_a_strong_elbow_reaches_all_the_way_without_help() -> None:
    strong = reach_of(WEAK.replace("hand.elbow_strength", 1.0))
    assert strong.limit_mm == reach_of(WEAK.replace("hand.elbow_strength", 1.0).replace("task.friction", 0.15)).limit_mm


def test_help_lowers_effort_and_with_it_the_bending_of_the_fingers() -> None:
    alone, helped = reach_of(WEAK), reach_of(with_triceps(WEAK))
    assert helped.effort < alone.effort
    assert helped.co_contraction < alone.co_contraction


def test_lean_makes_up_for_the_rest_and_is_shown() -> None:
    reach = reach_of(WEAK)
    assert reach.lean_mm == pytest.approx(reach.distance_mm - reach.limit_mm, abs=0.02)
    assert reach.within
    assert not reach_of(WEAK.replace("task.lean", False)).within
    assert reach.seconds > reach_of(WEAK.replace("task.friction", 0.15)).seconds


def test_the_other_hand_takes_weight_and_a_lifted_arm_is_harder() -> None:
    flat = required_torque_nm(WEAK, ANGLES)[0]
    assert required_torque_nm(WEAK.replace("task.other_hand", "lifts"), ANGLES)[0] < flat
    assert required_torque_nm(WEAK, ANGLES, lifted=True)[0] > flat
    assert required_torque_nm(WEAK, ANGLES, lifted=True, load_kg=1.0)[0] > required_torque_nm(WEAK, ANGLES, lifted=True)[0]


def test_friction_torque_by_hand() -> None:
    # 0.3 x 0.05 x 70 kg x 9.81 m/s2 at 0.682 x 248 mm
    assert required_torque_nm(WEAK, ANGLES)[0] == pytest.approx(0.3 * 34.335 * 0.682 * 0.248, rel=1e-3)


def test_trying_harder_straightens_less_beyond_a_point() -> None:
    net = [float(elbow_balance_nm(WEAK, np.array([20.0]), effort)[0]) for effort in np.linspace(0.0, 1.0, 21)]
    best = int(np.argmax(net))
    assert 0 < best < 20
    no_synergy = WEAK.replace("hand.synergy", 0.0)
    assert elbow_balance_nm(no_synergy, np.array([20.0]), 1.0)[0] > elbow_balance_nm(no_synergy, np.array([20.0]), 0.9)[0]


def test_the_least_effort_meets_what_is_asked() -> None:
    asked = np.array([0.5, 1.0])
    effort = least_effort(WEAK, ANGLES, asked)
    assert elbow_balance_nm(WEAK, ANGLES[:1], float(effort[0]))[0] == pytest.approx(0.5, rel=1e-9)
    assert elbow_balance_nm(WEAK, ANGLES[1:], float(effort[1]))[0] == pytest.approx(1.0, rel=1e-9)
    assert np.isinf(least_effort(WEAK, ANGLES, np.array([100.0, 100.0]))).all()


def test_triceps_arm_is_the_published_one() -> None:
    torque = triceps_torque_nm(with_triceps(WEAK), ANGLES)
    assert torque[1] / torque[0] == pytest.approx(23.9 / 17.4, rel=1e-6)  # Sugisaki 2010
    assert triceps_torque_nm(with_triceps(WEAK), ANGLES, kept=0.5)[0] == pytest.approx(0.5 * torque[0])
    assert not triceps_torque_nm(WEAK, ANGLES).any()


def test_fitts_law_by_hand() -> None:
    assert index_bits(300.0, 50.0) == pytest.approx(np.log2(12.0))
    assert index_bits(10.0, 50.0) == 0.0
    pace = number("reach.fitts.pace")
    assert fitts_s(400.0, 50.0) - fitts_s(200.0, 50.0) == pytest.approx(pace * number("reach.fitts.b_s_per_bit"))
    assert reach_s(300.0, 50.0, 0.5) > reach_s(300.0, 50.0, 0.0) == fitts_s(300.0, 50.0)


def test_co_contraction_grows_faster_than_effort() -> None:
    assert co_contraction(1.0) > 2.0 * co_contraction(0.5) > 0.0 == co_contraction(0.0)
