"""A room in a network without a way out: the wall's picture code is read by a camera and opens on another machine."""

from __future__ import annotations

import io
import json
import re
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from browser_people import DESK, PHONE, WALL
from networks import SERVER_ADDRESS, inside, two_machines, why_not
from playwright.sync_api import Browser, BrowserType, expect

ROOT = Path(__file__).parents[2]
REFUSED = why_not()


@contextmanager
def server_in(namespace: str, store: Path) -> Iterator[list[str]]:
    """What the command said at its start, inside a namespace."""
    command = [sys.executable, "-m", "graspwave.apps.begin", "open", "--host", "0.0.0.0", "--port", "5080", "--no-browser",
               "--store", str(store)]
    quiet = {"stdout": subprocess.PIPE, "stderr": subprocess.DEVNULL}
    with subprocess.Popen(inside(namespace, command), **quiet, text=True, cwd=ROOT) as run:  # type: ignore[call-overload]
        try:
            assert run.stdout
            said = []
            for line in run.stdout:
                said.append(line.strip())
                if "/join" in line:
                    break
            yield said
        finally:
            run.terminate()


@contextmanager
def browser_in(namespace: str, kind: BrowserType, arguments: dict[str, object], folder: Path) -> Iterator[Browser]:
    """A browser whose every connection is made inside a namespace."""
    real = str(arguments.get("executable_path") or kind.executable_path)
    script = folder / f"browser-{namespace}"
    script.write_text(f'#!/bin/sh\nexec ip netns exec {namespace} "{real}" "$@"\n')
    script.chmod(0o755)
    browser = kind.launch(**{**arguments, "executable_path": str(script)})  # type: ignore[arg-type]
    try:
        yield browser
    finally:
        browser.close()


@pytest.mark.skipif(bool(REFUSED), reason=REFUSED or "made")
def test_the_walls_code_opens_on_another_machine_without_a_default_route(
    browser_type: BrowserType, browser_type_launch_args: dict[str, object], tmp_path: Path,
) -> None:
    zxing = pytest.importorskip("zxingcpp", reason="zxing-cpp reads the picture code")
    from PIL import Image

    with two_machines() as (here, there), server_in(here, tmp_path / "rooms.db") as said:
        routes = json.loads(subprocess.run(["ip", "-n", here, "-j", "route"], capture_output=True, text=True, check=True).stdout)
        assert all(route["dst"] != "default" for route in routes)
        assert f"http://{SERVER_ADDRESS}:5080/join" in said[-1]
        key = re.search(r"#key=(\S+)", said[1])
        assert key
        with browser_in(here, browser_type, browser_type_launch_args, tmp_path) as own, \
                browser_in(there, browser_type, browser_type_launch_args, tmp_path) as others:
            control = own.new_page(viewport=DESK)  # type: ignore[arg-type]
            control.set_default_timeout(60_000)
            control.goto(f"http://127.0.0.1:5080/teach#key={key[1]}")
            control.get_by_role("button", name=re.compile("Open a room")).first.click()
            control.get_by_role("button", name="Open the room", exact=True).click()
            control.wait_for_url("**/control")
            expect(control.get_by_text("Point the camera of one phone at the code.")).to_be_visible()
            wall = own.new_context(viewport=WALL, storage_state=control.context.storage_state()).new_page()  # type: ignore[arg-type]
            wall.goto(control.url.replace("/control", "/wall"))
            expect(wall.locator(".wall.begin .qr svg")).to_be_visible()
            assert "127.0.0.1" not in wall.locator("main").inner_text()
            read = zxing.read_barcodes(Image.open(io.BytesIO(wall.screenshot())))
            assert len(read) == 1
            code = control.url.split("/")[-2]
            assert read[0].text == f"http://{SERVER_ADDRESS}:5080/join?code={code}"
            phone = others.new_page(viewport=PHONE)  # type: ignore[arg-type]
            phone.goto(read[0].text)
            expect(phone.get_by_role("heading", name="You are in")).to_be_visible()
            expect(control.get_by_role("heading", name="✓ One phone tried")).to_be_visible()
            # turns green
            edge = control.locator(".tried.yes").evaluate("node => getComputedStyle(node).borderTopColor")
            assert [int(part) for part in re.findall(r"\d+", edge)[:3]] != [0, 0, 0]
            control.get_by_role("button", name=re.compile("^Begin: ")).click()
            expect(phone.get_by_role("heading", name="You are in")).not_to_be_visible()
