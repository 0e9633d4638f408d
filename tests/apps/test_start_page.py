"""The door in a real browser: three ways in one click, a hand that opens and claws, a wrong address, the head of every page."""

from __future__ import annotations

import json
import re
import urllib.error
import urllib.request
from urllib.parse import urlsplit

import numpy as np
import pytest
from playwright.sync_api import Page, expect

from graspwave import simulator as sim
from graspwave.apps.start.hands import hands_json
from graspwave.apps.start.page import start_page


@pytest.fixture
def door(address: str) -> str:
    return address.removesuffix("/explore")


def asked(url: str, method: str) -> tuple[int, str]:
    """Status and text of one request."""
    try:
        with urllib.request.urlopen(urllib.request.Request(url, method=method), timeout=60) as answer:
            return answer.status, answer.read().decode()
    except urllib.error.HTTPError as answer:
        with answer:
            return answer.code, answer.read().decode()


def test_both_hands_are_the_simulators_own() -> None:
    told = json.loads(hands_json())
    for hand in told["hands"]:
        scene = sim.presets()[hand["key"]]
        at = told["start_ma"]
        i = hand["live"]["amplitude_ma"].index(at)
        assert hand["live"]["opening_mm"][i] == pytest.approx(sim.opening_curve(scene, [at]).opening_mm[0], abs=0.06)
        curve = sim.opening_curve(scene, np.arange(len(hand["claw"])) / 2.0)
        assert [grade > 0 for grade in hand["claw"]] == list(curve.claw)
        assert [grade == 2 for grade in hand["claw"]] == list(curve.claw & (curve.angle_deg["PIP"] > 60.0))
    supple, tight = (hand["claw"] for hand in told["hands"])
    assert max(tight) == 2, "the tight hand of the door must claw under its slider"
    assert max(supple) == 1, "a hand 80 mm open is not said to claw"


def test_the_first_question_is_a_lessons_own() -> None:
    from graspwave import lessons

    href = re.search(r'href="/teach/([a-z0-9-]+)"', start_page())
    assert href
    assert href[1] in lessons.names()


@pytest.mark.parametrize("path", ["/", "/explore", "/practise", "/explain", "/teach"])
def test_the_head_of_a_page_is_answered(door: str, path: str) -> None:
    assert asked(door + path, "HEAD") == (200, "")


@pytest.mark.parametrize("path", ["/nothing", "/explore/deeper", "/favicon.png", "/index.html", "/%00"])
def test_a_wrong_address_shows_the_ways_on(door: str, path: str) -> None:
    status, text = asked(door + path, "GET")
    assert status == 404
    assert 'href="/explore"' in text
    assert "teaching model" in text
    assert asked(door + path, "HEAD") == (404, "")
    assert asked(door + path, "POST")[0] == 404


@pytest.mark.parametrize(("name", "path"), [("Explore", "/explore"), ("Teach", "/teach"), ("Explain", "/explain")])
def test_three_ways_in_one_click_each(page: Page, door: str, name: str, path: str) -> None:
    page.goto(door)
    page.get_by_role("navigation", name="Where to go").get_by_role("link", name=name).click()
    expect(page).to_have_url(re.compile(rf"{path}\b"))


def test_the_hand_opens_and_claws_under_one_slider(page: Page, door: str) -> None:
    others: list[str] = []
    ours = (urlsplit(door).hostname, None)  # pages make addresses of their own memory as well
    page.on("request", lambda request: others.append(request.url) if urlsplit(request.url).hostname not in ours else None)
    page.on("pageerror", lambda error: others.append(str(error)))
    page.set_viewport_size({"width": 1440, "height": 900})
    page.goto(door)
    hand = page.get_by_role("img", name=re.compile("^Tight hand"))
    slider, said = page.get_by_role("slider", name="Current"), page.locator("#start-said")
    expect(slider).to_be_enabled()
    expect(said).not_to_contain_text("claws")
    slider.fill(str(claw_ma()))
    expect(said).to_contain_text("It claws: the knuckles are straight")
    before = hand.get_attribute("aria-label")
    page.get_by_role("radio", name="Supple hand").check(force=True)
    expect(page.get_by_role("img", name=re.compile("^Supple hand"))).to_be_visible()
    expect(said).not_to_contain_text("claws")
    slider.fill("30")
    expect(said).to_contain_text("Open, and it stays open over a broad range. The middle joints start to bend: a claw begins.")
    expect(page.locator("[data-hand=supple] .mm")).to_have_text(re.compile(r"^opens \d+ mm$"))
    slider.fill(str(claw_ma()))
    page.get_by_role("radio", name="Tight hand").check(force=True)
    expect(hand).to_have_attribute("aria-label", str(before))
    link = said.get_by_role("link", name="See why it claws")
    expect(link).to_have_attribute("href", re.compile(r"\?s="))
    link.click()
    expect(page.get_by_role("radio", name="tight")).to_be_checked()
    expect(page.get_by_role("slider", name="Current")).to_have_value(f"{claw_ma():g}")
    assert others == []


def claw_ma() -> float:
    """A current the slider stops at, of those at which the tight hand claws, in the middle of all such."""
    claw = np.flatnonzero(np.array(json.loads(hands_json())["hands"][1]["claw"])[::2] == 2)
    return float(claw[len(claw) // 2])


def test_the_largest_letters_leave_doors_chain_and_buttons_in_view_on_a_projector(page: Page, door: str) -> None:
    page.add_init_script("localStorage.setItem('gw-look', JSON.stringify({size: '3'}))")
    page.set_viewport_size({"width": 1280, "height": 720})
    page.goto(door)
    slider = page.get_by_role("slider", name="Current")
    expect(slider).to_be_enabled()
    ways = page.get_by_role("navigation", name="Where to go").get_by_role("link")
    foot = "Math.min(...[...document.querySelectorAll('footer.caution, .dock')].map(n => n.getBoundingClientRect().top))"
    for ma in (6.0, claw_ma()):
        slider.fill(str(ma))
        lowest = max(way.evaluate("way => way.getBoundingClientRect().bottom") for way in ways.all())
        assert lowest <= page.evaluate(foot) + 1.0
    for path in ("practise", "explore"):
        page.goto(f"{door}/{path}")
        expect(page.locator(".gw-hold, .gw-slider").first).to_be_visible()
        words = page.locator("#area-thread .gw-thread li").last
        expect(words).to_be_visible()
        page.wait_for_function(f"bottom => {foot} >= bottom() - 1", arg=words.evaluate_handle(
            "n => () => n.getBoundingClientRect().bottom"), timeout=20_000)
        assert page.locator("[data-opens=aa]").evaluate("n => n.getBoundingClientRect().right") <= 1280


def test_the_list_of_lessons_has_hand_thread_and_how_far_each_is(page: Page, door: str) -> None:
    page.goto(f"{door}/teach")
    first, second, third = page.locator("[data-at]").evaluate_all("found => found.slice(0, 3).map(one => one.dataset.at)")
    for slug, at in ((first, {"at": 9, "of": 9, "done": True, "on": 0}), (second, {"at": 4, "of": 8, "done": False})):
        page.evaluate("([slug, at]) => localStorage.setItem(`gw-at-${slug}`, at)", [slug, json.dumps(at)])
    page.reload()
    rows = [page.locator(f"li[data-lesson='{slug}']") for slug in (first, second, third)]
    assert [row.get_attribute("data-state") for row in rows] == ["done", "begun", None]
    # some days after a lesson its questions come again, in another scene
    expect(rows[0].get_by_role("link", name="what has stayed")).to_have_attribute("href", "/teach/again?steps=1,2")
    expect(rows[1]).to_contain_text("Begun: step 4 of 8")
    assert rows[1].evaluate("row => row.style.getPropertyValue('--far')") == "50%"
    expect(page.locator(".lesson-hand svg")).to_have_count(page.locator("[data-at]").count())
    shapes = page.locator(".lesson-hand clipPath[id$=body] path")
    assert shapes.first.get_attribute("d") != shapes.last.get_attribute("d"), "the hand must move down the list"


def test_a_silent_server_is_told(page: Page, door: str) -> None:
    page.route("**/start.json", lambda route: route.abort())
    page.goto(door)
    expect(page.get_by_text("The hands could not be fetched")).to_be_visible()
    expect(page.get_by_role("slider", name="Current")).to_be_disabled()
