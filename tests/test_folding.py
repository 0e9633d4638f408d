"""Steep places of the opening: each shrinks with its step or is a fold, seen from both sides."""

from __future__ import annotations

from contextlib import ExitStack

import numpy as np
import pytest
from hand_rows import with_number

from graspwave import simulator as sim
from graspwave.simulator.folding import Steep, _risen, _walk, folds, steep_places
from graspwave.simulator.scene import Scene

PLACES = [("supple", None), ("stiff", None), ("tight", None), ("tight", 0.0), ("tight", 35.0), ("stiff", -30.0)]


def scene_of(key: str, held_deg: float | None) -> Scene:
    return sim.presets()[key].replace("hand.wrist_held_deg", held_deg)


def explained(place: Steep) -> bool:
    return place.fold or place.shrinks


@pytest.mark.parametrize(("key", "held_deg"), PLACES)
def test_a_steep_place_shrinks_or_is_a_fold(key: str, held_deg: float | None) -> None:
    places = steep_places(scene_of(key, held_deg))
    assert all(explained(place) for place in places), places
    assert all(abs(place.change_mm) > 3.0 or place.apart_deg > 10.0 for place in places)


def test_a_hop_without_two_postures_would_be_found() -> None:
    assert not explained(Steep(1.0, 1.1, -20.0, (20.0, 20.0, 20.0), 0.0))
    assert explained(Steep(1.0, 1.1, -20.0, (2.6, 0.33, 0.04), 0.0))


def two_postures(scene: Scene, low_ma: float, high_ma: float, start_ma: float) -> bool:
    """Whether the way up and the way down meet another opening in the middle of two currents."""
    middle = 0.5 * (low_ma + high_ma)
    up = _walk(scene, np.linspace(max(low_ma - start_ma, 0.0), middle, 30))[0, -1]
    down = _walk(scene, np.linspace(high_ma + start_ma, middle, 30))[0, -1]
    return bool(abs(up - down) > 5.0)


def lets_go_at_once() -> ExitStack:
    """For a while, a hood that loses what it loses with flexion within eleven degrees: the tight hand's fold is then wide."""
    stack = ExitStack()
    for name, value in (("hood.flexed_width_rad", 0.2), ("hood.flexed_loss", 0.35), ("hood.share", 0.996)):
        stack.enter_context(with_number(name, value))
    return stack


def test_inside_a_fold_two_postures_rest_at_one_current() -> None:
    with lets_go_at_once():
        scene = sim.presets()["tight"]
        wide = folds(scene)[0]  # the fingers let go; a second one, far up, is the wrist's
        assert wide.before_mm - wide.after_mm > 5.0
        assert wide.rising_ma - wide.falling_ma > 0.3
        assert two_postures(scene, wide.falling_ma, wide.rising_ma, 0.5)
        assert not two_postures(scene, wide.falling_ma - 6.0, wide.falling_ma - 5.0, 0.5)


def test_a_fold_is_a_jump_of_the_curve() -> None:
    with lets_go_at_once():
        scene = sim.presets()["tight"]
        found = folds(scene)
        assert found
        for fold in found:
            before, after = _risen(scene, np.array([fold.rising_ma - 0.1, fold.rising_ma]))[0]
            assert (before, after) == (pytest.approx(fold.before_mm, abs=0.01), pytest.approx(fold.after_mm, abs=0.01))
            assert fold.falling_ma < fold.rising_ma


def test_folds_are_those_of_the_shown_curve() -> None:
    scene = sim.presets()["tight"]
    current = np.array([10.0, 14.0, 18.0])
    assert np.allclose(_risen(scene, current)[0], sim.opening_curve(scene, current).opening_mm)


def test_a_fist_whose_wrist_goes_over_is_a_fold_though_its_opening_hardly_changes() -> None:
    """The closers' arms at the wrist grow as it bends, the lifters' fall (published): far up they win at once."""
    over = folds(sim.presets()["tight"], 8.0)[-1]
    assert over.rising_ma > 50.0
    assert abs(over.after_mm - over.before_mm) < 8.0  # so by its opening it would not be looked at
    assert over.wrist_deg[0] < -10.0  # it has sunk from 36 back while the current rose
    assert over.wrist_deg[1] - over.wrist_deg[0] > 60.0
    assert over.rising_ma - over.falling_ma > 4.0  # a person's wrist that has gone over does not come back at once
    for key in ("supple", "stiff"):
        assert folds(sim.presets()[key]) == ()


def test_no_change_is_refused() -> None:
    with pytest.raises(ValueError, match=r"^'change_mm' must be above 0 \(got 0.0\)$"):
        steep_places(sim.presets()["tight"], 0.0)
