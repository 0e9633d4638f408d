"""Relaxed fingers against wrist angle: Su and others 2005, Clin Biomech 20:491 (50 healthy people)."""

from __future__ import annotations

import csv
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from record import Rows

from graspwave.simulator.hand import FINGERS, HandModel, changed, relaxed_posture, standard_hand
from graspwave.simulator.scene import Hand

PART = "Hand"

WITHIN_DEG = 5.0  # asked of the model at both ends; hands differ by more
ROWS = list(csv.DictReader(Path(__file__).with_name("tenodesis_su_2005.csv").read_text("utf-8").splitlines()))
JOINTS = ("MCP", "PIP", "DIP")


def misses_deg(hand: Hand, model: HandModel) -> np.ndarray:
    """Model minus the published line at seven wrist angles, joints in columns."""
    wrist = np.linspace(-60.0, 60.0, 7)
    ends = [float(row["wrist_deg"]) for row in ROWS]
    relaxed = relaxed_posture(hand, wrist, model=model)
    return np.array([
        relaxed[joint] - np.interp(wrist, ends, [float(row[f"{joint}_deg"]) for row in ROWS]) for joint in JOINTS
    ]).T


def check(hand: Hand, model: HandModel) -> bool:
    return bool(np.abs(misses_deg(hand, model)).max() <= WITHIN_DEG)


def test_relaxed_fingers_follow_the_wrist(row: Rows) -> None:
    assert check(Hand(), standard_hand()), misses_deg(Hand(), standard_hand())
    for printed in ROWS:
        wrist = float(printed["wrist_deg"])
        relaxed = relaxed_posture(Hand(), np.array([wrist]))
        for joint in JOINTS:
            wanted = float(printed[f"{joint}_deg"])
            row(f"relaxed {joint}, wrist {abs(wrist):g} degrees {'back' if wrist < 0 else 'bent'}", relaxed[joint][0],
                wanted - WITHIN_DEG, wanted + WITHIN_DEG, published=wanted, unit="deg", source="su-2005")


def test_tone_weight_and_forearm_do_not_enter() -> None:
    toned = replace(Hand(), finger_tone=0.05, wrist_tone=0.05, forearm="supinated")
    assert np.array_equal(misses_deg(toned, standard_hand()), misses_deg(Hand(), standard_hand()))


@pytest.mark.parametrize(
    ("change", "factor"),
    [
        ({"fdp__passive_rate": 0.5, "fds__passive_rate": 0.5}, 1.0),
        ({"hood__central_arm_mm": 0.5, "hood__lateral_arm_mm": 0.5, "edc__mcp_arm_mm": 0.5}, 1.0),
        ({"capsule__torque_nmm": 2.0}, 1.0),
        ({}, 0.95),
    ],
    ids=["soft flexors", "half extensor arms", "stiff capsule", "tight hand"],
)
def test_a_wrong_hand_fails(change: dict[str, float], factor: float) -> None:
    model = standard_hand()
    for name, times in change.items():
        section, field = name.split("__")
        model = changed(model, **{name: times * getattr(getattr(model, section), field)})
    assert not check(replace(Hand(), flexor_length_factor=factor), model)


# ---- each finger: what was printed is one line for relaxed fingers, and no spread by finger

OF_ONE_DEG = 8.0  # hands differ by more; the worst is the index's MCP, 7 deg straighter with the wrist bent


def by_finger_deg(model: HandModel) -> np.ndarray:
    """Misses of index, middle, ring and little finger: fingers, wrist angles, joints."""
    wrist = np.linspace(-60.0, 60.0, 7)
    ends = [float(printed["wrist_deg"]) for printed in ROWS]
    relaxed = relaxed_posture(Hand(), wrist, model=model)
    line = [np.interp(wrist, ends, [float(printed[f"{joint}_deg"]) for printed in ROWS]) for joint in JOINTS]
    return np.array([
        [relaxed[joint if finger == "middle" else f"{finger}.{joint}"] - line[j] for j, joint in enumerate(JOINTS)]
        for finger in FINGERS
    ]).swapaxes(1, 2)


def fingers_are_met(model: HandModel) -> bool:
    return bool(np.abs(by_finger_deg(model)).max() <= OF_ONE_DEG)


def test_each_finger_follows_the_wrist() -> None:
    assert fingers_are_met(standard_hand()), np.abs(by_finger_deg(standard_hand())).max(axis=(1, 2))


@pytest.mark.parametrize("change", [
    {"fingers__capsule": (0.95, 1.0, 0.95, 0.2)}, {"fingers__flexor_rest": (0.06, 0.0, 0.01, 0.014)},
    {"fingers__edc_force": (0.1, 1.0, 0.848, 0.391), "fingers__own_force_n": (0.0, 0.0, 0.0, 34.8)},
])  # fmt: skip
def test_one_wrong_finger_fails(change: dict[str, tuple[float, ...]]) -> None:
    model = changed(standard_hand(), **change)
    assert not fingers_are_met(model)
