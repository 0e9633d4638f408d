"""Bones in space, free gaps, and the objects an open hand is open for."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from graspwave.simulator.hand import (
    ANGLES,
    FINGERS,
    JOINTS,
    THUMB_JOINTS,
    changed,
    finger_points_mm,
    gaps_mm,
    hand_points_mm,
    opening,
    standard_hand,
    thumb_points_mm,
    widest_mm,
)
from graspwave.simulator.scene import Hand

HAND = Hand()
PLANE = changed(
    standard_hand(), fingers__head_side=(0.0,) * 4, fingers__head_palmar=(0.0,) * 4, fingers__roll_deg=(0.0,) * 4,
    thumb__base_side=0.0, thumb__aim_side=0.0, thumb__radial_deg=0.0, fingers__metacarpal=(1.0,) * 4,
    fingers__proximal=(1.0,) * 4, fingers__middle=(1.0,) * 4, fingers__distal=(1.0,) * 4,
)  # fmt: skip
"""All bones in one plane, four fingers alike."""


def posture(wrist: float = 0.0, mcp: float = 0.0, pip: float = 0.0, dip: float = 0.0) -> dict[str, float]:
    return dict(zip(JOINTS, (wrist, mcp, pip, dip), strict=True))


def many(n: int = 400, seed: int = 3) -> dict[str, np.ndarray]:
    rng = np.random.default_rng(seed)
    low, high = np.array([[-80.0, *[-30.0, -10.0, -10.0] * 4], [80.0, *[90.0, 110.0, 70.0] * 4]])
    angles = dict(zip(ANGLES, rng.uniform(low, high, (n, 13)).T, strict=True))
    return angles | dict(zip(THUMB_JOINTS, rng.uniform([10, 10, -10, -10], [55, 65, 50, 70], (n, 4)).T, strict=True))


def test_bones_keep_their_length() -> None:
    fingers, thumb = hand_points_mm(HAND, many())
    model, f = standard_hand(), standard_hand().fingers
    lengths = np.linalg.norm(np.diff(fingers, axis=2), axis=-1)
    for r in range(4):
        expected = 191.0 * np.array([0.266 * f.proximal[r], 0.170 * f.middle[r], 0.108 * f.distal[r]])
        assert np.allclose(lengths[:, r], expected)
    assert np.allclose(np.linalg.norm(np.diff(thumb, axis=1), axis=-1), [47.9, 37.4, 30.2], atol=0.1)
    assert model.bones.metacarpal == 0.446


def test_heads_are_spread_and_arched_as_published() -> None:
    """Buchholz 1992, over hand length and breadth; the arch from an open model."""
    heads = hand_points_mm(HAND, posture())[0][0, :, 0]
    breadth = 0.445 * 191.0
    assert heads[:, 0] == pytest.approx(191.0 * np.array([0.447, 0.446, 0.409, 0.368]), abs=0.2)
    assert heads[:, 2] == pytest.approx(breadth * np.array([0.251, 0.0, -0.206, -0.402]), abs=0.1)
    assert heads[:, 1] == pytest.approx([0.0, 0.0, -6.3, -16.2], abs=0.2)


def test_a_fist_brings_the_tips_together_and_an_open_hand_does_not() -> None:
    tips = [hand_points_mm(HAND, posture(mcp=m, pip=p, dip=d))[0][0, :, 3, 2] for m, p, d in ((0, 0, 0), (60, 60, 30))]
    assert np.ptp(tips[1]) < 0.75 * np.ptp(tips[0])
    parallel = changed(standard_hand(), fingers__roll_deg=(0.0,) * 4)
    flat = hand_points_mm(HAND, posture(mcp=60, pip=60, dip=30), model=parallel)[0][0, :, 3, 2]
    assert np.ptp(flat) == pytest.approx(np.ptp(tips[0]))  # twin


def test_flexion_turns_towards_the_palm_and_carries_the_thumb() -> None:
    assert finger_points_mm(HAND, posture(mcp=30.0))[0, -1, 1] < 0.0
    turned, straight = thumb_points_mm(HAND, posture(wrist=90.0))[0], thumb_points_mm(HAND, posture())[0]
    assert np.allclose(turned, np.stack([straight[:, 1], -straight[:, 0]], axis=1))
    with pytest.raises(ValueError, match=r"^'finger' must be one of index, middle, ring, little \(got 'toe'\)$"):
        finger_points_mm(HAND, posture(), "toe")


def test_thumb_opens_sideways_and_flexes_to_the_root_of_the_ring_finger() -> None:
    def tip(**angle: float) -> np.ndarray:
        rest = {"CMC": 35.0, "CMC_RADIAL": 50.0, "THUMB_MCP": 0.0, "IP": 0.0}
        return hand_points_mm(HAND, posture() | rest | angle)[1][0, 3]

    assert tip(CMC_RADIAL=60.0)[2] > tip()[2] + 3.0  # to the thumb's side
    assert tip(CMC=50.0)[1] < tip()[1] - 10.0  # to the palm
    aim = 191.0 * np.array([0.40, -0.10, -0.045])
    bent = [np.linalg.norm(tip(THUMB_MCP=m) - aim) for m in (0.0, 30.0, 60.0)]
    assert bent[0] > bent[1] > bent[2]


def quarter_plane_mm(finger: np.ndarray, thumb: np.ndarray) -> float:
    """Gap in a plane by trying: many points of the finger's last bones, the thumb's line and the front of its tip."""
    along = (thumb[3] - thumb[2]) / np.linalg.norm(thumb[3] - thumb[2])
    back = np.array([-along[1], along[0]])
    share = np.linspace(0.0, 1.0, 801)[:, None]
    trail = np.concatenate([finger[i] + share * (finger[i + 1] - finger[i]) for i in (1, 2)]) - thumb[3]
    s, v = trail @ along, trail @ back
    return max(0.0, float(np.hypot(np.maximum(s, 0.0), np.maximum(v, 0.0)).min()) - 6.8 - 7.2)


def test_gap_is_the_least_distance_found_by_trying() -> None:
    angles = many(120)
    fingers, thumb = hand_points_mm(HAND, angles | {"wrist": np.zeros(120)})
    found = gaps_mm(HAND, angles)
    for r, finger in enumerate(FINGERS):
        tried = [quarter_plane_mm(fingers[i, r, :, :2], thumb[i, :, :2]) for i in range(120)]
        assert np.allclose(found[finger], tried, atol=0.1)
    assert found["index"].max() > 30.0


def test_a_hand_in_one_plane_is_open_by_its_gap() -> None:
    """Worked by hand: with four fingers alike in the thumb's plane the pot, straight across, is the gap at each of them."""
    angles = {joint: np.array([0.0, 10.0, 20.0]) for joint in ("MCP", "PIP", "DIP")} | {"wrist": np.zeros(3)}
    gap = gaps_mm(HAND, angles, model=PLANE)
    assert gap["little"] == pytest.approx(gap["index"])
    assert opening(HAND, angles, model=PLANE)[0] == pytest.approx(gap["middle"], abs=1e-9)


def test_pot_and_bean_of_a_straight_hand_are_worked_by_hand() -> None:
    """All in one plane and straight, lengths over a hand of 191 mm: the fingers lie along x, the thumb leaves its base
    (13.9, -10.5) at 32 degrees and is 115.6 mm long, so it ends at (111.9, -71.8). The nearest of the fingers' last two bones to
    the thumb's line is the middle joint, at x = 136.0: (136.0 - 111.9) sin 32 + 71.8 cos 32 = 73.6 mm; less both halves 59.6.
    """
    straight = dict.fromkeys(("wrist", "MCP", "PIP", "DIP"), 0.0)
    by_hand = (0.446 + 0.266) * 191.0 - 111.9, 71.8
    asked = by_hand[0] * np.sin(np.radians(32.0)) + by_hand[1] * np.cos(np.radians(32.0)) - 6.8 - 7.2
    assert asked == pytest.approx(59.6, abs=0.1)
    for kind in ("pot", "bean"):
        assert widest_mm(HAND, straight, kind, model=PLANE)[0] == pytest.approx(asked, abs=0.2)
    assert widest_mm(HAND, straight | {"MCP": 10.0}, "pot", model=PLANE)[0] < asked - 2.0  # twin


def test_pot_is_worked_by_hand_where_one_finger_is_in_the_way() -> None:
    """The index bent in front of the thumb bars a pot 80 mm long, whose end lies 40 mm from the thumb; a short bean passes
    between the other fingers and a thumb that stands 60 mm aside of the index."""
    angles: dict[str, float] = posture(mcp=5.0, pip=5.0, dip=5.0)
    free = opening(HAND, angles)[0][0]
    barred = angles | {"index.MCP": 60.0, "index.PIP": 60.0, "index.DIP": 30.0}
    assert opening(HAND, barred)[0][0] < free - 20.0
    lagging = angles | {"little.MCP": 60.0, "little.PIP": 60.0, "little.DIP": 30.0}
    assert opening(HAND, lagging)[0][0] >= opening(HAND, barred)[0][0]


def test_opening_does_not_depend_on_the_wrist_and_grows_with_the_hand() -> None:
    flat = opening(HAND, posture())[0]
    assert np.allclose(opening(HAND, posture(wrist=50.0))[0], flat)
    assert opening(replace(HAND, hand_length_mm=210.0), posture())[0] > flat
    assert flat > 70.0


def test_fist_is_closed() -> None:
    assert opening(HAND, posture(mcp=90.0, pip=100.0, dip=70.0))[0] < 6.0  # what bent tips leave of the palm
    assert opening(replace(HAND, flexor_length_factor=0.95), posture(mcp=70.0, pip=60.0, dip=30.0))[0] == 0.0


@pytest.mark.parametrize("kind", ["pot", "bean", "ball"])
def test_openings_have_no_jump_on_any_way(kind: str) -> None:
    n = 1001
    worst = 0.0
    for seed in range(12):
        ends = many(2, seed)
        way = {joint: np.linspace(value[0], value[1], n) for joint, value in ends.items()}
        worst = max(worst, float(np.abs(np.diff(widest_mm(HAND, way, kind))).max()))
    assert worst < 1.0  # a thousandth of the way moves a tip by up to 0.4 mm; past an end it counts four times


def test_kinds_of_objects() -> None:
    angles = posture(mcp=10.0, pip=10.0, dip=5.0)
    pot, bean, ball = (float(widest_mm(HAND, angles, kind)[0]) for kind in ("pot", "bean", "ball"))
    assert opening(HAND, angles)[0][0] == pot
    assert min(bean, ball) > 40.0
    with pytest.raises(ValueError, match=r"^'kind' must be one of pot, bean, ball \(got 'cube'\)$"):
        widest_mm(HAND, angles, "cube")


def test_ball_is_clear_of_all_bones() -> None:
    """The same place by a fine search of middles on the line between the pads and towards the knuckles."""
    angles = posture(mcp=25.0, pip=35.0, dip=20.0)
    fingers, thumb = hand_points_mm(HAND, angles)
    fingers, thumb = fingers[0], thumb[0]
    pad = 0.25 * (fingers[:2, 2] + fingers[:2, 3]).sum(axis=0)
    pad_thumb, knuckle = 0.5 * (thumb[2] + thumb[3]), fingers[:2, 0].mean(axis=0)
    best = 0.0
    for u in np.linspace(0.3, 0.7, 41):
        for back in np.linspace(0.0, 20.0, 21):
            middle = (1 - u) * pad_thumb + u * pad
            middle = middle + back * (knuckle - middle) / np.linalg.norm(knuckle - middle)
            bones = [(f[i], f[i + 1], 6.8) for f in fingers for i in range(3)] + [(thumb[i], thumb[i + 1], 7.2) for i in range(3)]
            bones += [(np.zeros(3), f[0], 12.0) for f in fingers]
            room = min(away(a, b, middle) - half for a, b, half in bones)
            best = max(best, 2.0 * room)
    assert float(widest_mm(HAND, angles, "ball")[0]) == pytest.approx(best, rel=0.05)
    assert float(widest_mm(HAND, angles, "ball")[0]) <= best + 1e-6


def away(a: np.ndarray, b: np.ndarray, point: np.ndarray) -> float:
    t = np.clip((point - a) @ (b - a) / ((b - a) @ (b - a)), 0.0, 1.0)
    return float(np.linalg.norm(point - a - t * (b - a)))


def test_scalars_and_rows_agree_and_missing_fingers_bend_as_the_middle() -> None:
    angles = many(5)
    rows, points = opening(HAND, angles)
    for i in range(5):
        one, ends = opening(HAND, {joint: angles[joint][i] for joint in angles})
        assert np.isclose(one[0], rows[i])
        assert np.allclose(ends[0], points[i])
    plain = posture(mcp=20.0, pip=30.0, dip=10.0)
    full = plain | {f"{finger}.{joint}": plain[joint] for finger in ("index", "ring", "little") for joint in JOINTS[1:]}
    assert opening(HAND, plain)[0] == opening(HAND, full)[0]


def test_web_of_a_tight_hand_keeps_its_thumb_less_aside() -> None:
    loose, half, tight = (thumb_points_mm(replace(HAND, flexor_length_factor=f), posture()) for f in (1.0, 0.975, 0.95))
    side = [hand_points_mm(replace(HAND, flexor_length_factor=f), posture())[1][0, 3, 2] for f in (1.0, 0.975, 0.95, 0.92)]
    assert side[0] > side[1] > side[2] == side[3]
    assert loose.shape == half.shape == tight.shape == (1, 4, 2)
