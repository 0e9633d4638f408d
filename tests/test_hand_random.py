"""A posture is always found: 2000 random hands and loads over the whole range of every setting (the bench does 20 000)."""

from __future__ import annotations

import pytest
from random_hands import RESIDUAL_NM, Found, settle


def always_found(found: Found) -> bool:
    return found.left == 0 and found.residual_nm < RESIDUAL_NM and found.outside == 0


def test_two_thousand_hands_settle_within_their_range() -> None:
    found = settle(2000, 21)
    assert found.hands == 2000
    assert always_found(found), found


def test_a_walk_that_gives_up_early_fails(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("graspwave.simulator.hand.posture.MOST_STEPS", 3)
    assert not always_found(settle(100, 21))
