"""Settings that ease a tight hand on the Explore page: reflex, the other hand, getting ready; and the angles of the picture."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Page, expect

from graspwave import simulator as sim
from graspwave.apps.desk.ready import ReadyView, known_lines, lasting_lines, ready_rows, ready_settings
from graspwave.apps.desk.settings import SettingsView, help_line
from graspwave.apps.desk.state import DeskState
from graspwave.apps.explore.hand import HandView
from graspwave.apps.explore.page import notice_items
from graspwave.simulator.hand.readying import FACT_NAMES


def tight(**hand: float) -> sim.Scene:
    scene = sim.presets()["tight"]
    for name, value in hand.items():
        scene = scene.replace(f"hand.{name}", value)
    return scene


def test_help_is_told_with_its_force_and_never_as_force() -> None:
    assert help_line(tight()) == "None. If any: assist, never force."
    assert help_line(tight(help_opening=0.3)) == "0.9 N under the fingers. Assist, never force."
    state = DeskState(tight(help_opening=1.0))
    assert state.help_notices
    told = [item for item in notice_items(state) if "assist, never force" in item["text"]]
    assert [item["kind"] for item in told] == ["close"]
    assert not DeskState(tight()).help_notices


def test_reflex_and_help_write_the_scene_and_follow_it() -> None:
    state = DeskState()
    view = SettingsView(state)
    sliders = {s.label: s for s in view.rest.objects if hasattr(s, "note")}
    sliders["Stretch reflex of closers"].value = 1.5
    sliders["Help from the other hand"].value = 40
    assert (state.scene.hand.reflex_gain, state.scene.hand.help_opening) == (1.5, pytest.approx(0.4))
    assert sliders["Help from the other hand"].note.startswith("1.2 N")
    state.undo()
    assert sliders["Help from the other hand"].value == 0.0


def test_a_share_told_in_per_cent_is_the_same_on_its_way_back() -> None:
    """The pages write what a slider tells them: 0.007 of tone must not come back as 0.7000000000000001 per cent of it."""
    state = DeskState(tight(finger_tone=0.007))
    SettingsView(state)
    state.change("hand.flexor_length_factor", 1.0)
    state.undo()
    assert state.scene.hand.finger_tone == 0.007


def test_at_first_sight_there_are_six_settings_and_the_current() -> None:
    view = SettingsView(DeskState())
    first = [part for part in view.__panel__().objects if part is not view.rest and part is not view.more and part.visible]
    assert len(first) == 6


def test_readying_is_told_before_and_after() -> None:
    scene = tight(reflex_gain=1.0, finger_tone=0.01)
    rows = {row["words"]: (row["before"], row["after"]) for row in ready_rows(scene, 10, 0)}
    hand = sim.readied(scene.hand, 10, 0)
    assert rows["Length of closers"] == ("95.0 %", f"{100 * hand.flexor_length_factor:.1f} %")
    assert rows["Tone of closers"] == ("1.00 %", f"{100 * hand.finger_tone:.2f} %")
    assert rows["Stretch reflex"] == ("1.00", f"{hand.reflex_gain:.2f}")
    assert all(before == after for before, after in ((r["before"], r["after"]) for r in ready_rows(scene, 0, 0)))
    said = lasting_lines(scene, 10)
    assert re.match(r"Widest opening: \d+ mm right after the last stretch, \d+ mm after 10 min, .*; \d+ mm before\.", said[0])
    assert said[1].startswith("Half of the loosening is gone after 10 min, half of the calm after 30 min.")
    assert lasting_lines(scene, 0)[0].endswith("Little is to be gained in this hand.")


def test_readying_shows_the_mark_of_every_number() -> None:
    lines = known_lines()
    assert len(lines) == len(FACT_NAMES)
    assert lines[0].startswith("0.17, recalled, fairly sure: passive tension")


def test_the_readied_hand_is_one_change_and_the_old_one_is_kept() -> None:
    state = DeskState(tight(reflex_gain=1.0))
    before = state.scene
    view = ReadyView(state)
    assert view.table.rows == []
    view.open.clicks += 1
    assert view.open.pressed == "true"
    assert [row["words"] for row in view.table.rows][1] == "Widest opening"
    view.use.clicks += 1
    assert state.pinned == before
    for path, value in ready_settings(before, 10, 0).items():
        assert getattr(state.scene.hand, path.removeprefix("hand.")) == value
    state.undo()
    assert state.scene == before


def test_angles_are_a_switch_that_is_also_told() -> None:
    view = HandView(DeskState())
    assert (view.angles.pressed, view.picture.angles) == ("false", False)
    assert "end joints" not in view.picture.label
    view.angles.clicks += 1
    assert (view.angles.pressed, view.picture.angles) == ("true", True)
    assert "end joints" in view.picture.label
    view.angles.clicks += 1
    assert (view.angles.pressed, view.picture.angles) == ("false", False)


def test_angles_by_keyboard(explore: Page) -> None:
    explore.set_viewport_size({"width": 390, "height": 844})
    button = explore.get_by_role("button", name="Angles")
    expect(button).to_have_attribute("aria-pressed", "false")
    button.focus()
    explore.keyboard.press("Space")
    expect(button).to_have_attribute("aria-pressed", "true")
    hand = explore.get_by_role("img", name=re.compile("^Hand from the thumb side.*end joints"))
    expect(hand.locator("text.degrees").first).to_be_visible()
    explore.keyboard.press("Space")
    expect(button).to_have_attribute("aria-pressed", "false")
