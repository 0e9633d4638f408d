"""Takes the pictures of the README from the program itself: ``python -m tests.pictures``; other sizes go where ``--all`` says."""

from __future__ import annotations

import argparse
import re
import tempfile
from pathlib import Path

from playwright.sync_api import Browser, sync_playwright

from tests.serving import CHROMIUM, COMMAND, served

ROOT = Path(__file__).parents[1]
README = ROOT / ".readme" / "explore.png"
DOOR = ROOT / ".readme" / "door.png"
ROOM = ROOT / ".readme" / "teach.png"
SIZES = {"desk": (1440, 900), "wall": (1280, 720), "phone": (390, 844)}


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--all", type=Path, help="folder for pictures at every size, light and dark")
    folder = options.parse_args().all
    with (
        tempfile.TemporaryDirectory() as rooms,
        served((*COMMAND, "--store", f"{rooms}/rooms.sqlite")) as address, sync_playwright() as playwright,
    ):
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        wanted = [(README, SIZES["desk"], "light")]
        if folder:
            folder.mkdir(parents=True, exist_ok=True)
            wanted = [(folder / f"{n}-{t}.png", s, t) for n, s in SIZES.items() for t in ("light", "dark")]
        for path, (width, height), theme in wanted:
            page = browser.new_page(viewport={"width": width, "height": height}, color_scheme=theme)
            page.goto(address)
            page.get_by_role("img", name=re.compile("^Hand from the thumb side")).wait_for()
            page.locator(".bk-Figure").first.wait_for(state="attached")
            page.get_by_role("button", name=re.compile("goes over at")).first.wait_for()  # the second look at the curve
            page.wait_for_timeout(1500)  # the easing of the hand and the first drawing of the plots
            page.screenshot(path=path)
        door(browser, address.rsplit("/", 1)[0])
        room(browser, address.rsplit("/", 1)[0])
        browser.close()


def door(browser: Browser, http: str) -> None:
    """The first page: a supple and a tight hand at one current."""
    page = browser.new_page(viewport=dict(zip(("width", "height"), SIZES["desk"], strict=True)))
    page.goto(http)
    page.get_by_text(re.compile("^opens [0-9]+ mm")).nth(1).wait_for()
    page.wait_for_timeout(1500)
    page.screenshot(path=DOOR)


def room(browser: Browser, http: str) -> None:
    """The educator's page of the claw lesson, after five invented people voted."""
    lead = browser.new_page(viewport=dict(zip(("width", "height"), SIZES["desk"], strict=True)))
    lead.goto(f"{http}/teach")
    lead.get_by_role("button", name="Open a room").nth(5).click()
    lead.get_by_role("button", name="Open the room").click()
    lead.wait_for_url("**/control")
    code = lead.url.split("/")[-2]
    people = [browser.new_context(viewport={"width": 390, "height": 844}).new_page() for _ in range(5)]
    for person in people:
        person.goto(f"{http}/join?code={code}")
        person.wait_for_url(f"**/room/{code}")
    while not people[0].get_by_role("radio").count():
        lead.locator("[data-id=next]").click()
        lead.wait_for_timeout(500)
    for person, choice in zip(people, (1, 1, 2, 0, 1), strict=True):
        person.get_by_role("radio").nth(choice).check()
        person.locator("button.send").click()
    lead.get_by_text("5 of 5 have answered").wait_for()
    for comes in ("talk it over", "ask again", "show the room", "show the picture", "show what the model gives"):
        lead.get_by_role("button", name=re.compile(f"^Next: {comes}")).click()
    lead.wait_for_timeout(1500)
    lead.screenshot(path=ROOM)


if __name__ == "__main__":
    main()
