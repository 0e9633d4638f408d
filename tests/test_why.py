"""Shares of the change of the opening: they add up, they are fair, and they say what is published about the claw."""

from __future__ import annotations

import math
import random
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from graspwave import simulator as sim
from graspwave.simulator import why
from graspwave.simulator.adding import adding_up
from graspwave.simulator.hand import changed, equilibrium, scene_hand, standard_hand
from graspwave.simulator.hand.layout import Constants
from graspwave.simulator.hand.slack import slack_left
from graspwave.simulator.run import drive_of_hand, effective_hand, stimulated
from graspwave.simulator.scene import Hand, Scene
from graspwave.simulator.shapley import shapley
from graspwave.simulator.why import PARTS, explain_opening

AMPLITUDE = "channel.0.pulse.amplitude_ma"
ADD_UP_MM = 0.01
STRAIGHT_DEG = 20.0  # a PIP bent more, with the MCP past straight, is a claw: Binder-Markey and others 2019, PMC6718315
DRIVE = np.linspace(0.0, 1.0, 101)


def random_scene(rng: np.random.Generator) -> Scene:
    scene = sim.presets()[("supple", "stiff", "tight")[rng.integers(3)]].replace(AMPLITUDE, float(rng.uniform(0.0, 50.0)))
    settings = {
        "hand.finger_tone": rng.uniform(0.0, 0.02), "hand.wrist_tone": rng.uniform(0.0, 0.02),
        "hand.own_opening": rng.uniform(0.0, 0.2), "hand.own_grip": rng.uniform(0.0, 0.1),
        "hand.strength": rng.uniform(0.3, 1.0), "hand.wrist_held_deg": rng.uniform(-40.0, 50.0),
        "hand.forearm": ("pronated", "neutral", "supinated")[rng.integers(3)],
        "channel.0.train.frequency_hz": rng.uniform(20.0, 50.0), "channel.0.pads.around_deg": rng.uniform(-20.0, 40.0),
    }
    for path, value in settings.items():
        if rng.random() < 0.4:
            scene = scene.replace(path, value if isinstance(value, str) else float(value))
    off = [name for name in ("slips", "spread", "tone", "length") if rng.random() < 0.15]
    return scene.without(*off)


def pairs(count: int, seed: int) -> list[tuple[Scene, Scene]]:
    """Every second pair differs in the current alone, as on the page; the rest in anything."""
    rng = np.random.default_rng(seed)
    found = []
    for k in range(count):
        one = random_scene(rng)
        found.append((one, one.replace(AMPLITUDE, float(rng.uniform(0.0, 50.0))) if k % 2 else random_scene(rng)))
    return found


def adds_up(shares: dict[str, float], total_mm: float) -> bool:
    return abs(sum(shares.values()) - total_mm) <= ADD_UP_MM


def test_whole_numbers_add_up_by_largest_remainders() -> None:
    """Worked through by hand: rounded each by itself these are 5, -19, -2 and -3, one too few."""
    shares = {"up": 5.24, "down": -18.94, "slips": -1.87, "closers": -2.58}
    assert sum(round(mm) for mm in shares.values()) == -19 != round(sum(shares.values()))
    assert adding_up(shares, -18) == {"up": 5, "down": -19, "slips": -2, "closers": -2}
    assert adding_up({"one": 0.3}, 1) == {"one": 1}
    assert adding_up({}, 0) == {}
    chance = random.Random(4)
    for _ in range(200):
        shares = {str(i): chance.uniform(-9.0, 9.0) for i in range(chance.randint(1, 7))}
        whole = math.floor(sum(shares.values())) + chance.randint(0, 1)
        found = adding_up(shares, whole)
        assert sum(found.values()) == whole
        assert all(abs(found[name] - mm) < 1.0 and found[name] * mm >= 0.0 for name, mm in shares.items())


def test_shares_add_up_and_turning_back_negates() -> None:
    for one, two in pairs(40, 5):
        there, back = explain_opening(one, two), explain_opening(two, one)
        assert adds_up(there.shares, there.total_mm)
        assert adds_up(back.shares, back.total_mm)
        assert there.total_mm == pytest.approx(-back.total_mm, abs=ADD_UP_MM)
        assert there.total_mm == there.after_mm - there.before_mm
        assert there.before_mm == float(sim.opening_curve(one, [one.channel[0].pulse.amplitude_ma]).opening_mm[0])
        # as they are told they add up too, and none is told with the other sign or a millimetre off
        assert sum(there.told_mm.values()) == there.told_total_mm == round(there.after_mm) - round(there.before_mm)
        for name, whole in there.told_mm.items():
            true = there.shares.get(name, there.total_mm - sum(mm for mm in there.shares.values() if abs(mm) >= 0.5))
            assert abs(whole - true) < 1.5
            assert whole * true >= 0.0
        assert set(there.shares) == set(there.sentences) == set(there.labels) <= set(PARTS)


def test_effects_of_one_at_a_time_do_not_add_up() -> None:
    """The twin: what each mechanism does on its own is no sharing out."""
    one, two = (sim.presets()["tight"].replace(AMPLITUDE, ma) for ma in (14.0, 20.0))
    sides = why._side(one), why._side(two)
    parts = why._parts_that_differ(*sides)
    opening = why._openings(parts, *sides)
    alone = {name: float(opening[1 << i] - opening[0]) for i, name in enumerate(parts)}
    assert not adds_up(alone, sides[1].opening_mm - sides[0].opening_mm)


def ends_meet(one: Scene, two: Scene, spoil: float = 0.0) -> bool:
    """Nothing passed is the first scene and all passed the second, as the curve has them."""
    a, b = why._side(one), why._side(two)
    parts = why._parts_that_differ(a, b)
    opening = why._openings(parts, a, b)
    return bool(abs(opening[0] - a.opening_mm + spoil) < ADD_UP_MM and abs(opening[-1] - b.opening_mm) < ADD_UP_MM)


def test_the_game_starts_and_ends_at_the_two_scenes() -> None:
    assert all(ends_meet(one, two) for one, two in pairs(40, 6))
    assert not ends_meet(*pairs(1, 6)[0], spoil=0.1)


def test_past_a_fold_the_end_is_still_that_of_the_curve() -> None:
    """Fingers that snap shut have two postures: the shares must lead to the one that the curve shows."""
    held = sim.presets()["stiff"].replace("hand.wrist_held_deg", -32.8).replace("hand.strength", 0.9)
    held = held.replace("hand.wrist_tone", 0.018).replace("channel.0.train.frequency_hz", 21.6).replace(AMPLITUDE, 12.8)
    for ma in np.arange(30.0, 40.0):
        assert ends_meet(held, held.replace(AMPLITUDE, float(ma)))


def test_slack_frozen_without_its_torque_moves_the_hand_of_before(monkeypatch: pytest.MonkeyPatch) -> None:
    """The twin of the frozen slips: held share alone, and the clawed hand no longer rests where it did."""
    clawed = sim.presets()["tight"].replace("hand.wrist_held_deg", 0.0).without("spread")
    one, two = clawed.replace(AMPLITUDE, 27.0), clawed.replace(AMPLITUDE, 45.0)
    assert ends_meet(one, two)

    def share_alone(constants: Constants, q: np.ndarray) -> Constants:
        ray = constants.ray.copy()
        ray["share"] *= slack_left(constants, q)
        ray["slack"] = 0.0
        return constants._replace(ray=ray)

    monkeypatch.setattr("graspwave.simulator.hand.posture.with_slack_of", share_alone)
    assert not ends_meet(one, two)


def test_what_does_nothing_gets_nothing() -> None:
    tight = sim.presets()["tight"].replace(AMPLITUDE, 14.0)
    assert explain_opening(tight, tight).shares == {}
    assert explain_opening(tight, tight.replace("title", "another").replace("task.diameter_mm", 45.0)).shares == {}
    # a wrist held where it was, a mechanism that is not there
    held = tight.replace("hand.wrist_held_deg", 10.0).replace("hand.finger_tone", 0.0).replace("hand.wrist_tone", 0.0)
    found = explain_opening(held, held.replace(AMPLITUDE, 30.0).without("tone"))
    assert "wrist" not in found.shares
    assert "tone" not in found.shares
    # the forearm turned in a hand that is shut before and after
    shut = held.replace("hand.wrist_held_deg", -20.0).replace("hand.flexor_length_factor", 0.94).replace(AMPLITUDE, 5.0)
    turned = explain_opening(shut, shut.replace("hand.forearm", "supinated"))
    assert turned.total_mm == 0.0
    assert all(abs(mm) < ADD_UP_MM for mm in turned.shares.values())


def test_free_wrist_and_slack_alone_change_nothing() -> None:
    """Both answer to something else: let go in the hand of before, they leave it where it was."""
    for one, two in pairs(12, 7):
        a, b = why._side(one), why._side(two.replace("hand.wrist_held_deg", one.hand.wrist_held_deg))
        parts = why._parts_that_differ(a, b)
        opening = why._openings(parts, a, b)
        for name in {"wrist", "slips"} & set(parts) if a.slack == b.slack else {"wrist"} & set(parts):
            assert opening[1 << parts.index(name)] == pytest.approx(a.opening_mm, abs=ADD_UP_MM)


def test_equal_parts_get_equal_shares() -> None:
    opening = np.array([0.0, 3.0, 3.0, 10.0, 1.0, 4.0, 4.0, 11.0])  # the third adds 1 to every set, the others are alike
    assert shapley(("a", "b", "c"), opening) == pytest.approx({"a": 5.0, "b": 5.0, "c": 1.0})


def test_tight_hand_closes_again_because_of_the_wrist() -> None:
    tight = sim.presets()["tight"]
    curve = sim.opening_curve(tight, np.arange(0.0, 41.0))
    best = float(curve.amplitude_ma[np.argmax(curve.opening_mm)])
    most = float(curve.amplitude_ma[np.argmax(curve.angle_deg["wrist"] < -20.0)])
    found = explain_opening(tight.replace(AMPLITUDE, best), tight.replace(AMPLITUDE, most))
    assert found.total_mm < -20.0
    assert found.shares["wrist"] < -10.0
    assert found.sentences["wrist"].startswith("The wrist drawn back drew the finger closers tight: ")
    assert found.text.startswith(f"From {best:.0f} to {most:.0f} mA the hand lost {-found.total_mm:.0f} mm")
    assert "the wrist was drawn back" in found.text
    held = tight.replace("hand.wrist_held_deg", float(curve.angle_deg["wrist"][int(best)]))
    assert "wrist" not in explain_opening(held.replace(AMPLITUDE, best), held.replace(AMPLITUDE, most)).shares


def test_words_follow_the_direction() -> None:
    supple, tight = sim.presets()["supple"], sim.presets()["tight"]
    lost = explain_opening(supple, tight)
    assert lost.labels["length"] == "Shorter closers"
    assert lost.text.startswith("With this change the hand lost")
    assert explain_opening(tight, supple).labels["length"] == "Longer closers"
    weaker = explain_opening(tight, tight.replace("hand.strength", 0.4))
    assert weaker.labels["hand"] == "Muscles weaker"
    assert explain_opening(tight, tight).text == "With this change the opening stays as it is."
    close = explain_opening(tight.replace(AMPLITUDE, 11.8), tight.replace(AMPLITUDE, 12.2))
    assert close.text.startswith("From 11.8 to 12.2 mA")


# ---- the claw, as published


def claws(scene: Scene) -> bool:
    return bool(sim.opening_curve(scene, np.linspace(0.0, 60.0, 61)).claw.any())


def test_claw_of_the_held_tight_hand_goes_with_normal_length() -> None:
    """Claw with 0.95, none with 1.00 (Binder-Markey and others 2019); openers alone, as there: no spread."""
    held = sim.presets()["tight"].replace("hand.wrist_held_deg", 0.0).without("spread")
    assert claws(held)
    assert not claws(held.without("length"))
    assert claws(held.without("tone"))  # the twin: another mechanism switched off does not take it away
    assert explain_opening(held.replace(AMPLITUDE, 30.0), held.replace(AMPLITUDE, 30.0).without("length")).shares["length"] > 20.0


def stays_and_straightens(short: float, less_short: float, slack: float = 0.0) -> bool:
    """Wrist held, no spread, no slack, EDC alone to full drive: the PIP stays bent in a claw, and straightens."""
    model = changed(standard_hand(), hood__slack=slack)
    angle = [
        equilibrium(Hand(flexor_length_factor=factor, wrist_held_deg=0.0, finger_tone=0.0), {"EDC": DRIVE}, model=model).angle_deg
        for factor in (short, less_short)
    ]
    stays = angle[0]["MCP"][-1] < 0.0 and angle[0]["PIP"][-1] > 2 * STRAIGHT_DEG
    return bool(stays and angle[1]["PIP"][-1] < STRAIGHT_DEG)


def test_without_slips_spread_and_wrist_the_tight_hand_stays_clawed_and_the_stiff_one_straightens() -> None:
    assert stays_and_straightens(0.95, 0.98)  # as published


@pytest.mark.parametrize(("short", "less_short"), [(0.98, 0.95), (1.0, 1.0), (0.95, 0.95)])
def test_other_lengths_fail(short: float, less_short: float) -> None:
    assert not stays_and_straightens(short, less_short)


def test_a_chain_of_changes_adds_up_in_total() -> None:
    tight = sim.presets()["tight"]
    steps = [tight.replace(AMPLITUDE, ma) for ma in (8.0, 14.0, 22.0)]
    parts = sum(explain_opening(a, b).total_mm for a, b in pairwise(steps))
    assert parts == pytest.approx(explain_opening(steps[0], steps[-1]).total_mm, abs=1e-9)


# ---- fingers that hold the opening back


def aside(around_deg: float, current_ma: float) -> Scene:
    scene = sim.presets()["supple"].replace("channel.0.pads.along_percent", 35.0).replace("channel.0.pads.around_deg", around_deg)
    return scene.replace(AMPLITUDE, current_ma)


def test_with_pads_to_the_little_fingers_side_the_index_holds_the_opening_back() -> None:
    found = explain_opening(aside(40.0, 22.0), aside(40.0, 24.0)).fingers
    lost = found.lost_mm
    assert lost["index"] > 5.0
    assert lost["index"] > 3.0 * max(mm for finger, mm in lost.items() if finger != "index")
    assert found.reached["index"] < 0.5 < found.reached["little"] == 1.0
    even = explain_opening(aside(0.0, 22.0), aside(0.0, 24.0)).fingers  # twin: pads that reach all
    assert max(even.lost_mm.values()) < 0.5 * lost["index"]


def test_shares_of_fingers_add_up_to_what_reaching_all_alike_would_give() -> None:
    scene = aside(40.0, 22.0)
    found = sim.lagging_fingers(scene)
    at = scene.channel[0].pulse.amplitude_ma
    wrist = float(sim.opening_curve(scene, [at]).angle_deg["wrist"][0])
    hand = effective_hand(scene)
    used = drive_of_hand(stimulated(scene, np.array([at]))[1], hand, 1)
    model = scene_hand()
    best = max(float(used[f"EDC_{finger}"][0]) for finger in ("INDEX", "MIDDLE", "RING", "LITTLE"))
    for finger in ("INDEX", "MIDDLE", "RING"):  # the little finger's is the best reached
        beside = 30.0 / (0.5 * 55.1) * float(used["EIP"][0]) if finger == "INDEX" else 0.0
        used[f"EDC_{finger}"] = np.maximum(used[f"EDC_{finger}"], best - beside)
    alike = equilibrium(replace(hand, wrist_held_deg=wrist), used, model=model)
    now = sim.opening_curve(scene, [at]).opening_mm[0]
    assert sum(found.lost_mm.values()) == pytest.approx(alike.opening_mm[0] - now, abs=0.05)
    assert alike.opening_mm[0] - now > 5.0


def test_where_no_current_flows_or_all_are_reached_no_finger_lags() -> None:
    assert set(sim.lagging_fingers(aside(40.0, 0.0)).lost_mm.values()) == {0.0}
    tries = aside(40.0, 0.0).replace("hand.own_opening", 0.3)  # effort calls all slips alike
    assert set(sim.lagging_fingers(tries).lost_mm.values()) == {0.0}
    assert max(sim.lagging_fingers(aside(40.0, 22.0)).lost_mm.values()) > 5.0  # twin


def test_an_own_extensor_out_of_reach_is_no_slip_that_is_not_reached() -> None:
    """Over the finger extensor, at a current that wakes all of it, the index's own extensor far down sleeps."""
    found = sim.lagging_fingers(sim.presets()["supple"].replace(AMPLITUDE, 31.0))
    assert found.reached["index"] > 0.9
    assert max(found.lost_mm.values()) < 0.5


def test_trying_along_is_told_with_the_small_muscles_that_straighten_the_middle_joints() -> None:
    late = sim.presets()["supple"].replace(AMPLITUDE, 34.0)
    tries = late.replace("hand.own_opening", 0.3)
    found = explain_opening(late, tries)
    assert found.shares["own_effort"] > 2.0
    assert "small muscles of the hand, which no pad on the forearm reaches" in found.sentences["own_effort"]
    pip = [float(sim.opening_curve(scene, [30.0]).angle_deg["PIP"][0]) for scene in (late, tries)]
    assert pip[1] < pip[0] - 20.0
    back = explain_opening(tries, late)  # twin: effort that stops
    assert "small muscles" not in back.sentences["own_effort"]
