"""The index as a ray of its own: at rest beside the middle finger, its published motions, and what reaches it."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

from graspwave import simulator as sim
from graspwave.simulator.hand import (
    INDEX_JOINTS,
    HandModel,
    changed,
    equilibrium,
    index_angles_deg,
    index_extensor_drive,
    index_hand,
    posture_under,
    relaxed_posture,
    scene_hand,
    standard_hand,
)
from graspwave.simulator.run import drive_of_hand, effective_hand, stimulated
from graspwave.simulator.scene import Hand

TABLE = Path(__file__).with_name("reference") / "single_tendons_nimbarte_2008.csv"
RMS_DEG, WORST_DEG = 5.0, 9.0  # as for the middle ray, but one degree more at the worst, FDP at the MCP; no spread is known


def test_relaxed_index_lies_beside_the_middle_finger_and_a_little_straighter() -> None:
    for factor in (1.0, 0.98, 0.95):
        hand = Hand(flexor_length_factor=factor)
        for wrist in (-60.0, 0.0, 60.0):
            middle, index = (relaxed_posture(hand, wrist, model=m) for m in (standard_hand(), index_hand(standard_hand())))
            for joint in ("MCP", "PIP"):
                assert 0.0 < middle[joint] - index[joint] < 12.0


def moves_as_published(model: HandModel) -> bool:
    """Nimbarte and others 2008, PMC2483967: measured on the index."""
    rest = relaxed_posture(Hand(), 0.0, model=model)
    misses = []
    for row in csv.DictReader(TABLE.read_text("utf-8").splitlines()):
        pulled = posture_under(Hand(), {row["tendon"]: float(row["load_n"])}, 0.0, model=model)
        misses.append([pulled[j] - rest[j] - float(row[f"{j}_deg"]) for j in INDEX_JOINTS])
    return bool(np.sqrt(np.mean(np.square(misses))) <= RMS_DEG and np.abs(misses).max() <= WORST_DEG)


def test_single_tendons_move_the_index_as_published() -> None:
    assert moves_as_published(index_hand(standard_hand()))


@pytest.mark.parametrize(("name", "times"), [("edc_mcp_arm_mm", 0.5), ("fds_mcp_arm_mm", 0.5), ("fdp_dip_arm_mm", 2.0)])
def test_a_wrong_index_fails(name: str, times: float) -> None:
    model = standard_hand()
    wrong = changed(model, **{f"index__{name}": times * getattr(model.index, name)})
    assert not moves_as_published(index_hand(wrong))


def test_with_the_middle_rays_numbers_it_is_the_middle_finger() -> None:
    hand, drive = Hand(), {"EDC": [0.0, 0.05, 0.3], "FDP": [0.0, 0.01, 0.1], "ECRB": [0.0, 0.05, 0.2]}
    m = standard_hand()
    twin = changed(
        m, index__edc_force_n=m.edc.force_n, index__eip_force_n=0.0, index__edc_fibre_mm=m.edc.fibre_mm,
        index__edc_mcp_arm_mm=m.edc.mcp_arm_mm, index__fdp_force_n=m.fdp.force_n, index__fdp_fibre_mm=m.fdp.fibre_mm,
        index__fdp_mcp_arm_mm=m.fdp.mcp_arm_mm, index__fdp_pip_arm_mm=m.fdp.pip_arm_mm, index__fdp_dip_arm_mm=m.fdp.dip_arm_mm,
        index__fds_force_n=m.fds.force_n, index__fds_fibre_mm=m.fds.fibre_mm, index__fds_mcp_arm_mm=m.fds.mcp_arm_mm,
        index__fds_pip_arm_mm=m.fds.pip_arm_mm, index__metacarpal=m.bones.metacarpal, index__proximal=m.bones.proximal,
        index__middle=m.bones.middle, index__distal=m.bones.distal,
    )  # fmt: skip
    whole = equilibrium(hand, drive)
    index = index_angles_deg(hand, drive, whole, model=twin)
    for joint in INDEX_JOINTS:
        assert np.allclose(index[joint], whole.angle_deg[joint], atol=0.01)
    other = index_angles_deg(hand, drive, whole)
    assert np.abs(other["PIP"] - whole.angle_deg["PIP"]).max() > 1.0


def test_its_extensors_share_by_force() -> None:
    own = standard_hand().index
    part = own.eip_force_n / (own.eip_force_n + own.edc_force_n)
    assert index_extensor_drive([1.0, 0.0, 1.0], [0.0, 1.0, 1.0]) == pytest.approx([1.0 - part, part, 1.0])


def test_curve_has_the_index_and_it_lags_until_pads_reach_its_own_extensor() -> None:
    supple = sim.presets()["supple"]
    near = sim.opening_curve(supple, [0.0, 13.0])
    assert set(near.index_deg) == set(INDEX_JOINTS)
    assert near.index_deg["MCP"][1] > near.angle_deg["MCP"][1] + 5.0  # EIP lies near the wrist: not reached
    assert near.index_deg["MCP"][1] < near.index_deg["MCP"][0]
    far = supple.replace("channel.0.pads.along_percent", 55.0)
    current = np.linspace(0.0, 30.0, 61)
    curve = sim.opening_curve(far, current)
    at = int(np.argmax(curve.recruited["EIP"] > 0.5))
    assert curve.index_deg["MCP"][at] < curve.angle_deg["MCP"][at]  # here the index leads
    assert np.array_equal(curve.opening_mm, equilibrium_opening(far, current))


def equilibrium_opening(scene: sim.Scene, current: np.ndarray) -> np.ndarray:
    """Opening without a thought of the index."""
    hand = effective_hand(scene)
    return equilibrium(hand, drive_of_hand(stimulated(scene, current)[1], hand, current.size), model=scene_hand()).opening_mm
