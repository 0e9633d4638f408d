"""Every page by the rules of axe-core, by keyboard, and to eyes that see fewer colours."""

from __future__ import annotations

import itertools
import re

import numpy as np
import pytest
from playwright.sync_api import Page, expect
from settled_axe import serious

from graspwave.apps.look.pages import PAGES
from graspwave.apps.web.tokens import TOKENS

DOORS = (("", "Start"), *PAGES)
READY = {
    "": "svg[aria-label^='Tight hand']", "explore": "svg[aria-label^=Hand]", "practise": ".gw-hold", "teach": ".lesson-list",
    "explain": "#main svg",
}


@pytest.mark.parametrize("page_key", [key for key, _ in DOORS])
def test_no_page_has_a_serious_violation_or_scrolls_sideways(page: Page, address: str, page_key: str) -> None:
    """On a desk in the light, on a phone in the dark, at twice the size and narrow; and each works under its own policy."""
    said: list[str] = []
    page.on("console", lambda m: said.append(m.text) if m.type == "error" or "Content Security Policy" in m.text else None)
    page.on("pageerror", lambda error: said.append(str(error)))
    page.set_viewport_size({"width": 1440, "height": 900})
    page.emulate_media(color_scheme="light")
    page.goto(address.replace("/explore", f"/{page_key}"))
    page.locator(READY[page_key]).first.wait_for()
    if page_key in ("explore", "practise", "explain"):
        page.wait_for_function("() => window.Bokeh && Bokeh.documents.length > 0")
        expect(page.locator(".coming")).to_have_count(0)  # first words are gone, not only unseen: nothing is there twice
    views = [page.locator(f"input[value={view}]") for view in ("zooms", "force", "nerve", "cycle", "dose", "why")]
    for view in views if page_key == "explore" else []:
        view.check(force=True)
    assert said == []
    assert serious(page) == []
    page.emulate_media(color_scheme="dark")
    page.set_viewport_size({"width": 390, "height": 844})
    page.locator(READY[page_key]).first.wait_for(state="attached")
    assert serious(page) == []
    # WCAG 2.2, 1.4.4 and 1.4.10: 200 % on a 1280 x 720 projector is 640 x 360; 320 wide is the narrowest
    for width, height in ((640, 360), (320, 640)):
        page.set_viewport_size({"width": width, "height": height})
        page.locator(READY[page_key]).first.wait_for(state="attached")
        assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth"), (page_key, width)
        expect(page.locator("footer.caution")).to_be_in_viewport()


def test_less_motion_is_honoured(explore: Page) -> None:
    explore.emulate_media(reduced_motion="reduce")
    expect(explore.locator("html")).to_have_attribute("data-motion", "less")
    hand = explore.get_by_role("img", name=re.compile("^Hand from the thumb side"))
    slider = explore.get_by_role("slider", name="Current")
    slider.press("Home")
    expect(hand).to_have_attribute("aria-label", re.compile("current on the skin 0 mA"))
    slider.press("PageUp")
    expect(hand).to_have_attribute("aria-label", re.compile("current on the skin [1-9]"))
    # no frames between: the outline that is there with the new words is the last one
    there = hand.inner_html()
    explore.evaluate("new Promise(done => requestAnimationFrame(() => requestAnimationFrame(done)))")
    paths = [re.findall(r' d="[^"]*"', html) for html in (there, hand.inner_html())]
    assert paths[0] == paths[1]


def test_explore_by_keyboard_alone(page: Page, address: str) -> None:
    page.set_viewport_size({"width": 1440, "height": 900})
    page.goto(address)
    hand = page.get_by_role("img", name=re.compile("^Hand from the thumb side"))
    expect(hand).to_be_visible()
    slider = page.get_by_role("slider", name="Current")
    for _ in range(30):
        page.keyboard.press("Tab")
        if slider.evaluate("n => n.matches(':focus')"):
            break
    expect(slider).to_be_focused()
    page.keyboard.press("End")
    expect(hand).to_have_attribute("aria-label", re.compile("current on the skin 60 mA"))
    for _ in range(30):
        page.keyboard.press("Tab")
        if page.get_by_role("radio", name="tight").evaluate("n => n.matches(':focus')"):
            break
    page.keyboard.press("ArrowLeft")
    expect(page.get_by_role("radio", name="stiff")).to_be_checked()


# Dichromacy as 3 x 3 matrices on linear RGB: Machado, Oliveira, Fernandes 2009, IEEE Trans Vis Comput Graph 15:1291, severity 1
# (values recalled, memory hi).
SEEN = {
    "protan": [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]],
    "deutan": [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]],
    "tritan": [[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602], [0.004733, 0.691367, 0.303900]],
}
FILLS = ("current_f", "force_f", "angle_f", "opening_f")
APART = 0.03
"""Distance in OKLab that two fills must keep: half as much again as the least difference that is seen, about 0.02. Nothing on a
page rests on colour alone: each quantity differs by word, unit and place as well."""


def oklab(colour: str, seen: list[list[float]] | None) -> np.ndarray:
    """Place of a colour in OKLab (Ottosson 2020), as the eye of `seen` has it."""
    rgb = np.array([int(colour[i:i + 2], 16) / 255 for i in (1, 3, 5)])
    linear = np.where(rgb <= 0.04045, rgb / 12.92, ((rgb + 0.055) / 1.055) ** 2.4)
    if seen is not None:
        linear = np.clip(np.array(seen) @ linear, 0.0, 1.0)
    cone = np.array([[0.4122214708, 0.5363325363, 0.0514459929], [0.2119034982, 0.6806995451, 0.1073969566],
                     [0.0883024619, 0.2817188376, 0.6299787005]]) @ linear
    return np.array([[0.2104542553, 0.7936177850, -0.0040720468], [1.9779984951, -2.4285922050, 0.4505937099],
                     [0.0259040371, 0.7827717662, -0.8086757660]]) @ np.cbrt(cone)


def nearest(table: dict[str, str], seen: list[list[float]] | None) -> float:
    """Least distance of any two quantities' fills."""
    places = [oklab(table[name], seen) for name in FILLS]
    return min(float(np.linalg.norm(a - b)) for a, b in itertools.combinations(places, 2))


@pytest.mark.parametrize("kind", list(SEEN))
@pytest.mark.parametrize("column", [0, 1], ids=["light", "dark"])
def test_quantities_are_told_apart(kind: str, column: int) -> None:
    assert nearest({name: TOKENS[name][column] for name in FILLS}, SEEN[kind]) > APART


def test_red_and_green_would_be_found() -> None:
    table = {"current_f": "#C04000", "force_f": "#807000", "angle_f": "#202020", "opening_f": "#FFFFFF"}
    assert nearest(table, SEEN["deutan"]) < APART
