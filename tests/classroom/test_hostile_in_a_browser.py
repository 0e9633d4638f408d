"""Script in every field that a learner reaches, then every page of the room opened: nothing runs, all of it is read as text.

The pages are opened as people open them, and once more in a browser that ignores the pages' content policy: what would run
without that policy counts as a fault too, for it is the second lock, not the first.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Coroutine, Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any
from urllib.parse import quote, urlsplit

import pytest
from browser_people import DESK, PHONE, WALL, People, Person
from playwright.sync_api import Browser, Dialog, Page, expect
from room_clients import Person as Line
from room_clients import get, open_room, post, run
from serving import COMMAND, served

from graspwave.apps.classroom.codes import handles
from graspwave.apps.teach.compiled import compiled

WITHIN_MS = 20_000
TRIP = "/tripwire-was-touched"
PAYLOADS = (
    "<script>window.tripped=1;alert(1)</script>",
    f"<img src={TRIP} onerror=window.tripped=1;alert(2)>",
    "<svg onload=window.tripped=1;alert(3)><animate onbegin=alert(4) attributeName=x dur=1s>",
    "\"><script src=//127.0.0.1/x.js></script><b onmouseover='alert(5)'>over</b>",
    "'-alert(6)-' ${alert(7)} {{alert(8)}} javascript:alert(9)",
    f"</textarea></li></style><iframe srcdoc='<script>parent.tripped=1</script>'></iframe><link rel=stylesheet href={TRIP}>",
    "<details open ontoggle=window.tripped=1><a href=javascript:window.tripped=1 autofocus onfocus=window.tripped=1>here</a>",
    "=HYPERLINK(\"http://127.0.0.1/x\",\"<u>sum</u>\")&lt;i&gt;not slanted&lt;/i&gt;",
)
WATCH = """
window.tripped = 0
for (const name of ['alert', 'confirm', 'prompt', 'print']) window[name] = () => { window.tripped = 1 }
document.addEventListener('securitypolicyviolation', event => { (window.refused ??= []).push(event.violatedDirective) })
"""

TOUCH = """() => { for (const node of document.querySelectorAll('body *')) for (const kind of ['mouseover', 'focus', 'toggle'])
  node.dispatchEvent(new Event(kind)) }"""
FOREIGN = ", ".join((
    "iframe", "object", "embed", "main script", "main img", "body link", "main style", "[srcdoc]", "[href^=javascript]",
    *(f"[on{event}]" for event in ("error", "load", "mouseover", "toggle", "focus", "begin")),
))
"""Nothing of this is in any page of ours."""


@pytest.fixture
def server(tmp_path: Path) -> Iterator[str]:
    """Address of the server, without a path; its lesson is compiled by then."""
    compiled("claw")
    with served((*COMMAND, "--store", str(tmp_path / "rooms.db"))) as where:
        yield where.removesuffix("/explore")


@pytest.fixture
def people(browser: Browser, page: Page) -> Iterator[People]:
    several = People(browser)
    yield several
    several.end()


def in_thread(work: Callable[[], Coroutine[Any, Any, None]]) -> None:
    """Run what needs a loop of its own beside the browser's."""
    with ThreadPoolExecutor(1) as pool:
        pool.submit(run, work).result()


async def refused(line: Line, name: str, body: dict[str, Any]) -> str:
    """What the server says to something that it does not take."""
    await line.say(**{"id": name, **body})
    reply = await line.until(lambda m: m["type"] in ("refused", "kept") and m["id"] == name)
    assert reply["type"] == "refused", body
    assert not reply["again"]
    return str(reply["text"])


async def attack(line: Line, text: str) -> None:
    """One text in every field of every message that a learner's page sends."""
    await line.say(type="words", id="words", step=1, text=text)
    await line.until(lambda m: m["type"] == "kept" and m["id"] == "words")
    answer = {"type": "answer", "step": 1, "round": 1}
    right = {"choice": "C"}
    for number, body in enumerate((
        {**answer, "answer": {"choice": text}}, {**answer, "answer": text}, {**answer, "answer": {"choices": [text]}},
        {**answer, "answer": {"order": [text]}}, {**answer, "answer": {"value": text}}, {**answer, "answer": {"x": text}},
        {**answer, "answer": right, "sure": text}, {**answer, "answer": right, "round": text},
        {**answer, "answer": right, "step": text}, {"type": text}, {"type": "done", "step": text},
        {"type": "hello", "role": text, "token": text},
    )):
        assert "<" not in await refused(line, f"wrong {number}", body)
    # what comes along with an answer is not kept; the message's own name comes back to its sender only
    await line.say(**{**answer, "id": text, "answer": {**right, "note": text, text: text}, "sure": 2, "handle": text, text: text})
    # a name longer than any of ours is not given back
    await line.until(lambda m: m["type"] == "kept" and m["id"] == (text if len(text) <= 100 else None))


def shown_words(message: dict[str, Any]) -> list[dict[str, Any]]:
    """Words in a state, or in counts alone."""
    words = message.get("counts", message).get("words")
    return words if isinstance(words, list) else []


def fill_all_fields(server: str) -> tuple[str, str, str]:
    """A room in which learners sent all of it and the educator shows every word; code, educator's and a learner's token."""
    given: list[str] = []

    async def work() -> None:
        code, token = await open_room(server, lesson="claw")
        live = server.replace("http", "ws", 1)
        educator = await Line.arrive(live, code, "control", token)
        await educator.say(type="set", id="words", words=True)
        await educator.until(lambda m: m["type"] == "kept" and m["id"] == "words")
        await educator.say(type="go", id="go", step=1, phase="vote")
        await educator.until(lambda m: m["type"] == "kept" and m["id"] == "go")
        learner = ""
        for text in PAYLOADS:
            # nobody chooses a name, whatever is sent along
            reply = json.loads((await post(f"{server}/room/{code}/join", {"handle": text, "name": text, "token": text})).body)
            assert set(reply) == {"token", "handle"}
            assert reply["handle"] in handles()
            learner = reply["token"]
            line = await Line.arrive(live, code, "learner", learner)
            await attack(line, text)
        said = await educator.until(lambda m: len(shown_words(m)) == len(PAYLOADS))
        for word in shown_words(said):
            await educator.say(type="show_words", id=word["id"], shown=True)
        await educator.until(lambda m: sum(word["shown"] for word in shown_words(m)) == len(PAYLOADS))
        given.extend((code, token, learner))

    in_thread(work)
    return given[0], given[1], given[2]


class Visitor:
    """Opens pages as one of the room, with the tripwire laid before anything of the page runs."""

    def __init__(self, people: People, server: str, kept: dict[str, Any], *, ignoring: bool) -> None:
        self._people, self._server, self._ignoring = people, server, ignoring
        self._storage: Any = {"cookies": [], "origins": [{"origin": server, "localStorage": [
            {"name": name, "value": json.dumps(value)} for name, value in kept.items()]}]}

    def open(self, path: str, size: dict[str, int]) -> Person:
        person = self._people.one(size, storage_state=self._storage, bypass_csp=self._ignoring, accept_downloads=True)
        page = person.page
        page.add_init_script(WATCH)

        def dialog(shown: Dialog) -> None:
            person.faults.append(shown.message)
            shown.dismiss()

        page.on("dialog", dialog)
        page.on("request", lambda asked: person.faults.append(asked.url) if urlsplit(asked.url).path == TRIP else None)
        reply = page.goto(path if path.startswith("file:") else self._server + path)
        if not path.startswith("file:"):
            assert reply
            policy = reply.headers["content-security-policy"]
            assert "unsafe-eval" not in policy
            assert "'unsafe-inline'" not in policy.split("script-src")[1].split(";")[0]
        return person


@pytest.mark.parametrize("ignoring", [False, True], ids=["with-its-policy", "without-its-policy"])
def test_script_in_every_field_is_read_as_text(people: People, server: str, tmp_path: Path, ignoring: bool) -> None:
    code, token, learner = fill_all_fields(server)
    kept = {f"gw-room-{code}": {"token": token}, f"gw-me-{code}": {"token": learner, "handle": PAYLOADS[0]}}
    visitor = Visitor(people, server, kept, ignoring=ignoring)
    control, wall = visitor.open(f"/room/{code}/control", DESK), visitor.open(f"/room/{code}/wall", WALL)
    phone = visitor.open(f"/room/{code}", PHONE)
    read_as_text(control, ".said-list li p")
    read_as_text(wall, ".wall-words li")

    # the same with a phone's own field, and shown by the educator's own button
    phone.page.get_by_label("In your own words").fill(PAYLOADS[1])
    phone.page.get_by_role("button", name="Send my words").click()
    control.page.get_by_role("button", name="Show on the wall").click()
    expect(wall.page.locator(".wall-words li")).to_have_count(len(PAYLOADS) + 1, timeout=WITHIN_MS)
    expect(phone.page.locator("#handle")).to_have_text(re.compile(f"you are ({'|'.join(handles())})", re.I))

    control.page.get_by_role("button", name="Save answers").click()
    with control.page.expect_download() as saving:
        control.page.get_by_role("button", name="As a page (HTML)").click()
    file = tmp_path / "answers.html"
    saving.value.save_as(file)
    report = visitor.open(file.as_uri(), DESK)
    policy = report.page.locator("meta[http-equiv='Content-Security-Policy']").get_attribute("content")
    assert policy == "default-src 'none'; style-src 'unsafe-inline'"
    read_as_text(report, "h2:has-text('Words that were shown') + ul li")

    for person in (control, wall, phone, report):
        nothing_ran(person)
    joining = visitor.open("/join", PHONE)
    for text in PAYLOADS:
        joining.page.goto(f"{server}/join?code={quote(text)}")
        joining.page.get_by_label("Room code").fill(text)
        joining.page.get_by_role("button", name="Join").click()
        expect(joining.page.get_by_role("alert")).not_to_be_empty()
        nothing_ran(joining)
    assert people.faults() == []


def nothing_ran(person: Person) -> None:
    person.page.evaluate(TOUCH)
    assert person.page.evaluate("window.tripped") == 0
    assert person.page.locator(FOREIGN).count() == 0
    assert person.page.evaluate("window.refused ?? []") == [], "only the content policy held it back"


def read_as_text(person: Person, where: str) -> None:
    """Every one of the texts stands there letter for letter."""
    places = person.page.locator(where)
    expect(places.nth(len(PAYLOADS) - 1)).to_be_attached(timeout=WITHIN_MS)
    shown = [" ".join(text.split()) for text in places.all_text_contents()]
    for text in PAYLOADS:
        assert any(text in one for one in shown), (text, shown)


def test_every_answer_of_the_server_carries_its_policy(server: str) -> None:
    async def work() -> None:
        code, token = await open_room(server, lesson="claw")
        room = f"/room/{code}"
        for path in ("/teach", "/teach/claw", "/join", "/join?code=%3Cscript%3E", room, f"{room}/control", f"{room}/wall"):
            reply = await get(f"{server}{path}")
            assert "default-src" in reply.headers["Content-Security-Policy"], path
            assert reply.headers["X-Content-Type-Options"] == "nosniff"
        for form in ("html", "csv"):
            reply = await post(f"{server}{room}/report", {"token": token, "as": form})
            assert reply.headers["Content-Security-Policy"] == "default-src 'none'; style-src 'unsafe-inline'"

    in_thread(work)
