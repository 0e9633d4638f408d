"""Nothing old looks fresh: what has no answer yet is dimmed with a word; and words come before pictures."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import Page, WebSocketRoute, expect


def held_back(page: Page) -> tuple[Callable[[], None], Callable[[], None]]:
    """Hold what the server tells back, and let it go."""
    waiting: list[Any] = []
    holds = [False]
    lines: list[WebSocketRoute] = []

    def route(line: WebSocketRoute) -> None:
        server = line.connect_to_server()
        lines.append(line)
        server.on_message(lambda message: waiting.append(message) if holds[0] else line.send(message))

    page.route_web_socket(re.compile("/ws"), route)

    def hold() -> None:
        holds[0] = True

    def go() -> None:
        holds[0] = False
        while waiting:
            lines[-1].send(waiting.pop(0))

    return hold, go


def test_explain_dims_old_words_until_the_answer_has_come(page: Page, address: str) -> None:
    page.set_viewport_size({"width": 1440, "height": 900})
    hold, go = held_back(page)
    page.goto(address.replace("explore", "explain"))
    opens = page.locator(".gwe").get_by_text("The pull opens your hand.")
    word = page.get_by_text("What is shown is of the setting before")
    expect(opens).to_be_visible()
    expect(word).to_be_hidden()
    page.get_by_role("button", name="For the therapist").click()
    slider = page.get_by_role("slider", name="Current")
    expect(slider).to_be_visible()
    hold()
    slider.press("Home")
    expect(word).to_be_visible()
    expect(opens).to_be_visible()  # the old words still, and dimmed
    assert float(page.locator("#main").evaluate("n => getComputedStyle(n).opacity")) < 0.5
    go()
    expect(word).to_be_hidden()
    expect(opens).to_be_hidden()
    expect(page.locator(".gwe")).not_to_have_class(re.compile(r"\blate\b"))


def test_hand_curve_and_number_of_an_older_current_are_dimmed(page: Page, address: str) -> None:
    page.set_viewport_size({"width": 1440, "height": 900})
    hold, go = held_back(page)
    page.goto(address)
    hand = page.get_by_role("img", name=re.compile("^Hand from the thumb side"))
    expect(hand).to_have_attribute("aria-label", re.compile("skin 15 mA"))
    word = page.get_by_text("What is shown is of the setting before")
    expect(word).to_be_hidden()
    hold()
    page.get_by_role("slider", name="Current").press("PageUp")
    expect(word).to_be_visible()
    now = page.get_by_role("slider", name="Current").input_value()
    expect(hand).to_have_attribute("aria-label", re.compile("skin 15 mA"))
    for area in ("hand", "curve", "thread"):
        assert float(page.locator(f"#area-{area} .fill").evaluate("n => getComputedStyle(n).opacity")) < 0.5
    page.locator("input[value=zooms]").check(force=True)  # nor does the last tab's picture stand under a new name
    assert float(page.locator("#area-time .fill").evaluate("n => getComputedStyle(n).opacity")) < 0.5
    go()
    expect(word).to_be_hidden()
    expect(hand).to_have_attribute("aria-label", re.compile(f"skin {float(now):.0f} mA"))
    expect(page.locator(".gw-thread b").first).to_have_text(f"{float(now):.0f} mA")


@pytest.mark.parametrize(("name", "words"), [
    ("explore", "Hand from the thumb side: current on the skin 15 mA"), ("practise", "Hold the switch until the hand is wide"),
    ("explain", "Small taps of current go through the skin."),
])
def test_words_come_with_the_page_itself(page: Page, address: str, name: str, words: str) -> None:
    """Before the session's own line has said anything: they are in the page that the server answers with."""
    page.route_web_socket(re.compile("/ws"), lambda _line: None)
    page.goto(address.replace("explore", name), wait_until="commit")
    expect(page.locator(".coming")).to_contain_text(words)
    expect(page.locator(".coming")).to_be_visible()  # that they go is looked at where each page is (test_accessible)
