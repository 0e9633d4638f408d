"""A second look at the curve: folds, steep places, what clears the object, and what would help."""

from __future__ import annotations

import math
import re
import subprocess
import sys
from dataclasses import replace

import numpy as np
import pytest
from playwright.sync_api import Page, expect

from graspwave import simulator as sim
from graspwave.apps.desk.state import DeskState
from graspwave.apps.explore.curve import CurveView
from graspwave.apps.explore.in_words import InWordsView, fits_sentence
from graspwave.apps.told import findings
from graspwave.apps.told.marks import Help, Marks, Turn, _turns, find_marks, marks_from, marks_text, turn_words, with_folds
from graspwave.apps.told.scenes import scene_to_address
from graspwave.simulator.folding import Fold, Steep

AMPLITUDE = "channel.0.pulse.amplitude_ma"
FOLD = Fold(20.0, 52.0, 7.0, 16.8, back_ma=(20.0, 19.0, 18.0, 16.8), back_mm=(7.0, 7.0, 12.0, 58.0))
NONE = Marks((), (), ())


def steep(from_ma: float, to_ma: float, change_mm: float, apart_mm: float = 0.0) -> Steep:
    return Steep(from_ma, to_ma, change_mm, (abs(change_mm),), apart_mm)


# ---- words and numbers


def test_steep_neighbours_are_one_turn_and_folds_are_none() -> None:
    places = (steep(10.0, 10.1, -4.0), steep(10.1, 10.2, -5.0), steep(10.2, 10.3, 4.0), steep(20.0, 20.1, -9.0, apart_mm=5.0))
    assert _turns(places) == (Turn(10.0, 10.2, -9.0), Turn(10.2, 10.3, 4.0))


def test_turns_are_told_in_the_order_of_current() -> None:
    assert turn_words(Marks((FOLD,), (Turn(10.0, 10.2, -9.0),), ())) == [
        "From 10.0 to 10.2 mA the opening falls by 9 mm: steep, but one posture.",
        "At 20.0 mA the hand goes over into another posture and closes at once, from 52 to 7 mm. "
        "As current falls it comes back at 16.8 mA. In between it can rest in either; shown is where a current leads that rises "
        "from nothing, in half a second or more. One that is there at once may lead to the other.",
    ]
    assert turn_words(Marks((replace(FOLD, falling_ma=19.9),), (), ()))[0].endswith("As current falls it comes back at 19.9 mA.")
    assert turn_words(NONE) == ["The opening changes little by little: this hand goes over into no other posture."]
    opening = replace(FOLD, before_mm=7.0, after_mm=52.0)
    assert "opens at once, from 7 to 52 mm" in turn_words(Marks((opening,), (), ()))[0]
    fist = replace(FOLD, before_mm=7.0, after_mm=4.0, wrist_deg=(-33.4, 41.6))
    told = turn_words(Marks((fist,), (), ()))[0]
    assert "from 7 to 4 mm; its wrist turns from 33 degrees back to 42 degrees bent down. As" in told


def test_a_fold_stands_upright_in_the_curve() -> None:
    x, y = with_folds(np.array([19.0, 19.5, 20.5]), np.array([50.0, 51.0, 6.0]), (FOLD,))
    assert x.tolist() == pytest.approx([19.0, 19.5, 19.9, 20.0, 20.5])
    assert y.tolist() == [50.0, 51.0, 52.0, 7.0, 6.0]


def test_the_range_that_clears_is_never_told_wider_than_it_is() -> None:
    assert findings.fits_words(((12.01, 14.59), (38.0, 41.0))) == "fits from 12.1 to 14.5 and from 38.0 to 41.0 mA"
    assert findings.fits_words(()) == "fits at no current"


def test_marks_survive_their_way_between_processes() -> None:
    marks = Marks((FOLD,), (Turn(1.0, 2.0, 3.0),), (Help("Rest.", {"hand.finger_tone": 0.0}, ((1.0, 2.0),)),))
    assert marks_from(marks_text(marks)) == marks


def test_a_process_of_its_own_finds_what_the_model_finds() -> None:
    scene = sim.presets()["stiff"].replace("hand.wrist_held_deg", 30.0)
    done = subprocess.run(
        [sys.executable, "-m", "graspwave.apps.told.marks"], input=scene.dumps(), capture_output=True, text=True, check=True,
    )
    assert marks_from(done.stdout) == find_marks(scene)


def test_folds_tell_both_sides_of_the_way_back() -> None:
    scene = sim.presets()["tight"]
    found = sim.folds(scene)
    assert found
    for fold in found:
        assert fold.back_ma[0] == fold.rising_ma
        assert fold.back_ma[-1] == fold.falling_ma
        assert len(fold.back_ma) == len(fold.back_mm)
        assert list(fold.back_ma) == sorted(fold.back_ma, reverse=True)


# ---- state and views


@pytest.fixture(scope="module")
def too_tight() -> tuple[sim.Scene, Marks]:
    """A hand that no current opens round a wide pot, and its marks."""
    scene = sim.presets()["tight"].replace("hand.flexor_length_factor", 0.93).replace("task.diameter_mm", 110.0)
    return scene, find_marks(scene)


def test_help_is_one_change_that_does_what_it_says(too_tight: tuple[sim.Scene, Marks]) -> None:
    scene, marks = too_tight
    state = DeskState(scene)
    state.marks = marks
    assert state.fits_ma == ()
    assert marks.helps
    for help_ in marks.helps:
        assert state.take(help_)
        said = re.search(r"opens (\d+) mm", help_.words)
        if said and "rise" not in help_.words:
            assert float(state.curve.opening_mm.max()) == pytest.approx(float(said.group(1)), abs=0.5)
        if help_.fits_ma:
            low, high = help_.fits_ma[0]
            assert low <= state.amplitude_ma <= high
        state.undo()
        assert state.scene == scene


def test_help_sets_a_current_inside_a_narrow_range() -> None:
    state = DeskState()
    state.take(Help("Rest.", {"hand.finger_tone": 0.0}, ((14.2, 14.6),)))
    assert state.amplitude_ma == pytest.approx(14.4)
    state.take(Help("Rest more.", {"hand.wrist_tone": 0.0}, ((14.2, 16.6),)))
    assert state.amplitude_ma == 15.0


def test_the_curve_shows_range_and_both_branches() -> None:
    state = DeskState(sim.presets()["tight"].replace("task.diameter_mm", 25.0))
    view = CurveView(state, "light")
    assert view.ends.data["x"] == []
    assert not view.words.fold.visible
    low, high = state.fits_ma[0]
    assert view.fits.data["x"][:2] == [low, high]
    assert view.fits.data["y"][:2] == [25.0, 25.0]
    state.marks = Marks((FOLD,), (), ())
    assert view.ends.data == {"x": [20.0, 18.0], "y": [52.0, 12.0]}
    assert view.back.data["x"][:-1] == list(FOLD.back_ma)
    assert math.isnan(view.back.data["x"][-1])
    assert view.words.fold.text == "goes over at 20.0,\nback at 16.8 mA"
    assert "As current falls it comes back at 16.8 mA." in CurveView(state, "light").figure.html_attributes["aria-label"]
    state.marks = None
    assert view.ends.data["x"] == []


def test_the_curve_in_words(too_tight: tuple[sim.Scene, Marks]) -> None:
    scene, marks = too_tight
    state = DeskState(scene)
    view = InWordsView(state)
    assert view.words.turns == ["Looking closer at the curve of this hand."]
    wide = r"The pot, 110 mm, is too wide for this hand at any current: it opens \d+\.\d mm at most\."
    assert re.fullmatch(wide, view.words.fits)
    state.marks = marks
    assert [help_["words"] for help_ in view.words.helps] == [help_.words for help_ in marks.helps]
    assert view.words.turns == turn_words(marks)
    view.words.tried = {"index": 0, "count": 1}
    assert state.scene != scene
    assert state.can_undo
    state.undo()
    view.words.tried = {"index": 99, "count": 2}
    assert state.scene == scene
    assert fits_sentence(DeskState(sim.presets()["supple"])).startswith("The pot, 70 mm, fits ")


# ---- in the browser


def test_the_page_marks_the_curve_and_tries_what_helps(page: Page, address: str, too_tight: tuple[sim.Scene, Marks]) -> None:
    scene, marks = too_tight
    page.set_viewport_size({"width": 1440, "height": 900})
    page.goto(f"{address}?s={scene_to_address(scene)}")
    page.get_by_role("radio", name="Curve in words").check(force=True)
    button = page.get_by_role("button", name=re.compile(f"^Try it {re.escape(marks.helps[0].words[:20])}"))
    expect(button).to_be_visible(timeout=60_000)
    expect(page.get_by_text(turn_words(marks)[0])).to_be_attached()
    button.focus()
    page.keyboard.press("Enter")
    expect(page.get_by_role("button", name="Undo")).to_be_enabled()
    page.get_by_role("button", name="Undo").click()
    expect(page.get_by_text(re.compile("is too wide for this hand"))).to_be_visible()


