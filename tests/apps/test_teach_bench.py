"""A bench of a lesson in the browser."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from picture_pages import T
from playwright.sync_api import Page, expect

from graspwave import simulator as sim
from graspwave.apps.teach.bench import bench
from graspwave.apps.told.live_hand import AMPLITUDE, live

FREE = (AMPLITUDE, "hand.flexor_length_factor")


def shown_bench(page: Page, given: dict[str, Any], ask: str) -> None:
    page.evaluate(
        "([B, ask]) => { window.asked = []; window.waiting = []; window.told = []\n"
        "const host = document.createElement('section'); document.getElementById('main').append(host)\n"
        "window.bench = draw.drawBench(host, B, {onchange: s => told.push(s), ask: eval(ask)}) }", [given, ask],
    )


def test_the_current_of_a_bench_asks_nobody(canvas: Callable[..., Page]) -> None:
    page = canvas()
    given = bench(T(amp=14), FREE)
    shown_bench(page, given, "async s => { asked.push(s); return null }")
    page.get_by_role("slider", name="Current").press("ArrowRight")
    gap = float(sim.opening_curve(T, [14.5]).opening_mm[0])
    expect(page.get_by_role("img", name=f"opening {gap:.0f} mm")).to_have_count(1)
    assert page.evaluate("asked") == []
    assert page.evaluate("told.at(-1)")[AMPLITUDE] == 14.5
    page.get_by_role("button", name="Undo").click()
    expect(page.locator(".gwt-setting output").first).to_have_text("14 mA")
    expect(page.get_by_role("button", name="Undo")).to_be_disabled()


def test_other_settings_ask_one_at_a_time_and_the_newest_wins(canvas: Callable[..., Page]) -> None:
    page = canvas()
    given = bench(T(amp=14), FREE)
    shown_bench(page, given, "s => { asked.push(s); return new Promise(done => waiting.push(done)) }")
    length = page.get_by_role("slider", name="Length of closers")
    for _ in range(4):
        length.press("ArrowRight")
        page.evaluate("new Promise(done => requestAnimationFrame(done))")
    assert page.evaluate("asked.length") == 1
    answer = live(given["scene"], {FREE[1]: 0.97}, FREE)
    page.evaluate("a => waiting[0](a)", answer)
    page.wait_for_function("asked.length === 2")
    assert page.evaluate("asked[1]")[FREE[1]] == pytest.approx(0.97)
    page.evaluate("a => waiting[1](a)", answer)
    expect(page.get_by_text("at the start")).to_have_count(1)
    gap = int(answer["opening_mm"][28] + 0.5)  # at 14 mA, rounded as the browser does
    expect(page.get_by_role("img", name=f"opening {gap} mm")).to_have_count(1)
    assert page.evaluate("asked.length") == 2


def test_a_bench_says_what_went_wrong(canvas: Callable[..., Page]) -> None:
    page = canvas()
    shown_bench(page, bench(T(amp=14), FREE), "async s => { throw new Error(\"'x' must be smaller (got 9)\") }")
    page.get_by_role("slider", name="Length of closers").press("ArrowRight")
    expect(page.locator(".gwt-trouble")).to_have_text("'x' must be smaller (got 9)")


def test_a_bench_without_a_violation(canvas: Callable[..., Page]) -> None:
    page = canvas("dark", "less", "phone", (320, 700))
    shown_bench(page, bench(T(amp=14), (*FREE, "hand.wrist_held_deg", "channel.0.pulse.shape")), "async s => null")
    expect(page.get_by_role("checkbox", name="the wrist is held")).not_to_be_checked()
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    assert [v["id"] for v in Axe().run(page).response["violations"]] == []
