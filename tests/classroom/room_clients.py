"""People of a room as websocket clients, for tests and benchmarks."""

from __future__ import annotations

import asyncio
import itertools
import json
from collections.abc import Callable, Coroutine
from typing import Any

from own_loop import in_own_loop
from tornado.httpclient import AsyncHTTPClient, HTTPRequest, HTTPResponse
from tornado.websocket import WebSocketClientConnection, websocket_connect

from graspwave.apps.classroom.proof import solve

__all__ = ["Person", "get", "join", "leave_all", "open_room", "post", "run", "try_code"]

_arrived: list[Person] = []


def run(work: Callable[..., Coroutine[Any, Any, None]], *given: Any) -> None:
    """Run a test's own work in a loop of its own, then close every line that it opened."""
    async def whole() -> None:
        try:
            await work(*given)
        finally:
            await leave_all()

    in_own_loop(whole)


async def leave_all() -> None:
    """Close every line that was opened; in the loop that opened them."""
    for person in _arrived:
        person.line.close()
    await asyncio.gather(*(person.reading for person in _arrived), return_exceptions=True)
    _arrived.clear()


async def post(address: str, body: Any, headers: dict[str, str] | None = None, **more: Any) -> HTTPResponse:
    """The answer to a post, whatever its status."""
    raw = body if isinstance(body, (bytes, str)) else json.dumps(body)
    request = HTTPRequest(address, method="POST", body=raw, headers=headers, request_timeout=20.0, **more)
    return await AsyncHTTPClient().fetch(request, raise_error=False)


async def get(address: str, headers: dict[str, str] | None = None) -> HTTPResponse:
    """The answer to a request for a page, whatever its status; not followed to another."""
    request = HTTPRequest(address, headers=headers, follow_redirects=False, request_timeout=20.0)
    return await AsyncHTTPClient().fetch(request, raise_error=False)


async def open_room(http: str, **more: Any) -> tuple[str, str]:
    """Code and educator's token of a new room."""
    reply = await post(f"{http}/teach/open", {"lesson": "small", **more})
    assert reply.code == 200, reply.body
    made = json.loads(reply.body)
    return made["code"], made["token"]


async def try_code(http: str, code: str) -> HTTPResponse:
    """The answer to a code, after any reckoning that is asked first."""
    reply = await post(f"{http}/room/{code}/join", {})
    for _ in range(12):
        if reply.code != 428:
            break
        text = json.loads(reply.body)["proof"]
        number = await asyncio.get_running_loop().run_in_executor(None, solve, text)
        reply = await post(f"{http}/room/{code}/join", {"proof": {"text": text, "number": number}})
    return reply


async def join(http: str, code: str) -> tuple[str, str]:
    """Token and handle of a new learner."""
    reply = await try_code(http, code)
    assert reply.code == 200, (reply.code, reply.body)
    made = json.loads(reply.body)
    return made["token"], made["handle"]


class Person:
    """One page's line to a room: keeps what came, and waits for what is to come."""

    def __init__(self, line: WebSocketClientConnection) -> None:
        self.line = line
        self.came: list[dict[str, Any]] = []
        self.state: dict[str, Any] = {}
        self.closed = False
        self.news = asyncio.Event()
        self._numbers = itertools.count()
        self.reading = asyncio.get_running_loop().create_task(self._read())
        _arrived.append(self)

    @classmethod
    async def arrive(cls, live: str, code: str, role: str, token: str) -> Person:
        """A page that said hello and was welcomed."""
        person = await cls.connect(live, code)
        await person.say(type="hello", id="hello", role=role, token=token)
        await person.until(lambda m: m["type"] == "welcome")
        return person

    @classmethod
    async def connect(cls, live: str, code: str, headers: dict[str, str] | None = None) -> Person:
        """A page that has said nothing yet."""
        return cls(await websocket_connect(HTTPRequest(f"{live}/room/{code}/live", headers=headers)))

    async def _read(self) -> None:
        while True:
            text = await self.line.read_message()
            if text is None:
                self.closed = True
                self.news.set()
                return
            message = json.loads(text)
            if message["type"] == "welcome":
                self.state = message["state"]
            elif message["type"] == "state":
                self.state = message
            elif message["type"] == "mirror":
                self.state = {**self.state, **message, "type": "state"}
            elif message["type"] == "counts":
                self.state = {**self.state, "counts": {k: v for k, v in message.items() if k not in ("type", "version")}}
            self.came.append(message)
            self.news.set()

    async def say(self, **message: Any) -> None:
        await self.line.write_message(json.dumps(message))

    async def until(self, holds: Callable[[dict[str, Any]], bool], within_s: float = 10.0) -> dict[str, Any]:
        """The first message, come or to come, for which something holds."""
        async with asyncio.timeout(within_s):
            seen = 0
            while True:
                while seen < len(self.came):
                    seen += 1
                    if holds(self.came[seen - 1]):
                        return self.came[seen - 1]
                if self.closed:
                    raise ConnectionError(f"closed; last came {self.came[-1:]}")
                self.news.clear()
                await self.news.wait()

    async def until_state(self, holds: Callable[[dict[str, Any]], bool], within_s: float = 10.0) -> dict[str, Any]:
        """The room's state once something holds of it."""
        async with asyncio.timeout(within_s):
            while not holds(self.state):
                if self.closed:
                    raise ConnectionError("closed")
                self.news.clear()
                await self.news.wait()
        return self.state

    async def ask_for(self, kind: str, within_s: float = 10.0, **message: Any) -> dict[str, Any]:
        """Send, and the newest message of a kind that comes after."""
        before = len(self.came)
        await self.say(**message)
        return await self.until(lambda m: m["type"] == kind and any(m is one for one in self.came[before:]), within_s)

    async def ask(self, within_s: float = 10.0, **message: Any) -> dict[str, Any]:
        """Send, and the reply to it: kept or refused."""
        number = f"m{next(self._numbers)}"
        await self.say(id=number, **message)
        return await self.until(lambda m: m.get("id") == number and m["type"] in ("kept", "refused"), within_s)

    async def answer(
        self, step: int, turn: int, answer: Any, sure: int | None = 1, within_s: float = 10.0,
    ) -> dict[str, Any]:
        return await self.ask(within_s, type="answer", step=step, round=turn, answer=answer, sure=sure)

    async def go(self, step: int, phase: str) -> dict[str, Any]:
        reply = await self.ask(type="go", step=step, phase=phase)
        assert reply["type"] == "kept", reply
        return reply

    async def leave(self) -> None:
        self.line.close()
        await self.reading
