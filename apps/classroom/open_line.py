"""A line between a room and a page, whatever page it is: hello, what it is told, what is taken from it and kept."""

from __future__ import annotations

import asyncio
import itertools
import json
import logging
from collections.abc import Awaitable, Callable, Mapping
from typing import Any, ClassVar

import tornado.websocket

from graspwave import simulator as sim
from graspwave.apps.classroom import room as moves
from graspwave.apps.classroom.base import Base
from graspwave.apps.classroom.gate import MESSAGE_BYTES, known_host, parse_message, same_origin
from graspwave.apps.classroom.hub import GONE
from graspwave.apps.classroom.room import RoomError
from graspwave.apps.classroom.services import Services
from graspwave.apps.classroom.store import Closed
from graspwave.apps.classroom.writer import NOT_KEPT, NotKept
from graspwave.apps.sessions import used

__all__ = ["Act", "OpenLine", "Wrong", "whole_number"]

_LOG = logging.getLogger(__name__)
_BACKLOG = 64
_BACKLOG_BYTES = 1 << 20
_LOUD = 200
_NOT_LET_IN = 4001
_NUMBERS = itertools.count()

Act = Callable[["OpenLine", dict[str, Any]], Awaitable[None]]
"""Does what a message of a page asks for, or refuses it with a plain sentence."""


class Wrong(ValueError):
    """A message that no page of ours sends; the text is plain."""


def whole_number(message: Mapping[str, Any], name: str) -> int:
    """A whole number of a message, by its name."""
    value = message.get(name)
    if type(value) is not int or not 0 <= value < 10**9:
        raise Wrong(f"'{name}' must be a whole number.")
    return value


class OpenLine(Base, tornado.websocket.WebSocketHandler):
    """A line, and what it does whatever page is at its other end; `acts` says by role what else a page may ask for."""

    acts: ClassVar[Mapping[str, Mapping[str, Act]]] = {}

    def initialize(self, services: Services) -> None:
        super().initialize(services)
        self.code, self.role, self.handle = "", "", ""
        self.learner: int | None = None
        self.token = ""
        self._unsent = self._unsent_bytes = 0
        self._excess = 0
        self.own_version = 0
        self._number = str(next(_NUMBERS))
        self._connected = False

    max_message_size = MESSAGE_BYTES
    ping_interval = 10.0
    ping_timeout = 10.0

    def prepare(self) -> None:
        # a page of another server may not speak here, whatever its name for us is
        if not (known_host(self.request, self.services.gate.hosts) and same_origin(self.request.headers, self.request.host)):
            self.refuse(403, "This was asked by another page.")

    def check_origin(self, origin: str) -> bool:
        return same_origin(self.request.headers, self.request.host)

    async def open(self, *args: str, **kwargs: str) -> None:
        self.code, self._connected = args[0], True
        self.set_nodelay(True)

    def on_close(self) -> None:
        self._connected = False
        if self.role:
            self.services.hub.remove(self.code, self)

    # out

    def tell(self, text: str) -> None:
        """Send, unless this page does not keep up: then it is dropped and comes back by itself."""
        if not self._connected:
            return
        if self._unsent >= _BACKLOG or self._unsent_bytes > _BACKLOG_BYTES:
            self._drop()
            return
        try:
            sent = self.write_message(text)
        except tornado.websocket.WebSocketClosedError:
            self._connected = False
            return
        size = len(text)
        self._unsent += 1
        self._unsent_bytes += size

        def over(done: Any) -> None:
            self._unsent -= 1
            self._unsent_bytes -= size
            if not done.cancelled():
                done.exception()  # a line that broke is told by on_close

        sent.add_done_callback(over)

    def _drop(self) -> None:
        self._connected = False
        stream = getattr(self.ws_connection, "stream", None)
        if stream is not None:
            stream.close()

    def end(self, code: int, why: str) -> None:
        """Close for good."""
        if self._connected:
            self.close(code, why)

    def reply(self, kind: str, message: Mapping[str, Any] | None, **more: Any) -> None:
        given = (message or {}).get("id")
        plain = given if (isinstance(given, str) and len(given) <= 100) or type(given) is int else None
        self.tell(json.dumps({"type": kind, "id": plain, **more}))

    def _refuse(self, message: Mapping[str, Any] | None, text: str, again: bool = False) -> None:
        self.reply("refused", message, text=text, again=again)

    # in

    async def on_message(self, raw: str | bytes) -> None:
        used()
        message: dict[str, Any] | None = None
        if not self.services.gate.take("message", self._number):
            self._excess += 1
            if self._excess > _LOUD:
                self._drop()
            elif self._excess % 20 == 1:
                self._refuse(None, "Too many at once. Wait a second.", True)
            return
        try:
            if isinstance(raw, bytes):
                raise Wrong("That cannot be read.")
            try:
                message = parse_message(raw)
            except ValueError:
                raise Wrong("That cannot be read.") from None
            await self._take(message)
        except (Wrong, Closed, RoomError) as why:
            self._refuse(message, str(why))
        except NotKept as why:
            self._refuse(message, str(why), True)
        except Exception:
            _LOG.exception("a message failed")
            self._refuse(message, NOT_KEPT, True)

    async def _take(self, message: dict[str, Any]) -> None:
        kind = message.get("type")
        if kind == "hello":
            return await self._hello(message)
        if not self.role:
            raise Wrong("Say hello first.")
        if kind == "beat":
            return self.tell('{"type":"beat"}')
        acts = self.acts.get(self.role, {})
        act = acts.get(kind) if isinstance(kind, str) else None
        if act is None:
            raise Wrong("This page cannot do that.")
        return await act(self, message)

    async def _hello(self, message: dict[str, Any]) -> None:
        role, token = message.get("role"), message.get("token")
        services = self.services
        if self.role:
            raise Wrong("Hello was said already.")
        if role not in ("learner", "control", "wall") or not isinstance(token, str) or not 0 < len(token) <= 200:
            raise Wrong("Hello needs a role and a token.")
        handle = ""
        learner: int | None = None
        if role == "learner":
            found = await services.reader.ask(services.store.learner, self.code, token)
            learner, handle = found if found else (None, "")
            let_in = found is not None
        else:
            let_in = await services.reader.ask(services.store.educator, self.code, token, role)
        if not let_in or not self._connected:
            # a wrong token and a code that no room has are answered alike
            self._refuse(message, "This room is closed, or this page is not part of it.")
            return self.end(_NOT_LET_IN, "This room is closed.")
        self.learner, self.handle, self.token = learner, handle, token
        self.role = role
        try:
            rest = await services.hub.add(self.code, self)
        except NotKept:
            self.role = ""
            raise
        if rest is None:
            self.role = ""
            return self.end(GONE, "This room is closed.")
        if not self._connected:
            return services.hub.remove(self.code, self)
        head = json.dumps({"type": "welcome", "id": None, "role": role, "handle": handle})
        return self.tell(f"{head[:-1]},{rest}}}")

    def step_of(self, message: Mapping[str, Any]) -> tuple[int, Mapping[str, Any]]:
        step, found = whole_number(message, "step"), self.services.hub.room_of(self.code)
        if found is None:
            raise Closed("This room is closed.")
        steps = found[1]["steps"]
        if step >= len(steps):
            raise Wrong("There is no such step.")
        return step, steps[step]

    async def kept(self, message: Mapping[str, Any], work: Callable[[Any], Any], **more: Any) -> Any:
        result = await self.services.writer.submit(work, room=self.code)
        self.reply("kept", message, **more)
        self.services.hub.changed(self.code)
        return result

    async def show(self, message: dict[str, Any], move: Callable[[moves.Room], moves.Room]) -> None:
        """As `move`, for a scene: all that is new is known here, so everybody has it at once."""
        room = await self.services.writer.submit(lambda c: self.services.store.change(c, self.code, move), room=self.code)
        self.own_version = room.version
        self.services.hub.mirrored(self.code, room)
        self.reply("kept", message)

    async def move(self, message: dict[str, Any], move: Callable[[moves.Room], moves.Room]) -> None:
        self.own_version = (await self.kept(message, lambda c: self.services.store.change(c, self.code, move))).version

    async def bench(self, bench: Mapping[str, Any], settings: Mapping[str, float | None]) -> Mapping[str, Any] | None:
        """A bench's picture for other settings; None where too many wait."""
        try:
            made = await self.services.bench.ask(asyncio.get_running_loop(), bench, settings)
        except sim.SceneError as why:
            raise Wrong(str(why)) from None
        return None if made is None else json.loads(made)
