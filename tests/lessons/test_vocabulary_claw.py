"""What the lesson on the claw leans on: it is shipped only while a run shows this."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import numpy as np
import pytest

from graspwave import lessons
from graspwave.lessons.vocabulary import NAMES

ang, best, claws, each, mm, share, why, widest = (
    NAMES[name] for name in ("ang", "best", "claws", "each", "mm", "share", "why", "widest"))
s, f, t = (NAMES[key] for key in "sft")
B = best(t)


@pytest.mark.parametrize("more", [0, 4, 8])
def test_held_back_the_tight_hand_opens_next_to_nothing(more: int) -> None:
    assert mm(t(wrist=-40), B + more) < 15.0


@pytest.mark.parametrize("more", [0, 4, 8])
def test_opening_falls_steadily_from_wrist_bent_to_wrist_back(more: int) -> None:
    opening = each(mm, t(amp=B + more), wrist=NAMES["span"](60, -60, 13))
    assert all(after <= before + 0.5 for before, after in pairwise(opening))
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


@pytest.mark.parametrize("more", [4, 8])
def test_shares_add_up_and_the_wrist_has_most(more: int) -> None:
    found = why(t(amp=B), t(amp=B + more))
    assert sum(found.shares.values()) == pytest.approx(found.total_mm)
    assert found.total_mm == pytest.approx(mm(t, B + more) - mm(t, B))
    assert share(found, "wrist") < 0.5 * found.total_mm < 0.0


def test_four_more_claws_and_eight_more_shuts() -> None:
    assert claws(t, B + 4)
    assert ang(t, "PIP", B + 4) - ang(t, "PIP", B) > 30.0
    assert mm(t, B + 8) < 20.0 < 60.0 < mm(t, B)
    assert ang(t, "wrist", B + 8) < 0.0 < ang(t, "wrist", B)


def test_the_supple_hand_claws_too_but_stays_open() -> None:
    assert claws(s, best(s) + 8)
    assert mm(s, B + 8) > 45.0


def test_a_held_wrist_gives_back_the_opening_and_not_the_shape() -> None:
    for wrist in (0, 40):
        assert mm(t(wrist=wrist), B + 8) > mm(t, B + 8) + 30.0
        assert claws(t(wrist=wrist), B + 8)


def test_stiff_finger_straightens_and_tight_one_does_not() -> None:
    for scene, straightens in ((f, True), (t, False)):
        held = scene(wrist=20, without="spread")
        assert (ang(held, "PIP", 40) - ang(held, "PIP", 8) < -20.0) == straightens
        assert mm(held, 25) > 0.9 * widest(held)


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
