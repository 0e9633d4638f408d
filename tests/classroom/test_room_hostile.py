"""Five thousand inputs that no page of ours sends: nothing fails, nothing is gained, nothing of it comes out unescaped."""

from __future__ import annotations

import asyncio
import json
import random
import string
import time
from pathlib import Path
from typing import Any
from urllib.parse import quote

from room_clients import Person, get, join, open_room, post, run, try_code
from room_server import Servers
from tornado.websocket import WebSocketClosedError

MARK = "<script>alert(7)</script><img src=x onerror=alert(7)>"
KINDS = ("hello", "answer", "done", "beat", "words", "go", "set", "mirror", "show_words", "end", "kept", "welcome", "",
         "__proto__")
NAMES = ("type", "id", "role", "token", "step", "round", "answer", "sure", "phase", "paused", "roam", "words", "settings",
         "shown", "text", "choice", "choices", "value", "x", "y", "order", "version")
RIGHTS = [
    {"type": "go", "step": 3, "phase": "reveal"}, {"type": "set", "paused": True}, {"type": "end"},
    {"type": "mirror", "settings": {"channel.0.pulse.amplitude_ma": 30}}, {"type": "show_words", "id": 1, "shown": True},
    {"type": "set", "words": True, "role": "control"}, {"type": "empty", "newest_s": None}, {"type": "set", "door_shut": True},
]


def value(chance: random.Random, depth: int = 0) -> Any:
    """Something that does not belong where it will stand."""
    kind = chance.randrange(12 if depth < 4 else 9)
    if kind == 0:
        return MARK
    if kind == 1:
        return chance.choice([None, True, False, 0, -1, 2**31, 2**63, 10**300, -(10**40), 1.5, -0.0, 1e308])
    if kind == 2:
        return "".join(chance.choice(string.printable + "\u202e\u0000äß漢\U0001f600") for _ in range(chance.randrange(60)))
    if kind == 3:
        return chance.choice(["'; drop table rooms; --", "../../etc/passwd", "%00", "{{7*7}}", "${7*7}", "=1+1", "\ud800", "A"])
    if kind == 4:
        return "x" * chance.choice([1, 100, 3000, 20000])
    if kind in (5, 6):
        return chance.randrange(-3, 12)
    if kind == 7:
        return chance.choice(KINDS)
    if kind == 8:
        return [[]] * chance.randrange(4)
    if kind == 9:
        return [value(chance, depth + 1) for _ in range(chance.randrange(4))]
    return {str(chance.choice([*NAMES, MARK])): value(chance, depth + 1) for _ in range(chance.randrange(5))}


def message(chance: random.Random) -> str | bytes:
    """One hostile message: broken, binary, deep, or well-formed with the wrong things in it."""
    kind = chance.randrange(10)
    if kind == 0:
        return chance.randbytes(chance.randrange(200))
    if kind == 1:
        broken = ["", "null", "[", "{}", "[]", '{"type":', "[" * 4000, '{"a":' * 3000, f'"{MARK}"', "NaN", '{"type":NaN}']
        return chance.choice(broken)
    if kind == 2:
        return json.dumps(chance.choice(RIGHTS))
    if kind == 3:
        return json.dumps({"type": "hello", "role": "control", "token": chance.choice([MARK, "x" * 43, "", None, 3, ["a"]])})
    fields = {name: value(chance) for name in chance.sample(NAMES, chance.randrange(8))}
    fields["type"] = chance.choice(KINDS) if chance.random() < 0.9 else value(chance)
    if fields["type"] == "answer" and chance.random() < 0.7:
        fields |= {"step": 1, "round": 1}
    if fields["type"] == "words" and chance.random() < 0.7:
        fields |= {"step": 1, "text": MARK}
    return json.dumps(fields)[: 15 * 1024]


def test_five_thousand_hostile_inputs(services: Servers, tmp_path: Path) -> None:
    server = services.begin(tmp_path / "rooms.sqlite", tmp_path / "log")
    chance = random.Random(5000)
    sent = 0

    async def flood(code: str, tokens: list[str]) -> None:
        """A line that sends fifty, as one who was let in, or not."""
        nonlocal sent
        person = await Person.connect(server.live, code)
        if chance.random() < 0.8:
            await person.say(type="hello", role="learner", token=chance.choice(tokens))
            await person.until(lambda m: m["type"] == "welcome")
        try:
            for _ in range(50):
                text = message(chance)
                sent += 1
                await person.line.write_message(text, binary=isinstance(text, bytes))
            await person.say(type="no such thing", id="last")
            await person.until(lambda m: m.get("id") == "last", 30.0)
        except (ConnectionError, WebSocketClosedError):  # the server may send such a page away
            assert person.line.close_code in (4001, None)
        assert not any(m["type"] == "welcome" and m["role"] != "learner" for m in person.came)
        texts = [m for m in person.came if m["type"] == "refused"]
        assert all(set(m) == {"type", "id", "text", "again"} for m in texts)
        assert not any("alert(7)" in m["text"] for m in texts)
        person.line.close()

    async def ask(code: str, token: str) -> None:
        """A request that no page of ours makes."""
        nonlocal sent
        sent += 1
        words = chance.choice(["plum", "river", code.split("-")[0]]), chance.choice(["moon", "oak"])
        guess = f"{'-'.join(words)}-{chance.randrange(10, 100)}"
        path = chance.choice([
            "/teach/open", "/bench", f"/room/{code}/report", f"/room/{guess}/join", f"/room/{guess}/report",
            f"/room/{code}/control", f"/room/{code}/live", "/join", "/teach", "/lesson/small.json", "/picture/0123456789.json",
            "/teach/%3Cscript%3E",
        ])
        body: Any = value(chance)
        if path == "/bench" and chance.random() < 0.5:
            body = {"slug": "small", "step": chance.choice([6, 1, True, -1, "6"]), "settings": value(chance)}
        if path.endswith("report") and chance.random() < 0.5:
            body = {"token": chance.choice([token, MARK, "", None]), "as": chance.choice(["html", "csv", MARK])}
        if path.endswith("open"):
            body = {"lesson": value(chance), "key": value(chance)}
        raw: Any = chance.randbytes(200) if chance.random() < 0.1 else json.dumps(body)
        if len(raw) > 16384:
            # more than is read: the server ends the line, at once or while it is still being written
            reply = await asyncio.wait_for(refused_long(path, raw), 20)
            assert reply
            return
        reply = await post(server.http + path, raw)
        assert reply.code < 500, (path, body, reply.code)
        assert reply.code != 200 or path == "/bench", (path, body)
        assert b"alert(7)" not in (reply.body or b"")

    async def refused_long(path: str, raw: str) -> bool:
        reply = await post(server.http + path, raw)
        return reply.code in (400, 403, 404, 405, 413, 429, 599)

    async def look(code: str) -> None:
        nonlocal sent
        sent += 1
        given = chance.choice([MARK, "plum", "\u202e" * 9, "a" * 3000, "'\"><b>", "plum river 4 2"])
        reply = await get(f"{server.http}/{chance.choice(['join?code=', 'teach/', 'room/', 'web/'])}{quote(given)}")
        assert reply.code < 500
        assert b"<script>alert" not in (reply.body or b"")
        assert b"<b>" not in (reply.body or b"")

    async def work() -> None:
        code, token = await open_room(server.http)
        control = await Person.arrive(server.live, code, "control", token)
        await control.go(1, "vote")
        await control.ask(type="set", words=True)
        tokens = [(await join(server.http, code))[0] for _ in range(20)]
        for at in range(0, 80, 8):
            await asyncio.gather(*(flood(code, tokens) for _ in range(at, at + 8)))
        forged = tokens[0]
        for _ in range(0, 1200, 8):
            await asyncio.gather(*(ask(code, forged) if chance.random() < 0.8 else look(code) for _ in range(8)))
        assert server.alive

        # nothing was moved, shown or opened by any of it
        late = await Person.arrive(server.live, code, "control", token)
        assert (late.state["step"], late.state["phase"], late.state["version"]) == (1, "vote", 3)
        assert [late.state[name] for name in ("paused", "roam", "mirror", "ended")] == [False, False, None, False]
        assert not any(word["shown"] for word in late.state["counts"]["words"])
        assert any(word["text"] == MARK for word in late.state["counts"]["words"])  # text is text: the page sets it as text
        # and the room goes on
        person = await Person.arrive(server.live, code, "learner", tokens[1])
        assert (await person.answer(1, 1, {"choice": "B"}))["type"] == "kept"
        for number in [word["id"] for word in late.state["counts"]["words"]]:
            await late.say(type="show_words", id=number, shown=True)
            await late.until(lambda m, number=number: m.get("id") == number)
        html = await post(f"{server.http}/room/{code}/report", {"token": token, "as": "html"})
        assert b"&lt;script&gt;alert(7)" in html.body
        assert b"<script" not in html.body
        assert b"<img" not in html.body

    run(work)
    assert sent >= 5000
    assert "Traceback" not in server.log
    assert "failed" not in server.log


def test_guessing_codes_becomes_dear_and_the_right_code_still_opens(services: Servers, tmp_path: Path) -> None:
    server = services.begin(tmp_path / "rooms.sqlite", tmp_path / "log")

    async def work() -> None:
        code, _ = await open_room(server.http)
        codes = [f"plum-river-{number}" for number in range(10, 60)]
        replies = [(await post(f"{server.http}/room/{guess}/join", {})).code for guess in codes]
        assert replies == [404] * 10 + [428] * 40, "from then on a guess is not even looked up before it is paid for"
        # nor is a right code told from a wrong one until somebody has paid, and then it is never refused
        assert (await post(f"{server.http}/room/{code}/join", {})).code == 428
        assert (await try_code(server.http, code)).code == 200
        assert (await try_code(server.http, codes[0])).code == 404

    run(work)


def test_a_class_joins_in_ten_seconds_from_one_address_while_somebody_guesses(services: Servers, tmp_path: Path) -> None:
    server = services.begin(tmp_path / "rooms.sqlite", tmp_path / "log")
    went_on = True
    guesses: list[int] = []

    async def work() -> None:
        nonlocal went_on
        code, _ = await open_room(server.http)

        async def guess(number: int) -> None:
            while went_on:
                guesses.append((await post(f"{server.http}/room/plum-river-{10 + number}/join", {"proof": {}})).code)
                await asyncio.sleep(0.02)

        async def pupil(number: int) -> int:
            await asyncio.sleep(8.0 * number / 200)
            return (await try_code(server.http, code)).code

        attack = [asyncio.create_task(guess(number)) for number in range(4)]
        start = time.perf_counter()
        let_in = await asyncio.gather(*(pupil(number) for number in range(200)))
        took_s = time.perf_counter() - start
        went_on = False
        await asyncio.gather(*attack)
        assert let_in == [200] * 200
        assert took_s < 30.0, "ten seconds on a quiet machine"

    run(work)
    assert guesses.count(404) <= 16, "ten at once, and one in six seconds"
    assert set(guesses) <= {404, 428}


def test_wrong_keys_do_not_lock_out_the_right_one(services: Servers, tmp_path: Path) -> None:
    server = services.begin(tmp_path / "rooms.sqlite", tmp_path / "log", host="0.0.0.0")
    wrong: list[int] = []

    async def work() -> None:
        for number in range(60):
            wrong.append((await post(f"{server.http}/teach/open", {"lesson": "small", "key": f"wrong{number}"})).code)
        await open_room(server.http, key="the-key")

    run(work)
    assert set(wrong) == {403}
