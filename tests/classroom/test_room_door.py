"""One phone that floods the door: it pays for each place, the educator shuts the door and sends it out, and the class is in."""

from __future__ import annotations

import asyncio
import json
import time
from pathlib import Path

import pytest
from room_clients import Person, join, open_room, post, run, try_code
from room_lesson import lesson
from room_server import Servers
from tornado.httpclient import AsyncHTTPClient

from graspwave.apps.classroom import room as moves
from graspwave.apps.classroom.gate import LIMITS
from graspwave.apps.classroom.store import FULL_ROOM, Closed, Shut, Store, open_store


def test_who_does_not_reckon_gets_forty_places_and_the_educator_takes_them_back(services: Servers, tmp_path: Path) -> None:
    server = services.begin(tmp_path / "rooms.sqlite", tmp_path / "log")

    async def work() -> None:
        code, token = await open_room(server.http)
        control = await Person.arrive(server.live, code, "control", token)
        own, _ = await join(server.http, code)
        here = await Person.arrive(server.live, code, "learner", own)
        begun = time.monotonic()
        flood = [reply for _ in range(13) for reply in await asyncio.gather(
            *(post(f"{server.http}/room/{code}/join", {}) for _ in range(19)))]
        let_in = [json.loads(reply.body)["token"] for reply in flood if reply.code == 200]
        # what was joined is forgotten little by little: a slow machine lets in that many more
        forgotten = LIMITS["join"][0] * (time.monotonic() - begun)
        assert len(let_in) <= 40 + forgotten + 1, "from some forty joins a minute on a place is reckoned for"
        assert {reply.code for reply in flood} == {200, 428}
        lines = [await Person.arrive(server.live, code, "learner", one) for one in let_in[:10]]

        # the door: nobody new, but who is in stays and may come back
        assert (await control.ask(type="set", door_shut=True))["type"] == "kept"
        reply = await try_code(server.http, code)
        assert (reply.code, json.loads(reply.body)["again"]) == (409, True)
        assert "door of this room is shut" in json.loads(reply.body)["text"]
        await Person.arrive(server.live, code, "learner", own)
        assert not here.closed

        # out with all of them; each line hears it, no token of theirs is known any more
        reply = await control.ask(type="empty", newest_s=None)
        assert (reply["type"], reply["out"]) == ("kept", len(let_in) + 1)
        for person in [*lines, here]:
            for _ in range(100):
                if person.closed:
                    break
                await asyncio.sleep(0.05)
            assert person.closed
            assert person.line.close_code == 4002
        await control.until_state(lambda s: s["counts"]["joined"] == 0)
        late = await Person.connect(server.live, code)
        await late.say(type="hello", role="learner", token=let_in[0])
        assert (await late.until(lambda m: m["type"] == "refused"))["text"].startswith("This room is closed")

        # the class comes in by an open door
        await control.ask(type="set", door_shut=False)
        await Person.arrive(server.live, code, "learner", (await join(server.http, code))[0])
        await control.until_state(lambda s: s["counts"]["here"] == 1)
        refused = await lines[0].connect(server.live, code)
        await refused.say(type="empty", newest_s=None)
        assert (await refused.until(lambda m: m["type"] == "refused"))["text"] == "Say hello first."

    run(work)


def test_a_learner_empties_no_room(services: Servers, tmp_path: Path) -> None:
    server = services.begin(tmp_path / "rooms.sqlite", tmp_path / "log")

    async def work() -> None:
        code, token = await open_room(server.http)
        learner = await Person.arrive(server.live, code, "learner", (await join(server.http, code))[0])
        for message in ({"type": "empty", "newest_s": None}, {"type": "set", "door_shut": True}):
            assert (await learner.ask(**message))["text"] == "This page cannot do that."
        control = await Person.arrive(server.live, code, "control", token)
        for odd in (0, -5, 3.5, "300", True, 10**9):
            assert (await control.ask(type="empty", newest_s=odd))["type"] == "refused"
        assert control.state["counts"]["joined"] == 1

    run(work)


@pytest.fixture
def room(tmp_path: Path) -> tuple[Store, str]:
    store = open_store(tmp_path / "rooms.sqlite")
    with store.writing() as connection:
        code, _ = store.open_room(connection, lesson(), 3600.0)
    return store, code


def test_a_room_that_was_filled_takes_a_class_of_two_hundred_once_the_newest_are_out(room: tuple[Store, str]) -> None:
    store, code = room
    with store.writing() as connection:
        earlier = [store.join(connection, code)[0] for _ in range(100)]
    with store.writing() as connection:
        connection.exec_driver_sql("update learners set joined = joined - 900")
        store.beat(connection, "a process", [(code, found[0]) for token in earlier if (found := store.learner(code, token))])
        for _ in range(FULL_ROOM - 100):
            store.join(connection, code)
    with store.writing() as connection, pytest.raises(Closed, match="full"):
        store.join(connection, code)
    with store.writing() as connection:
        assert store.empty(connection, code, 300.0) == FULL_ROOM - 100
        for _ in range(200):
            store.join(connection, code)
    assert all(store.learner(code, token) for token in earlier), "the class that was there before stays"
    store.close()


def test_a_shut_door_says_so_and_may_be_tried_again(room: tuple[Store, str]) -> None:
    store, code = room
    with store.writing() as connection:
        store.change(connection, code, lambda room: moves.switched(room, door_shut=True))
    with store.writing() as connection, pytest.raises(Shut):
        store.join(connection, code)
    with store.writing() as connection:
        store.change(connection, code, lambda room: moves.switched(room, door_shut=False))
        store.join(connection, code)
    store.close()


def test_codes_to_lead_with_that_are_guessed_at_once_are_counted_at_once(services: Servers, tmp_path: Path) -> None:
    server = services.begin(tmp_path / "rooms.sqlite", tmp_path / "log")

    async def work() -> None:
        begun = time.monotonic()
        guesses = [f"{one}-moon-sun-{number}" for one in ("plum", "river") for number in range(10, 30)]
        client = AsyncHTTPClient(force_instance=True, max_clients=len(guesses))
        replies = await asyncio.gather(*(client.fetch(
            f"{server.http}/room/lead", method="POST", body=json.dumps({"words": words}), raise_error=False,
            headers={"Content-Type": "application/json", "Origin": server.http}) for words in guesses))
        client.close()
        codes = [reply.code for reply in replies]
        assert set(codes) == {404, 429}
        assert codes.count(404) <= 10 + LIMITS["wrong"][0] * (time.monotonic() - begun) + 1

    run(work)
