"""Rooms through real servers: a lesson from opening to report, several processes, kills, lost stores."""

from __future__ import annotations

import asyncio
import json
import random
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from postgres_server import Postgres
from room_clients import Person, get, join, open_room, post, run
from room_server import Server, Servers
from tornado.httpclient import HTTPClientError

from graspwave.apps.classroom.store import open_store


async def learners(server: Server, code: str, count: int) -> list[Person]:
    people = []
    for _ in range(count):
        token, _ = await join(server.http, code)
        people.append(await Person.arrive(server.live, code, "learner", token))
    return people


def at(step: int, phase: str) -> Callable[[dict[str, Any]], bool]:
    return lambda state: (state["step"], state["phase"]) == (step, phase)


@pytest.fixture
def server(services: Servers, tmp_path: Path) -> Server:
    return services.begin(tmp_path / "rooms.sqlite", tmp_path / "log")


def test_a_lesson_from_opening_to_report(server: Server) -> None:
    async def work() -> None:
        code, token = await open_room(server.http)
        control = await Person.arrive(server.live, code, "control", token)
        wall = await Person.arrive(server.live, code, "wall", token)
        one, two = await learners(server, code, 2)
        welcome = one.came[0]
        assert (welcome["role"], welcome["lesson"]["title"]) == ("learner", "A small lesson")
        assert [step["kind"] for step in welcome["lesson"]["steps"]] == ["tell", *["ask"] * 5, "roam", "talk"]
        assert welcome["mine"] == {"1": None, "2": None, "done": False}
        assert welcome["handle"] != two.came[0]["handle"]
        await control.until_state(lambda s: s["counts"]["here"] == 2)
        assert {person["handle"] for person in control.state["counts"]["roster"]} == {
            welcome["handle"], two.came[0]["handle"]}

        await control.go(1, "vote")
        for person in (one, two, wall):
            await person.until_state(at(1, "vote"))
        assert (await one.answer(1, 1, {"choice": "A"}, 2))["type"] == "kept"
        assert (await one.answer(1, 1, {"choice": "B"}, 0)) | {"id": 0} == {"type": "kept", "id": 0, "step": 1, "round": 1}
        assert (await two.answer(1, 1, {"choice": "C"}, None))["type"] == "kept"
        late = await two.answer(1, 2, {"choice": "B"})
        assert (late["type"], late["again"], late["text"]) == ("refused", False, "Too late: this vote is closed.")
        await wall.until_state(lambda s: s["counts"]["answered"] == 2)
        await control.go(1, "talk")
        await control.until_state(lambda s: s["phase"] == "talk" and s["counts"]["first_right"] == 0.5)
        await control.go(1, "again")
        await two.until_state(at(1, "again"))
        assert (await two.answer(1, 2, {"choice": "B"}))["type"] == "kept"
        await control.go(1, "reveal")
        await wall.until_state(at(1, "reveal"))
        assert wall.state["bars"] == {
            "first": {"A": 0, "B": 0, "C": 1}, "second": {"A": 0, "B": 1, "C": 0}, "n_first": 1, "n_second": 1, "once": 1,
            "right_first": 0.0, "right_second": 1.0}

        # back at a step, a page learns anew what it had answered
        await control.go(0, "show")
        await two.until_state(at(0, "show"))
        await control.go(1, "vote")
        mine = await two.until(lambda m: m["type"] == "mine" and m["step"] == 1 and m["2"] is not None)
        assert mine["1"] == {"answer": {"choice": "C"}, "sure": None}
        await two.until_state(at(1, "vote"))
        again = await two.answer(1, 1, {"choice": "B"})
        assert (again["type"], again["text"]) == ("refused", "This vote is closed: its answer has been shown.")

        # words, done, pause, the scene for all, and the end
        await control.go(6, "show")
        await control.ask(type="set", words=True)
        await one.until_state(lambda s: s["words"] and s["step"] == 6)
        assert (await one.ask(type="words", step=6, text="  it <b>closes</b>\n again "))["type"] == "kept"
        assert (await one.ask(type="done", step=6))["type"] == "kept"
        await control.until_state(lambda s: s["counts"]["done"] == 1 and len(s["counts"]["words"]) == 1)
        assert wall.state["counts"]["words"] == []
        number = control.state["counts"]["words"][0]["id"]
        await control.say(type="show_words", id=number, shown=True)
        await wall.until_state(lambda s: s["counts"]["words"] == ["it <b>closes</b> again"])
        await one.until_state(lambda s: s["counts"]["words"] == ["it <b>closes</b> again"])
        path = "channel.0.pulse.amplitude_ma"
        told = await control.ask(type="mirror", settings={path: 31})
        assert told["type"] == "kept", told
        await two.until_state(lambda s: (s["mirror"] or {}).get("settings") == {path: 31.0})
        # the picture is worked out once and pushed; nobody who looks has to ask
        assert two.state["mirror"]["picture"]["mm"] == pytest.approx(10 + 30 * 31 / 60, abs=1e-3)
        # and comes alone: the step that it stands in is with every phone already
        assert {"view", "bars"}.isdisjoint(next(m for m in two.came if m["type"] == "mirror"))
        refused = await control.ask(type="mirror", settings={"session.seed": 31})
        assert refused["text"].startswith("'session.seed' must be one of")
        await control.ask(type="mirror", settings=None)
        await two.until_state(lambda s: s["mirror"] is None)
        await control.ask(type="set", paused=True)
        await two.until_state(lambda s: s["paused"])
        assert (await two.ask(type="done", step=6))["text"] == "The room is paused. Wait until it goes on."
        await control.ask(type="end")
        await two.until_state(lambda s: s["ended"])
        assert (await control.ask(type="go", step=0, phase="show"))["text"] == "This room has ended."
        assert (await post(f"{server.http}/room/{code}/join", {})).code == 410

        html = await post(f"{server.http}/room/{code}/report", {"token": token, "as": "html"})
        table = await post(f"{server.http}/room/{code}/report", {"token": token, "as": "csv"})
        assert b"it &lt;b&gt;closes&lt;/b&gt; again" in html.body
        assert welcome["handle"].encode() not in html.body + table.body
        assert b",small," + code.encode() + b",2,Question 2,answer,1,C,Choice C,1,1,2,no,0.000,1.0,0,0,0,0,0,0" in table.body
        assert b",small," + code.encode() + b',7,Roaming,said,,,"it <b>closes</b> again"'.replace(b'"', b"") in table.body
        assert (await post(f"{server.http}/room/{code}/report", {"token": "x", "as": "csv"})).code == 403

        # a page that comes late gets the present state
        await wall.until_state(lambda s: s["ended"])
        late_one = await Person.arrive(server.live, code, "wall", token)
        assert {**late_one.state, "counts": 0, "now": 0} == {**wall.state, "counts": 0, "now": 0}
        await one.leave()
        await control.until_state(lambda s: s["counts"]["here"] == 1)
        assert "failed" not in server.log

    run(work)


def test_two_control_pages_do_not_undo_each_other(server: Server) -> None:
    async def work() -> None:
        code, token = await open_room(server.http)
        one, two = [await Person.arrive(server.live, code, "control", token) for _ in range(2)]
        seen = one.state["version"]
        assert (await one.ask(type="go", step=1, phase="vote", version=seen))["type"] == "kept"
        other = await two.ask(type="go", step=2, phase="vote", version=seen)
        assert (other["type"], other["again"]) == ("refused", False)
        assert other["text"] == "Another page moved the room just now. Look where it stands, then move it."
        same = await two.ask(type="go", step=1, phase="vote", version=seen)
        assert same["type"] == "kept"
        await two.until_state(at(1, "vote"))
        assert two.state["version"] == seen + 1
        assert (await two.ask(type="go", step=2, phase="vote", version=seen + 1))["type"] == "kept"

    run(work)


def test_two_processes_on_one_store_are_one_room(services: Servers, address: str, tmp_path: Path) -> None:
    first, second = (services.begin(address, tmp_path / f"log{number}") for number in range(2))

    async def work() -> None:
        code, token = await open_room(first.http)
        control = await Person.arrive(first.live, code, "control", token)
        here, = await learners(first, code, 1)
        there, = await learners(second, code, 1)
        wall = await Person.arrive(second.live, code, "wall", token)
        await control.until_state(lambda s: (s["counts"]["joined"], s["counts"]["here"]) == (2, 2))
        for phase in ("vote", "talk", "again", "bars"):
            await control.go(1, phase)
            await asyncio.gather(*(person.until_state(at(1, phase)) for person in (here, there, wall)))
            if phase in ("vote", "again"):
                turn = 1 if phase == "vote" else 2
                await here.answer(1, turn, {"choice": "A"})
                await there.answer(1, turn, {"choice": "B"})
                for person in (control, wall):
                    await person.until_state(lambda s: s["counts"]["answered"] == 2)
        assert wall.state["bars"]["second"] == {"A": 1, "B": 1, "C": 0}
        picture = wall.state["view"]["pictures"][0]["id"]
        for server in (first, second):
            assert json.loads((await get(f"{server.http}/picture/{picture}.json")).body)["title"] == "start 2"
        second.kill()
        await here.leave()
        await control.until_state(lambda s: s["counts"]["here"] == 1)

    run(work)
    assert "failed" not in first.log


def test_what_was_acknowledged_is_there_after_twenty_kills(services: Servers, tmp_path: Path) -> None:
    store, chance = tmp_path / "rooms.sqlite", random.Random(20)
    acknowledged: dict[int, int] = {}
    sent = 0

    async def begin(server: Server, made: list[tuple[str, list[str]]]) -> None:
        code, token = await open_room(server.http)
        control = await Person.arrive(server.live, code, "control", token)
        await control.go(5, "vote")
        made.append((code, [(await join(server.http, code))[0] for _ in range(6)]))

    async def answer_until_killed(server: Server, code: str, tokens: list[str], kill_after: int) -> None:
        nonlocal sent
        people = [await Person.arrive(server.live, code, "learner", token) for token in tokens]
        heard = 0

        async def keep_on(who: int, person: Person) -> None:
            nonlocal sent, heard
            for _ in range(18):
                sent += 1
                mine = sent
                try:
                    reply = await person.answer(5, 1, {"x": mine})
                except Exception:  # the server is gone, in one of the many ways in which a line ends
                    return
                assert reply["type"] == "kept", reply
                acknowledged[who] = mine
                heard += 1
                if heard == kill_after:
                    server.kill()

        await asyncio.gather(*(keep_on(who, person) for who, person in enumerate(people)))
        assert not server.alive

    server = services.begin(store, tmp_path / "log")
    made: list[tuple[str, list[str]]] = []
    run(begin, server, made)
    code, tokens = made[0]
    for _ in range(20):
        run(answer_until_killed, server, code, tokens, chance.randint(3, 60))
        server = services.begin(store, tmp_path / "log")
        opened = open_store(store)
        found = opened.snapshot(code)
        assert found
        kept = {who: json.loads(answer)["x"] for who, (answer, _) in found.answers[1].items()}
        opened.close()
        numbers = sorted(found.learners)
        assert len(numbers) == len(tokens)
        for who, number in acknowledged.items():
            assert kept[numbers[who]] >= number
        assert found.room.phase == "vote"
    assert sum(acknowledged.values()) > 0
    assert sent > 300


def test_a_full_disk_refuses_and_says_so_and_keeps_what_it_acknowledged(services: Servers, tmp_path: Path) -> None:
    store = tmp_path / "rooms.sqlite"
    server = services.begin(store, tmp_path / "log")

    made: list[tuple[str, str]] = []

    async def begin() -> None:
        code, token = await open_room(server.http)
        control = await Person.arrive(server.live, code, "control", token)
        await control.go(6, "show")
        await control.ask(type="set", words=True)
        made.append((code, (await join(server.http, code))[0]))

    run(begin)
    code, mine = made[0]
    server.kill()
    opened = open_store(store)
    with opened.reading() as connection:
        pages = int(connection.exec_driver_sql("pragma page_count").scalar() or 0)
    opened.close()
    full = services.begin(store, tmp_path / "log", pages=pages + 1)

    async def fill() -> None:
        token, kept, refused = mine, 0, None
        while refused is None:
            person = await Person.arrive(full.live, code, "learner", token)
            for number in range(5):
                reply = await person.ask(type="words", step=6, text=f"{number} {'w' * 190}")
                kept += reply["type"] == "kept"
                refused = reply if reply["type"] == "refused" else refused
            joined = await post(f"{full.http}/room/{code}/join", {})
            token = json.loads(joined.body).get("token", "")
            refused = json.loads(joined.body) if joined.code == 503 else refused
            assert kept < 200
        assert refused["again"] is True
        assert refused["text"] == "The server's disk is full. Nothing is lost here: it is tried again."
        assert full.alive
        opened = open_store(store)
        found = opened.snapshot(code)
        opened.close()
        assert found
        assert len(found.words) == kept

    run(fill)
    full.kill()
    again = services.begin(store, tmp_path / "log")

    async def goes_on() -> None:
        token, _ = await join(again.http, code)
        person = await Person.arrive(again.live, code, "learner", token)
        assert (await person.ask(type="words", step=6, text="w" * 190))["type"] == "kept"

    run(goes_on)


def test_a_database_that_goes_away_is_said_and_when_it_is_back_all_goes_on(
    services: Servers, database: Postgres, tmp_path: Path,
) -> None:
    database.clear()
    server = services.begin(database.url, tmp_path / "log")

    async def work() -> None:
        code, token = await open_room(server.http)
        control = await Person.arrive(server.live, code, "control", token)
        person, = await learners(server, code, 1)
        await control.go(1, "vote")
        await person.until_state(at(1, "vote"))
        assert (await person.answer(1, 1, {"choice": "A"}))["type"] == "kept"
        loop = asyncio.get_running_loop()
        await loop.run_in_executor(None, database.stop)
        try:
            refused = await person.answer(1, 1, {"choice": "B"})
            assert (refused["type"], refused["again"]) == ("refused", True)
            assert refused["text"] == "The server cannot reach its store. It is tried again."
            await person.until(lambda m: m["type"] == "trouble" and m["text"] == refused["text"])
            assert (await post(f"{server.http}/room/{code}/join", {})).code == 503
        finally:
            await loop.run_in_executor(None, database.start)
        await person.until(lambda m: m["type"] == "trouble" and m["text"] == "")
        assert (await person.answer(1, 1, {"choice": "C"}))["type"] == "kept"
        await control.go(1, "bars")
        await person.until_state(at(1, "bars"))
        assert person.state["bars"]["first"] == {"A": 0, "B": 0, "C": 1}

    run(work)
    assert "Traceback" not in server.log


def test_sixty_learners_at_once_none_lost_none_doubled(server: Server) -> None:
    async def work() -> None:
        code, token = await open_room(server.http)
        control = await Person.arrive(server.live, code, "control", token)
        people = await learners(server, code, 60)
        await control.go(1, "vote")
        await asyncio.gather(*(person.until_state(at(1, "vote")) for person in people))

        async def twice(number: int, person: Person) -> None:
            for choice in ("A", "ABC"[number % 3]):
                assert (await person.answer(1, 1, {"choice": choice}))["type"] == "kept"

        await asyncio.gather(*(twice(number, person) for number, person in enumerate(people)))
        await control.go(1, "bars")
        await asyncio.gather(*(person.until_state(at(1, "bars")) for person in people))
        for person in people:
            assert person.state["bars"]["first"] == {"A": 20, "B": 20, "C": 20}
            assert person.state["counts"]["answered"] == 60

    run(work)
    assert "failed" not in server.log


def test_headers_policy_and_origins(server: Server) -> None:
    async def work() -> None:
        page = await get(f"{server.http}/room/plum-river-42")
        assert page.code == 200
        assert page.headers["Cache-Control"] == "no-store"
        assert page.headers["X-Content-Type-Options"] == "nosniff"
        assert page.headers["Referrer-Policy"] == "no-referrer"
        policy = page.headers["Content-Security-Policy"]
        assert "frame-ancestors 'none'" in policy
        assert re.search(r"script-src 'self' 'sha256-[^']+';", policy)
        assert (await get(f"{server.http}/room/plum-river-42", {"Host": "rebound.example"})).code == 403
        for origin in ("http://evil.example", "null", f"http://127.0.0.1:{server.port + 1}"):
            assert (await post(f"{server.http}/teach/open", {"lesson": "small"}, {"Origin": origin})).code == 403
            with pytest.raises(HTTPClientError) as caught:
                await Person.connect(server.live, "plum-river-42", {"Origin": origin})
            assert caught.value.code == 403
        assert (await post(f"{server.http}/teach/open", {"lesson": "small"}, {"Sec-Fetch-Site": "cross-site"})).code == 403
        assert (await post(f"{server.http}/teach/open", {"lesson": "small"}, {"Origin": server.http})).code == 200
        moved = await get(f"{server.http}/join?code=Plum%20River%2042")
        assert (moved.code, moved.headers["Location"]) == (302, "/room/plum-river-42")
        assert b"A code is two words and a number" in (await get(f"{server.http}/join?code=plum")).body
        control = await get(f"{server.http}/room/plum-river-42/control")
        assert b"/join?code=" not in control.body  # no phone reaches a server that is for its own machine
        assert b"http://" not in re.sub(rb"http://127\.0\.0\.1:\d+", b"", control.body)
        for path in ("/teach", "/teach/small", "/lesson/small.json", "/join", "/web/look/static/style.css",
                     "/room/plum-river-42/wall"):
            assert (await get(server.http + path)).code == 200, path
        for path in ("/teach/other", "/lesson/other.json", "/picture/0123456789ab.json", "/nothing", "/room/plum", "/web/../x"):
            assert (await get(server.http + path)).code in (403, 404), path

    run(work)


def test_a_bench_is_computed_for_free_settings_only(server: Server) -> None:
    async def work() -> None:
        path = "channel.0.pulse.amplitude_ma"

        async def ask(**body: Any) -> tuple[int, dict[str, Any]]:
            reply = await post(f"{server.http}/bench", body)
            return reply.code, json.loads(reply.body)

        code, live = await ask(slug="small", step=6, settings={path: 33})
        assert (code, live["at_ma"], live["scene"]) == (200, 33, "free to roam")
        assert await ask(slug="small", step=6, settings={path: 61}) == (400, {"text": f"'{path}' must be 0 to 60 (got 61)"})
        assert (await ask(slug="small", step=6, settings={"session.seed": 1}))[0] == 400
        assert (await ask(slug="small", step=6, settings={path: 13})) == (
            400, {"text": f"'{path}' must be another number (got 13)"})
        assert (await ask(slug="small", step=0, settings={}))[0] == 404
        assert (await ask(slug="small", step=True, settings={}))[0] == 404
        assert (await ask(slug="other", step=6, settings={}))[0] == 404
        assert (await ask(slug="small", step=6, settings=[1]))[0] == 400
        assert (await ask(slug="small", step=6, settings={path: "33"}))[0] == 400

    run(work)


def test_opening_to_others_needs_the_key_and_joins_by_an_address_that_others_reach(services: Servers, tmp_path: Path) -> None:
    server = services.begin(tmp_path / "rooms.sqlite", tmp_path / "log", host="0.0.0.0")

    async def work() -> None:
        for key in ({}, {"key": None}, {"key": "The-key"}, {"key": ["the-key"]}):
            assert (await post(f"{server.http}/teach/open", {"lesson": "small", **key})).code == 403
        code, _ = await open_room(server.http, key="the-key")
        assert b"&#x27;key_needed&#x27;: True" in (await get(f"{server.http}/teach")).body
        page = await get(f"{server.http}/room/{code}/control")
        shown = re.search(rf"http://([0-9.]+):{server.port}/join\?code={code}", page.body.decode())
        assert shown
        from graspwave.apps.classroom.network import own_addresses

        assert shown[1] == own_addresses()[0].host
        assert b"127.0.0.1" not in page.body

    run(work)


def test_a_page_without_a_right_token_is_sent_away_alike(server: Server) -> None:
    async def work() -> None:
        code, token = await open_room(server.http)
        mine, _ = await join(server.http, code)
        for room, role, shown in (
            (code, "control", mine), (code, "wall", mine), (code, "learner", token), (code, "learner", "x"),
            ("plum-river-42", "control", token), ("plum-river-42", "learner", mine),
        ):
            person = await Person.connect(server.live, room)
            await person.say(type="hello", id=1, role=role, token=shown)
            with pytest.raises(ConnectionError):
                await person.until(lambda m: m["type"] == "welcome")
            assert [m["text"] for m in person.came] == ["This room is closed, or this page is not part of it."]
            assert person.line.close_code == 4001

    run(work)
