"""What a page does when its server is slow, gone, or back: it says so, stands still, lets go, and heals with the scene kept."""

from __future__ import annotations

import re
import socket
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Page, WebSocketRoute, expect

ROOT = Path(__file__).parents[2]
GONE = "Connection lost: the picture stands still"


class Server:
    """The command on a port of its own, which can be ended and begun again."""

    def __init__(self, store: Path) -> None:
        with socket.socket() as probe:
            probe.bind(("127.0.0.1", 0))
            self.port = probe.getsockname()[1]
        self._store, self._process = store, None
        self.begin()

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def begin(self) -> None:
        command = [sys.executable, "-m", "graspwave.apps.begin", "open", "--port", str(self.port), "--no-browser",
                   "--store", str(self._store)]
        self._process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True, cwd=ROOT)
        assert self._process.stdout
        assert any("rooms" in line for line in self._process.stdout)

    def signal(self, name: str) -> None:
        assert self._process
        getattr(self._process, name)()
        if name == "kill":
            self._process.wait()

    def stop(self) -> None:
        assert self._process
        self._process.kill()
        self._process.wait()
        assert self._process.stdout
        self._process.stdout.close()


@pytest.fixture
def server(tmp_path: Path) -> Iterator[Server]:
    found = Server(tmp_path / "rooms.db")
    yield found
    found.stop()


def room_of(page: Page, server: Server) -> Page:
    """The page that leads a room, opened as a person opens it."""
    lead = page.context.new_page()
    lead.goto(f"{server.address}/teach")
    lead.get_by_role("button", name="Open a room").first.click()
    lead.get_by_role("button", name="Open the room").click()
    expect(lead).to_have_url(re.compile("/room/.*/control"))
    expect(lead.get_by_text("People gather")).to_be_visible()
    return lead


def test_a_lost_server_is_said_a_switch_lets_go_and_the_page_heals_with_its_scene(page: Page, server: Server) -> None:
    asked: list[str] = []
    page.context.on("request", lambda request: asked.append(request.url))
    lead, told = room_of(page, server), page.context.new_page()
    told.goto(f"{server.address}/explain")
    expect(told.get_by_role("button", name="Next")).to_be_visible()
    held = page.context.new_page()
    held.set_viewport_size({"width": 1440, "height": 900})
    held.goto(f"{server.address}/practise")
    switch = held.locator(".gw-hold")
    expect(switch).to_be_visible()
    page.set_viewport_size({"width": 1440, "height": 900})
    page.goto(f"{server.address}/explore")
    slider = page.get_by_role("slider", name="Current")
    slider.fill("21")
    expect(page.get_by_role("img", name=re.compile("^Hand"))).to_have_attribute("aria-label", re.compile("skin 21 mA"))
    expect(page).to_have_url(re.compile(r"\?s="))
    page.evaluate("window.began = true")
    switch.hover()
    held.mouse.down()
    expect(switch).to_have_attribute("aria-pressed", "true")
    server.signal("kill")
    expect(switch).to_have_attribute("aria-pressed", "false", timeout=2_000)
    expect(switch).to_contain_text("the connection was lost")
    for each in (page, held, told):
        expect(each.get_by_role("alert")).to_contain_text(GONE, timeout=2_000)
    expect(lead.get_by_text("No connection to the room")).to_be_visible(timeout=2_000)
    expect(told.locator("#main")).to_have_attribute("inert", "")
    expect(page.locator(".frame > .side")).to_have_attribute("inert", "")
    expect(page.locator("footer.caution")).to_be_visible()
    server.stop()
    server.begin()
    for each in (page, held, told):
        expect(each.get_by_text(GONE)).to_be_hidden()
    expect(lead.get_by_text("No connection to the room")).to_be_hidden()
    expect(told.get_by_role("button", name="Next")).to_be_visible()
    assert [url for url in asked if "//" in url and not url.startswith((server.address, "blob:", "data:"))] == []
    expect(page.get_by_role("img", name=re.compile("^Hand"))).to_have_attribute("aria-label", re.compile("skin 21 mA"))
    expect(page.get_by_role("slider", name="Current")).to_have_value("21")
    assert not page.evaluate("'began' in window"), "a page whose session is gone must be made anew"
    page.get_by_role("slider", name="Current").fill("9")
    expect(page.get_by_role("img", name=re.compile("^Hand"))).to_have_attribute("aria-label", re.compile("skin 9 mA"))


def test_a_busy_server_is_not_a_lost_one(explore: Page) -> None:
    explore.route("**/pulse", lambda route: None)  # taken and not answered, as by a process that is working something out
    expect(explore.get_by_role("alert")).to_contain_text("The server is busy")
    expect(explore.locator("#main")).not_to_have_attribute("inert", "")
    explore.unroute("**/pulse")
    expect(explore.get_by_role("alert")).to_be_hidden()


def test_a_line_refused_before_it_brought_the_page_is_asked_for_anew(page: Page, address: str) -> None:
    """As by a server that was full by then: the page asks once more, and is answered with what is the matter, or served."""
    lines: list[WebSocketRoute] = []

    def refuse_the_first(line: WebSocketRoute) -> None:
        lines.append(line)
        if len(lines) == 1:
            line.close(code=1013, reason="This server is full.")
        else:
            line.connect_to_server()

    page.route_web_socket(re.compile("/explain/ws"), refuse_the_first)
    page.goto(address.replace("explore", "explain"))
    expect(page.get_by_role("button", name="Next")).to_be_visible()
    expect(page.get_by_role("alert")).to_be_hidden()
    assert len(lines) == 2
