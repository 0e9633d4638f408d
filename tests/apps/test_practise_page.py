"""The switch in a real browser: whatever loses the press ends the current."""

from __future__ import annotations

import re
import time
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from playwright.sync_api import Page, expect
from serving import served

# A page of the task, and a second address that tells what the server holds, so that the test need not trust the page.
SERVER = """
import panel as pn, socket
from graspwave.apps.web.serving import WEB_PATTERN, WebFiles
from graspwave.apps.look.pulse import pulse_routes
from graspwave.apps.practise import page as practise_page
from tornado.web import RequestHandler

kept = []
made = practise_page.PractisePage.__init__
def remember(self, *a, **k):
    made(self, *a, **k)
    kept.append(self)
practise_page.PractisePage.__init__ = remember

class State(RequestHandler):
    def get(self):
        live = kept[-1].live
        last = live.log[-1].what if live.log else ""
        self.write({"held": live.held, "presses": live.presses, "now": kept[-1].now(), "last": last})

with socket.socket() as free:
    free.bind(("127.0.0.1", 0))
    port = free.getsockname()[1]
server = pn.serve({"practise": practise_page.practise}, port=port, address="127.0.0.1", show=False, start=False,
                  extra_patterns=[(WEB_PATTERN, WebFiles), ("/state", State), *pulse_routes()],
                  websocket_origin=[f"127.0.0.1:{port}"])
server.start()
print(f"http://127.0.0.1:{port}/practise", flush=True)
server.io_loop.start()
"""


@pytest.fixture(scope="module")
def practise_address() -> Iterator[str]:
    with served(["-c", SERVER]) as where:
        yield where


@pytest.fixture
def practise(page: Page, practise_address: str) -> Page:
    page.set_viewport_size({"width": 1440, "height": 900})
    page.goto(practise_address)
    expect(switch(page)).to_be_visible()
    expect(page.get_by_text("put down", exact=True)).to_be_visible()
    return page


def switch(page: Page) -> Any:
    return page.locator(".gw-hold")


def state(page: Page, address: str) -> dict[str, Any]:
    answer = page.request.get(address.replace("/practise", "/state"))
    return dict(answer.json())


def wait_held(page: Page, address: str, wanted: bool, within_s: float = 5.0) -> float:
    """How long until the server holds, or no longer holds, the switch."""
    start = time.monotonic()
    while state(page, address)["held"] is not wanted:
        assert time.monotonic() - start < within_s, f"held is not {wanted} after {within_s} s"
    return time.monotonic() - start


def down(page: Page, address: str) -> None:
    switch(page).hover()  # waits until it no longer moves
    page.mouse.down()
    expect(switch(page)).to_have_attribute("aria-pressed", "true")
    wait_held(page, address, True)


def test_mouse_and_keys_hold_and_let_go(practise: Page, practise_address: str) -> None:
    down(practise, practise_address)
    practise.mouse.up()
    expect(switch(practise)).to_have_attribute("aria-pressed", "false")
    wait_held(practise, practise_address, False)
    for key in ("Space", "Enter"):
        switch(practise).focus()
        practise.keyboard.down(key)
        wait_held(practise, practise_address, True)
        practise.keyboard.up(key)
        wait_held(practise, practise_address, False)


def test_a_hold_ends_when_the_page_says_so_although_the_server_is_behind(practise: Page, practise_address: str) -> None:
    """The page's own word waits in a line that is held back; what its worker says comes by another way."""
    probe = practise.context.new_page()
    practise.bring_to_front()
    down(practise, practise_address)
    practise.evaluate("WebSocket.prototype.send = () => {}")
    practise.mouse.up()
    wait_held(probe, practise_address, False, 1.0)
    told = state(probe, practise_address)
    assert told["last"] == "switch let go"


def hidden(page: Page) -> None:
    page.evaluate("Object.defineProperty(document, 'hidden', {value: true, configurable: true})")
    page.evaluate("document.dispatchEvent(new Event('visibilitychange'))")
    page.evaluate("delete document.hidden")


LOSSES: dict[str, Callable[[Page], Any]] = {
    "blur": lambda page: page.evaluate("window.dispatchEvent(new Event('blur'))"), "hidden": hidden,
    "cancelled": lambda page: switch(page).dispatch_event("pointercancel"),
    "focus moves": lambda page: page.get_by_role("button", name="Start again").focus(),
    # beats no longer come, neither from the page nor from its worker
    "offline": lambda page: page.evaluate(
        "setInterval = () => 0; for (let i = 1; i < 9999; i++) clearInterval(i); gwConnection.hold('0'.repeat(24), 1)"),
    "closed": lambda page: page.close(),
}


@pytest.mark.parametrize("losses", [("blur", "hidden", "cancelled", "focus moves", "offline"), ("closed",)])
def test_whatever_loses_the_press_ends_it(practise: Page, practise_address: str, losses: tuple[str, ...]) -> None:
    probe = practise.context.new_page()
    practise.bring_to_front()  # a page behind another holds nothing
    for loss in losses:
        down(practise, practise_address)
        LOSSES[loss](practise)
        assert wait_held(probe, practise_address, False, 3.0) <= 1.5, loss
        if loss != losses[-1]:
            practise.mouse.up()
            expect(switch(practise)).to_have_attribute("aria-pressed", "false")


def test_hold_opens_and_the_hand_moves(practise: Page, practise_address: str) -> None:
    hand = practise.get_by_role("img", name=re.compile("^Hand and pot"))
    before = hand.inner_html()
    down(practise, practise_address)
    expect(hand.get_by_text(re.compile(r"^[78]\d mm$"))).to_be_visible(timeout=8000)
    assert hand.inner_html() != before
    practise.mouse.up()
    wait_held(practise, practise_address, False)


def test_a_touch_holds_and_a_cancelled_one_lets_go(practise: Page, practise_address: str) -> None:
    box = switch(practise).bounding_box()
    assert box
    touch = practise.context.new_cdp_session(practise)
    touch.send("Emulation.setTouchEmulationEnabled", {"enabled": True})
    at = [{"x": box["x"] + 60, "y": box["y"] + 50}]
    for end in ("touchEnd", "touchCancel"):
        touch.send("Input.dispatchTouchEvent", {"type": "touchStart", "touchPoints": at})
        wait_held(practise, practise_address, True)
        touch.send("Input.dispatchTouchEvent", {"type": end, "touchPoints": []})
        wait_held(practise, practise_address, False, 1.5)


def test_ramps_that_the_timer_has_no_room_for_are_told_and_nothing_breaks(practise: Page) -> None:
    errors: list[str] = []
    practise.on("pageerror", lambda error: errors.append(str(error)))
    for name in ("Rise", "Fall"):
        field = practise.get_by_role("spinbutton", name=name)
        field.fill("5")
        field.press("Enter")
    said = re.compile("Rise and fall do not fit into the timer's on time of 8.0 s: shorten them.")
    practise.get_by_role("button", name="Work out half an hour").click()
    expect(practise.locator("#area-time")).to_contain_text(said)
    practise.get_by_role("radio", name="timer", exact=True).click()
    expect(practise.get_by_role("radio", name="switch", exact=True)).to_be_checked()
    expect(practise.get_by_text(said).first).to_be_visible()
    field = practise.get_by_role("spinbutton", name="Fall")
    field.fill("1")
    field.press("Enter")
    practise.get_by_role("radio", name="timer", exact=True).click()
    expect(practise.get_by_text("The timer runs")).to_be_visible()
    expect(practise.get_by_text("That cannot be done as it is set.")).to_have_count(0)
    assert errors == []


def test_a_refused_change_leaves_the_task_as_it_was() -> None:
    from graspwave import simulator as sim
    from graspwave.apps.practise.page import PractisePage

    scene = sim.presets()["tight"].replace("channel.0.timing.control", "held")
    practice = PractisePage(scene.replace("channel.0.ramp.up_s", 5.0).replace("channel.0.ramp.down_s", 5.0))
    before = practice.live
    practice.live.press(0.0)
    with pytest.raises(sim.SceneError, match="at least both ramps together"):
        practice.choose("timed")
    assert practice.live is before
    assert practice.live.held
