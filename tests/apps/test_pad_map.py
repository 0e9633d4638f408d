"""The pad map: what it writes, what it draws, and keys, a drag and a grip in a browser."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Locator, Page, expect

from graspwave import simulator as sim
from graspwave.apps.desk.pad_map import PadMapView
from graspwave.apps.desk.state import DeskState
from graspwave.apps.told.nerve_studies import answer_words

SCENE = sim.presets()["tight"]
PAIR, GRIP = "Pads on the forearm", "Gap between the pads"


def pads(state: DeskState) -> tuple[float, float, float]:
    now = state.scene.channel[0].pads
    return now.along_percent, now.around_deg, now.spacing_mm


def test_a_move_writes_the_scene_as_one_step() -> None:
    state = DeskState(SCENE)
    view = PadMapView(state)
    before = pads(state)
    view.map.move = {"along_percent": 41.0, "around_deg": -20.0, "spacing_mm": 44.0, "n": 1}
    view.map.move = {"along_percent": 42.0, "around_deg": -21.0, "spacing_mm": 45.0, "n": 2}
    assert pads(state) == (42.0, -21.0, 45.0)
    assert view.map.pads["n"] == 2
    assert view.fields.value == {"along_percent": 42.0, "around_deg": -21.0, "spacing_mm": 45.0}
    view.map.rests += 1
    view.map.move = {"along_percent": 50.0, "around_deg": -21.0, "spacing_mm": 45.0, "n": 3}
    state.undo()
    assert pads(state) == (42.0, -21.0, 45.0)
    state.undo()
    assert pads(state) == before


def test_a_move_is_kept_in_the_ranges() -> None:
    state = DeskState(SCENE)
    view = PadMapView(state)
    view.map.move = {"along_percent": 1e6, "around_deg": -1e6, "spacing_mm": 0.0, "n": 1}
    ends = [sim.setting(f"channel.0.pads.{key}").range for key in ("along_percent", "around_deg", "spacing_mm")]
    assert pads(state) == (ends[0][1], ends[1][0], ends[2][0])
    assert state.message == ""


@pytest.mark.parametrize("bad", [{}, {"along_percent": None}, {"along_percent": float("nan")}, {"around_deg": "x"}])
def test_what_is_no_number_changes_nothing(bad: dict[str, object]) -> None:
    state = DeskState(SCENE)
    assert PadMapView(state).apply(bad)
    assert state.scene == SCENE


def test_number_fields_write_too() -> None:
    state = DeskState(SCENE)
    view = PadMapView(state)
    view.fields.value = {"along_percent": 52.0, "around_deg": 12.0, "spacing_mm": 33.0}
    assert pads(state) == (52.0, 12.0, 33.0)
    assert view.map.pads["along_percent"] == 52.0


def test_it_follows_the_scene() -> None:
    state = DeskState(SCENE)
    view = PadMapView(state)
    assert view.__panel__().get_root() is not None
    state.change("channel.0.pads.size_cm2", 25.0)
    assert view.map.pads["side_mm"] == pytest.approx(50.0)
    assert answer_words(state.scene) in view.words.object
    state.change("channel.0.pads.along_percent", 90.0)
    assert "far pad lies past the wrist" in view.words.object


def test_muscles_and_field_are_sent() -> None:
    view = PadMapView(DeskState(SCENE))
    names = {m["name"]: m for m in view.map.muscles}
    assert "TRI" not in names
    assert names["FDS"]["closer"]
    assert not names["EDC"]["closer"]
    field = view.map.field
    rows = round(len(field) ** 0.5)
    assert rows**2 == len(field)
    assert max(field) <= 1.0
    # the pads lie on the back, which is drawn above
    assert sum(field[: len(field) // 2]) > sum(field[len(field) // 2:])


def test_pads_on_the_upper_arm_are_not_drawn() -> None:
    state = DeskState(SCENE)
    view = PadMapView(state)
    state.change("channel.0.pads.limb", "upper arm")
    assert view.map.pads["shown"] is False
    assert "upper arm" in view.words.object


@pytest.fixture
def pair(page: Page, views: str) -> Locator:
    page.set_viewport_size({"width": 640, "height": 800})
    page.goto(f"{views}/pads")
    found = page.get_by_role("slider", name=PAIR)
    expect(found).to_have_attribute("aria-valuetext", re.compile("elbow to wrist"))
    expect(page.locator("#said")).to_have_text(re.compile(r"\d"))  # the two are drawn one after the other
    return found


def said(page: Page) -> tuple[float, ...]:
    # the text of the node, not what is rendered: a pane that is being drawn anew shows nothing for a moment
    expect(page.locator("#said")).to_have_text(re.compile(r"^\S+ \S+ \S+$"))
    return tuple(float(v) for v in (page.locator("#said").text_content() or "").split())


def settled(page: Page) -> tuple[float, ...]:
    """What Python holds once it has taken in all that the map shows."""
    now = [page.get_by_role("slider", name=name).get_attribute("aria-valuenow") for name in (PAIR, GRIP)]
    expect(page.locator("#said")).to_have_text(re.compile(rf"^{float(now[0] or 0):.1f} \S+ {float(now[1] or 0):.1f}$"))
    return said(page)


def moved(page: Page, before: tuple[float, ...]) -> tuple[float, ...]:
    same = re.escape(" ".join(f"{v:.1f}" for v in before))
    expect(page.locator("#said")).to_have_text(re.compile(rf"^(?!{same}$)\S+ \S+ \S+$"))
    return said(page)


def test_keys_move_the_pads(page: Page, pair: Locator) -> None:
    start = said(page)
    pair.press("ArrowRight")
    along = moved(page, start)
    assert along[0] - start[0] == pytest.approx(100 * 5 / 248, abs=0.11)  # 5 mm of 248, sent to a tenth
    pair.press("Shift+ArrowLeft")
    back = moved(page, along)
    assert back[0] - along[0] == pytest.approx(-100 * 1 / 248, abs=0.11)
    pair.press("ArrowUp")
    up = moved(page, back)
    assert up[1] < back[1]
    pair.press("+")
    wide = moved(page, up)
    assert wide[2] == up[2] + 5
    page.get_by_role("slider", name=GRIP).press("Shift+ArrowLeft")
    assert moved(page, wide)[2] == wide[2] - 1
    expect(pair).to_have_attribute("aria-valuetext", re.compile(f"gap {wide[2] - 1:.0f} mm"))


def test_a_drag_moves_the_pair_and_the_grip_its_gap(page: Page, pair: Locator) -> None:
    start = said(page)
    near = pair.locator("rect.pad").nth(2).bounding_box()
    assert near
    x, y = near["x"] + near["width"] / 2, near["y"] + near["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 30, y + 10, steps=4)
    page.mouse.up()
    dragged = settled(page)
    assert dragged[0] > start[0]
    assert dragged[1] > start[1]
    assert dragged[2] == start[2]
    grip = page.get_by_role("slider", name=GRIP).locator("rect.bar").nth(1).bounding_box()
    assert grip
    x, y = grip["x"] + grip["width"] / 2, grip["y"] + grip["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 12, y, steps=3)
    page.mouse.up()
    pulled = settled(page)
    assert pulled[2] > dragged[2]
    assert pulled[:2] == dragged[:2]


def test_a_drag_with_shift_changes_the_gap(page: Page, pair: Locator) -> None:
    start = said(page)
    near = pair.locator("rect.pad").nth(2).bounding_box()
    assert near
    page.mouse.move(near["x"] + 9, near["y"] + 9)
    page.keyboard.down("Shift")
    page.mouse.down()
    page.mouse.move(near["x"] + 24, near["y"] + 9, steps=3)
    page.mouse.up()
    page.keyboard.up("Shift")
    now = settled(page)
    assert now[2] > start[2]
    assert now[:2] == start[:2]
