"""What every practitioner knows of single fingers under pads, and of fingers at rest: common practice, no source, unless named.

Angles in degrees. Pads "along" the forearm in % from elbow to wrist, "around" in degrees from the middle of its back, positive
towards the little finger. Each row has a twin that must fail.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest
from hand_rows import hand, placed, with_number

from graspwave import simulator as sim
from graspwave.simulator.hand import FINGERS

CURRENT_MA = np.arange(0.0, 40.01, 0.25)
LIFTED_DEG = 5.0
"""A knuckle has lifted where it has gone half of its way from rest to here, nearly straight."""
NEVER_MA = np.inf


def joint(finger: str, name: str) -> str:
    return name if finger == "middle" else f"{finger}.{name}"


def lifts_ma(scene: sim.Scene) -> dict[str, float]:
    """Current at which the knuckle of each finger has gone half of its way; and the wrist half-way to 15 back."""
    found = sim.opening_curve(scene, CURRENT_MA)
    ends = {finger: (joint(finger, "MCP"), LIFTED_DEG) for finger in FINGERS} | {"wrist": ("wrist", -15.0)}
    lifted = {}
    for name, (of, end) in ends.items():
        angle = found.angle_deg[of]
        at = np.flatnonzero(angle <= 0.5 * (angle[0] + end))
        lifted[name] = float(CURRENT_MA[at[0]]) if at.size else NEVER_MA
    return lifted


# ---- pads


def wrist_first_then_index(along: float, around: float) -> bool:
    at = lifts_ma(placed(along, around))
    return at["wrist"] < at["index"] < min(at["middle"], at["ring"], at["little"])


def test_to_the_thumb_side_the_wrist_goes_back_first_and_of_the_fingers_the_index() -> None:
    assert wrist_first_then_index(35.0, -40.0)
    assert wrist_first_then_index(30.0, -45.0)
    assert not wrist_first_then_index(25.0, 10.0)  # twin: over the finger extensor
    assert not wrist_first_then_index(35.0, 40.0)  # twin: the other side


def index_lags(around: float) -> bool:
    """Last of the four, and at half as much current again as the middle finger."""
    at = lifts_ma(placed(35.0, around))
    return at["index"] > max(at["middle"], at["ring"], at["little"]) and at["index"] >= 1.5 * at["middle"]


def test_to_the_little_fingers_side_the_index_lags() -> None:
    assert index_lags(20.0)
    assert index_lags(40.0)
    assert not index_lags(0.0)  # twins
    assert not index_lags(-20.0)


def middle_and_ring_first(along: float) -> bool:
    at = lifts_ma(placed(along, 5.0))
    return max(at["middle"], at["ring"]) < min(at["index"], at["little"])


def test_near_the_elbow_middle_and_ring_lift_first() -> None:
    assert middle_and_ring_first(15.0)
    assert not middle_and_ring_first(55.0)  # twin


def index_then_little(along: float) -> bool:
    """The index by its own extensor, then the little finger, long before or without the two between."""
    at = lifts_ma(placed(along, 10.0))
    return at["index"] < at["little"] < NEVER_MA and min(at["middle"], at["ring"]) > 1.5 * at["little"]


def test_far_down_the_index_lifts_by_its_own_extensor_and_then_the_little_finger() -> None:
    assert index_then_little(62.0)
    assert not index_then_little(35.0)  # twin
    with with_number("fingers.own_force_n", (0.001, 0.0, 0.0, 34.8)):
        assert not index_then_little(62.0)  # twin: an index without that extensor


def test_an_index_that_lags_bars_a_pot_that_the_other_fingers_would_clear() -> None:
    found = sim.opening_curve(placed(35.0, 40.0), CURRENT_MA)
    at = int(found.gap_mm["middle"].argmax())
    assert found.gap_mm["index"][at] < found.gap_mm["middle"][at] - 10.0
    over = sim.opening_curve(placed(45.0, 5.0), CURRENT_MA)  # twin: pads where the slips wake together
    at = int(over.gap_mm["middle"].argmax())
    assert not over.gap_mm["index"][at] < over.gap_mm["middle"][at] - 10.0


# ---- at rest


def bent_deg(angle: dict[str, float]) -> list[float]:
    return [angle[joint(finger, "MCP")] + angle[joint(finger, "PIP")] for finger in FINGERS]


def is_cascade(bent: Sequence[float]) -> bool:
    """Each finger a little more bent than the one before: by 1 to 15 degrees at knuckle and middle joint together."""
    return all(1.0 <= step <= 15.0 for step in np.diff(bent))


@pytest.mark.parametrize("wrist_deg", [-30.0, -15.0, 0.0])
def test_relaxed_fingers_are_a_little_more_bent_from_index_to_little(wrist_deg: float) -> None:
    """Published in words: Taylor, Schwarz 1955; sizes are ours."""
    assert is_cascade(bent_deg(sim.relaxed_posture(sim.Hand(), wrist_deg)))


def test_fingers_with_one_rest_length_make_no_cascade() -> None:
    with with_number("fingers.flexor_rest", (0.0, 0.0, 0.0, 0.0)):
        assert not is_cascade(bent_deg(sim.relaxed_posture(sim.Hand(), 0.0)))


# ---- at high current


def little_claws_along(scene: sim.Scene, current_ma: float) -> bool:
    """Where the three others' middle joints are bent past 60, the little finger's is not straight."""
    found = sim.opening_curve(scene, [current_ma]).angle_deg
    pip = {finger: float(found[joint(finger, "PIP")][0]) for finger in FINGERS}
    return min(pip["index"], pip["middle"], pip["ring"]) > 60.0 and pip["little"] > 45.0


@pytest.mark.parametrize(("key", "current_ma"), [("supple", 36.0), ("stiff", 28.0), ("tight", 14.0)])
def test_the_little_finger_does_not_stay_straight_where_the_others_claw(key: str, current_ma: float) -> None:
    assert little_claws_along(hand(key), current_ma)
    with with_number("fingers.fds_force", (0.671, 1.0, 0.632, 0.02)), with_number("fingers.own_force_n", (30.0, 0.0, 0.0, 90.0)):
        assert not little_claws_along(hand(key), current_ma)  # twin: hardly a flexor and much of an extensor of its own
