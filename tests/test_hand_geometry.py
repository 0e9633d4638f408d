"""Bones from the side and the gap between thumb and finger."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from graspwave.simulator.hand import JOINTS, finger_points_mm, opening, standard_hand, thumb_points_mm, widest_cylinder_mm
from graspwave.simulator.scene import Hand

HAND = Hand(flexor_length_factor=0.95)  # the web as short as the closers: thumb and finger in one plane


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


def brute_force_mm(hand: Hand, angle: dict[str, float]) -> float:
    """Widest circle between thumb and finger from a fine grid of middles, cut at the opening."""
    skin = standard_hand().skin
    finger, thumb = finger_points_mm(hand, angle)[0], thumb_points_mm(hand, angle)[0]

    def ladder(chain: np.ndarray) -> np.ndarray:
        length = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(chain, axis=0), axis=1))])
        return np.stack([np.interp(np.linspace(0, length[-1], 300), length, chain[:, k]) for k in (0, 1)], axis=1)

    w = np.linspace(0.0, 1.0, 201)[:, None, None]
    middle = ((1.0 - w) * ladder(thumb) + w * ladder(finger)).reshape(-1, 2)
    room = np.full(len(middle), np.inf)
    halves = [skin.palm_half_mm, *[skin.finger_half_mm] * 3, *[skin.thumb_half_mm] * 3]
    bones = [*pairwise(finger), *pairwise(thumb)]
    for (a, b), half in zip(bones, halves, strict=True):
        t = np.clip(((middle - a) @ (b - a)) / ((b - a) @ (b - a)), 0.0, 1.0)[:, None]
        room = np.minimum(room, np.linalg.norm(middle - a - t * (b - a), axis=1) - half)
    return min(float(opening(hand, angle)[0][0]), max(0.0, 2.0 * float(room.max())))


POSTURES = (
    {"wrist": 0.0, "MCP": 30.0, "PIP": 30.0, "DIP": 15.0}, {"wrist": 40.0, "MCP": 5.0, "PIP": 20.0, "DIP": 10.0},
    {"wrist": -30.0, "MCP": 60.0, "PIP": 60.0, "DIP": 30.0}, {"wrist": 0.0, "MCP": -10.0, "PIP": 60.0, "DIP": 30.0},
)


def widest_agrees(scale: float = 1.0) -> bool:
    together = {joint: np.array([p[joint] for p in POSTURES]) for joint in JOINTS}
    found = scale * widest_cylinder_mm(Hand(), together)
    return bool(np.abs(found - [brute_force_mm(Hand(), p) for p in POSTURES]).max() < 0.5)


def test_widest_cylinder_is_that_of_a_fine_grid() -> None:
    assert widest_agrees()
    assert not widest_agrees(0.97)


def test_widest_cylinder_never_passes_the_mouth() -> None:
    rng = np.random.default_rng(2)
    angle = {"wrist": rng.uniform(-60, 60, 200), "MCP": rng.uniform(-20, 90, 200), "PIP": rng.uniform(0, 100, 200),
             "DIP": rng.uniform(0, 60, 200)}  # fmt: skip
    widest = widest_cylinder_mm(Hand(), angle)
    gap = opening(Hand(), angle)[0]
    assert (widest <= gap).all()
    assert (widest >= 0.0).all()


def test_a_thumb_beside_the_finger_adds_as_a_right_triangle() -> None:
    # 24 mm aside with the web loose, none with it short, half half-way; gap from the side worked out by the plane hand
    angles = posture(mcp=10.0, pip=10.0, dip=5.0)
    plane = float(opening(HAND, angles)[0][0])
    for factor, beside in ((1.0, 24.0), (0.975, 12.0), (0.95, 0.0)):
        found = float(opening(replace(HAND, flexor_length_factor=factor), angles)[0][0])
        assert found == pytest.approx(np.hypot(plane, beside), abs=1e-9)
