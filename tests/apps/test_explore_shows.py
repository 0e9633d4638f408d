"""What Explore shows a newcomer and a room, in one browser: why it claws, tendons, a pinned hand, a cycle, the large view."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from typing import Any
from urllib.parse import parse_qs, urlsplit

import pytest
from playwright.sync_api import Page, expect
from settled_axe import serious

from graspwave import simulator as sim
from graspwave.apps.desk.state import DeskState
from graspwave.apps.explore.hand import thread_items
from graspwave.apps.explore.why_view import WhyView, before_scene
from graspwave.apps.told.findings import claw_words

AMPLITUDE = "channel.0.pulse.amplitude_ma"
PICTURE_MM, AWAY_MM, CAPITAL = 2500.0, 8000.0, 0.668
"""Width of the picture on the wall, distance of the last row (both assumed); height of a capital in sizes of the font, as a
browser measures it in Atkinson Hyperlegible Next."""

LEAST_MINUTES = 16.0
"""ISO 9241-303: characters 16 minutes of arc high at least, 20 to 22 preferred (memory)."""


def minutes_of_arc(font_px: float, wide_px: float) -> float:
    """Angle under which a capital is seen: 60 * 180 / pi * height / distance."""
    return 60.0 * math.degrees(CAPITAL * font_px * PICTURE_MM / wide_px / AWAY_MM)


RULES = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"], "resultTypes": ["violations"]}

ON_THE_CURVE = """() => {
  const all = Bokeh.documents.flatMap(d => [...d.all_models]), curve = all.find(m => m.type === 'Figure' && m.name === 'curve')
  const labels = curve.center.concat(curve.renderers).filter(m => m.type === 'Label' && m.visible && m.text)
  const ticks = curve.left.map(a => a.major_label_text_font_size)
  return [...labels.map(m => m.text_font_size), ...ticks.filter(Boolean)].map(parseFloat)
}"""
"""Sizes of the letters of the curve [px]."""

LETTERS_AT = f"""least => {{
  const sizes = ({ON_THE_CURVE})()
  return sizes.length > 3 && sizes.every(size => size > least)
}}"""

PAINTED = """async () => {
  const light = ['#FFFFFF', '#F3F6F5']
  const labels = () => Bokeh.documents.flatMap(d => [...d.all_models]).filter(m => m.type === 'Label')
  for (let k = 0; k < 400; k++) {
    if (labels().every(m => !light.includes(String(m.background_fill_color).toUpperCase()))) return labels().length > 0
    await new Promise(done => requestAnimationFrame(done))
  }
  return false
}"""
"""Whether every word on a plot has a ground of the dark page; asked again from picture to picture for some seconds."""


@pytest.fixture
def door(page: Page, address: str) -> Iterator[Page]:
    """A page; errors in the console and requests to other hosts fail the test."""
    wrong: list[str] = []
    host = address.rsplit("/", 1)[0]
    page.on("console", lambda message: wrong.append(message.text) if message.type == "error" else None)
    page.on("pageerror", lambda error: wrong.append(str(error)))
    page.on("request", lambda request: None if request.url.startswith((host, "data:", "blob:")) else wrong.append(request.url))
    page.set_viewport_size({"width": 1440, "height": 900})
    yield page
    assert wrong == []


def hand(page: Page) -> Any:
    return page.get_by_role("img", name=re.compile("^Hand from the thumb side"))


def test_a_newcomer_reads_why_it_claws_after_three_actions(door: Page, address: str) -> None:
    """From the start page: a way in, more current, more current again; the words stand there without a scroll."""
    page = door
    page.goto(address.rsplit("/", 1)[0] + "/")
    page.get_by_role("link", name=re.compile("understand", re.IGNORECASE)).first.click()
    slider = page.get_by_role("slider", name="Current")
    expect(hand(page)).to_be_visible()
    slider.press("PageUp")
    slider.press("PageUp")
    claw = page.get_by_text(re.compile("^claw .*base joints past straight, middle joints bent"))
    expect(claw).to_be_visible()
    how = page.locator(".gw-why .how")
    expect(how).to_be_in_viewport(ratio=1)
    expect(page.locator(".gw-why p").first).to_have_text(re.compile("^From 15 to \\d+\\smA the hand (gained|lost) .* because"))
    expect(page.locator(".gw-why li").last).to_be_in_viewport(ratio=0.9)
    # the tendons light up on the hand
    faint = page.locator("svg[role=img] path[stroke-opacity='0.25'][style*=color-mix]")
    expect(faint).to_have_count(0)
    how.get_by_role("button").click()
    expect(faint).not_to_have_count(0)
    # what the words of the chain mean, by a tap
    page.get_by_role("button", name="opener · closers called in").click()
    expect(page.get_by_text("Called in: the share")).to_be_visible()


def test_words_are_explained_by_a_tap_where_they_stand(door: Page, address: str) -> None:
    for size in ({"width": 1440, "height": 900}, {"width": 390, "height": 844}):
        door.set_viewport_size(size)  # type: ignore[arg-type]
        door.goto(address)
        words_are_explained(door, size)


def words_are_explained(page: Page, size: dict[str, int]) -> None:
    page.get_by_role("button", name=re.compile("goes over at")).click()
    expect(page.get_by_text("the hand leaps into another posture").first).to_be_in_viewport(ratio=0.9)
    if size["width"] < 860:
        page.get_by_role("button", name="Settings", exact=True).click()
    page.get_by_role("button", name="More settings").click()
    terms = ("Pulse shape", "Uneven: it is lower and longer"), ("Tone of closers at rest", "keep up without being asked")
    for term, words in terms:
        page.get_by_role("button", name=term).click()
        expect(page.get_by_text(words).first).to_be_visible()
    muscle = page.get_by_role("button", name="EDC: what it is").first
    muscle.click()
    expect(page.get_by_text(re.compile("^EDC: finger opener\\. Now [0-9]+ % of its nerve fibres are woken"))).to_be_visible()
    muscle.press("Escape")
    expect(page.get_by_text(re.compile("^EDC: finger opener"))).to_be_hidden()


def test_pin_link_cycle_and_the_large_view(door: Page, address: str) -> None:
    page = door
    page.goto(address)
    expect(hand(page)).to_be_visible()
    page.get_by_role("button", name="Pin this hand").click()
    page.get_by_role("slider", name="Current").press("PageUp")
    expect(page.locator(".gw-thread .kept").first).to_have_text("15 mA")
    page.get_by_role("radio", name="Words", exact=True).check(force=True)
    page.get_by_role("button", name="From the tips").click()
    expect(page).to_have_url(re.compile("pin=.*tab=glossary.*show=tips"))
    carried = parse_qs(urlsplit(page.url).query)
    assert (carried["tab"], carried["show"]) == (["glossary"], ["tips"])
    page.goto(page.url)
    expect(page.get_by_role("button", name="Unpin")).to_be_visible()
    expect(page.get_by_role("button", name="From the tips")).to_have_attribute("aria-pressed", "true")
    expect(page.get_by_role("radio", name="Words", exact=True)).to_be_checked()
    # one cycle moves the chain, and holds where it is
    now = page.locator(".gw-thread b").first
    page.get_by_role("button", name="Play one cycle").click()
    page.get_by_role("button", name="Pause").click()
    expect(page.get_by_role("button", name="Play on")).to_be_visible()
    held = now.text_content()
    assert held is not None
    page.get_by_role("button", name="Play on").click()
    expect(now).not_to_have_text(held)
    # for the last row: only hand, curve and one sentence
    page.set_viewport_size({"width": 1920, "height": 1080})
    page.locator("body").press("f")
    expect(page.locator("#area-thread")).to_be_hidden()
    page.wait_for_function(LETTERS_AT, arg=43.0)
    size_of = "n => parseFloat(getComputedStyle(n).fontSize)"
    sizes = [page.locator(name).evaluate(size_of) for name in (".gw-finding", ".gw-caption")]
    sizes += page.evaluate(ON_THE_CURVE)
    assert min(minutes_of_arc(size, 1920.0) for size in sizes) >= LEAST_MINUTES
    assert minutes_of_arc(sizes[0], 1920.0) >= 20.0
    assert minutes_of_arc(15.0, 1920.0) < 6.0  # the letters of every other page
    assert serious(page, RULES) == []
    page.keyboard.press("Escape")
    expect(page.locator("#area-thread")).to_be_visible()


def test_nothing_serious_and_no_error_in_the_states_of_explore(door: Page, address: str) -> None:
    """Beside the ten of every page (test_accessible): what is opened, chosen, dark, and in a person's own colours."""
    page = door
    page.goto(address)
    expect(hand(page)).to_be_visible()
    states = {}
    page.get_by_role("button", name="From the tips").click()
    page.get_by_role("button", name="little").click()
    states["tips"] = serious(page, RULES)
    page.get_by_role("button", name="More settings").click()
    page.locator("input[value=lifted]").press("Space")
    states["settings"] = serious(page, RULES)
    for view in ("words", "glossary", "dose"):
        page.locator(f"input[value={view}]").check(force=True)
        states[view] = serious(page, RULES)
    page.emulate_media(color_scheme="dark")
    for view in ("nerve", "force"):
        page.locator(f"input[value={view}]").check(force=True)
        states[f"dark {view}"] = serious(page, RULES)
        # a plot that comes later is painted like the page
        assert page.evaluate(PAINTED), view
    page.emulate_media(color_scheme="light", forced_colors="active")
    states["own colours"] = serious(page, RULES)
    page.emulate_media(forced_colors="none")
    page.get_by_role("button", name="Look of the page").or_(page.get_by_role("button", name="Aa")).first.click()
    states["look"] = serious(page, RULES)
    page.keyboard.press("Escape")
    page.get_by_role("button", name="Cautions").click()
    states["cautions"] = serious(page, RULES)
    assert states == {key: [] for key in states}
    assert len(states) >= 10


def test_why_compares_with_where_the_person_came_from() -> None:
    state = DeskState(sim.presets()["tight"].replace(AMPLITUDE, 12.0))
    state.change(AMPLITUDE, 24.0)
    assert before_scene(state).channel[0].pulse.amplitude_ma == 12.0
    view = WhyView(state)
    assert view.picture.rows[0]["words"] == "Before, at 12 mA"
    assert any(row.get("lit") == "closers" for row in view.picture.rows)
    assert view.picture.fingers.startswith("The middle finger claws now.")
    state.change("channel.0.pulse.phase_us", 310.0)
    assert "claws" not in view.picture.fingers, "it did before"
    state.change("hand.flexor_length_factor", 1.0)
    assert view.picture.fingers.startswith("The middle finger claws no more.")
    for _ in range(3):
        state.undo()
    assert not state.can_undo


def test_the_claw_is_named_where_it_happens() -> None:
    tight = sim.opening_curve(sim.presets()["tight"], [0.0, 22.0])
    assert claw_words(tight, 0) == ""
    assert claw_words(tight, 1).startswith("claw (middle, ring and little): base joints past straight, ")


def test_a_hand_that_is_wide_open_at_most_begins_to_claw() -> None:
    """The published rule is met at 1 degree past straight and 30 of the middle joint, 80 mm open: nobody calls that a claw."""
    supple = sim.opening_curve(sim.presets()["supple"], [24.0, 28.0, 32.0])
    assert supple.claw.tolist() == [False, True, True]
    assert min(supple.opening_mm) > 75.0
    assert [claw_words(supple, i).split(":")[0] for i in range(3)] == [
        "", "begins to claw (middle)", "claw (middle), begins in ring and little",
    ]
    begins = thread_items(DeskState(sim.presets()["supple"].replace(AMPLITUDE, 28.0)))
    assert [item["words"] for item in begins if "claw" in item["words"]] == ["middle joints: claw begins"]
