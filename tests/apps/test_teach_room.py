"""The live room in real browsers: joining, learners, control and wall."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from playwright.sync_api import WebSocketRoute, expect
from serving import served
from teach_people import DESK, PHONE, REASON, WALL, Visitor, forward, join, open_room


def test_join_forgives_the_spelling_and_says_what_is_wrong(visitor: Visitor, teach: str) -> None:
    page = visitor()
    page.goto(f"{teach}/join")
    field = page.get_by_label("Room code")
    expect(field).to_be_focused()
    field.press("Enter")
    expect(page.get_by_role("alert")).to_contain_text("Type the code from the wall")
    field.fill("plum 42")
    field.press("Enter")
    expect(page.get_by_role("alert")).to_contain_text("this has 1 word and a number")
    for spelling in ("Plum  RIVER 42", "plum-river-42", " plum_river42 ", "PlumRiver 42"):
        page.goto(f"{teach}/join")
        field.fill(spelling)
        field.press("Enter")
        page.wait_for_url("**/room/plum-river-42")
    expect(page.get_by_role("heading", name="No room has this code.")).to_be_visible()
    expect(page.get_by_role("link", name="Type another code")).to_be_visible()


def test_a_server_with_a_key_asks_for_it(visitor: Visitor, tmp_path: Path) -> None:
    page = visitor(DESK)
    with served((str(Path(__file__).parent / "teach_server.py"), str(tmp_path / "rooms.db"), "maple-lamp")) as where:
        page.goto(where)
        page.get_by_role("button", name="Open a room: A tight hand, turned up").click()
        go = page.get_by_role("button", name="Open the room", exact=True)
        go.click()
        expect(page.get_by_role("alert").filter(has_text="Type the key")).to_be_visible()
        page.get_by_label("Key of this server").fill("wrong")
        go.click()
        expect(page.get_by_role("alert").filter(has_text="not this server's key")).to_be_visible()
        page.get_by_label("Key of this server").fill("maple-lamp")
        go.click()
        page.wait_for_url("**/control")


# ---- the room


def test_a_question_from_vote_to_reveal(visitor: Visitor, teach: str) -> None:
    control, wall = visitor(DESK), None
    code = open_room(control, teach, begin=False)
    wall = control.context.new_page()
    wall.set_viewport_size(WALL)  # type: ignore[arg-type]
    wall.goto(f"{teach}/room/{code}/wall")
    expect(wall.locator(".wall.begin .code")).to_have_text(code.replace("-", " "))
    one, other = visitor(PHONE), visitor(PHONE)
    join(one, teach, code)
    join(other, teach, code)
    handle = one.locator("#handle").inner_text()
    expect(control.locator(".roster li")).to_have_count(2)
    expect(one.get_by_role("heading", name="You are in")).to_be_visible()
    control.get_by_role("button", name="Begin: A tight hand").click()

    forward(control, "Turn it up")
    expect(wall.locator(".wall:not(.begin)")).to_be_visible()
    card = one.get_by_role("radio", name="It grows")
    card.check(force=True)
    expect(one.get_by_text("Not sent yet.")).to_be_visible()
    other.get_by_role("radio", name="It gets smaller").check(force=True)
    other.get_by_role("button", name="Send my answer").click()
    expect(control.get_by_text("1 of 2 have answered")).to_be_visible()
    control.get_by_role("button", name="Ask for their words").click()
    expect(one.get_by_label("In your own words")).to_be_visible()
    # somebody else's answer and another state of the room came in meanwhile: the choice and the focus stay
    expect(card).to_be_checked()
    expect(card).to_be_focused()
    one.get_by_role("radio", name="fairly").check(force=True)
    one.get_by_role("button", name="Send my answer").click()
    expect(one.get_by_text("Kept. You can change it until it is shown.")).to_be_visible()
    expect(wall.locator(".people .count")).to_have_text("2 of 2 answered")
    one.get_by_role("radio", name="It stays the same").check(force=True)
    expect(one.get_by_text("Changed, not sent yet.")).to_be_visible()
    one.get_by_role("radio", name="It grows").check(force=True)

    one.reload()
    expect(one.get_by_role("radio", name="It grows")).to_be_checked()
    assert one.locator("#handle").inner_text() == handle

    control.get_by_text("What the model gives (only you see this)").click()
    expect(control.locator(".right-fold")).to_contain_text("It gets smaller")
    for page in (one, wall):
        assert REASON not in page.content()
        assert "computed" not in page.locator("main").inner_text()

    # whether a talk is worth it is said before the wall says so
    expect(control.locator(".advice")).to_contain_text("50 % right so far. Worth a talk")
    forward(control, "talk it over")
    expect(wall.locator(".timer")).to_have_text(re.compile(r"^(2:00|1:5\d)$"))
    expect(one.get_by_text("Talk with the person next to you. Try to change their mind, or yours.")).to_be_visible()
    expect(control.locator(".advice")).to_contain_text("50 % were right. Worth a talk")
    assert wall.locator(".count-line").count() == 0
    forward(control, "ask again")
    expect(one.get_by_text("First you said A “It grows”")).to_be_visible()
    one.get_by_role("radio", name="It gets smaller").check(force=True)
    one.get_by_role("button", name="Send my answer").click()
    expect(one.get_by_text("Kept.")).to_be_visible()
    forward(control, "show the room’s answers")
    row = wall.locator(".rows li").filter(has_text="It gets smaller")
    # one answered twice, the other once: before and after are the same people
    expect(row.locator(".round-1 .n")).to_have_text("0")
    expect(row.locator(".round-2 .n")).to_have_text("1")
    expect(wall.locator(".bar-note")).to_contain_text("1 more answered once")
    assert wall.locator(".right-one").count() == 0
    forward(control, "show the picture")
    expect(wall.get_by_text("Past the best current the hand closes again")).to_be_visible()
    forward(control, "show what the model gives")
    expect(wall.locator(".rows .right-one")).to_contain_text("It gets smaller ✓ computed")
    expect(wall.locator(".rows .right-one .round-2 .squares")).to_be_visible()
    expect(one.locator(".beside")).to_contain_text("C “It gets smaller” (fairly sure)")
    expect(one.locator("main")).to_contain_text(REASON)
    # nothing that names a person is on the wall
    assert handle.removeprefix("you are ").lower() not in wall.locator("main").inner_text().lower()


@pytest.mark.parametrize(("right", "words", "act"), [
    (0, "Few had it", ["Back to the question"]), (1, "Worth a talk", []), (2, "Most had it", []),
])
def test_advice_after_the_first_vote(visitor: Visitor, teach: str, right: int, words: str, act: list[str]) -> None:
    control = visitor(DESK)
    code = open_room(control, teach)
    forward(control, "Turn it up")
    for at in range(2):
        page = visitor(PHONE)
        join(page, teach, code)
        page.get_by_role("radio", name="It gets smaller" if at < right else "It grows").check(force=True)
        page.get_by_role("button", name="Send my answer").click()
        expect(page.get_by_text("Kept.")).to_be_visible()
    forward(control, "talk it over")
    expect(control.locator(".advice")).to_contain_text(words)
    assert control.locator(".advice button").all_inner_texts() == [*act, "Straight to the answer"]
    control.get_by_role("button", name="Straight to the answer").click()
    expect(page.locator(".beside")).to_be_visible()


def test_an_answer_given_without_a_line_is_sent_once_it_is_back(visitor: Visitor, teach: str) -> None:
    control, phone = visitor(DESK), visitor(PHONE)
    code = open_room(control, teach)
    lines: list[WebSocketRoute] = []
    cut = {"now": False}

    def line(route: WebSocketRoute) -> None:
        if cut["now"]:
            route.close(code=1001)
            return
        lines.append(route)
        route.connect_to_server()

    phone.route_web_socket(re.compile("/live$"), line)
    join(phone, teach, code)
    forward(control, "Turn it up")
    phone.get_by_role("radio", name="It grows").check(force=True)
    cut["now"] = True
    lines[-1].close(code=1001)
    expect(phone.get_by_text("No connection. Trying again; your answer waits here.")).to_be_visible()
    phone.get_by_role("button", name="Send my answer").click()
    expect(phone.locator(".send-state")).to_contain_text("It is sent by itself when the connection is back.")
    # the page itself may go as well
    phone.reload()
    cut["now"] = False
    expect(phone.get_by_text("Kept. You can change it until it is shown.")).to_be_visible()
    expect(control.get_by_text("1 of 1 have answered")).to_be_visible()
    assert phone.evaluate("Object.keys(localStorage).filter(key => key.startsWith('gw-out-'))") == []


def test_an_answer_that_comes_too_late_is_told_so(visitor: Visitor, teach: str) -> None:
    control, phone = visitor(DESK), visitor(PHONE)
    code = open_room(control, teach)
    held: list[str] = []

    def line(route: WebSocketRoute) -> None:
        server = route.connect_to_server()
        route.on_message(lambda text: held.append(str(text)) if '"answer"' in str(text) else server.send(text))
        holders.append(server)

    holders: list[WebSocketRoute] = []
    phone.route_web_socket(re.compile("/live$"), line)
    join(phone, teach, code)
    forward(control, "Turn it up")
    phone.get_by_role("radio", name="It grows").check(force=True)
    phone.get_by_role("button", name="Send my answer").click()
    expect(phone.locator(".send-state")).to_have_text("Sending.")
    forward(control, "talk it over")
    expect(phone.locator(".talk-words")).to_be_visible()
    holders[-1].send(held[0])
    expect(phone.locator(".late-note")).to_have_text("Too late: this vote is closed.")
    expect(phone.get_by_text("You have not answered this one. You can still join in.")).to_be_visible()
    expect(control.locator(".people-head")).to_contain_text("0 of 1 have answered")


def test_control_by_keyboard_roam_mirror_words_pause_and_end(visitor: Visitor, teach: str) -> None:
    control, phone = visitor(DESK), visitor(PHONE)
    code = open_room(control, teach)
    join(phone, teach, code)
    control.locator("body").press("ArrowRight")
    expect(phone.get_by_role("heading", name="Turn it up")).to_be_visible()
    control.locator("body").press("ArrowLeft")
    expect(phone.get_by_role("heading", name="A tight hand", exact=True)).to_be_visible()
    control.get_by_role("button", name=re.compile("Try it")).click()
    expect(phone.locator(".gwt-bench")).to_be_visible()
    expect(phone.get_by_role("link", name="Open this scene in Explore")).to_have_attribute("href", re.compile(r"^/explore\?s=\w"))
    phone.get_by_role("button", name="I am done").click()
    expect(control.get_by_text("1 of 1 are done")).to_be_visible()
    # always there, unasked: a count and a list for whoever leads
    phone.get_by_role("button", name="I do not understand").click()
    phone.get_by_label("What? (you need not say)").fill("which joint?")
    phone.get_by_role("button", name="Tell", exact=True).click()
    expect(control.get_by_role("heading", name="1 does not understand this step")).to_be_visible()
    expect(control.locator(".said-list li")).to_contain_text("which joint?")

    control.get_by_role("button", name="My scene").click()
    expect(phone.get_by_role("heading", name="The scene of the person who teaches")).to_be_visible()
    control.get_by_role("slider", name="Current").last.fill("20")
    expect(phone.locator(".mirror .gwt-thread")).to_contain_text("current 20 mA")
    control.get_by_role("slider", name="Pads along").last.fill("50")
    expect(phone.locator(".mirror .gwt-thread")).to_contain_text("pads along 50 %")
    control.get_by_role("button", name="Stop showing my scene").click()
    expect(phone.get_by_text("Yours to try")).to_be_visible()

    control.get_by_role("button", name="Ask for their words").click()
    phone.get_by_label("In your own words").fill("<img src=x> lower the wrist")
    phone.get_by_role("button", name="Send my words").click()
    wall = control.context.new_page()
    wall.goto(f"{teach}/room/{code}/wall")
    expect(control.get_by_text("<img src=x> lower the wrist")).to_be_visible()
    expect(wall.locator(".wall-words li")).to_have_count(0)
    control.get_by_role("button", name="Show on the wall").click()
    expect(wall.locator(".wall-words li")).to_have_text("<img src=x> lower the wrist")

    control.get_by_role("button", name="Pause", exact=True).click()
    expect(phone.get_by_role("heading", name="Pause")).to_be_visible()
    control.get_by_role("button", name="Go on", exact=True).click()
    expect(phone.get_by_role("heading", name="Try it")).to_be_visible()

    control.get_by_role("button", name="Save answers").click()
    with control.expect_download() as saving:
        control.get_by_role("button", name="As a table (CSV)").click()
    assert saving.value.suggested_filename == f"answers-{code}.csv"
    control.get_by_role("button", name="Close", exact=True).click()
    control.get_by_role("button", name="End", exact=True).click()
    control.get_by_role("button", name="End the room").click()
    expect(phone.get_by_role("heading", name="The room has ended. Thank you.")).to_be_visible()
    expect(control.get_by_text("The room has ended. Save the answers while they are kept.")).to_be_visible()


def test_the_short_version_in_a_room(visitor: Visitor, teach: str) -> None:
    control = visitor(WALL)
    open_room(control, teach)
    control.get_by_role("button", name=re.compile("Turn it up")).first.click()
    control.get_by_role("checkbox", name="Short version, 2 steps").check()
    for words in ("talk it over", "ask again", "show the room’s answers", "show the picture", "show what the model gives"):
        forward(control, words)
    expect(control.get_by_role("button", name="End, and save the report")).to_be_enabled()
    # what leads the room is in sight whatever the step holds
    for part in (".main-moves .strong", ".people-head", ".question", ".say p"):
        expect(control.locator(part).first).to_be_in_viewport()
    control.reload()
    expect(control.get_by_role("checkbox", name="Short version, 2 steps")).to_be_checked()
    control.get_by_role("button", name=re.compile("Try it")).click()
    expect(control.get_by_role("button", name="Next: ")).to_have_count(0)


def test_control_without_its_token_leads_nothing(visitor: Visitor, teach: str) -> None:
    control, stranger = visitor(DESK), visitor(DESK)
    code = open_room(control, teach)
    told = {"control": "This room was opened in another browser", "wall": "The wall view opens from the control page"}
    for which, words in told.items():
        stranger.goto(f"{teach}/room/{code}/{which}")
        expect(stranger.get_by_role("heading", name=words)).to_be_visible()
