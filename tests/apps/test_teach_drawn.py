"""Pictures of lessons as the browser draws them, and what can be done with them."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from axe_playwright_python.sync_playwright import Axe
from picture_pages import S, T, made
from playwright.sync_api import Page, expect


@pytest.mark.parametrize(("theme", "layout", "size"), [
    ("light", "desk", (1440, 900)), ("dark", "phone", (390, 844)), ("light", "wall", (1280, 720)), ("dark", "phone", (320, 640)),
])
def test_every_kind_is_drawn_without_a_violation(
    canvas: Callable[..., Page], all_kinds: dict[str, dict[str, Any]], theme: str, layout: str, size: tuple[int, int],
) -> None:
    page = canvas(theme, "less", layout, size)
    for one in all_kinds.values():
        page.evaluate("one => show(one, {})", one)
    page.evaluate("one => show({...one, place: 'xy'}, {place: {value: null, onchange() {}}})", all_kinds["forearm"])
    page.evaluate("one => show(one, {guess: 'k'})", all_kinds["covered"])
    assert page.errors == []  # type: ignore[attr-defined]
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    found = Axe().run(page).response["violations"]
    assert [(v["id"], [n["target"] for n in v["nodes"]][:3]) for v in found] == []
    for name in ("hand", "curve", "covered", "lines", "forearm", "pulse"):
        expect(page.locator(f"svg[role=img][aria-label*={json.dumps(all_kinds[name]['text'][:40])}]").first).to_be_visible()
    for text in ("Timer:", "right within"):
        assert (page.get_by_text(text).count() > 0) == (text == "Timer:")


def test_words_stay_inside_the_picture(canvas: Callable[..., Page], all_kinds: dict[str, dict[str, Any]]) -> None:
    page = canvas("light", "less", "wall", (1280, 720))
    for name in ("curve", "covered", "lines", "dots", "pulse", "forearm"):
        page.evaluate("one => show(one, {})", all_kinds[name])
    outside = page.evaluate("""() => [...document.querySelectorAll('.gwt-svg')].flatMap(svg => {
        const box = svg.getBoundingClientRect()
        const out = b => b.left < box.left - 1 || b.right > box.right + 1 || b.top < box.top - 2 || b.bottom > box.bottom + 2
        return [...svg.querySelectorAll('text')].filter(t => out(t.getBoundingClientRect())).map(t => t.textContent)
    })""")
    assert outside == []


_CLASHES = """() => {
    const boxes = [...document.querySelectorAll('.gwt-forearm text')].map(t => [t.textContent, t.getBoundingClientRect()])
    const ends = [...document.querySelectorAll('.gwt-forearm circle')].map(c => c.getBoundingClientRect())
    return boxes.filter(([, b]) => ends.some(e =>
        b.left < e.right - 2 && e.left + 2 < b.right && b.top + 4 < e.bottom && e.top < b.bottom - 4)).map(([words]) => words)
}"""


_HIDDEN = """() => [...[...document.querySelectorAll('.gwt-svg')].at(-1).querySelectorAll('g:last-of-type > rect')]
    .flatMap(rect => {
    const t = rect.getBBox(), inside = p => p.x > t.x && p.x < t.x + t.width && p.y > t.y && p.y < t.y + t.height
    const lines = [...rect.ownerSVGElement.querySelectorAll('path[stroke-linejoin=round]')].filter(line =>
        Array.from({length: 400}, (_, i) => line.getPointAtLength(line.getTotalLength() * i / 399)).some(inside))
    const ring = rect.ownerSVGElement.querySelector('circle[r="9"]').getBBox()
    const meets = ring.x < t.x + t.width && t.x < ring.x + ring.width && ring.y < t.y + t.height && t.y < ring.y + ring.height
    return lines.length || meets ? [`${t.x} ${t.y}`] : []
})"""


def test_names_stand_where_nothing_else_could_be_meant(canvas: Callable[..., Page], all_kinds: dict[str, dict[str, Any]]) -> None:
    """A band lies behind its line; lines that nearly meet are named in a key; a pad's name gives way to the end of a nerve."""
    page = canvas("light", "less", "phone", (390, 844))
    page.evaluate("one => show(one, {})", all_kinds["shaded"])
    assert page.locator("path[style*='fill-opacity:.16']").count() == 1
    x = np.linspace(50.0, 600.0, 12)
    close = {"above": 5.0 + 1500.0 / x, "between": 4.0 + 1450.0 / x, "below": 3.0 + 1400.0 / x}
    axes: dict[str, Any] = {"x_axis": ("Time", "s"), "y_axis": ("Force", "N")}
    page.evaluate("one => show(one, {})", made("lines", x=x, y=close, **axes))
    key = page.locator("figure").last.locator("g path[d*='h']")
    assert key.count() == 3
    across = [box["y"] + box["height"] / 2 for box in (path.bounding_box() for path in key.all()) if box]
    beside = [page.get_by_text(name, exact=True).bounding_box() for name in close]
    for y, box in zip(across, beside, strict=True):
        assert box
        assert box["y"] < y < box["y"] + box["height"]
    apart = {"above": 40.0 + x / 10.0, "below": x / 10.0}
    page.evaluate("one => show(one, {})", made("lines", x=x, y=apart, **axes))
    assert page.locator("figure").last.locator("g path[d*='h']").count() == 0
    for along, around in ((20.0, -25.0), (70.0, 0.0)):
        page.evaluate("one => show(one, {})", made("forearm", scenes={"": S(along=along, around=around)}, muscles=None))
    assert page.evaluate(_CLASHES) == []
    for current in (5.0, 9.0):  # the tags of a point low on its line, which they would hide inside the axes
        page.evaluate("one => show(one, {})", made("curve", scenes={"tight hand": T, "supple hand": S}, at=current))
        assert page.locator(".gwt-svg").last.locator("g").last.locator("rect").count() == 2
        assert page.evaluate(_HIDDEN) == []


def test_a_movement_plays_pauses_and_plays_again(canvas: Callable[..., Page], all_kinds: dict[str, dict[str, Any]]) -> None:
    page = canvas(motion="full")
    page.evaluate("one => show(one, {})", all_kinds["led"])
    expect(page.get_by_role("button", name="Pause")).to_be_visible()
    page.get_by_role("button", name="Pause").click()
    expect(page.get_by_role("button", name="Play")).to_be_visible()
    slide = page.get_by_role("slider", name="Current")
    there = slide.input_value()
    page.evaluate("new Promise(done => requestAnimationFrame(() => requestAnimationFrame(done)))")
    assert slide.input_value() == there
    page.get_by_role("button", name="Play").click()
    expect(page.get_by_role("button", name="Replay")).to_be_visible(timeout=8000)
    expect(page.locator(".gwt-play output")).to_have_text("14.5 mA")
    slide.press("Home")
    expect(page.locator(".gwt-play output")).to_have_text("10.0 mA")


def test_with_less_motion_a_movement_goes_by_steps(canvas: Callable[..., Page], all_kinds: dict[str, dict[str, Any]]) -> None:
    page = canvas(motion="less")
    page.evaluate("one => show(one, {})", all_kinds["led"])
    page.get_by_role("button", name="Replay").click()
    button, out = page.get_by_role("button", name="Next step"), page.locator(".gwt-play output")
    expect(out).to_have_text("10.0 mA")
    button.click()
    first = out.text_content()
    page.evaluate("new Promise(done => requestAnimationFrame(() => requestAnimationFrame(done)))")
    assert out.text_content() == first != "10.0 mA"


def test_a_guess_is_drawn_and_stays_beside_the_open_curve(
    canvas: Callable[..., Page], all_kinds: dict[str, dict[str, Any]],
) -> None:
    page = canvas()
    page.evaluate("one => show(one, {guess: 'step 2'})", all_kinds["covered"])
    box = page.locator(".gwt-svg").bounding_box()
    assert box
    page.mouse.move(box["x"] + 0.4 * box["width"], box["y"] + 0.5 * box["height"])
    page.mouse.down()
    page.mouse.move(box["x"] + 0.9 * box["width"], box["y"] + 0.3 * box["height"], steps=5)
    page.mouse.up()
    expect(page.get_by_text("your line")).to_have_count(1)
    page.evaluate("one => { parts[0].destroy(); show(one, {guess: 'step 2'}) }", all_kinds["curve"])
    expect(page.get_by_text("your line")).to_have_count(1)
    page.evaluate("one => show(one, {guess: 'step 3'})", all_kinds["curve"])
    page.evaluate("one => show(one, {guess: 'step 2'})", all_kinds["lines"])  # other axes
    page.evaluate("one => show(one, {guess: 'step 2', large: true})", all_kinds["curve"])
    expect(page.get_by_text("your line")).to_have_count(1)


def test_a_guess_is_drawn_by_keys_and_wiped(canvas: Callable[..., Page], all_kinds: dict[str, dict[str, Any]]) -> None:
    page = canvas()
    page.evaluate("one => show(one, {guess: 'step 2'})", all_kinds["covered"])
    page.get_by_text("Draw by keys").press("Enter")
    page.get_by_role("slider", name="Opening").press("ArrowUp")
    page.get_by_role("slider", name="At current").press("PageUp")
    expect(page.get_by_text("your line")).to_have_count(1)
    page.get_by_role("button", name="Wipe my line").click()
    expect(page.get_by_text("your line")).to_have_count(0)


def test_a_place_is_set_by_pointer_and_by_keys(canvas: Callable[..., Page], all_kinds: dict[str, dict[str, Any]]) -> None:
    page = canvas()
    page.evaluate(
        "one => { window.told = []; show({...one, place: 'xy'}, {place: {value: null, onchange: at => told.push(at)}}) }",
        all_kinds["forearm"],
    )
    box = page.locator(".gwt-svg > path").first.bounding_box()  # the skin itself: beside it stand the names of its sides
    assert box
    page.mouse.click(box["x"] + 0.5 * box["width"], box["y"] + 0.5 * box["height"])
    at = page.evaluate("told.at(-1)")
    assert at["x"] == pytest.approx(50.0, abs=3.0)
    assert at["y"] == pytest.approx(90.0, abs=8.0)  # the middle line is the little-finger side
    page.get_by_role("slider", name="Along the arm").press("ArrowLeft")
    assert page.evaluate("told.at(-1).x") == pytest.approx(at["x"] - 1.0, abs=0.6)
    page.get_by_role("slider", name="Round the arm").press("Home")
    assert page.evaluate("told.at(-1).y") == -180


def test_a_current_is_placed_on_the_curve_and_shown_with_the_answer(
    canvas: Callable[..., Page], all_kinds: dict[str, dict[str, Any]],
) -> None:
    page = canvas()
    covered = {**all_kinds["covered"], "place": "x"}
    page.evaluate("one => { window.told = []; show(one, {place: {value: null, onchange: at => told.push(at)}}) }", covered)
    page.get_by_role("slider", name="Current").press("End")
    assert page.evaluate("told.at(-1)") == {"x": 60, "y": None}
    open_one = {**all_kinds["curve"], "place": "x"}
    page.evaluate(
        "one => show(one, {place: {value: {x: 20, y: null}, locked: true, "
        "right: {x: 14, y: null, within_x: 4, within_y: null}}})",
        open_one,
    )
    expect(page.get_by_text("right within")).to_have_count(1)


def test_the_arm_and_the_theme_follow_the_page(canvas: Callable[..., Page], all_kinds: dict[str, dict[str, Any]]) -> None:
    page = canvas()
    page.evaluate("one => show(one, {})", all_kinds["hand"])
    world = page.locator(".gwt-hand svg > g").first
    expect(world).to_have_attribute("transform", "scale(1 1)")
    page.evaluate("document.documentElement.dataset.side = 'right'")
    expect(world).to_have_attribute("transform", "scale(-1 1)")
    fills = "[...document.querySelectorAll('.gwt-hand svg path[fill]')].map(n => n.getAttribute('fill')).join()"
    before = page.evaluate(fills)
    page.evaluate("document.documentElement.dataset.skin = 'deep'")
    page.wait_for_function(f"old => {fills} !== old", arg=before)
