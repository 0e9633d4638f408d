"""Help from the other hand, tone that grows with stretch, the reflex in motion, the wrist's hard end, readying."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest
from hand_potential import STEP_RAD, potential, sample

from graspwave import simulator as sim
from graspwave.simulator.hand import (
    ANGLES,
    JOINTS,
    changed,
    equilibrium,
    grip_after_release,
    help_notices,
    motion,
    motion_and_memory,
    readied,
    readied_by,
    reflex_work_nmm,
    scene_hand,
    standard_hand,
)
from graspwave.simulator.hand.layout import constants_of
from graspwave.simulator.scene import Hand

TIGHT = Hand(flexor_length_factor=0.95)
WITHIN = 1e-7  # as in the test of the potential


def slopes_agree(helped: float, tone: float, of: float, rests: bool = False) -> bool:
    """Whether gradient and Hessian of a helped, toned hand are the slopes of the potential with help `of`."""
    q, drive, _, _ = sample(50, 3)
    toned = np.full((50, 2), tone)
    one, two = (constants_of(scene_hand(), 0.95, 180.0, 1.0, share, rests) for share in (helped, of))
    here = potential(one, q, drive, None, toned)
    misses = []
    for j in range(len(ANGLES)):
        step = np.zeros(len(ANGLES))
        step[j] = STEP_RAD
        up, down = (potential(two, q + sign * step, drive, None, toned) for sign in (1.0, -1.0))
        misses.append(np.abs((up[0] - down[0]) / (2 * STEP_RAD) - here[1][:, j]).max() / np.abs(here[1]).max())
        misses.append(np.abs((up[1] - down[1]) / (2 * STEP_RAD) - here[2][:, j]).max() / np.abs(here[2]).max())
    return max(misses) < WITHIN


def test_help_tone_and_hard_end_come_from_the_potential() -> None:
    assert slopes_agree(0.7, 0.05, 0.7)
    assert slopes_agree(0.7, 0.05, 0.7, rests=True)
    assert not slopes_agree(0.7, 0.05, 0.71)


def test_help_opens_and_leaves_straight_fingers_alone() -> None:
    gap = [equilibrium(replace(TIGHT, help_opening=h), {}).opening_mm[0] for h in (0.0, 0.1, 0.3, 1.0)]
    assert np.all(np.diff(gap) > 0.0)
    straight = np.array([[0.0, *np.radians([-15.0] * 12)]])
    helped, alone = (potential(constants_of(standard_hand(), 1.0, 191.0, 0.0, h), straight)[1][0] for h in (1.0, 0.0))
    ceiling = standard_hand().helping.ceiling_n * 191.0
    assert np.all((helped - alone)[1:] < 0.02 * ceiling)


def test_help_never_passes_its_ceiling() -> None:
    bent = np.radians([[0.0, *[90.0, 90.0, 60.0] * 4]])
    helped, alone = (potential(constants_of(standard_hand(), 1.0, 191.0, 0.0, h), bent)[1][0] for h in (1.0, 0.0))
    bones = standard_hand().bones
    lever = 191.0 * (bones.proximal + bones.middle + bones.distal / 2.0)
    # a quarter of it under each finger; MCP of the middle one, 80 degrees past the ramp
    assert (helped - alone)[ANGLES.index("MCP")] == pytest.approx(standard_hand().helping.ceiling_n / 4.0 * lever, rel=1e-3)


def test_help_is_noticed_near_the_ceiling_and_where_it_does_not_help() -> None:
    assert help_notices(TIGHT) == ()
    assert help_notices(replace(TIGHT, help_opening=0.3)) == ()
    assert help_notices(replace(TIGHT, help_opening=1.0)) == (
        "The other hand pushes with 3.0 N, near its ceiling of 3 N: assist, never force.",
    )
    hard = replace(TIGHT, flexor_length_factor=0.90, help_opening=0.2, finger_tone=0.05)
    (said,) = help_notices(hard)
    assert said.startswith("The fingers stay bent at")


def grown_by_stretch(hand: Hand) -> float:
    """What growth with stretch adds to the tension of FDP in a resting hand, relative."""
    plain = changed(standard_hand(), tone__stretch_gain=0.0)
    grown, flat = (equilibrium(hand, {}, model=m).tension_n["FDP"][0] for m in (standard_hand(), plain))
    return float(grown / flat - 1.0)


def test_tone_grows_with_stretch() -> None:
    assert grown_by_stretch(replace(TIGHT, finger_tone=0.02, wrist_held_deg=-40.0)) > 0.04
    assert grown_by_stretch(replace(TIGHT, finger_tone=0.02, wrist_held_deg=60.0)) < 0.03
    assert grown_by_stretch(replace(TIGHT, finger_tone=0.0, wrist_held_deg=-40.0)) == 0.0


def test_tone_can_be_given_row_by_row() -> None:
    tone = np.array([0.0, 0.01, 0.02])
    rows = equilibrium(TIGHT, {"EDC": [0.1] * 3}, tone={"finger": tone, "wrist": tone})
    for i, value in enumerate(tone):
        alone = equilibrium(replace(TIGHT, finger_tone=value, wrist_tone=value), {"EDC": [0.1]})
        for joint in JOINTS:
            assert rows.angle_deg[joint][i] == pytest.approx(alone.angle_deg[joint][0], abs=0.01)
        assert rows.tension_n["FDP"][i] == pytest.approx(alone.tension_n["FDP"][0], rel=1e-3)


def test_hard_end_keeps_a_scene_in_the_published_range() -> None:
    drive = {m: [1.0] for m in ("EDC", "ECRL", "ECRB", "ECU")}
    back = equilibrium(Hand(), drive, model=scene_hand()).angle_deg["wrist"][0]
    assert -72.0 < back < -60.0  # full extension passes the published 60 to 70 by a few degrees of give
    down = equilibrium(Hand(), {m: [1.0] for m in ("FCR", "FCU", "PL")}, model=scene_hand()).angle_deg["wrist"][0]
    assert 75.0 < down < 83.0
    assert equilibrium(Hand(), drive).angle_deg["wrist"][0] < -85.0  # the published torques alone


def hard_end_nmm(held: float) -> float:
    """Torque that the hard end of a scene's wrist adds."""
    q = np.radians([[held, *[30.0, 30.0, 15.0] * 4]])
    models = (scene_hand(), changed(scene_hand(), wrist__hard_end=0.0))
    one, two = (potential(constants_of(m, 1.0, 191.0, 0.0), q)[1] for m in models)
    return float(np.abs(one - two).max())


def test_hard_end_is_not_felt_in_the_middle_and_grows_e_fold() -> None:
    for held in (-15.0, 0.0, 25.0):
        assert hard_end_nmm(held) < 10.0  # N mm, of some 300 that move a wrist
    fold = scene_hand().wrist.hard_fold_deg
    assert hard_end_nmm(-45.0 - fold) / hard_end_nmm(-45.0) == pytest.approx(np.e, rel=0.02)


def pulled_open(gain: float, seconds: float) -> np.ndarray:
    """PIP against time while EDC rises to a third within `seconds`."""
    hand = replace(TIGHT, reflex_gain=gain, wrist_held_deg=20.0)
    drive = np.minimum(np.arange(1, 301) * 0.01 / seconds, 1.0)[:, None] * 0.3
    return motion(hand, {"EDC": drive}, 0.01)[:, 0, ANGLES.index("PIP")]


def test_reflex_acts_in_fast_motion_only() -> None:
    fast = np.abs(pulled_open(1.0, 0.05) - pulled_open(0.0, 0.05)).max()
    slow = np.abs(pulled_open(1.0, 3.0) - pulled_open(0.0, 3.0)).max()
    assert fast > 2.0 * slow
    assert fast > 1.0
    assert abs(pulled_open(1.0, 0.05)[-1] - pulled_open(0.0, 0.05)[-1]) < 0.5  # the steady hand has none


def test_reflex_is_remembered_where_a_motion_is_cut() -> None:
    hand = replace(TIGHT, reflex_gain=1.0)
    drive = np.full((20, 2), 0.2)
    whole = motion(hand, {"EDC": drive}, 0.05)
    first, memory = motion_and_memory(hand, {"EDC": drive[:4]}, 0.05)
    rest = equilibrium(hand, {})
    start = replace(rest, angle_deg={joint: first[-1, :, i] for i, joint in enumerate(ANGLES)})
    second, _ = motion_and_memory(hand, {"EDC": drive[4:]}, 0.05, start=start, memory=memory)
    assert np.allclose(second, whole[4:], atol=0.01)
    forgot, _ = motion_and_memory(hand, {"EDC": drive[4:]}, 0.05, start=start)
    assert np.abs(forgot - whole[4:]).max() > 0.02


def test_reflex_of_a_scene_can_be_switched_off() -> None:
    scene = sim.presets()["tight"].replace("channel.0.ramp.up_s", 0.0)
    lively = scene.replace("hand.reflex_gain", 2.0)
    plain, quick, off = (sim.simulate(s, duration_s=4.0).opening_mm for s in (scene, lively, lively.without("reflex")))
    assert np.abs(quick - plain).max() > 1.0
    assert np.array_equal(off, plain)


def test_reflex_work_refuses_no_speed() -> None:
    with pytest.raises(ValueError, match=re.escape("'speed_deg_s' must be above 0 (got 0.0)")):
        reflex_work_nmm(Hand(), 0.0)


def test_grip_lets_go_after_the_published_delay() -> None:
    time = np.linspace(0.0, 8.0, 801)
    for who, delay in (("paretic", 5.0), ("other hand", 1.6), ("healthy", 0.4)):  # published: Seo 2009
        grip = grip_after_release(time, 1.0, 0.1, who=who)
        assert grip[0] == 0.1
        assert grip[-1] == 0.0
        assert time[np.argmax(grip <= 0.05)] == pytest.approx(1.0 + delay, abs=0.02)
        assert np.all(np.diff(grip) <= 0.0)
    with pytest.raises(ValueError, match=r"^'who' must be one of paretic, other hand, healthy \(got 'me'\)$"):
        grip_after_release(time, 1.0, 0.1, who="me")


def test_grip_lets_go_after_a_delay_of_ones_own() -> None:
    time = np.linspace(0.0, 8.0, 801)
    grip = grip_after_release(time, 1.0, 0.1, switch_off_s=3.0)
    assert time[np.argmax(grip <= 0.05)] == pytest.approx(4.0, abs=0.02)
    at_once = grip_after_release(time, 1.0, 0.1, switch_off_s=0.0)
    assert np.array_equal(at_once, np.where(time < 1.0, 0.1, 0.0))
    with pytest.raises(ValueError, match=r"^'switch_off_s' must be 0 or more \(got -1\)$"):
        grip_after_release(time, 1.0, 0.1, switch_off_s=-1)


def wrist_deg(hand: Hand, drive: dict[str, list[float]] | None = None) -> float:
    return float(equilibrium(hand, drive or {}, model=scene_hand()).angle_deg["wrist"][0])


def test_a_wrist_on_the_table_stops_where_the_palm_touches() -> None:
    # the wrist's axis 20 mm above the table, the palm's skin 12 mm below the metacarpal of 85 mm
    touches = np.degrees(np.arcsin(8.0 / (0.446 * 191.0)))
    for length in (150.0, 191.0, 220.0):
        lies = replace(TIGHT, wrist_rests=True, hand_length_mm=length)
        assert wrist_deg(lies) == pytest.approx(touches, abs=1.0)  # a degree: the flesh gives way to tone as well as weight
        assert wrist_deg(replace(lies, wrist_rests=False)) > 40.0
    lies = replace(TIGHT, wrist_rests=True)
    assert wrist_deg(lies, {"FCR": [1.0], "FCU": [1.0]}) < touches + 5.0
    assert wrist_deg(lies, {"ECRB": [0.4]}) == pytest.approx(wrist_deg(TIGHT, {"ECRB": [0.4]}), abs=0.01)  # lifted free of it
    up = replace(TIGHT, forearm="supinated", wrist_tone=0.0, finger_tone=0.0)
    assert wrist_deg(replace(up, wrist_rests=True), {"ECRB": [0.2]}) == pytest.approx(-touches, abs=2.0)
    assert wrist_deg(up, {"ECRB": [0.2]}) < -20.0
    side = replace(TIGHT, forearm="neutral")
    assert wrist_deg(replace(side, wrist_rests=True)) == wrist_deg(side)
    held = replace(TIGHT, wrist_held_deg=40.0)
    assert wrist_deg(replace(held, wrist_rests=True)) == wrist_deg(held) == pytest.approx(40.0)


def test_a_moving_wrist_falls_on_the_table_and_no_further() -> None:
    lies = replace(TIGHT, wrist_rests=True)
    drive = np.concatenate([np.full(40, 0.4), np.zeros(60)])[:, None]
    wrist = motion(lies, {"ECRB": drive}, 0.05, model=scene_hand())[:, 0, 0]
    assert wrist[39] < -20.0
    assert wrist[-1] == pytest.approx(wrist_deg(lies), abs=0.5)
    assert motion(TIGHT, {"ECRB": drive}, 0.05, model=scene_hand())[-1, 0, 0] > 40.0


def test_four_of_ten_stretches_give_most_and_it_fades() -> None:
    def longer(n: float, after: float = 0.0) -> float:
        return readied(TIGHT, n, after).flexor_length_factor - TIGHT.flexor_length_factor

    assert longer(4) == pytest.approx(0.8 * longer(10), rel=1e-6)  # taylor-1990, memory hi
    assert readied_by(10).tension_fall == pytest.approx(0.17, rel=1e-9)
    assert longer(0) == 0.0
    assert longer(10, 10.0) == pytest.approx(longer(10) / 2.0)
    assert longer(100) < 1.05 * longer(10)
    assert longer(10, 600.0) < 1e-9


def test_readying_calms_and_leaves_the_rest() -> None:
    hand = replace(TIGHT, reflex_gain=1.0)
    ready = readied(hand, 10)
    assert ready.finger_tone / hand.finger_tone == pytest.approx(ready.reflex_gain)
    assert 0.6 < ready.reflex_gain < 1.0
    assert replace(
        ready, flexor_length_factor=hand.flexor_length_factor, finger_tone=hand.finger_tone, wrist_tone=hand.wrist_tone,
        reflex_gain=1.0,
    ) == hand  # fmt: skip
    assert readied(Hand(), 10).flexor_length_factor == 1.0


def test_a_readied_hand_rests_wider_and_opens_more() -> None:
    scene = sim.presets()["tight"]
    ready = readied(scene.hand, 10)
    after = scene
    for name in ("flexor_length_factor", "finger_tone", "wrist_tone"):
        after = after.replace(f"hand.{name}", getattr(ready, name))
    current = np.linspace(0.0, 30.0, 61)
    one, two = (sim.opening_curve(s, current).opening_mm for s in (scene, after))
    assert two[0] > one[0] + 1.0
    assert two.max() > one.max() + 1.0


@pytest.mark.parametrize(("n", "after", "text"), [(-1.0, 0.0, "'stretches' must be 0 or more (got -1.0)"),
                                                  (1.0, -2.0, "'minutes_after' must be 0 or more (got -2.0)")])
def test_negative_counts_are_refused(n: float, after: float, text: str) -> None:
    with pytest.raises(ValueError, match=f"^{re.escape(text)}$"):
        readied_by(n, after)
