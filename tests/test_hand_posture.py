"""Postures under drive, tone, weight and pulled tendons."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest

from graspwave.simulator.hand import (
    ANGLES,
    FREE_MUSCLES,
    JOINTS,
    MUSCLES,
    THUMB_MUSCLES,
    WRIST_FLEXORS,
    Posture,
    changed,
    equilibrium,
    moment_arm_mm,
    posture_under,
    relaxed_posture,
    scene_hand,
    standard_hand,
)
from graspwave.simulator.presets import presets
from graspwave.simulator.run import drive_of_hand, effective_hand, stimulated
from graspwave.simulator.scene import Hand

TIGHT = Hand(flexor_length_factor=0.95)
RAMP = np.linspace(0.0, 1.0, 61)
KNOWN = (*MUSCLES, *FREE_MUSCLES)
PART = "; one finger's part is index.EDC"
MOST_STEPS = 30  # of 60; the speed of a curve hangs on it


def wrist_extensors(drive: np.ndarray) -> dict[str, np.ndarray]:
    return dict.fromkeys(("ECRL", "ECRB", "ECU"), drive)


@pytest.mark.parametrize("factor", [0.95, 0.98, 1.0])
def test_a_curve_settles_within_few_steps(factor: float) -> None:
    posture = equilibrium(Hand(flexor_length_factor=factor), {"EDC": RAMP, **wrist_extensors(0.5 * RAMP)})
    assert posture.rows_left == 0
    assert posture.iterations <= MOST_STEPS
    assert posture.residual_nmm.max() <= 1e-3


def test_two_thousand_random_hands_settle() -> None:
    rng = np.random.default_rng(11)
    for k in range(40):
        hand = Hand(
            flexor_length_factor=rng.uniform(0.95, 1.0),
            finger_tone=rng.uniform(0.0, 0.02),
            wrist_tone=rng.uniform(0.0, 0.03),
            hand_length_mm=rng.uniform(165.0, 210.0),
            forearm=("pronated", "neutral", "supinated")[k % 3],
            wrist_held_deg=None if k % 2 else rng.uniform(-60.0, 60.0),
        )
        posture = equilibrium(hand, {muscle: rng.uniform(0.0, 1.0, 50) for muscle in MUSCLES})
        assert posture.rows_left == 0
        angles = np.array([posture.angle_deg[joint] for joint in ANGLES]).T
        assert (angles > np.array([-105.0, *[-50.0, -35.0, -35.0] * 4])).all()
        assert (angles < np.array([105.0, *[105.0, 125.0, 85.0] * 4])).all()


def test_rows_do_not_know_of_each_other() -> None:
    together = equilibrium(TIGHT, {"EDC": RAMP})
    alone = [equilibrium(TIGHT, {"EDC": [u]}) for u in RAMP[::12]]
    for joint in JOINTS:
        assert np.allclose(together.angle_deg[joint][::12], [a.angle_deg[joint][0] for a in alone], atol=1e-3)


def test_starting_near_saves_steps_and_changes_nothing() -> None:
    drive = {"EDC": RAMP, **wrist_extensors(0.5 * RAMP)}
    cold = equilibrium(TIGHT, drive)
    near = equilibrium(TIGHT, drive, start=cold)
    assert near.iterations <= 2
    for joint in JOINTS:
        assert np.allclose(cold.angle_deg[joint], near.angle_deg[joint], atol=1e-3)


def test_wrist_extensors_have_drives_of_their_own() -> None:
    u = np.array([0.05])
    alone = {muscle: equilibrium(Hand(), {muscle: u}).angle_deg["wrist"][0] for muscle in ("ECRL", "ECRB", "ECU")}
    rest = equilibrium(Hand(), {}).angle_deg["wrist"][0]
    assert alone["ECRB"] < alone["ECRL"] < rest  # ECRB has the larger force and arm
    assert abs(alone["ECU"] - rest) < 2.0  # it draws the hand sideways, which is not in the plane
    assert equilibrium(Hand(), wrist_extensors(u)).angle_deg["wrist"][0] < min(alone.values())


def test_late_wrist_extensors_move_the_peak() -> None:
    early = equilibrium(TIGHT, {"EDC": RAMP, **wrist_extensors(0.5 * RAMP)}).opening_mm
    late = equilibrium(TIGHT, {"EDC": RAMP, **wrist_extensors(np.maximum(RAMP - 0.15, 0.0))}).opening_mm
    assert RAMP[late.argmax()] > RAMP[early.argmax()]
    assert late.max() > early.max() + 10.0


@pytest.mark.parametrize("factor", [0.95, 0.98, 1.0])
def test_opening_rises_peaks_and_falls(factor: float) -> None:
    late = wrist_extensors(np.maximum(RAMP - 0.15, 0.0))
    opening = equilibrium(Hand(flexor_length_factor=factor), {"EDC": RAMP, **late}).opening_mm
    peak = int(opening.argmax())
    assert 0 < peak < 30
    assert opening[peak] > opening[0] + 10.0
    assert opening[peak] > opening[-1] + (20.0 if factor < 1.0 else 10.0)


def test_supple_hand_opens_for_a_pot_and_a_tight_one_rests_nearly_closed() -> None:
    late = wrist_extensors(np.maximum(RAMP - 0.15, 0.0))
    assert equilibrium(Hand(), {"EDC": RAMP, **late}).opening_mm.max() >= 70.0
    assert equilibrium(TIGHT, {}).opening_mm[0] < 0.5 * equilibrium(Hand(), {}).opening_mm[0]


def held_curve(model_change: dict[str, float]) -> np.ndarray:
    model = changed(standard_hand(), **model_change)
    return np.array([
        equilibrium(replace(TIGHT, wrist_held_deg=w), {"EDC": [0.3]}, model=model).opening_mm[0]
        for w in (60.0, 35.0, 20.0, 0.0, -20.0, -40.0)
    ])


def opens_less_the_more_the_wrist_is_extended(opening_mm: np.ndarray) -> bool:
    return bool((np.diff(opening_mm) <= 0.5).all() and opening_mm[0] > 50.0 and opening_mm[-1] < 5.0)


def test_tight_hand_with_the_wrist_held() -> None:
    assert opens_less_the_more_the_wrist_is_extended(held_curve({}))


def test_that_check_fails_without_stretch_of_the_flexors() -> None:
    assert not opens_less_the_more_the_wrist_is_extended(
        held_curve({"fdp__length_at_zero": 0.5, "fds__length_at_zero": 0.5})
    )


def test_tone_closes_fingers_and_hangs_the_wrist() -> None:
    free = equilibrium(replace(TIGHT, finger_tone=0.0, wrist_tone=0.0), {})
    fingers = equilibrium(replace(TIGHT, finger_tone=0.02, wrist_tone=0.0), {})
    wrist = equilibrium(replace(TIGHT, finger_tone=0.0, wrist_tone=0.03), {})
    assert fingers.opening_mm[0] < free.opening_mm[0] < wrist.opening_mm[0]
    assert wrist.angle_deg["wrist"][0] > free.angle_deg["wrist"][0]


def test_a_supinated_forearm_lets_the_wrist_fall_back() -> None:
    wrist = [equilibrium(Hand(forearm=f), {}).angle_deg["wrist"][0] for f in ("pronated", "neutral", "supinated")]
    assert wrist[0] > wrist[1] > wrist[2]


def share_without_slack(mcp_deg: np.ndarray) -> np.ndarray:
    hood = standard_hand().hood
    bent = 1.0 / (1.0 + np.exp((hood.flexed_at_rad - np.radians(mcp_deg)) / hood.flexed_width_rad))
    return np.asarray(hood.share * (1.0 - hood.flexed_loss * bent))


def test_slack_can_be_switched_off() -> None:
    hand = replace(TIGHT, wrist_held_deg=35.0)
    with_slack = equilibrium(hand, {"EDC": RAMP})
    without = equilibrium(hand, {"EDC": RAMP}, slips_slack=False)
    assert without.opening_mm[30] > with_slack.opening_mm[30] + 4.0
    assert without.angle_deg["PIP"][30] < 0.5 * with_slack.angle_deg["PIP"][30]
    past = with_slack.angle_deg["MCP"] < -10.0
    assert past.any()
    assert (with_slack.slip_share[past] < 0.75 * share_without_slack(with_slack.angle_deg["MCP"][past])).all()
    assert np.allclose(without.slip_share, share_without_slack(without.angle_deg["MCP"]))


def test_slips_share_the_tension() -> None:
    posture = equilibrium(TIGHT, {"EDC": RAMP})
    assert np.allclose(posture.terminal_slip_per_ray_n / posture.central_slip_per_ray_n, 1.7)
    per_ray = posture.tension_n["middle.EDC"]
    reached = posture.terminal_slip_per_ray_n + posture.central_slip_per_ray_n
    assert np.allclose(reached, posture.slip_share * per_ray)


def test_every_finger_has_its_angles_and_its_claw_beside_the_names_that_were() -> None:
    posture = equilibrium(TIGHT, {"EDC": RAMP})
    assert set(JOINTS) < set(posture.angle_deg)
    assert {f"{finger}.{joint}" for finger in ("index", "ring", "little") for joint in JOINTS[1:]} < set(posture.angle_deg)
    assert np.array_equal(posture.claw, posture.claw_by_finger["middle"])
    for finger, claw in posture.claw_by_finger.items():
        lead = "" if finger == "middle" else f"{finger}."
        past, bent = posture.angle_deg[f"{lead}MCP"] < 0.0, posture.angle_deg[f"{lead}PIP"] > 20.0  # binder-markey-2019
        assert np.array_equal(claw, past & bent)
    first = {finger: int(np.argmax(claw)) for finger, claw in posture.claw_by_finger.items()}
    assert len(set(first.values())) > 1  # twin: not one finger four times


def test_intrinsics_abolish_the_mild_claw() -> None:
    hand = Hand(flexor_length_factor=0.98, wrist_held_deg=0.0, finger_tone=0.0, forearm="neutral")
    assert equilibrium(hand, {"EDC": RAMP}).claw.any()
    assert not equilibrium(hand, {"EDC": RAMP, "INT": 0.15}).claw.any()


def test_tension_of_the_wrist_flexors_follows_their_own_drive() -> None:
    hand = replace(Hand(), wrist_tone=0.0, wrist_held_deg=0.0)
    tension = equilibrium(hand, {"FCR": [0.5]}).tension_n
    alike = equilibrium(hand, {"FCU": [0.5]}).tension_n
    assert tension["FCR"][0] > 30.0
    assert tension["FCU"][0] < 5.0
    assert alike["FCU"][0] > tension["FCR"][0]
    assert tuple(tension)[: len(MUSCLES)] == MUSCLES
    assert set(WRIST_FLEXORS) < set(tension)


def test_full_drive_leaves_the_wrist_at_its_stop() -> None:
    """The published torques alone stop the wrist, at some 90 to 96 degrees: past the common range of 70."""
    wrist = equilibrium(Hand(), {"EDC": [1.0], **wrist_extensors(np.ones(1))}).angle_deg["wrist"][0]
    assert -105.0 < wrist < -85.0


def test_relaxed_posture_keeps_the_shape_asked_for() -> None:
    one = relaxed_posture(Hand(), 20.0)
    assert isinstance(one["MCP"], float)
    many = relaxed_posture(Hand(), [[20.0, -20.0]])
    assert many["PIP"].shape == (1, 2)
    assert many["PIP"][0, 0] == pytest.approx(one["PIP"], abs=1e-4)
    assert np.allclose(many["wrist"], [[20.0, -20.0]])


def test_pulled_tendons_with_the_wrist_held_or_free() -> None:
    held = posture_under(replace(Hand(), wrist_held_deg=10.0), {"EDC": 3.0})
    assert held["wrist"] == pytest.approx(10.0)
    free = posture_under(Hand(), {"ECRB": 10.0})
    assert free["wrist"] < posture_under(Hand(), {})["wrist"]


def test_arms_have_the_sign_of_their_motion() -> None:
    hand = Hand()
    assert moment_arm_mm(hand, "EDC", "MCP") < 0.0 < moment_arm_mm(hand, "FDP", "MCP")
    assert moment_arm_mm(hand, "INT", "MCP") > 0.0 > moment_arm_mm(hand, "INT", "PIP")
    assert moment_arm_mm(hand, "FDS", "DIP") == 0.0
    assert moment_arm_mm(hand, "ECRB", "PIP") == 0.0
    assert moment_arm_mm(hand, "ECRB", "wrist") == pytest.approx(-13.7)  # the published polynomial at zero
    assert moment_arm_mm(hand, "PL", "wrist") == moment_arm_mm(hand, "FCR", "wrist") == pytest.approx(17.7)
    bent = moment_arm_mm(hand, "FDP", "wrist", {"wrist": [0.0, 30.0, 65.0, 80.0]})
    assert isinstance(bent, np.ndarray)
    assert bent[0] < bent[1]
    assert bent[2] == pytest.approx(bent[3])


def test_the_standard_model_is_the_default() -> None:
    default = equilibrium(TIGHT, {"EDC": [0.2]}).angle_deg["PIP"]
    assert default == equilibrium(TIGHT, {"EDC": [0.2]}, model=standard_hand()).angle_deg["PIP"]


@pytest.mark.parametrize(
    ("call", "text"),
    [
        (
            lambda: equilibrium(Hand(), {"EDX": [0.1]}),
            f"'drive' must name muscles among {', '.join((*KNOWN, *THUMB_MUSCLES))} (got 'EDX'){PART}",
        ),
        (
            lambda: equilibrium(Hand(), {"EDC": [0.1, 1.5]}),
            "'drive[EDC]' must be 0 to 1 (got 1.5); it is a fraction of full force",
        ),
        (
            lambda: equilibrium(Hand(), {"EDC": [float("nan")]}),
            "'drive[EDC]' must be 0 to 1 (got nan); it is a fraction of full force",
        ),
        (
            lambda: equilibrium(Hand(), {"EDC": [0.1, 0.2], "FDP": [0.1, 0.2, 0.3]}),
            "'drive' must hold arrays of one length (got EDC 2, FDP 3); give every muscle as many values",
        ),
        (
            lambda: equilibrium(Hand(), {"EDC": np.zeros((2, 2))}),
            "'drive[EDC]' must be a number or a row of numbers (got shape (2, 2))",
        ),
        (
            lambda: equilibrium(Hand(), {"EDC": [0.1] * 3}, start=equilibrium(Hand(), {"EDC": [0.1] * 2})),
            "'start' must have 1 or 3 rows (got 2); use one posture for each drive",
        ),
        (
            lambda: posture_under(Hand(), {"EDC": -1.0}),
            "'tendon_force_n[EDC]' must be 0 or more (got -1.0); tendons cannot push",
        ),
        (
            lambda: posture_under(Hand(), {"EDX": 1.0}),
            f"'tendon_force_n' must name muscles among {', '.join(KNOWN)} (got 'EDX'){PART}",
        ),
        (
            lambda: moment_arm_mm(Hand(), "EDX", "MCP"),
            f"'muscle' must name muscles among {', '.join(KNOWN)} (got 'EDX'){PART}",
        ),
        (lambda: moment_arm_mm(Hand(), "EDC", "IP"), f"'joint' must be one of {', '.join(ANGLES)} (got 'IP')"),
        (
            lambda: moment_arm_mm(Hand(), "EDC", "MCP", {"CMC": 3.0}),
            f"'angle_deg' must be one of {', '.join(ANGLES)} (got 'CMC')",
        ),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused(call, text: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(ValueError, match=f"^{re.escape(text)}$"):
        call()


@pytest.mark.parametrize("factor", [0.95, 0.98, 1.0])
def test_all_at_once_from_rest_is_the_ramp_upwards(factor: float) -> None:
    """Near the steep lift of the wrist there can be two postures; a curve must not hop between them."""
    hand = Hand(flexor_length_factor=factor)
    drive = {"EDC": RAMP, **wrist_extensors(np.maximum(RAMP - 0.15, 0.0))}
    together = equilibrium(hand, drive)
    here, upwards = None, []
    for i in range(RAMP.size):
        here = equilibrium(hand, {muscle: value[[i]] for muscle, value in drive.items()}, start=here)
        upwards.append(here.angle_deg["wrist"][0])
    assert np.allclose(together.angle_deg["wrist"], upwards, atol=0.01)


def ways_deg(key: str, current: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Angles (currents, 13) from rest at each current, after a slow rise to it, and after a slow fall from the last."""
    scene = presets()[key]
    hand, model = effective_hand(scene), scene_hand()
    drive = drive_of_hand(stimulated(scene, current)[1], hand, current.size)

    def angles(rows: list[int], start: Posture | None) -> Posture:
        return equilibrium(hand, {name: value[rows] for name, value in drive.items()}, model=model, start=start)

    def slowly(order: range) -> np.ndarray:
        now, found = None, np.empty((current.size, len(ANGLES)))
        for i in order:
            now = angles([i], now)
            found[i] = [now.angle_deg[joint][0] for joint in ANGLES]
        return found

    rest = angles(list(range(current.size)), None)
    each = np.stack([rest.angle_deg[joint] for joint in ANGLES], axis=1)
    return each, slowly(range(current.size)), slowly(range(current.size)[::-1])


@pytest.mark.parametrize(("key", "second"), [("supple", False), ("stiff", False), ("tight", True)])
def test_from_rest_a_hand_stands_as_after_a_slow_rise_or_a_slow_fall(key: str, second: bool) -> None:
    """As the docstring of `equilibrium` tells: never a third posture, and where there is one only, that."""
    each, rise, fall = ways_deg(key, np.linspace(0.0, 60.0, 121))
    from_rise, from_fall = (np.abs(each - other).max(axis=1) for other in (rise, fall))
    assert np.minimum(from_rise, from_fall).max() < 0.05
    assert bool((np.abs(rise - fall).max(axis=1) > 1.0).any()) == second
    assert bool((from_rise > 1.0).any()) == second  # not always that of the rise
