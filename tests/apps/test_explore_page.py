"""The Explore page in a real browser: it answers, asks for nothing outside, and follows the slider."""

from __future__ import annotations

import re
from typing import Any

from playwright.sync_api import Page, expect

from graspwave import simulator as sim
from graspwave.apps import notices
from graspwave.apps.told.scenes import scene_to_address

DESK = {"width": 1440, "height": 900}
PHONE = {"width": 390, "height": 844}
SIZES = DESK, {"width": 1280, "height": 720}, PHONE, {"width": 320, "height": 700}


def slider(page: Page) -> Any:
    return page.get_by_role("slider", name="Current")


def hand(page: Page) -> Any:
    return page.get_by_role("img", name=re.compile("^Hand from the thumb side"))


def gap_mm(page: Page) -> int:
    found = re.search(r"opening (\d+) mm", hand(page).get_attribute("aria-label") or "")
    assert found
    return int(found.group(1))


FIRST_LOAD = 859_000
"""Bytes, and requests, that Explore's first load was before the pages had a floor; heads are counted as 400 each."""
FIRST_REQUESTS = 65

LOADED = """() => [...performance.getEntriesByType('navigation'), ...performance.getEntriesByType('resource')]
  .filter(e => e.name.startsWith(location.origin)).map(e => [e.encodedBodySize, e.decodedBodySize])"""


def test_the_first_load_is_no_heavier_than_it_was(explore: Page) -> None:
    explore.evaluate("performance.setResourceTimingBufferSize(500)")
    loaded = [pair for pair in explore.evaluate(LOADED) if pair[1]]
    assert 40 < len(loaded) <= FIRST_REQUESTS
    assert 3e6 > sum(whole for _, whole in loaded) > 2e6, "what is loaded is counted"
    assert sum(packed + 400 for packed, _ in loaded) <= FIRST_LOAD


def test_more_current_moves_hand_and_number(explore: Page) -> None:
    slider(explore).press("Home")
    expect(hand(explore)).to_have_attribute("aria-label", re.compile("current on the skin 0 mA"))
    rest = gap_mm(explore)
    skin = explore.locator("svg[role=img] path").nth(3)
    for _ in range(12):
        slider(explore).press("ArrowRight")
    expect(hand(explore)).to_have_attribute("aria-label", re.compile("current on the skin 12 mA"))
    assert gap_mm(explore) > rest + 10
    expect(explore.get_by_text(re.compile(f"^{gap_mm(explore)} mm$")).first).to_be_visible()
    assert skin.count() == 1


def test_another_hand_is_another_opening(explore: Page) -> None:
    slider(explore).press("Home")
    expect(hand(explore)).to_have_attribute("aria-label", re.compile("current on the skin 0 mA"))
    tight = gap_mm(explore)
    explore.get_by_role("radio", name="supple").check(force=True)
    expect(hand(explore)).not_to_have_attribute("aria-label", re.compile(f"opening {tight} mm"))
    assert gap_mm(explore) > tight + 10
    explore.get_by_role("button", name="Undo").click()
    expect(hand(explore)).to_have_attribute("aria-label", re.compile(f"opening {tight} mm"))


def test_the_address_carries_the_scene(explore: Page) -> None:
    slider(explore).press("Home")
    for _ in range(3):
        slider(explore).press("ArrowRight")
    scene = sim.presets()["tight"].replace("channel.0.pulse.amplitude_ma", 3.0)
    expect(explore).to_have_url(re.compile(re.escape(f"?s={scene_to_address(scene)}") + "$"))
    explore.reload()
    expect(slider(explore)).to_have_attribute("aria-valuetext", "3 mA")
    expect(hand(explore)).to_have_attribute("aria-label", re.compile("current on the skin 3 mA"))


def test_heroes_slider_and_caution_are_in_view_and_settings_open_on_a_phone(explore: Page) -> None:
    for size in SIZES:
        explore.set_viewport_size(size)  # type: ignore[arg-type]
        expect(explore.get_by_text(notices.CAUTION_FIRST).first).to_be_in_viewport(ratio=1)
        expect(slider(explore)).to_be_in_viewport(ratio=1)
        expect(hand(explore)).to_be_in_viewport(ratio=0.9)
        expect(explore.locator("#area-curve")).to_be_in_viewport(ratio=0.5)
        assert explore.evaluate("document.documentElement.scrollWidth <= window.innerWidth"), size
    explore.set_viewport_size(PHONE)  # type: ignore[arg-type]
    button = explore.get_by_role("button", name="Settings", exact=True)
    button.click()
    expect(button).to_have_attribute("aria-expanded", "true")
    expect(explore.get_by_role("slider", name="Phase duration")).to_be_visible()
    explore.keyboard.press("Escape")
    expect(button).to_have_attribute("aria-expanded", "false")
    explore.set_viewport_size(DESK)  # type: ignore[arg-type]


def test_a_cycle_plays_from_the_models_samples(explore: Page) -> None:
    slider(explore).fill("15")
    expect(hand(explore)).to_have_attribute("aria-label", re.compile("current on the skin 15 mA"))
    steady, mm = hand(explore).inner_html(), gap_mm(explore)
    explore.get_by_role("button", name="Play one cycle").click()
    expect(hand(explore).get_by_text(re.compile(r"^\d+ mm$"))).not_to_have_text(f"{mm} mm")
    assert hand(explore).inner_html() != steady


def test_a_broken_address_is_told(explore: Page, address: str) -> None:
    explore.goto(f"{address}?s=nonsense")
    title = explore.get_by_text("The link was not taken. It holds no scene that can be read").first
    expect(title).to_be_visible()
    expect(title).to_contain_text("Shown instead: the tight hand at 15 mA.")
