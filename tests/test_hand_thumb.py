"""The thumb's own joints: rest, direction of every muscle, ends, and a place in the opening."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.signal import lfilter

from graspwave import simulator as sim
from graspwave.simulator.facts import number
from graspwave.simulator.hand import (
    THUMB_JOINTS,
    THUMB_MUSCLES,
    changed,
    equilibrium,
    opening,
    scene_hand,
    standard_hand,
    thumb_angles_deg,
    thumb_motion_deg,
    thumb_points_mm,
)
from graspwave.simulator.scene import Hand

DRIVEN = standard_hand()
REST = dict(zip(THUMB_JOINTS, (
    DRIVEN.thumb.cmc_deg, DRIVEN.thumb.radial_deg, DRIVEN.thumb.mcp_deg, DRIVEN.thumb.ip_deg
), strict=True))


def test_without_drive_it_rests() -> None:
    assert {joint: float(value[0]) for joint, value in thumb_angles_deg({}).items()} == REST
    angle = {"wrist": 10.0, "MCP": 20.0, "PIP": 30.0, "DIP": 10.0}
    assert np.array_equal(thumb_points_mm(Hand(), angle), thumb_points_mm(Hand(), {**angle, **REST}))


@pytest.mark.parametrize(("muscle", "turns"), [
    ("APL", {"CMC": 1, "CMC_RADIAL": 1, "THUMB_MCP": 0, "IP": 0}),
    ("EPB", {"CMC": -1, "CMC_RADIAL": 1, "THUMB_MCP": -1, "IP": 0}),
    ("EPL", {"CMC": -1, "CMC_RADIAL": 1, "THUMB_MCP": -1, "IP": -1}),
    ("FPL", {"CMC": 1, "CMC_RADIAL": -1, "THUMB_MCP": 1, "IP": 1}),
])  # fmt: skip
def test_each_muscle_turns_its_joints(muscle: str, turns: dict[str, int]) -> None:
    angle = thumb_angles_deg({muscle: [0.3]}, model=DRIVEN)
    assert {joint: int(np.sign(angle[joint][0] - REST[joint])) for joint in THUMB_JOINTS} == turns


def torque_left_nmm(angle: dict[str, np.ndarray], drive: dict[str, float]) -> float:
    """Largest torque between the muscles and the spring, each from its own formula."""
    model = standard_hand()
    worst = 0.0
    for name, joint in zip(THUMB_JOINTS, (model.thumb_cmc, model.thumb_radial, model.thumb_mcp, model.thumb_ip), strict=True):
        pull = sum(u * number(f"architecture.{m.lower()}.force_n") * getattr(joint, f"{m.lower()}_arm_mm")
                   for m, u in drive.items())  # fmt: skip
        away = np.radians(float(angle[name][0]) - REST[name])
        way = np.radians(joint.more_deg if away >= 0.0 else joint.less_deg)
        worst = max(worst, abs(joint.stiffness_nmm_rad * way * np.arctanh(away / way) - pull))
    return worst


def test_muscles_and_spring_balance() -> None:
    drive = {"APL": 0.10, "EPB": 0.05, "EPL": 0.12, "FPL": 0.03}
    angle = thumb_angles_deg({m: [u] for m, u in drive.items()}, model=DRIVEN)
    assert torque_left_nmm(angle, drive) < 1e-6
    assert torque_left_nmm(angle, {**drive, "EPL": 0.13}) > 1.0


def test_it_never_passes_its_ends() -> None:
    rng = np.random.default_rng(9)
    angle = thumb_angles_deg({m: rng.uniform(0.0, 1.0, 500) for m in THUMB_MUSCLES}, model=DRIVEN)
    model = standard_hand()
    for name, joint in zip(THUMB_JOINTS, (model.thumb_cmc, model.thumb_radial, model.thumb_mcp, model.thumb_ip), strict=True):
        assert (angle[name] <= REST[name] + joint.more_deg).all()
        assert (angle[name] >= REST[name] - joint.less_deg).all()


def test_openers_of_the_thumb_widen_and_its_closer_narrows() -> None:
    hand = Hand()
    rest = equilibrium(hand, {}).opening_mm[0]
    wide = equilibrium(hand, {"APL": [0.3], "EPB": [0.1]}, model=DRIVEN)
    assert wide.opening_mm[0] > rest + 1.0
    assert equilibrium(hand, {"FPL": [0.1]}, model=DRIVEN).opening_mm[0] < rest - 3.0
    # EPL alone lays the thumb beside the palm: seen from the side it is less in the way, and less opposite
    drawn = equilibrium(hand, {"EPL": [0.4]}, model=DRIVEN)
    assert drawn.angle_deg["CMC"][0] < wide.angle_deg["CMC"][0] - 5.0
    assert wide.angle_deg["MCP"][0] == pytest.approx(equilibrium(hand, {}).angle_deg["MCP"][0])  # the fingers do not know
    again, points = opening(hand, wide.angle_deg)
    assert again[0] == wide.opening_mm[0]
    assert np.allclose(points, wide.opening_points_mm, rtol=0.0, atol=1e-9)


def test_current_moves_the_thumb_in_curve_and_motion(monkeypatch: pytest.MonkeyPatch) -> None:
    scene = sim.presets()["tight"].without("tiring").replace("channel.0.timing.on_s", 12.0)
    # nearer to the thumb's own extensors
    scene = scene.replace("channel.0.pads.along_percent", 35.0).replace("channel.0.pads.around_deg", 0.0)
    amplitude = scene.channel[0].pulse.amplitude_ma
    curve = sim.opening_curve(scene, [0.0, amplitude])
    with monkeypatch.context() as patched:
        patched.setattr("graspwave.simulator.hand.scene_hand", lambda: changed(scene_hand(), thumb__driven=0.0))
        still = sim.opening_curve(scene, [amplitude])
        assert still.angle_deg["CMC"][0] == REST["CMC"]
    assert curve.angle_deg["CMC_RADIAL"][1] > curve.angle_deg["CMC_RADIAL"][0] + 2.0  # it opens sideways
    assert abs(curve.opening_mm[1] - still.opening_mm[0]) > 0.5
    run = sim.simulate(scene, duration_s=11.0)
    assert run.angle_deg["CMC"][0] == pytest.approx(curve.angle_deg["CMC"][0], abs=0.1)
    assert run.angle_deg["CMC"][-1] == pytest.approx(curve.angle_deg["CMC"][1], abs=0.5)
    assert run.opening_mm[-1] == pytest.approx(curve.opening_mm[1], abs=1.0)


def test_switched_off_it_rests_under_any_drive() -> None:
    still = changed(standard_hand(), thumb__driven=0.0)
    angle = thumb_angles_deg({"APL": [0.5], "EPL": [0.5]}, model=still)
    assert {joint: float(value[0]) for joint, value in angle.items()} == REST


def test_it_follows_with_the_friction_time() -> None:
    drive = {"APL": np.concatenate([[0.0], np.full(500, 0.1)])}
    angle = thumb_motion_deg(drive, 0.01, model=DRIVEN)["CMC"]
    way = (angle - angle[0]) / (angle[-1] - angle[0])
    assert 0.01 * np.argmax(way >= 1.0 - np.exp(-1.0) - 1e-9) == pytest.approx(DRIVEN.friction.time_s, abs=0.011)
    # the same lag by a library's filter
    aim, keep = thumb_angles_deg(drive, model=DRIVEN)["CMC"], np.exp(-0.01 / DRIVEN.friction.time_s)
    filtered, _ = lfilter([1.0 - keep], [1.0, -keep], aim[1:], zi=[keep * aim[0]])
    assert angle[1:] == pytest.approx(filtered, rel=1e-12, abs=1e-12)
    begun = thumb_motion_deg(drive, 0.01, start_deg=dict.fromkeys(THUMB_JOINTS, 30.0), model=DRIVEN)["CMC"]
    assert begun[0] == 30.0
    assert begun[-1] == pytest.approx(angle[-1])
    with pytest.raises(ValueError, match=r"^'dt_s' must be above 0 \(got 0.0\)$"):
        thumb_motion_deg(drive, 0.0)
