"""The line between a room and one page: hello, what it sends, what it is told."""

from __future__ import annotations

import asyncio
import itertools
import json
import logging
from collections.abc import Awaitable, Callable, Mapping
from typing import Any

import tornado.websocket

from graspwave import simulator as sim
from graspwave.apps.classroom import goals
from graspwave.apps.classroom import room as moves
from graspwave.apps.classroom.answers import SURE, clean_answer
from graspwave.apps.classroom.base import Base, numbers_by_path
from graspwave.apps.classroom.gate import MESSAGE_BYTES, known_host, parse_message, same_origin
from graspwave.apps.classroom.hub import GONE
from graspwave.apps.classroom.room import RoomError
from graspwave.apps.classroom.services import Services, qr_svg
from graspwave.apps.classroom.store import Closed
from graspwave.apps.classroom.writer import NOT_KEPT, NotKept
from graspwave.apps.sessions import used

__all__ = ["LiveLine"]

_LOG = logging.getLogger(__name__)
_BACKLOG = 64
_BACKLOG_BYTES = 1 << 20
_TEXT_LONG = 200
_LOUD = 200
_NOT_LET_IN = 4001
_FLAGS = ("paused", "roam", "words", "call", "brief", "door_shut")
_NUMBERS = itertools.count()


def _whole(message: Mapping[str, Any], name: str) -> int:
    value = message.get(name)
    if type(value) is not int or not 0 <= value < 10**9:
        raise _Wrong(f"'{name}' must be a whole number.")
    return value


def _one_line(text: str) -> str:
    return " ".join("".join(c if c.isprintable() else " " for c in text).split())


class _Wrong(ValueError):
    """A message that no page of ours sends; the text is plain."""


class LiveLine(Base, tornado.websocket.WebSocketHandler):
    """The line between a room and one page."""

    def initialize(self, services: Services) -> None:
        super().initialize(services)
        self.code, self.role, self.handle = "", "", ""
        self.learner: int | None = None
        self._token = ""
        self._unsent = self._unsent_bytes = 0
        self._excess = 0
        self._own_version = 0
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

    def _reply(self, kind: str, message: Mapping[str, Any] | None, **more: Any) -> None:
        given = (message or {}).get("id")
        plain = given if (isinstance(given, str) and len(given) <= 100) or type(given) is int else None
        self.tell(json.dumps({"type": kind, "id": plain, **more}))

    def _refuse(self, message: Mapping[str, Any] | None, text: str, again: bool = False) -> None:
        self._reply("refused", message, text=text, again=again)

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
                raise _Wrong("That cannot be read.")
            try:
                message = parse_message(raw)
            except ValueError:
                raise _Wrong("That cannot be read.") from None
            await self._take(message)
        except (_Wrong, Closed, RoomError) as why:
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
            raise _Wrong("Say hello first.")
        if kind == "beat":
            return self.tell('{"type":"beat"}')
        acts = _ACTS.get(self.role, {})
        act = acts.get(kind) if isinstance(kind, str) else None
        if act is None:
            raise _Wrong("This page cannot do that.")
        return await act(self, message)

    async def _hello(self, message: dict[str, Any]) -> None:
        role, token = message.get("role"), message.get("token")
        services = self.services
        if self.role:
            raise _Wrong("Hello was said already.")
        if role not in ("learner", "control", "wall") or not isinstance(token, str) or not 0 < len(token) <= 200:
            raise _Wrong("Hello needs a role and a token.")
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
        self.learner, self.handle, self._token = learner, handle, token
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

    def _step_of(self, message: Mapping[str, Any]) -> tuple[int, Mapping[str, Any]]:
        step, found = _whole(message, "step"), self.services.hub.room_of(self.code)
        if found is None:
            raise Closed("This room is closed.")
        steps = found[1]["steps"]
        if step >= len(steps):
            raise _Wrong("There is no such step.")
        return step, steps[step]

    async def _kept(self, message: Mapping[str, Any], work: Callable[[Any], Any], **more: Any) -> Any:
        result = await self.services.writer.submit(work, room=self.code)
        self._reply("kept", message, **more)
        self.services.hub.changed(self.code)
        return result

    async def _answer(self, message: dict[str, Any]) -> None:
        services, learner = self.services, self.learner
        if not services.gate.take("answer", self._token):
            raise NotKept("Too many at once. It is tried again.")
        step, compiled = self._step_of(message)
        turn, sure = message.get("round"), message.get("sure")
        if turn not in (1, 2) or type(turn) is not int:
            raise _Wrong("'round' must be 1 or 2.")
        if sure is not None and (type(sure) is not int or sure not in SURE):
            raise _Wrong("'sure' must be 0, 1, 2 or nothing.")
        if not compiled.get("question"):
            raise Closed("Nothing is asked in this step.")
        try:
            answer = clean_answer(compiled["question"], message.get("answer"))
        except ValueError as why:
            raise _Wrong(str(why)) from None
        assert learner is not None
        await self._kept(
            message, lambda c: services.store.answer(c, self.code, learner, step, turn, answer, sure), step=step, round=turn)

    async def _done(self, message: dict[str, Any]) -> None:
        learner, (step, _) = self.learner, self._step_of(message)
        assert learner is not None
        await self._kept(message, lambda c: self.services.store.done(c, self.code, learner, step))

    async def _words(self, message: dict[str, Any]) -> None:
        learner, (step, _), text = self.learner, self._step_of(message), message.get("text")
        if not isinstance(text, str) or not (plain := _one_line(text)):
            raise _Wrong("Write a few words.")
        if len(plain) > _TEXT_LONG:
            raise _Wrong(f"Write at most {_TEXT_LONG} letters.")
        assert learner is not None
        await self._kept(message, lambda c: self.services.store.say(c, self.code, learner, step, plain))

    async def _unclear(self, message: dict[str, Any]) -> None:
        learner, (step, _), text = self.learner, self._step_of(message), message.get("text", "")
        if not isinstance(text, str):
            raise _Wrong("Write a few words, or none.")
        plain = _one_line(text)
        if len(plain) > _TEXT_LONG:
            raise _Wrong(f"Write at most {_TEXT_LONG} letters.")
        assert learner is not None
        await self._kept(message, lambda c: self.services.store.unclear(c, self.code, learner, step, plain))

    async def _show(self, message: dict[str, Any], move: Callable[[moves.Room], moves.Room]) -> None:
        """As `_move`, for a scene: all that is new is known here, so everybody has it at once."""
        room = await self.services.writer.submit(lambda c: self.services.store.change(c, self.code, move), room=self.code)
        self._own_version = room.version
        self.services.hub.mirrored(self.code, room)
        self._reply("kept", message)

    async def _move(self, message: dict[str, Any], move: Callable[[moves.Room], moves.Room]) -> None:
        self._own_version = (await self._kept(message, lambda c: self.services.store.change(c, self.code, move))).version

    async def _go(self, message: dict[str, Any]) -> None:
        found = self.services.hub.room_of(self.code)
        step, phase, seen = _whole(message, "step"), message.get("phase"), message.get("version")
        if found is None:
            raise Closed("This room is closed.")
        if phase is not None and not isinstance(phase, str):
            raise _Wrong("'phase' must be a word.")
        snapshot, lesson = found
        version = seen if type(seen) is int else snapshot.room.version

        def move(room: moves.Room) -> moves.Room:
            after = moves.go(room, lesson, step, phase)
            # what this page itself did last is no surprise to it, even if it moves on before it sees it
            if after != room and room.version not in (version, self._own_version):
                raise RoomError("Another page moved the room just now. Look where it stands, then move it.")
            return after

        await self._move(message, move)

    async def _set(self, message: dict[str, Any]) -> None:
        flags = {name: message[name] for name in _FLAGS if name in message}
        if not flags or not all(isinstance(value, bool) for value in flags.values()):
            raise _Wrong(f"'set' needs {', '.join(_FLAGS[:-1])} or {_FLAGS[-1]} as true or false.")
        await self._move(message, lambda room: moves.switched(room, **flags))

    async def _mirror(self, message: dict[str, Any]) -> None:
        found, raw = self.services.hub.room_of(self.code), message.get("settings")
        if found is None:
            raise Closed("This room is closed.")
        settings = None if raw is None else numbers_by_path(raw)
        if raw is not None and settings is None:
            raise _Wrong("Settings are numbers by name.")
        at, steps = found[0].room.step, found[1]["steps"]
        picture = None
        if settings is not None:
            # worked out once, here, and pushed: nobody who looks has to ask for it
            loop = asyncio.get_running_loop()
            try:
                bench = await self.services.bench.mine(loop, self.services.lessons.mine, steps[at])
                picture = await self.services.bench.picture(loop, bench, settings)
            except sim.SceneError as why:
                raise RoomError(str(why)) from None

        def move(room: moves.Room) -> moves.Room:
            if settings is not None and room.step != at:
                raise RoomError("The room is at another step now.")
            return moves.mirrored(room, settings, picture)

        await self._show(message, move)

    async def _solved(self, message: dict[str, Any]) -> None:
        learner, (at, step) = self.learner, self._step_of(message)
        bench, settings = step.get("bench") or {}, numbers_by_path(message.get("settings"))
        if not bench.get("goals") or settings is None:
            raise _Wrong("This step has no goal.")
        live = await self._bench(bench, settings)
        if live is None:
            raise NotKept("Too many at once. It is tried again.")
        # a page may say what it likes: whether the goal is met is worked out here
        given = settings.get(goals.AMPLITUDE)
        ma = float(live["at_ma"] if given is None else given)
        sample = min(range(len(live["amplitude_ma"])), key=lambda i: abs(live["amplitude_ma"][i] - ma))
        if not goals.meets(bench["goals"], live, sample):
            raise Closed("These settings do not meet the goal.")
        mm, count = live["opening_mm"][sample], goals.changed(bench, settings)
        assert learner is not None
        await self._kept(message, lambda c: self.services.store.solved(c, self.code, learner, at, ma, mm, count))

    async def _bench(self, bench: Mapping[str, Any], settings: Mapping[str, float | None]) -> Mapping[str, Any] | None:
        try:
            made = await self.services.bench.ask(asyncio.get_running_loop(), bench, settings)
        except sim.SceneError as why:
            raise _Wrong(str(why)) from None
        return None if made is None else json.loads(made)

    async def _best(self, message: dict[str, Any]) -> None:
        found, shown = self.services.hub.room_of(self.code), message.get("shown")
        if found is None or not isinstance(shown, bool):
            raise _Wrong("'shown' must be true or false.")
        best: Mapping[str, Any] | None = None
        if shown:
            bench = found[1]["steps"][found[0].room.step].get("bench") or {}
            if not bench.get("goals"):
                raise _Wrong("This step has no goal.")
            best = await goals.best(bench, lambda settings: self._bench(bench, settings)) or {"words": "None was found."}
        await self._move(message, lambda room: moves.with_best(room, best))

    async def _begin(self, message: dict[str, Any]) -> None:
        await self._move(message, moves.begun)

    async def _address(self, message: dict[str, Any]) -> None:
        host = message.get("host")
        if not isinstance(host, str) or host not in {way["host"] for way in self.own_ways()}:
            raise _Wrong("This machine has no such address.")
        await self._move(message, lambda room: moves.addressed(room, host))

    async def _invite(self, message: dict[str, Any]) -> None:
        role = message.get("role")
        if role not in ("control", "wall"):
            raise _Wrong("'role' must be control or wall.")
        words = await self.services.writer.submit(lambda c: self.services.store.invite(c, self.code, role))
        # behind the sign, so that no server and no log sees it
        links = [{"host": way["host"], "lead": f"{way['url']}/lead", "svg": qr_svg(f"{way['url']}/lead#{words}")}
                 for way in self.own_ways()]
        self._reply("invited", message, role=role, words=words, links=links)

    async def _show_words(self, message: dict[str, Any]) -> None:
        # `id` names the words here; what the page calls this message is in `ref`, where it gives one
        number, shown = message.get("words", message.get("id")), message.get("shown")
        if type(number) is not int or not 0 < number < 10**9 or not isinstance(shown, bool):
            raise _Wrong("'id' must name words and 'shown' be true or false.")
        await self._kept(message, lambda c: self.services.store.show_words(c, self.code, number, shown))

    async def _empty(self, message: dict[str, Any]) -> None:
        newest_s = message.get("newest_s")
        if newest_s is not None and (type(newest_s) is not int or not 0 < newest_s <= 86400):
            raise _Wrong("'newest_s' must be a whole number of seconds, or nothing for all.")
        out = await self.services.writer.submit(lambda c: self.services.store.empty(c, self.code, newest_s), room=self.code)
        self._reply("kept", message, out=out)
        self.services.hub.changed(self.code)

    async def _end(self, message: dict[str, Any]) -> None:
        await self._move(message, moves.closed)


_Act = Callable[[LiveLine, dict[str, Any]], Awaitable[None]]
_ACTS: Mapping[str, Mapping[str, _Act]] = {
    "learner": {
        "answer": LiveLine._answer, "done": LiveLine._done, "words": LiveLine._words, "unclear": LiveLine._unclear,
        "solved": LiveLine._solved,
    },
    "control": {
        "go": LiveLine._go, "set": LiveLine._set, "mirror": LiveLine._mirror, "show_words": LiveLine._show_words,
        "end": LiveLine._end, "begin": LiveLine._begin, "address": LiveLine._address, "invite": LiveLine._invite,
        "best": LiveLine._best, "empty": LiveLine._empty,
    },
    "wall": {"address": LiveLine._address},
}
