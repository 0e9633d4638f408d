"""A goal of a bench that all try: the phone says with what it is met, solutions gather on the wall, the best comes last."""

from __future__ import annotations

import asyncio
import json
import threading
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect
from room_clients import Person, join, leave_all, post
from serving import COMMAND, served

from graspwave.apps.classroom import goals
from graspwave.apps.teach.compiled import compiled

AMPLITUDE, TONE = goals.AMPLITUDE, "hand.finger_tone"


@pytest.fixture(scope="module")
def roam() -> tuple[int, dict[str, Any]]:
    """Number of the claw lesson's step that all try for themselves, and its bench."""
    steps = compiled("claw")["steps"]
    at = next(number for number, step in enumerate(steps) if step["kind"] == "roam")
    return at, steps[at]["bench"]


@pytest.fixture
def loop() -> Iterator[asyncio.AbstractEventLoop]:
    """A loop beside the browser's own."""
    made = asyncio.new_event_loop()
    thread = threading.Thread(target=made.run_forever, daemon=True)
    thread.start()
    yield made
    asyncio.run_coroutine_threadsafe(leave_all(), made).result(20)
    made.call_soon_threadsafe(made.stop)
    thread.join()


def test_solutions_gather_on_the_wall_and_the_best_is_drawn_last(
    browser: Browser, page: Page, loop: asyncio.AbstractEventLoop, roam: tuple[int, dict[str, Any]], tmp_path: Path,
) -> None:
    at, bench = roam
    live = bench["live"]
    # by current alone nobody meets both goals: something else has to change
    assert goals.first_met(bench["goals"], live) is None

    def do(work: Any) -> Any:
        return asyncio.run_coroutine_threadsafe(work, loop).result(60)

    with served((*COMMAND, "--store", str(tmp_path / "rooms.db"))) as where:
        http = where.removesuffix("/explore")
        opened = json.loads(do(post(f"{http}/teach/open", {"lesson": "claw"})).body)
        code, token = opened["code"], opened["token"]
        control = do(Person.arrive(http.replace("http", "ws"), code, "control", token))
        other = do(Person.arrive(http.replace("http", "ws"), code, "learner", do(join(http, code))[0]))
        do(control.ask(type="begin"))
        do(control.go(at, "show"))
        page.set_default_timeout(30_000)
        page.add_init_script(f"localStorage.setItem('gw-wall-{code}', JSON.stringify({{ token: '{token}' }}))")
        page.goto(f"{http}/room/{code}/wall")
        phone = browser.new_page(viewport={"width": 390, "height": 844})
        try:
            phone.goto(f"{http}/room/{code}")
            expect(phone.locator(".gwt-goals li")).to_have_count(2)
            assert phone.locator(".gwt-goals li.met").count() == 0
            # who says so without its being so is not drawn
            refused = do(other.ask(type="solved", step=at, settings={AMPLITUDE: 1.0}))
            assert refused["text"] == "These settings do not meet the goal."
            # a solution of another's: found here by the same search that the wall's best comes from
            tried = do(goals.best(bench, lambda settings: _live(http, at, settings)))
            assert tried
            found = _settings(bench, tried)
            assert do(other.ask(type="solved", step=at, settings=found))["type"] == "kept"
            expect(page.locator(".dots-host .gwt-title").first).to_have_text("1 met the goal")
            # on the phone: no goal is met by itself; then one setting and the current, and it says with what
            setting = next(one for one in bench["settings"] if one["path"] in found and one["path"] != AMPLITUDE)
            if "held_words" in setting:
                phone.get_by_role("checkbox", name="the wrist is held").check()
            phone.get_by_role("slider", name=setting["label"]).last.fill(str(found[setting["path"]]))
            phone.get_by_role("slider", name="Current").last.fill(str(found[AMPLITUDE]))
            expect(phone.locator(".gwt-goals li.met")).to_have_count(2)
            expect(phone.locator(".gwt-goals .gwt-how").last).to_contain_text(f"Met: current {found[AMPLITUDE]:g} mA")
            expect(page.locator(".dots-host .gwt-title").first).to_have_text("2 met the goal")
            assert phone.get_by_text("These settings do not meet the goal.").count() == 0
            # current, opening and how many settings were changed, the current among them; one dot where two are alike
            solved = control.state["counts"]["solved"]
            assert [[ma, changed] for ma, _, changed in solved] == [[tried["ma"], len(found)]] * 2
            assert "least current found" not in page.locator(".dots-host").inner_text()
            do(control.ask(60.0, type="best", shown=True))
            expect(page.locator(".dots-words")).to_contain_text(f"the model finds {tried['ma']:.1f} mA: {tried['words']}.")
            expect(page.get_by_text("least current found")).to_be_visible()
            # the best is the educator's to show: no phone is told
            assert other.state["best"] is None
        finally:
            phone.close()


async def _live(http: str, at: int, settings: Any) -> Any:
    reply = await post(f"{http}/bench", {"slug": "claw", "step": at, "settings": dict(settings)})
    return json.loads(reply.body)


def _settings(bench: dict[str, Any], best: dict[str, Any]) -> dict[str, float]:
    """The settings of what `goals.best` found, from its words."""
    return next({**settings, AMPLITUDE: best["ma"]} for words, settings in goals._tries(bench) if words == best["words"])  # type: ignore[dict-item]
