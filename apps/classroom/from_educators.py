"""What the page that leads a room may ask of it: move it, show a scene or words, invite, end. The wall may ask a little."""

from __future__ import annotations

import asyncio
from collections.abc import Mapping
from typing import Any

from graspwave import simulator as sim
from graspwave.apps.classroom import goals
from graspwave.apps.classroom import room as moves
from graspwave.apps.classroom.base import numbers_by_path
from graspwave.apps.classroom.network import qr_svg
from graspwave.apps.classroom.open_line import Act, OpenLine, Wrong, whole_number
from graspwave.apps.classroom.room import RoomError
from graspwave.apps.classroom.store import Closed

__all__ = ["FROM_EDUCATORS", "FROM_WALLS"]

_FLAGS = ("paused", "roam", "words", "call", "brief", "door_shut")


async def _go(line: OpenLine, message: dict[str, Any]) -> None:
    found = line.services.hub.room_of(line.code)
    step, phase, seen = whole_number(message, "step"), message.get("phase"), message.get("version")
    if found is None:
        raise Closed("This room is closed.")
    if phase is not None and not isinstance(phase, str):
        raise Wrong("'phase' must be a word.")
    snapshot, lesson = found
    version = seen if type(seen) is int else snapshot.room.version

    def move(room: moves.Room) -> moves.Room:
        after = moves.go(room, lesson, step, phase)
        # what this page itself did last is no surprise to it, even if it moves on before it sees it
        if after != room and room.version not in (version, line.own_version):
            raise RoomError("Another page moved the room just now. Look where it stands, then move it.")
        return after

    await line.move(message, move)


async def _set(line: OpenLine, message: dict[str, Any]) -> None:
    flags = {name: message[name] for name in _FLAGS if name in message}
    if not flags or not all(isinstance(value, bool) for value in flags.values()):
        raise Wrong(f"'set' needs {', '.join(_FLAGS[:-1])} or {_FLAGS[-1]} as true or false.")
    await line.move(message, lambda room: moves.switched(room, **flags))


async def _mirror(line: OpenLine, message: dict[str, Any]) -> None:
    found, raw = line.services.hub.room_of(line.code), message.get("settings")
    if found is None:
        raise Closed("This room is closed.")
    settings = None if raw is None else numbers_by_path(raw)
    if raw is not None and settings is None:
        raise Wrong("Settings are numbers by name.")
    at, steps = found[0].room.step, found[1]["steps"]
    picture = None
    if settings is not None:
        # worked out once, here, and pushed: nobody who looks has to ask for it
        loop = asyncio.get_running_loop()
        try:
            bench = await line.services.bench.mine(loop, line.services.lessons.mine, steps[at])
            picture = await line.services.bench.picture(loop, bench, settings)
        except sim.SceneError as why:
            raise RoomError(str(why)) from None

    def move(room: moves.Room) -> moves.Room:
        if settings is not None and room.step != at:
            raise RoomError("The room is at another step now.")
        return moves.mirrored(room, settings, picture)

    await line.show(message, move)


async def _best(line: OpenLine, message: dict[str, Any]) -> None:
    found, shown = line.services.hub.room_of(line.code), message.get("shown")
    if found is None or not isinstance(shown, bool):
        raise Wrong("'shown' must be true or false.")
    best: Mapping[str, Any] | None = None
    if shown:
        bench = found[1]["steps"][found[0].room.step].get("bench") or {}
        if not bench.get("goals"):
            raise Wrong("This step has no goal.")
        best = await goals.best(bench, lambda settings: line.bench(bench, settings)) or {"words": "None was found."}
    await line.move(message, lambda room: moves.with_best(room, best))


async def _begin(line: OpenLine, message: dict[str, Any]) -> None:
    await line.move(message, moves.begun)


async def _address(line: OpenLine, message: dict[str, Any]) -> None:
    host = message.get("host")
    if not isinstance(host, str) or host not in {way["host"] for way in line.own_ways()}:
        raise Wrong("This machine has no such address.")
    await line.move(message, lambda room: moves.addressed(room, host))


async def _invite(line: OpenLine, message: dict[str, Any]) -> None:
    role = message.get("role")
    if role not in ("control", "wall"):
        raise Wrong("'role' must be control or wall.")
    words = await line.services.writer.submit(lambda c: line.services.store.invite(c, line.code, role))
    # behind the sign, so that no server and no log sees it
    links = [{"host": way["host"], "lead": f"{way['url']}/lead", "svg": qr_svg(f"{way['url']}/lead#{words}")}
             for way in line.own_ways()]
    line.reply("invited", message, role=role, words=words, links=links)


async def _show_words(line: OpenLine, message: dict[str, Any]) -> None:
    # `id` names the words here; what the page calls this message is in `ref`, where it gives one
    number, shown = message.get("words", message.get("id")), message.get("shown")
    if type(number) is not int or not 0 < number < 10**9 or not isinstance(shown, bool):
        raise Wrong("'id' must name words and 'shown' be true or false.")
    await line.kept(message, lambda c: line.services.store.show_words(c, line.code, number, shown))


async def _empty(line: OpenLine, message: dict[str, Any]) -> None:
    newest_s = message.get("newest_s")
    if newest_s is not None and (type(newest_s) is not int or not 0 < newest_s <= 86400):
        raise Wrong("'newest_s' must be a whole number of seconds, or nothing for all.")
    out = await line.services.writer.submit(lambda c: line.services.store.empty(c, line.code, newest_s), room=line.code)
    line.reply("kept", message, out=out)
    line.services.hub.changed(line.code)


async def _end(line: OpenLine, message: dict[str, Any]) -> None:
    await line.move(message, moves.closed)


FROM_EDUCATORS: Mapping[str, Act] = {
    "go": _go, "set": _set, "mirror": _mirror, "show_words": _show_words, "end": _end, "begin": _begin, "address": _address,
    "invite": _invite, "best": _best, "empty": _empty,
}
FROM_WALLS: Mapping[str, Act] = {"address": _address}
