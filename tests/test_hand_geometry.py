"""Bones from the side and the gap between thumb and finger."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from simulator.hand import JOINTS, finger_points_mm, opening, standard_hand, thumb_points_mm
from simulator.scene import Hand

HAND = Hand()


def posture(wrist: float = 0.0, mcp: float = 0.0, pip: float = 0.0, dip: float = 0.0) -> dict[str, float]:
    return dict(zip(JOINTS, (wrist, mcp, pip, dip), strict=True))


def many(n: int = 400) -> dict[str, np.ndarray]:
    rng = np.random.default_rng(3)
    low, high = np.array([[-80.0, -30.0, -10.0, -10.0], [80.0, 90.0, 110.0, 70.0]])
    return dict(zip(JOINTS, rng.uniform(low, high, (n, 4)).T, strict=True))


def test_bones_keep_their_length() -> None:
    bones = standard_hand().bones
    lengths = np.linalg.norm(np.diff(finger_points_mm(HAND, many()), axis=1), axis=-1)
    assert np.allclose(lengths, HAND.hand_length_mm * np.array([0.446, 0.266, 0.170, 0.108]))
    assert bones.metacarpal == 0.446
    thumb = np.linalg.norm(np.diff(thumb_points_mm(HAND, many()), axis=1), axis=-1)
    assert np.allclose(thumb, [47.9, 37.4, 30.2], atol=0.1)


def test_flexion_turns_towards_the_palm_and_carries_the_thumb() -> None:
    assert finger_points_mm(HAND, posture(mcp=30.0))[0, -1, 1] < 0.0
    turned, straight = thumb_points_mm(HAND, posture(wrist=90.0))[0], thumb_points_mm(HAND, posture())[0]
    assert np.allclose(turned, np.stack([straight[:, 1], -straight[:, 0]], axis=1))


def test_gap_does_not_depend_on_the_wrist_and_grows_with_the_hand() -> None:
    flat = opening(HAND, posture())[0]
    assert np.allclose(opening(HAND, posture(wrist=50.0))[0], flat)
    assert opening(replace(HAND, hand_length_mm=210.0), posture())[0] > flat
    assert flat > 70.0


def test_line_of_the_gap_is_as_long_as_the_gap() -> None:
    gap, points = opening(HAND, many())
    assert np.allclose(np.linalg.norm(points[:, 0] - points[:, 1], axis=1), gap, atol=1e-9)
    assert (gap >= 0.0).all()
    assert (gap == 0.0).any()
    assert (gap > 50.0).any()


def test_gap_is_the_least_distance_found_by_trying() -> None:
    """In front of the thumb's tip and above its line the bar is the thumb: try many points of both."""
    angles = many(120)
    finger, thumb = finger_points_mm(HAND, angles), thumb_points_mm(HAND, angles)
    along = thumb[:, 3] - thumb[:, 2]
    back = np.stack([-along[:, 1], along[:, 0]], axis=-1)
    share = np.linspace(0.0, 1.0, 61)[:, None, None]
    trail = np.concatenate([finger[:, i] + share * (finger[:, i + 1] - finger[:, i]) for i in (2, 3)])
    # 5 lengths of the last bone backwards stand for the whole line
    bar = thumb[:, 3] - np.linspace(0.0, 5.0, 301)[:, None, None] * along
    apart = np.linalg.norm(trail[:, None] - bar[None], axis=-1).min(axis=(0, 1))
    above = ((trail - thumb[:, 3]) * back).sum(-1).min(axis=0) > 0.0
    skin = standard_hand().skin
    expected = np.maximum(apart - skin.finger_half_mm - skin.thumb_half_mm, 0.0)
    assert above.sum() > 30
    assert np.allclose(opening(HAND, angles)[0][above], expected[above], atol=0.2)  # points are 0.5 mm apart


def test_fist_is_closed() -> None:
    assert opening(HAND, posture(mcp=85.0, pip=95.0, dip=50.0))[0] == 0.0
    assert opening(HAND, posture(mcp=70.0, pip=60.0, dip=30.0))[0] == 0.0


def test_gap_has_no_jump_while_a_hand_closes() -> None:
    way = np.linspace(0.0, 1.0, 2001)
    for full in ((90.0, 100.0, 60.0), (20.0, 100.0, 60.0), (90.0, 10.0, 5.0)):
        gap, _ = opening(HAND, dict(zip(JOINTS, (0.0 * way, *(f * way for f in full)), strict=True)))
        assert np.abs(np.diff(gap)).max() < 0.25  # 250 deg over 2000 steps move a tip by at most 0.2 mm
        assert gap[0] > 70.0


def test_scalars_and_rows_agree() -> None:
    angles = many(5)
    rows, points = opening(HAND, angles)
    for i in range(5):
        one, ends = opening(HAND, {joint: angles[joint][i] for joint in JOINTS})
        assert np.isclose(one[0], rows[i])
        assert np.allclose(ends[0], points[i])
