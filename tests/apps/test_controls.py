"""Controls: they build, refuse wrong settings, and can be named and worked in a browser."""

from __future__ import annotations

import importlib
import re
from collections.abc import Callable, Iterator
from typing import Any
from urllib.parse import urlsplit

import panel as pn
import pytest
from framed import framed
from serving import CHROMIUM

from graspwave.apps.controls import Choice, Finding, HoldSwitch, Notices, NumberRow, PlainButton, Slider, Thread
from graspwave.apps.look.frame import page_template
from graspwave.apps.notices import CAUTION_FIRST

LINKS = [
    {"quantity": "current", "value": "42 mA", "words": "current on the skin"},
    {"quantity": "angle", "value": "38° back", "words": "wrist"},
    {"quantity": "opening", "value": "58 mm", "words": "opening"},
]
FIELDS = [
    {"key": "on", "label": "On", "unit": "s", "start": 1, "end": 60},
    {"key": "ramp", "label": "Ramp", "unit": "s", "start": 0, "end": 5, "step": 0.1},
]


def controls() -> dict[str, Any]:
    """Return one of each control, as a page would make them."""
    return {
        "slider": Slider(label="Current", unit="mA", value=42, start=0, end=50, quantity="current", big=True),
        "choice": Choice({"on": "on and off", "held": "while held"}, label="Timing"),
        "button": PlainButton(label="Undo"),
        "numbers": NumberRow(FIELDS, label="On and ramp", value={"on": 10, "ramp": 1.5}),
        "notices": Notices([{"kind": "over", "strong": "Over the limit by 14 %.", "text": "Use larger pads."}]),
        "thread": Thread(LINKS),
        "finding": Finding(text="Past 28 mA the hand starts to close again"),
    }


@pytest.mark.parametrize("name", list(controls()))
def test_control_builds(name: str) -> None:
    assert controls()[name].get_root() is not None


def test_settings_reach_the_model() -> None:
    slider = Slider(label="Current", unit="mA", value=42, start=0, end=50, quantity="current")
    data = slider.get_root().data
    slider.value = 30
    assert (data.value, data.unit, data.end) == (30, "mA", 50)


def test_defaults() -> None:
    assert Slider(start=5, end=9).value == 5
    assert Choice(["supple", "tight"]).value == "supple"
    assert NumberRow(FIELDS).value == {"on": 1, "ramp": 0}


def test_button_counts_and_calls() -> None:
    calls: list[int] = []
    button = PlainButton(label="Undo")
    button.on_click(lambda: calls.append(1))
    button.clicks += 1
    button.clicks += 1
    assert len(calls) == 2


def test_thread_as_a_sentence() -> None:
    thread = Thread(LINKS)
    assert thread.sentence() == "current on the skin 42 mA, wrist 38° back, opening 58 mm."
    thread.show(LINKS[:1])
    assert thread.sentence() == "current on the skin 42 mA."


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (
            lambda: Slider(quantity="speed"),
            "'quantity' must be one of current, force, angle, opening, caution, ink (got 'speed'). "
            "Colour is only for quantities.",
        ),
        (
            lambda: Slider(start=5, end=5),
            "'start' must be below 'end' (got 5 and 5). Swap or widen them.",
        ),
        (
            lambda: Slider(value=60, start=0, end=50),
            "'value' must be between 0 and 50 (got 60). Move it into the range.",
        ),
        (
            lambda: Slider(step=0),
            "'step' must be above 0 (got 0). Give the smallest change the model can use.",
        ),
        (
            lambda: Choice([]),
            "'options' must hold at least one word (got none). Give the words to choose from.",
        ),
        (
            lambda: Choice(["a", "b"], value="c"),
            "'value' must be one of a, b (got 'c'). Choose one of them.",
        ),
        (
            lambda: NumberRow(FIELDS, value={"off": 3}),
            "'value' must use keys of 'fields' (got off). Rename them.",
        ),
        (
            lambda: Notices([{"kind": "fine", "text": ""}]),
            "'kind' must be one of inside, close, over (got 'fine'). Choose the one the number calls for.",
        ),
        (
            lambda: Thread([{"quantity": "", "value": "", "words": ""}]),
            "'quantity' must be one of current, force, angle, opening, caution, ink (got ''). "
            "Colour is only for quantities.",
        ),
    ],
)
def test_errors_name_the_rule_and_the_repair(make: Callable[[], object], message: str) -> None:
    with pytest.raises(ValueError, match=f"^{re.escape(message)}$"):
        make()


# In a browser.

pytest.importorskip("pytest_playwright")
browser = pytest.mark.skipif(not CHROMIUM, reason="needs a Chromium to drive")


@pytest.fixture(scope="module")
def served() -> Iterator[tuple[str, list[dict[str, Any]]]]:
    """Serve a frame with one of each control; yield its address and the controls of each visit."""
    visits: list[dict[str, Any]] = []

    def explore() -> pn.Template:
        made = controls()
        visits.append(made)
        template = page_template("explore", "Explore")
        template.add_panel("now", made["slider"])
        settings = pn.Column(made["choice"], made["numbers"], sizing_mode="stretch_width", margin=0)
        template.add_panel("settings", settings)
        template.add_panel("curve", Finding(text="a plot"))
        for name in ("thread", "finding", "notices"):
            template.add_panel(name, made[name])
        template.add_panel("actions", made["button"])
        return template

    with framed(explore) as where:
        yield where, visits


def visit(page: Any, address: str, width: int, height: int) -> list[str]:
    """Open the page at a size, wait until its controls are there, and return every address it asked for."""
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.set_viewport_size({"width": width, "height": height})
    page.goto(address)
    page.get_by_role("slider", name="Current").wait_for()
    return asked


@browser
def test_names_keys_and_values(page: Any, served: tuple[str, list[dict[str, Any]]]) -> None:
    address, visits = served
    asked = visit(page, address, 1440, 900)
    expect = playwright().expect
    made = visits[-1]

    slider = page.get_by_role("slider", name="Current")
    expect(slider).to_have_attribute("aria-valuetext", "42 mA")
    slider.press("ArrowLeft")
    expect(slider).to_have_attribute("aria-valuetext", "41 mA")
    held = page.get_by_role("group", name="Timing").get_by_role("radio", name="while held")
    held.check()
    ramp = page.get_by_role("spinbutton", name="Ramp")
    ramp.fill("9")
    ramp.press("Tab")
    expect(ramp).to_have_value("5")
    expect(page.get_by_text("Ramp: from 0 to 5 s. Set to 5.")).to_be_visible()
    page.get_by_role("button", name="Undo").click()
    expect(page.get_by_role("list", name="The chain, from current to opening").get_by_role("listitem")).to_have_count(3)
    expect(page.get_by_role("img", name="Over a limit.")).to_be_visible()
    expect(page.get_by_role("heading", level=1)).to_have_text("Explore")
    expect(page).to_have_title("Explore - Graspwave")
    arrived(page, lambda: made["slider"].value == 41)
    arrived(page, lambda: made["choice"].value == "held")
    arrived(page, lambda: made["numbers"].value == {"on": 10, "ramp": 5})
    arrived(page, lambda: made["button"].clicks == 1)

    made["slider"].value = 12
    made["thread"].show(LINKS[:2])
    arrived(page, lambda: slider.get_attribute("aria-valuetext") == "12 mA")
    assert [url for url in asked if urlsplit(url).hostname not in ("127.0.0.1", None)] == []


@browser
def test_look_is_kept_and_announced(page: Any, served: tuple[str, list[dict[str, Any]]]) -> None:
    visit(page, served[0], 1440, 900)
    expect = playwright().expect
    page.evaluate("window.seen = []; addEventListener('gw-look', e => window.seen.push(e.detail))")
    page.get_by_role("button", name="Aa, how the page looks").click()
    page.get_by_role("group", name="Theme").get_by_role("radio", name="dark").check()
    page.get_by_role("group", name="Arm shown").get_by_role("radio", name="right").check()
    root = page.locator("html")
    expect(root).to_have_attribute("data-theme", "dark")
    expect(root).to_have_attribute("data-side", "right")
    assert [(e["theme"], e["side"]) for e in page.evaluate("window.seen")] == [("dark", "left"), ("dark", "right")]
    assert "gw_theme=dark" in page.evaluate("document.cookie")
    page.keyboard.press("Escape")
    expect(page.get_by_role("button", name="Aa, how the page looks")).to_be_focused()
    page.reload()
    expect(root).to_have_attribute("data-theme", "dark")


@browser
@pytest.mark.parametrize(
    ("width", "height", "layout"),
    [(1440, 900, "desk"), (1280, 720, "wall"), (390, 844, "phone"), (320, 700, "phone"), (640, 360, "phone")],
)
def test_nothing_is_cut_off(
    page: Any, served: tuple[str, list[dict[str, Any]]], width: int, height: int, layout: str
) -> None:
    visit(page, served[0], width, height)
    expect = playwright().expect
    expect(page.locator("html")).to_have_attribute("data-layout", layout)
    expect(page.get_by_text(CAUTION_FIRST)).to_be_in_viewport(ratio=1)
    expect(page.get_by_role("slider", name="Current")).to_be_in_viewport(ratio=1)
    for part in ("html", "#main"):
        assert page.locator(part).evaluate("e => e.scrollWidth - e.clientWidth") == 0
    timing = page.get_by_role("group", name="Timing")
    if layout != "desk":
        button = page.get_by_role("button", name="Settings")
        expect(timing).to_be_hidden()
        button.click()
        expect(button).to_have_attribute("aria-expanded", "true")
        expect(timing).to_be_visible()
        page.keyboard.press("Escape")
        expect(timing).to_be_hidden()
        expect(button).to_be_focused()
    if layout == "phone":
        page.get_by_role("tab", name="Curve").press("ArrowRight")
        expect(page.get_by_role("tab", name="Chain")).to_have_attribute("aria-selected", "true")
        expect(page.get_by_role("tabpanel", name="Chain")).to_be_visible()


def playwright() -> Any:
    """Return the browser library, which an installation without browser tests lacks."""
    return importlib.import_module("playwright.sync_api")


def arrived(page: Any, there: Callable[[], bool]) -> None:
    """Let the page and the server talk until `there` holds; fail after 200 turns."""
    for _ in range(200):
        if there():
            return
        page.evaluate("() => new Promise(requestAnimationFrame)")
    raise AssertionError("the value did not arrive")


def test_a_hold_ends_by_either_way_and_never_a_later_one() -> None:
    switch, heard = HoldSwitch(), []
    switch.on_switch(heard.append)
    switch._handle_msg({"kind": "press", "count": 1})
    switch._beat(0)
    switch._beat(1)
    switch._handle_msg({"kind": "release"})
    assert heard == ["press", "beat", "end", "release"]
    heard.clear()
    switch._beat(2)  # let go before the press was heard
    switch._handle_msg({"kind": "press", "count": 2})
    assert heard == ["press", "end"]
    heard.clear()
    switch._handle_msg({"kind": "press", "count": 3})
    switch._beat(2)  # late: of the hold before
    assert heard == ["press"]


def test_arrows_that_are_told_together_move_together() -> None:
    switch, moved = HoldSwitch(), []
    switch.on_arrow(moved.append)
    for by in (3, -0.2, 1e9, "far"):
        switch._handle_msg({"kind": "arrow", "by": by})
    assert moved == [3.0, -0.2]
