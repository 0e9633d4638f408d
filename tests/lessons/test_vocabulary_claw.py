"""What the lesson on the claw leans on: it is shipped only while a run shows this."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import numpy as np
import pytest

from graspwave import lessons
from graspwave.lessons.vocabulary import NAMES

ang, best, claws, each, from_ma, mm, share, until_ma, why, widest = (
    NAMES[name] for name in ("ang", "best", "claws", "each", "from_ma", "mm", "share", "until_ma", "why", "widest"))
s, f, t = (NAMES[key] for key in "sft")
B = best(t)
SHUT = min(float(a) for a in NAMES["A"] if a > B and mm(t, float(a)) < 0.5 * widest(t))
"""Least current past the best at which less than half of the opening is left, mA."""


@pytest.mark.parametrize("more", [0, 4, 8])
def test_held_back_the_tight_hand_opens_next_to_nothing(more: int) -> None:
    assert mm(t(wrist=-40), B + more) < 15.0


@pytest.mark.parametrize("more", [0, 4, 8])
def test_opening_falls_from_wrist_bent_to_wrist_back(more: int) -> None:
    opening = each(mm, t(amp=B + more), wrist=NAMES["span"](60, -60, 7))
    assert all(after <= before + 5.0 for before, after in pairwise(opening))
    assert opening[0] - opening[-1] > 60.0


def test_relaxed_fingers_curl_as_the_wrist_goes_back() -> None:
    for joint in ("MCP", "PIP"):
        angles = [ang(s(wrist=wrist), joint, 0) for wrist in (60, 30, 0, -30, -60)]
        assert angles == sorted(angles)
        assert angles[-1] - angles[0] > 20.0


def test_a_claw_is_what_its_definition_says() -> None:
    for scene in (s, f, t):
        base, middle = ang(scene, "MCP", NAMES["A"]), ang(scene, "PIP", NAMES["A"])
        assert np.array_equal(claws(scene, NAMES["A"]), (base < 0.0) & (middle > 20.0))


def test_shares_add_up_and_the_wrist_has_most() -> None:
    found = why(t(amp=B), t(amp=SHUT))
    assert sum(found.shares.values()) == pytest.approx(found.total_mm)
    assert found.total_mm == pytest.approx(mm(t, SHUT) - mm(t, B))
    assert share(found, "wrist") < 0.5 * found.total_mm < 0.0


def test_the_tight_hand_claws_before_it_shuts() -> None:
    first = min(float(a) for a in NAMES["A"] if a >= B and claws(t, float(a)))
    assert B <= first < SHUT
    assert ang(t, "wrist", SHUT) < ang(t, "wrist", B) - 20.0


def test_the_supple_hand_opens_over_a_broad_range_and_stays_open() -> None:
    first, last = from_ma(s), until_ma(s)
    assert last / first > 1.6  # common practice: two pads on the back of the forearm open a supple hand over a broad range
    assert ang(s, "wrist", last) < 0.0
    assert mm(s, SHUT) > 2.0 * mm(t, SHUT)
    assert widest(t) < 0.8 * widest(s)


def test_a_low_wrist_gives_back_opening_and_not_the_shape() -> None:
    assert mm(t(wrist=40), SHUT) > mm(t, SHUT) + 20.0
    assert ang(t(wrist=40), "PIP", SHUT) > ang(s, "PIP", SHUT) + 20.0


@pytest.mark.parametrize("slug", ["claw", "pads"])
def test_lesson_has_no_mistake(slug: str) -> None:
    assert [str(mistake) for mistake in lessons.check(lessons.source(slug))] == []


@pytest.mark.parametrize(
    ("slug", "letter", "now"),
    [
        ("claw", 'for = "B"', 'for = "A"'),
        ("claw", 'for = ["C", "B", "A"]', 'for = ["A", "B", "C"]'),
        ("pads", 'for = "C"', 'for = "D"'),
    ],
)
def test_a_letter_that_the_model_does_not_bear_out_is_refused(slug: str, letter: str, now: str) -> None:
    source: Any = lessons.source(slug)
    assert letter in source
    assert lessons.check(source.replace(letter, now, 1))
