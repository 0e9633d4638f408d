"""People of the room's tests: their sizes, how a room is opened and joined, and what is against a rule on a page."""

from __future__ import annotations

import re
from collections.abc import Callable

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

PHONE = {"width": 390, "height": 844}
DESK = {"width": 1440, "height": 900}
WALL = {"width": 1280, "height": 720}
REASON = "draws the closers tight like reins"


Visitor = Callable[..., Page]


def open_room(page: Page, teach: str, *, begin: bool = True) -> str:
    """Open a room from the list, and begin once its page is there; returns its code."""
    page.goto(f"{teach}/teach")
    page.get_by_role("button", name="Open a room: A tight hand, turned up").click()
    page.get_by_role("button", name="Open the room", exact=True).click()
    page.wait_for_url("**/control")
    expect(page.get_by_role("button", name="Begin: A tight hand")).to_be_visible()
    if begin:
        page.get_by_role("button", name="Begin: A tight hand").click()
        expect(page.get_by_role("button", name="Next: Turn it up")).to_be_visible()
    found = re.search(r"/room/([a-z-]+-\d+)/", page.url)
    assert found
    return found.group(1)


def join(page: Page, teach: str, code: str) -> None:
    page.goto(f"{teach}/room/{code}")
    expect(page.get_by_role("heading", level=2)).to_be_visible()


def forward(control: Page, words: str) -> None:
    control.get_by_role("button", name=f"Next: {words}").click()


def serious(page: Page) -> list[tuple[str, str, list[str]]]:
    """What is against a rule in the light or, of what a look can change, in the dark."""
    bad = []
    for scheme, rules in (("light", None), ("dark", {"runOnly": ["color-contrast", "link-in-text-block"]})):
        page.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]
        found = [v for v in Axe().run(page, options=rules).response["violations"] if v["impact"] in ("serious", "critical")]
        bad += [(scheme, v["id"], [n["target"] for n in v["nodes"]][:3]) for v in found]
    return bad
