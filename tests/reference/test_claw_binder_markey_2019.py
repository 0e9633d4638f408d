"""Which fingers without intrinsics claw under EDC alone: Binder-Markey and others 2019, PMC6718315."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest
from record import Rows

from graspwave.simulator.hand import FINGERS, HandModel, changed, equilibrium, standard_hand
from graspwave.simulator.scene import Hand

PART = "Hand"

LINE_DEG = 3.0  # how far past both bounds a posture must be to count: the table says yes or no, not how much
STRAIGHT_DEG = 20.0  # the published bound of the PIP
ROWS = list(csv.DictReader(Path(__file__).with_name("claw_binder_markey_2019.csv").read_text("utf-8").splitlines()))
DRIVE = np.linspace(0.0, 1.0, 101)


def fingers(model: HandModel) -> dict[str, HandModel]:
    hood = model.hood
    half_torque_deg = model.mcp.extension_fold_deg * np.log(2.0)  # half the stop's torque at every angle
    return {
        "normal": model,
        "slightly short flexors": model,
        "short flexors": model,
        "half the PIP extensor arm": changed(
            model, hood__central_arm_mm=hood.central_arm_mm / 2, hood__lateral_arm_mm=hood.lateral_arm_mm / 2
        ),
        "looser MCP joint": changed(model, mcp__extension_deg=model.mcp.extension_deg - half_torque_deg),
    }


def found(model: HandModel, factor: float) -> dict[str, str]:
    """The table's answers from the model: wrist held neutral, no tone, no weight, no intrinsics."""
    hand = Hand(flexor_length_factor=factor, finger_tone=0.0, wrist_tone=0.0, forearm="neutral", wrist_held_deg=0.0)
    angle = equilibrium(hand, {"EDC": DRIVE}, model=model).angle_deg
    past = np.minimum(-angle["MCP"], angle["PIP"] - STRAIGHT_DEG) > LINE_DEG
    said = {True: "yes", False: "no"}
    return {
        "claws_at_some_drive": said[bool(past.any())],
        "claws_at_full_drive": said[bool(past[-1])],
        "straight_at_full_drive": said[bool(angle["PIP"][-1] < STRAIGHT_DEG)],
    }


def check(row: dict[str, str], model: HandModel, factor: float) -> bool:
    return all(row[name] == answer for name, answer in found(fingers(model)[row["finger"]], factor).items())


def by_name(finger: str) -> dict[str, str]:
    return next(row for row in ROWS if row["finger"] == finger)


@pytest.mark.parametrize("printed", ROWS, ids=[row["finger"] for row in ROWS])
def test_who_claws(printed: dict[str, str], row: Rows) -> None:
    finger = printed["finger"]
    for name, answer in found(fingers(standard_hand())[finger], float(printed["flexor_length_factor"])).items():
        row.said(f"{finger}: {name.replace('_', ' ')}", answer, printed[name], source="binder-markey-2019")


def test_normal_finger_passes_straight_at_the_mcp() -> None:
    angle = equilibrium(Hand(wrist_held_deg=0.0), {"EDC": [1.0]}).angle_deg
    assert angle["MCP"][0] < -LINE_DEG


@pytest.mark.parametrize(
    ("finger", "factor"), [("normal", 0.95), ("short flexors", 1.0), ("slightly short flexors", 0.95)]
)
def test_swapped_lengths_fail(finger: str, factor: float) -> None:
    assert not check(by_name(finger), standard_hand(), factor)


def test_soft_flexors_fail() -> None:
    model = standard_hand()
    soft = changed(model, fdp__passive_rate=model.fdp.passive_rate / 2, fds__passive_rate=model.fds.passive_rate / 2)
    assert not all(check(row, soft, float(row["flexor_length_factor"])) for row in ROWS)


def test_half_the_mcp_arm_fails() -> None:
    model = standard_hand()
    weak = changed(model, edc__mcp_arm_mm=model.edc.mcp_arm_mm / 2)
    assert not all(check(row, weak, float(row["flexor_length_factor"])) for row in ROWS)


def held_mcp_pip_deg(factor: float, drive: float, stop_deg: float) -> float:
    """PIP angle with a block that keeps the MCP from passing `stop_deg`: a steep extension stop."""
    blocked = changed(standard_hand(), mcp__extension_deg=stop_deg, mcp__extension_fold_deg=0.5)
    hand = Hand(flexor_length_factor=factor, finger_tone=0.0, wrist_tone=0.0, forearm="neutral", wrist_held_deg=0.0)
    return float(equilibrium(hand, {"EDC": [drive]}, model=blocked).angle_deg["PIP"][0])


def test_blocking_the_mcp_straightens_a_clawed_finger() -> None:
    free = equilibrium(
        Hand(flexor_length_factor=0.98, finger_tone=0.0, forearm="neutral", wrist_held_deg=0.0), {"EDC": [0.3]}
    )
    assert free.angle_deg["PIP"][0] > 2 * STRAIGHT_DEG
    assert held_mcp_pip_deg(0.98, 0.3, 30.0) < STRAIGHT_DEG / 2


# ---- each finger, with its own extensor: the publication's finger is an index, extended by EDC and EIP

BY_LENGTH = {1.00: "straight", 0.98: "claws, straight at full drive", 0.95: "claws, never straight"}
"""What figure 5 says of its finger at each length factor; at the shortest no excitation straightens it."""


def past_line_deg(model: HandModel, factor: float, finger: str) -> tuple[np.ndarray, np.ndarray]:
    """How far past both published bounds of a claw a finger is at each drive, and its PIP; EIP and EDM go with EDC."""
    hand = Hand(flexor_length_factor=factor, finger_tone=0.0, wrist_tone=0.0, forearm="neutral", wrist_held_deg=0.0)
    angle = equilibrium(hand, dict.fromkeys(("EDC", "EIP", "EDM"), DRIVE), model=model).angle_deg
    lead = "" if finger == "middle" else f"{finger}."
    return np.minimum(-angle[f"{lead}MCP"], angle[f"{lead}PIP"] - STRAIGHT_DEG), angle[f"{lead}PIP"]


def answer(model: HandModel, factor: float, finger: str) -> str:
    """What a finger does by the published bounds themselves, in the words of `BY_LENGTH`."""
    past, pip_deg = past_line_deg(model, factor, finger)
    claws, ends_straight = bool((past > 0.0).any()), bool(pip_deg[-1] < STRAIGHT_DEG)
    if not claws:
        return BY_LENGTH[1.00] if ends_straight else "bent"
    lasts = past[-1] > 0.0 and bool((pip_deg > STRAIGHT_DEG).all())
    return BY_LENGTH[0.98] if ends_straight else BY_LENGTH[0.95] if lasts else "claws, bent at full drive"


SHORT = "0.8 degrees short at 0.98; claws from 0.979 on"
OTHER = "the publication's finger is an index"


@pytest.mark.parametrize("finger", FINGERS)
def test_every_finger_claws_by_length(finger: str, row: Rows) -> None:
    """Known miss: the index at 0.98 comes as near as 0.8 degrees to its claw. No number was bent for it."""
    for factor, printed in BY_LENGTH.items():
        known = finger == "index" and factor == 0.98
        found = answer(standard_hand(), factor, finger)
        row.said(
            f"{finger} finger, flexors {factor:.2f}", found, printed, source="binder-markey-2019", met=not known,
            mark="published" if finger == "index" else "derived", note=SHORT if known else "" if finger == "index" else OTHER,
        )  # fmt: skip


@pytest.mark.parametrize("finger", FINGERS)
def test_a_finger_whose_flexors_are_slack_does_not(finger: str) -> None:
    at = FINGERS.index(finger)
    slack = tuple(-0.2 if i == at else rest for i, rest in enumerate(standard_hand().fingers.flexor_rest))
    model = changed(standard_hand(), fingers__flexor_rest=slack)
    assert not any(answer(model, factor, finger) == BY_LENGTH[factor] for factor in (0.98, 0.95))


@pytest.mark.parametrize("finger", FINGERS)
def test_swapped_lengths_fail_in_every_finger(finger: str) -> None:
    assert all(answer(standard_hand(), factor, finger) != BY_LENGTH[other] for factor, other in ((1.00, 0.95), (0.95, 1.00)))


def test_the_index_claws_a_thousandth_further_on() -> None:
    """How far the known miss is from met, in the number that the publication varies by hundredths."""
    short, past = (past_line_deg(standard_hand(), factor, "index")[0].max() for factor in (0.98, 0.979))
    assert -1.0 < short < 0.0 < past
    assert answer(standard_hand(), 0.979, "index") == BY_LENGTH[0.98]
