"""A lesson taken alone, in a real browser."""

from __future__ import annotations

import json
import re

import pytest
from playwright.sync_api import expect
from teach_lesson import LESSON
from teach_people import DESK, PHONE, REASON, Visitor, serious


def test_alone_predicts_first_then_looks_then_learns_why(visitor: Visitor, teach: str) -> None:
    page = visitor(DESK)
    page.goto(f"{teach}/teach/turned-up")
    page.get_by_role("button", name="Begin").click()
    page.get_by_role("button", name="Next step").click()
    main = page.locator("main")
    expect(page.get_by_text("What does the opening do?")).to_be_visible()
    expect(main).not_to_contain_text(REASON)
    page.get_by_role("button", name="That is my guess").click()
    expect(page.get_by_text("Choose one first.")).to_be_visible()
    page.get_by_role("radio", name="It grows").check(force=True)
    page.get_by_role("radio", name="very").check(force=True)
    page.get_by_role("button", name="That is my guess").click()
    expect(page.get_by_text("Past the best current the hand closes again")).to_be_visible()
    expect(main).not_to_contain_text(REASON)
    # where one was is where one comes back to
    page.reload()
    expect(page.get_by_text("You said A “It grows”.")).to_be_visible()
    page.get_by_role("button", name="See what the model gives").click()
    expect(main).to_contain_text(REASON)
    expect(page.locator(".beside")).to_contain_text("A “It grows” (very sure)")
    expect(page.locator(".beside .right-one")).to_contain_text("C “It gets smaller”")
    expect(page.locator(".belief")).to_contain_text("more current always opens more")
    page.get_by_role("button", name="Back").click()
    expect(page.get_by_role("heading", name="A tight hand", exact=True)).to_be_visible()


def test_alone_every_kind_of_question_and_a_summary(visitor: Visitor, teach: str) -> None:
    page = visitor(PHONE)
    page.goto(f"{teach}/teach/turned-up")
    page.get_by_role("button", name="Begin").click()
    guess, on = page.get_by_role("button", name="That is my guess"), page.locator(".alone-bar [data-id=next]")
    on.click()
    page.get_by_role("radio", name="It gets smaller").check(force=True)
    guess.click()
    on.click()
    on.click()
    for name in ("The wrist went back", "Current spread to closers"):
        page.get_by_role("checkbox", name=name).check(force=True)
    guess.click()
    on.click()
    page.get_by_role("spinbutton", name="Your guess, mm").fill("70")
    guess.click()
    expect(page.get_by_text("Set a number inside the range first.")).to_be_visible()
    page.get_by_role("spinbutton", name="Your guess, mm").fill("15")
    guess.click()
    on.click()
    place = page.get_by_role("slider", name="Current")
    place.press("ArrowRight")
    guess.click()
    expect(page.locator(".beside")).to_contain_text(re.compile(r"current \d+(\.\d)? mA"))
    on.click()
    page.get_by_role("button", name="Move up: C").click()
    expect(page.get_by_role("button", name="Move up: C")).to_be_focused()
    page.keyboard.press("Enter")
    page.get_by_role("button", name="Move up: B").click()
    guess.click()
    on.click()
    expect(page.locator(".gwt-bench")).to_be_visible()
    on.click()
    on.click()
    expect(page.get_by_text("✓ as you said")).to_have_count(4)
    expect(page.locator(".summary .care")).to_contain_text("Never chase opening with current.")
    page.get_by_label("In one sentence of your own").fill("Less can be more.")
    page.reload()
    expect(page.get_by_label("In one sentence of your own")).to_have_value("Less can be more.")
    page.get_by_text("Words of this lesson").click()
    expect(page.get_by_text("while the middle joint curls")).to_be_visible()
    page.get_by_role("button", name="Start again").click()
    expect(page.get_by_role("button", name="Begin")).to_be_visible()


def test_alone_says_when_there_is_no_such_lesson(visitor: Visitor, teach: str) -> None:
    page = visitor()
    page.route("**/lesson/*.json", lambda route: route.fulfill(status=404, body="{}"))
    page.goto(f"{teach}/teach/turned-up")
    expect(page.get_by_role("heading", name="There is no such lesson")).to_be_visible()


def test_alone_the_short_version_skips_and_still_lets_one_choose(visitor: Visitor, teach: str) -> None:
    page = visitor(PHONE)
    page.goto(f"{teach}/teach/turned-up")
    page.get_by_role("radio", name=re.compile(r"^Short, \d questions?, \d+ min")).check(force=True)
    page.get_by_role("button", name="Begin").click()
    on = page.locator(".alone-bar [data-id=next]")
    on.click()
    expect(page.get_by_role("heading", name="Turn it up")).to_be_visible()
    on.click()
    expect(on).to_have_text("To the summary")
    page.get_by_role("button", name="Step 2 of 8").click()
    page.get_by_role("dialog").get_by_role("button", name=re.compile("Try it.*not in the short version")).click()
    expect(page.get_by_role("heading", name="Try it")).to_be_visible()
    page.get_by_role("button", name="Back", exact=True).click()
    expect(page.get_by_role("heading", name="Turn it up")).to_be_visible()


def test_what_sends_stays_in_sight_and_covers_no_choice(visitor: Visitor, teach: str) -> None:
    page = visitor({"width": 390, "height": 560})
    page.goto(f"{teach}/teach/turned-up")
    page.get_by_role("button", name="Begin").click()
    page.locator(".alone-bar [data-id=next]").click()
    expect(page.get_by_role("button", name="That is my guess")).to_be_in_viewport(ratio=1)
    # not forced: the click fails where something else lies over the choice
    for card in page.locator(".card").all():
        card.click()
        expect(card.get_by_role("radio")).to_be_checked()
    # at a desk how sure one is stands beside it, in sight as well
    page.set_viewport_size({"width": 1366, "height": 560})
    sure, send = page.get_by_role("group", name="How sure?"), page.get_by_role("button", name="That is my guess")
    expect(sure).to_be_in_viewport(ratio=1)
    expect(send).to_be_in_viewport(ratio=1)
    boxes = sure.bounding_box(), send.bounding_box()
    assert boxes[0]
    assert boxes[1]
    assert boxes[0]["x"] + boxes[0]["width"] <= boxes[1]["x"]
    sure.get_by_role("radio", name="fairly").check()
    send.click()
    expect(page.get_by_text("You said C “It gets smaller”.")).to_be_visible()


def test_alone_says_what_is_wrong_with_a_lesson_that_cannot_be_worked_out(visitor: Visitor, teach: str) -> None:
    page = visitor()
    body = '{"text": "06-claw.md:12: \'right_if\' must be true (got false). Mend it.", "lesson": true}'
    page.route("**/lesson/*.json", lambda route: route.fulfill(status=503, body=body))
    page.goto(f"{teach}/teach/turned-up")
    expect(page.get_by_role("heading", name="This lesson cannot be worked out here")).to_be_visible()
    page.get_by_text("What is wrong").click()
    expect(page.get_by_text("06-claw.md:12: 'right_if' must be true (got false). Mend it.")).to_be_visible()


@pytest.mark.parametrize(("path", "head", "link"), [
    ("/teach/no-such-lesson", "There is no such lesson", "/teach"),
    ("/teach/No_Such/at-all", "There is no such lesson", "/teach"),
    ("/room/nothing", "There is no room at this address", "/join"),
])
def test_an_address_of_nothing_leads_on(visitor: Visitor, teach: str, path: str, head: str, link: str) -> None:
    page = visitor()
    reply = page.goto(f"{teach}{path}")
    assert reply is not None
    assert reply.status == 404
    expect(page.get_by_role("heading", name=head)).to_be_visible()
    expect(page.locator("main a").first).to_have_attribute("href", link)
    expect(page.locator("footer.caution")).to_be_visible()
    assert serious(page) == []


def test_words_are_plain_or_of_the_trade_as_one_likes_and_tell_what_they_mean(visitor: Visitor, teach: str) -> None:
    word = '<span class="tw" data-term="claw" data-trade="intrinsic-minus posture"{}>claw</span>'
    html = f"<p>First a {word.format(' data-first')}, then one more {word.format('')}.</p>"
    lesson = json.dumps({**LESSON, "short": [], "steps": [{**LESSON["steps"][0], "html": html}]})
    page = visitor(PHONE)
    page.route("**/lesson/*.json", lambda route: route.fulfill(status=200, content_type="application/json", body=lesson))
    page.goto(f"{teach}/teach/turned-up")
    for mode, read in (
        ("plain", "First a claw, then one more claw."),
        ("of the trade", "First a intrinsic-minus posture, then one more intrinsic-minus posture."),
        ("both", "First a claw (intrinsic-minus posture), then one more claw."),
    ):
        page.get_by_role("group", name="Words").get_by_role("radio", name=mode, exact=True).check(force=True)
        page.locator(".alone-bar [data-id=next]").click()
        expect(page.get_by_text(read, exact=True)).to_be_visible()
        page.get_by_role("button", name="Back", exact=True).click()
    page.locator(".alone-bar [data-id=next]").click()
    page.get_by_role("button", name="claw (intrinsic-minus posture)").press("Enter")
    told = page.get_by_role("dialog", name="claw")
    expect(told).to_contain_text("In the trade: intrinsic-minus posture")
    expect(told).to_contain_text("The base joint bends back too far while the middle joint curls.")
    told.get_by_role("button", name="Close").click()
    expect(told).to_be_hidden()


def test_a_line_drawn_before_the_curve_is_kept_when_one_comes_back(visitor: Visitor, teach: str) -> None:
    step = LESSON["steps"][1]
    drawn = {**step, "pictures": [{**step["pictures"][0], "guess": "turned-up/2"}]}
    lesson = json.dumps({**LESSON, "short": [], "steps": [drawn]})
    page = visitor(DESK)
    page.route("**/lesson/*.json", lambda route: route.fulfill(status=200, content_type="application/json", body=lesson))
    page.goto(f"{teach}/teach/turned-up")
    page.locator(".alone-bar [data-id=next]").click()
    expect(page.get_by_text("your line")).to_have_count(0)
    page.get_by_text("Draw by keys").press("Enter")
    page.get_by_role("slider", name="Opening").press("ArrowUp")
    page.get_by_role("slider", name="At current").press("PageUp")
    expect(page.get_by_text("your line")).to_have_count(1)
    page.reload()
    expect(page.get_by_text("your line")).to_have_count(1)
