"""One tendon pulled at a time: Nimbarte and others 2008, PMC2483967 (index, 10 hands, about 10 % load)."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest
from record import Rows

from graspwave.simulator.hand import HandModel, changed, posture_under, relaxed_posture, standard_hand
from graspwave.simulator.scene import Hand

PART = "Hand"

RMS_DEG, WORST_DEG = 5.0, 8.0  # no spread is known; the worst is FDP at the MCP, 27 for 20 degrees
TABLE = Path(__file__).with_name("single_tendons_nimbarte_2008.csv")
ROWS = list(csv.DictReader(TABLE.read_text("utf-8").splitlines()))
JOINTS = ("MCP", "PIP", "DIP")


def misses_deg(model: HandModel) -> np.ndarray:
    rest = relaxed_posture(Hand(), 0.0, model=model)
    rows = []
    for row in ROWS:
        pulled = posture_under(Hand(), {row["tendon"]: float(row["load_n"])}, 0.0, model=model)
        rows.append([pulled[j] - rest[j] - float(row[f"{j}_deg"]) for j in JOINTS])
    return np.array(rows)


def check(model: HandModel) -> bool:
    misses = misses_deg(model)
    return bool(np.sqrt(np.mean(misses**2)) <= RMS_DEG and np.abs(misses).max() <= WORST_DEG)


def test_each_tendon_moves_its_joints(row: Rows) -> None:
    missed = misses_deg(standard_hand())
    assert check(standard_hand()), missed
    for printed, of_tendon in zip(ROWS, missed, strict=True):
        for joint, off in zip(JOINTS, of_tendon, strict=True):
            wanted = float(printed[f"{joint}_deg"])
            row(f"{printed['tendon']} alone: turn of the {joint}", wanted + off, wanted - WORST_DEG, wanted + WORST_DEG,
                published=wanted, unit="deg", source="nimbarte-2008")


@pytest.mark.parametrize(
    ("name", "times"),
    [
        ("edc__mcp_arm_mm", 0.4),
        ("fdp__dip_arm_mm", 2.0),
        ("fds__mcp_arm_mm", 0.5),
        ("fdp__mcp_arm_mm", 2.0),
        ("capsule__torque_nmm", 0.5),
        ("capsule__torque_nmm", 2.0),
    ],
)
def test_a_wrong_hand_fails(name: str, times: float) -> None:
    """Half of EDC's arm at the MCP, or of FDP's at PIP or DIP, would pass: the relaxed posture shifts with it; blunt there."""
    model = standard_hand()
    section, field = name.split("__")
    assert not check(changed(model, **{name: times * getattr(getattr(model, section), field)}))
