"""The Explain page in a real browser: by keyboard, by touch, read aloud, printed, and nothing asked for outside."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect

from graspwave import simulator as sim
from graspwave.apps import notices
from graspwave.apps.told import words
from graspwave.apps.told.scenes import scene_to_address
from graspwave.apps.told.words import say

DESK = {"width": 1440, "height": 900}
SIZES = {
    "desk": DESK, "wall": {"width": 1280, "height": 720}, "tablet": {"width": 820, "height": 1180},
    "phone": {"width": 390, "height": 844}, "small": {"width": 320, "height": 700},
    "twice as large": {"width": 720, "height": 450},
}
MOST_ACTIONS = 8

# A page cannot see the printer or hear the voice: both say here what they were asked.
STUBS = """
window.print = () => { top.printed = (top.printed ?? 0) + 1 }
top.spoken ??= []
window.SpeechSynthesisUtterance = class { constructor(text) { this.text = text } }
Object.defineProperty(window, 'speechSynthesis', { value: {
  speak: u => top.spoken.push([u.lang, u.text]), cancel() {}, getVoices: () => [{ lang: 'en-GB' }], addEventListener() {} } })
"""


@pytest.fixture
def at(address: str) -> str:
    return address.rsplit("/", 1)[0] + "/explain"


@pytest.fixture(scope="module")
def shared(browser: Browser) -> Iterator[tuple[Page, list[str]]]:
    """A page for all tests, and what it asked for elsewhere or said of errors."""
    context = browser.new_context()
    context.set_default_timeout(60_000)
    page, wrong = context.new_page(), []
    page.on("request", lambda request: wrong.append(request.url))
    page.on("pageerror", lambda error: wrong.append(str(error)))
    page.add_init_script(STUBS)
    yield page, wrong
    context.close()


@pytest.fixture
def free(shared: tuple[Page, list[str]], at: str, request: pytest.FixtureRequest) -> Iterator[Page]:
    """The page for a test that opens an address of its own; a request to another host and any error in it fails the test."""
    page, wrong = shared
    before = request.session.testsfailed
    page.set_viewport_size(DESK)  # type: ignore[arg-type]
    yield page
    own = (at.rsplit("/", 1)[0], "data:", "blob:", "about:")
    found = [what for what in wrong if not what.startswith(own)]
    wrong.clear()
    if found or request.session.testsfailed > before:
        page.goto("about:blank")
    assert found == []


@pytest.fixture
def explain(free: Page, at: str) -> Page:
    """At its first picture, loaded anew where another scene was shown or a test has failed."""
    if free.url != at:
        opened(free, at)
    free.get_by_role("button", name="1 What it does").click()
    title(free, "What it does")
    return free


def opened(page: Page, where: str) -> None:
    page.goto(where)
    expect(page.get_by_role("button", name=re.compile("Next|Weiter"))).to_be_visible()


def title(page: Page, text: str) -> None:
    expect(page.get_by_role("heading", level=2, name=text, exact=True)).to_be_visible()


def focused(page: Page) -> str:
    """Words of what has the focus, inside components too."""
    return str(page.evaluate(
        "() => { let e = document.activeElement; while (e?.shadowRoot?.activeElement) e = e.shadowRoot.activeElement; "
        "return e?.textContent.trim() ?? '' }"
    ))


def tab_to(page: Page, word: str) -> None:
    """Go on with Tab alone until this has the focus."""
    for _ in range(40):
        if word in focused(page):
            return
        page.keyboard.press("Tab")
    raise AssertionError(f"Tab never comes to {word!r}")


def test_five_pictures_in_order(explain: Page) -> None:
    names = ("What it does", "Where the pads go", "What you will feel and see", "When it comes on", "How to practise")
    for i, name in enumerate(names):
        title(explain, name)
        expect(explain.get_by_text(f"{i + 1} of 5")).to_be_visible()
        assert explain.locator(".stage svg[role=img]").get_attribute("aria-label")
        if i < 4:
            explain.get_by_role("button", name="Next").click()
    explain.get_by_role("button", name="4 When it comes on").click()
    expect(explain.get_by_role("img", name=say("en", "alt_when"))).to_be_visible()
    expect(explain.get_by_text("What we tried today")).to_be_visible()
    explain.get_by_role("button", name="1 What it does").click()
    expect(explain.get_by_text("What we tried today")).to_be_hidden()


def test_what_patients_ask_comes_after_the_pictures(explain: Page) -> None:
    explain.get_by_role("button", name="5 How to practise").click()
    explain.get_by_role("button", name="Next").click()
    for i, (question, lines) in enumerate(words.asked_words("en").values()):
        title(explain, question)
        expect(explain.get_by_text(f"Question {i + 1} of 9")).to_be_visible()
        expect(explain.locator(".said")).to_contain_text(lines[-1])
        if i < 8:
            explain.get_by_role("button", name="Next").click()
    expect(explain.get_by_role("button", name="Next")).to_be_disabled()
    explain.get_by_role("button", name="What if my hand claws?").click()
    title(explain, "What if my hand claws?")
    expect(explain.get_by_role("button", name="What if my hand claws?")).to_be_focused()


def test_a_machine_without_a_voice_of_the_language_says_so(free: Page, at: str) -> None:
    opened(free, f"{at}?lang=de")  # the stub knows English only
    free.get_by_role("button", name="Vorlesen").click()
    expect(free.get_by_text(words.label("de", "no_voice"))).to_be_visible()
    assert free.evaluate("top.spoken.length") == 0
    free.get_by_role("button", name="Weiter").click()
    expect(free.get_by_text(words.label("de", "no_voice"))).to_be_hidden()


def test_more_is_seen_beside_this_much(explain: Page) -> None:
    explain.get_by_role("button", name="3 What you will feel").click()
    expect(explain.get_by_text("More is not better.")).to_be_visible()
    explain.get_by_role("button", name="Show the move").click()
    expect(explain.locator(".stage svg svg")).to_have_count(2)
    shapes = explain.locator(".stage svg svg clipPath[id$=body] path")
    expect(shapes).to_have_count(2)
    expect(shapes.nth(0)).not_to_have_attribute("d", shapes.nth(1).get_attribute("d") or "")


def test_whole_journey_by_keyboard_alone(explain: Page) -> None:
    tab_to(explain, "Next")
    for _ in range(4):
        explain.keyboard.press("Enter")
    title(explain, "How to practise")
    tab_to(explain, "Page to take home")
    explain.keyboard.press("Enter")
    expect(explain.get_by_role("button", name="Print", exact=True)).to_be_focused()
    explain.keyboard.press("Enter")
    explain.wait_for_function("top.printed === 1")
    explain.keyboard.press("Escape")
    expect(explain.get_by_role("dialog")).to_have_count(0)
    expect(explain.get_by_role("button", name="Page to take home")).to_be_focused()
    explain.get_by_role("button", name="1 What it does").click()
    explain.keyboard.press("ArrowRight")
    title(explain, "Where the pads go")
    explain.keyboard.press("ArrowLeft")
    title(explain, "What it does")


def test_from_opening_to_a_printed_sheet_in_few_actions(page: Page, at: str) -> None:
    actions = 0

    def act(do: Any) -> None:
        nonlocal actions
        actions += 1
        do()

    page.add_init_script(STUBS)
    page.set_viewport_size(DESK)  # type: ignore[arg-type]
    act(lambda: page.goto(at))
    act(page.get_by_role("button", name="Page to take home").click)
    act(page.get_by_role("radio", name="Letter").check)
    act(page.get_by_role("radio", name="large").check)
    expect(page.frame_locator("iframe").locator(".page")).to_have_count(4)
    act(page.get_by_role("button", name="Print", exact=True).click)
    page.wait_for_function("top.printed === 1")
    actions += 1  # the browser's own dialog asks once more
    assert actions <= MOST_ACTIONS


def test_the_drawer_is_shut_at_first_and_changes_the_words(explain: Page) -> None:
    slider = explain.get_by_role("slider", name="Current")
    expect(slider).to_be_hidden()
    explain.get_by_role("button", name="For the therapist").click()
    expect(slider).to_be_visible()
    expect(explain.get_by_text("The pull opens your hand.", exact=True)).to_be_visible()
    slider.press("Home")
    expect(explain.get_by_text(say("en", "does_shut"))).to_be_visible()
    expect(explain).to_have_url(re.compile(r"[?&]s=[\w-]+"))
    explain.get_by_text("Cautions, professional wording").click()
    expect(explain.get_by_text("over recently irradiated tissue").first).to_be_visible()


def test_the_scene_in_the_address_and_its_language(free: Page, at: str) -> None:
    scene = sim.presets()["supple"].replace("channel.0.timing.off_s", 20.0)
    opened(free, f"{at}?s={scene_to_address(scene)}")
    free.get_by_role("button", name="4 When it comes on").click()
    expect(free.get_by_text("Then it rests for 20 seconds.")).to_be_visible()
    free.get_by_role("link", name="Deutsch").click()
    expect(free.locator("html")).to_have_attribute("lang", "de")
    free.get_by_role("button", name="4 Wann es an ist").click()
    expect(free.get_by_text("Dann ist 20 Sekunden lang Pause.")).to_be_visible()
    expect(free.get_by_text(notices.PLAIN["de"].first)).to_be_visible()
    free.get_by_role("button", name="Blatt für zu Hause").click()
    expect(free.frame_locator("iframe").get_by_role("heading", level=1)).to_have_text("Meine Handübungen")
    # the page's content policy holds in the frame too: what the sheet draws must come from this server
    expect(free.frame_locator("iframe").locator("[data-picture] svg[role=img]")).to_have_count(3)


def test_past_a_limit_the_sheet_says_so(free: Page, at: str) -> None:
    scene = sim.presets()["tight"].replace("channel.0.pads.spacing_mm", 10.0)
    opened(free, f"{at}?s={scene_to_address(scene)}")
    free.get_by_role("button", name="Page to take home").click()
    expect(free.frame_locator("iframe").get_by_text(say("en", "limit_spacing"))).to_be_attached()


def test_read_aloud_says_what_is_shown(explain: Page) -> None:
    explain.evaluate("top.spoken = []")
    explain.get_by_role("button", name="Read aloud").click()
    explain.wait_for_function("top.spoken.length === 1")
    language, text = explain.evaluate("top.spoken[0]")
    assert language == "en"
    assert text.startswith("What it does. Small taps of current go through the skin.")
    stop = explain.get_by_role("button", name="Stop reading")
    expect(stop).to_be_visible()
    stop.click()


def test_nothing_is_off_the_screen_of_any_size(explain: Page) -> None:
    for size in SIZES.values():
        explain.set_viewport_size(size)  # type: ignore[arg-type]
        explain.wait_for_function("document.documentElement.scrollWidth <= window.innerWidth")
        expect(explain.get_by_text(notices.PLAIN["en"].first).first).to_be_in_viewport(ratio=1)
        expect(explain.locator(".stage svg[role=img]")).to_be_in_viewport(ratio=0.9)
    after = explain.get_by_role("button", name="Next")
    for name, size in SIZES.items():
        explain.set_viewport_size(size)  # type: ignore[arg-type]
        after.scroll_into_view_if_needed()
        expect(after).to_be_in_viewport(ratio=1)
        box = after.bounding_box()
        assert box, name
        assert box["height"] >= 44, name
        assert box["width"] >= 44, name


@pytest.mark.parametrize(("name", "picture"), [("tablet", 0.45), ("phone", 0.25)])
def test_the_picture_has_its_room_and_the_buttons_stay_put(explain: Page, name: str, picture: float) -> None:
    explain.set_viewport_size(SIZES[name])  # type: ignore[arg-type]
    after, seen = explain.get_by_role("button", name="Next"), set()
    stage, foot = explain.locator(".stage").bounding_box(), explain.locator("footer.caution").bounding_box()
    assert stage
    assert foot
    assert stage["height"] >= picture * SIZES[name]["height"]
    for _ in range(13):
        for button in (after, *(explain.get_by_role("button", name=word) for word in ("Read aloud", "Page to take home"))):
            box = button.bounding_box()
            assert box
            assert box["y"] + box["height"] <= foot["y"], "a button lies under the caution"
        box = after.bounding_box()
        assert box
        seen.add((round(box["x"]), round(box["y"])))
        assert explain.locator(".said").evaluate("n => n.scrollHeight <= n.clientHeight + 1"), "words are out of sight"
        after.click()
    assert len(seen) == 1, "Next moved"


def test_less_motion_shows_no_movement_by_itself(browser: Browser, at: str) -> None:
    context = browser.new_context(reduced_motion="reduce", viewport=DESK)  # type: ignore[arg-type]
    page = context.new_page()
    opened(page, at)
    page.get_by_role("button", name="3 What you will feel").click()
    shape = page.locator(".stage svg svg clipPath[id$=body] path").first
    before = shape.get_attribute("d")
    # three frames later the hand would have left its end posture, had it been playing
    page.evaluate("new Promise(done => requestAnimationFrame(() => requestAnimationFrame(() => requestAnimationFrame(done))))")
    assert shape.get_attribute("d") == before
    context.close()


def test_a_broken_address_is_told_on_the_page_and_in_the_drawer(free: Page, at: str) -> None:
    opened(free, f"{at}?s=nonsense")
    expect(free.get_by_role("alert").get_by_text("The link was not taken.")).to_be_visible()
    free.get_by_role("button", name="For the therapist").click()
    expect(free.get_by_text("Shown instead: the stiff hand at 15 mA.").last).to_be_visible()
