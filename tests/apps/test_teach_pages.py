"""Pages of lessons and of the live room in a real browser: alone, joining, learner, control and wall."""

from __future__ import annotations

import asyncio
import re
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from own_loop import in_own_loop
from playwright.sync_api import BrowserContext, Page, WebSocketRoute, expect
from serving import served
from teach_lesson import CURRENT, LESSON, Lessons

from graspwave import simulator as sim
from graspwave.apps import notices
from graspwave.apps.classroom.base import numbers_by_path
from graspwave.apps.classroom.bench import Bench
from graspwave.apps.classroom.services import Settings, make_services
from graspwave.apps.look.plain import plain_page
from graspwave.apps.teach import pages
from graspwave.apps.web.source import web_files, web_text
from graspwave.lessons import LessonError, Mistake

PHONE = {"width": 390, "height": 844}
DESK = {"width": 1440, "height": 900}
WALL = {"width": 1280, "height": 720}
REASON = "draws the closers tight like reins"

Visitor = Callable[..., Page]


@pytest.fixture(scope="module")
def teach(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """Address of the server, without a path."""
    store = tmp_path_factory.mktemp("rooms") / "rooms.db"
    with served((str(Path(__file__).parent / "teach_server.py"), str(store))) as where:
        yield where.removesuffix("/teach")


@pytest.fixture
def visitor(browser, request: pytest.FixtureRequest) -> Iterator[Visitor]:  # type: ignore[no-untyped-def]
    """Makes pages of people who share nothing; each must end without an error of its own."""
    request.getfixturevalue("page")  # so that these tests are skipped where no browser is
    contexts: list[BrowserContext] = []
    errors: list[str] = []

    def make(size: dict[str, int] = PHONE, scheme: str = "light") -> Page:
        context = browser.new_context(viewport=size, color_scheme=scheme, reduced_motion="reduce")
        contexts.append(context)
        page = context.new_page()
        page.on("pageerror", lambda error: errors.append(str(error)))
        return page

    yield make
    for context in contexts:
        context.close()
    assert errors == []


def open_room(page: Page, teach: str, *, begin: bool = True) -> str:
    """Open a room from the list, and begin once its page is there; returns its code."""
    page.goto(f"{teach}/teach")
    page.get_by_role("button", name="Open a room: A tight hand, turned up").click()
    page.get_by_role("button", name="Open the room", exact=True).click()
    page.wait_for_url("**/control")
    expect(page.get_by_role("button", name="Begin: A tight hand")).to_be_visible()
    if begin:
        page.get_by_role("button", name="Begin: A tight hand").click()
        expect(page.get_by_role("button", name="Next: Turn it up")).to_be_visible()
    found = re.search(r"/room/([a-z-]+-\d+)/", page.url)
    assert found
    return found.group(1)


def join(page: Page, teach: str, code: str) -> None:
    page.goto(f"{teach}/room/{code}")
    expect(page.get_by_role("heading", level=2)).to_be_visible()


def forward(control: Page, words: str) -> None:
    control.get_by_role("button", name=f"Next: {words}").click()


# ---- the texts of the pages ------------------------------------------------------------------------------------------


def test_plain_pages_have_the_same_frame_and_caution() -> None:
    page = plain_page("teach", "A <title>", "<p>body</p>", scripts=["/a.js"], css=["/a.css"])
    assert "<h1>A &lt;title&gt;</h1>" in page
    assert notices.caution_html() in page
    assert '<a href="/teach" aria-current="page">Teach</a>' in page
    assert '<script type="module" src="/a.js"></script>' in page
    assert 'data-look="theme"' in page
    assert 'href="/explore"' not in plain_page("teach", "Room", "", bare=True)


WAY = {"host": "<b>", "on": "<i>", "url": "http://<u>", "join": "http://<u>/join?code=a-b-10", "svg": "<svg></svg>"}


def test_a_room_that_phones_cannot_reach_says_what_to_do_and_shows_no_code() -> None:
    for make in (pages.control_page, pages.wall_page):
        own, nowhere = make("a-b-10"), make("a-b-10", shared=True)
        for page in (own, nowhere):
            assert "127.0.0.1" not in page
            assert "<svg" not in page.split("<main")[1]
        assert "graspwave open --host 0.0.0.0" in own
        assert "switch on a hotspot" in nowhere
    assert "graspwave open --host 0.0.0.0" in pages.lessons_page([])
    assert "switch on a hotspot" in pages.lessons_page([], shared=True)
    assert "<option" in pages.lessons_page([], shared=True, ways=[WAY, WAY])


def test_what_people_give_is_escaped() -> None:
    row = {"slug": "a", "title": "<b>", "minutes": 5, "for": ["<i>"], "line": "<u>"}
    for page in (pages.lessons_page([row]), pages.join_page("<b>", "<i>"), pages.control_page("a-b-10", [WAY]),
                 pages.wall_page("a-b-10", [WAY, WAY]), pages.lessons_page([row], shared=True, ways=[WAY, WAY])):
        body = page[page.index('<main class="flow"'):page.index("</main>")]
        assert not re.search("<[biu]>", body)


def test_static_files_ask_nobody_and_use_known_tokens() -> None:
    for path in web_files():
        if path.endswith((".js", ".css")):
            words = web_text(path).replace("http://www.w3.org/2000/svg", "")
            assert not re.search(r"https?://[a-z0-9-]+\.[a-z]", words), path
    # the paper and ink of the picture code are fixed: cameras want it dark on light
    assert set(re.findall(r"#[0-9A-Fa-f]{6}\b", web_text("web/teach.css"))) <= {"#ffffff", "#14262c"}


# ---- alone -----------------------------------------------------------------------------------------------------------


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


def test_the_list_says_which_lesson_cannot_be_worked_out() -> None:
    row = {"slug": "a", "title": "A", "minutes": 5, "for": ["all"], "line": "Name it.", "short": (2, 8)}
    page = pages.lessons_page([row, {**row, "slug": "b"}], troubles={"b": "b.md:1: 'x' must be <y>"})
    assert page.count("This lesson cannot be worked out here.") == 1
    assert "&#x27;x&#x27; must be &lt;y&gt;" in page
    assert 'href="/teach/a"' in page
    assert 'href="/teach/b"' not in page
    assert "8 min in a room, all of it 5 min; for all" in page


def test_a_lesson_that_failed_is_remembered_and_not_tried_again(tmp_path: Path) -> None:
    class Failing(Lessons):
        tried = 0

        def compiled(self, slug: str) -> Mapping[str, Any]:
            self.tried += 1
            raise LessonError((Mistake("a.md", 3, "'x' must be true (got false)", "Mend it."),))

    source = Failing()
    services = make_services(Settings(store=str(tmp_path / "rooms.db")), lessons=source)

    async def twice() -> None:
        for _ in range(2):
            with pytest.raises(LessonError, match="must be true"):
                await services.lesson(asyncio.get_running_loop(), "turned-up")

    try:
        in_own_loop(twice)
    finally:
        services.stop()
    assert source.tried == 1
    assert services.troubles == {"turned-up": "a.md:3: 'x' must be true (got false). Mend it."}


def test_a_bench_takes_a_wrist_that_is_let_free() -> None:
    asked: list[Mapping[str, float | None]] = []

    def live(scene: str, settings: dict[str, float | None]) -> Mapping[str, Any]:
        asked.append(settings)
        return {}

    wrist = {"path": "hand.wrist_held_deg", "low": -60, "high": 60, "free_words": "free"}
    table = {"scene": "", "settings": [wrist, {"path": CURRENT, "low": 0, "high": 60}]}
    assert numbers_by_path({"hand.wrist_held_deg": None, CURRENT: 5}) == {"hand.wrist_held_deg": None, CURRENT: 5.0}
    assert numbers_by_path({CURRENT: "5"}) is None
    bench = Bench(live)

    async def ask() -> None:
        loop = asyncio.get_running_loop()
        await bench.ask(loop, table, {"hand.wrist_held_deg": None, CURRENT: 5.0})
        with pytest.raises(sim.SceneError, match="must be 0 to 60"):
            await bench.ask(loop, table, {CURRENT: None})

    try:
        in_own_loop(ask)
    finally:
        bench.stop()
    assert asked == [{"hand.wrist_held_deg": None, CURRENT: 5.0}]


# ---- joining -----------------------------------------------------------------------------------------------------------


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


# ---- the room ----------------------------------------------------------------------------------------------------------


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


# ---- everyone --------------------------------------------------------------------------------------------------------


def serious(page: Page) -> list[tuple[str, str, list[str]]]:
    """What is against a rule in the light or, of what a look can change, in the dark."""
    bad = []
    for scheme, rules in (("light", None), ("dark", {"runOnly": ["color-contrast", "link-in-text-block"]})):
        page.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]
        found = [v for v in Axe().run(page, options=rules).response["violations"] if v["impact"] in ("serious", "critical")]
        bad += [(scheme, v["id"], [n["target"] for n in v["nodes"]][:3]) for v in found]
    return bad


def test_no_page_has_a_serious_violation_and_none_scrolls_sideways(visitor: Visitor, teach: str) -> None:
    control, phone, alone = visitor(DESK), visitor(PHONE), visitor(PHONE)
    for path in ("/teach", "/join"):
        alone.goto(f"{teach}{path}")
        assert serious(alone) == []
    alone.goto(f"{teach}/teach/turned-up")
    alone.get_by_role("button", name="Begin").click()
    alone.locator(".alone-bar [data-id=next]").click()
    expect(alone.locator(".gwt-svg").first).to_be_visible()
    assert serious(alone) == []
    code = open_room(control, teach)
    join(phone, teach, code)
    wall = control.context.new_page()
    wall.set_viewport_size(WALL)  # type: ignore[arg-type]
    wall.goto(f"{teach}/room/{code}/wall")
    forward(control, "Turn it up")
    phone.get_by_role("radio", name="It grows").check(force=True)
    phone.get_by_role("button", name="Send my answer").click()
    expect(control.get_by_text("1 of 1 have answered")).to_be_visible()
    for page in (control, phone, wall):
        assert serious(page) == []
    for words in ("talk it over", "ask again", "show the room’s answers", "show the picture", "show what the model gives"):
        forward(control, words)
    expect(phone.locator(".beside")).to_be_visible()
    for page in (control, phone, wall):
        assert serious(page) == []
    for page in (control, phone, alone, wall):
        for width, height in ((640, 360), (320, 640)):
            page.set_viewport_size({"width": width, "height": height})
            assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), (page.url, width)
            assert page.locator("main").evaluate("main => main.scrollWidth <= main.clientWidth"), (page.url, width)
            expect(page.locator("footer.caution")).to_be_in_viewport()


def test_targets_on_a_phone_are_large_enough(visitor: Visitor, teach: str) -> None:
    page = visitor(PHONE)
    page.goto(f"{teach}/teach/turned-up")
    page.get_by_role("button", name="Begin").click()
    page.locator(".alone-bar [data-id=next]").click()
    expect(page.locator(".card").first).to_be_visible()
    small = page.evaluate("""[...document.querySelectorAll('main button, main .card, main .seg label, main a')]
      .filter(n => n.offsetParent && n.getBoundingClientRect().height < 44).map(n => n.textContent)""")
    assert small == []
    assert LESSON["title"] in page.title()
