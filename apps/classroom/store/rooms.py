"""Rooms: opened, held while they are changed, kept as long as somebody uses them, and cleared away."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterable, Mapping
from typing import Any

import sqlalchemy as sa

from graspwave.apps.classroom import room as rooms_of
from graspwave.apps.classroom.codes import new_code
from graspwave.apps.classroom.gate import hashed, new_token
from graspwave.apps.classroom.room import Room
from graspwave.apps.classroom.store.connection import HELD, STALE_S, Connected
from graspwave.apps.classroom.store.tables import LESSONS, PRESENCE, PROCESSES, RIGHTS, ROOMS

__all__ = ["Closed", "Rooms", "Shut", "room_of"]

_SURE_S = 3600.0
"""What is past its time at two readings this far apart is deleted: a clock may have jumped before one of them."""

_OFTEN_S = 60.0
_READING = "last purge"
_MORE = ("picture", "gathering", "call", "brief", "shut", "spent", "since", "address", "reached", "best",
         "door_shut")
"""Fields of a room that no query asks for."""


class Closed(ValueError):
    """What was asked cannot be done as the room stands; the text is plain and may be shown."""


class Shut(Closed):
    """Nobody new comes in now; it may be tried again."""


class Rooms(Connected):
    """What changes a room as a whole."""

    def open_room(
        self, connection: sa.Connection, lesson: Mapping[str, Any], keep_s: float, *, brief: bool = False, address: str = "",
    ) -> tuple[str, str]:
        """A new room at the lesson's first place, or that of its short version: its code and the educator's token, not kept."""
        compiled = json.dumps(lesson, separators=(",", ":"), allow_nan=False, sort_keys=True)
        digest = hashlib.sha256(compiled.encode()).hexdigest()
        values = {"digest": digest, "slug": lesson["slug"], "compiled": compiled}
        connection.execute(self._insert(LESSONS).values(values).on_conflict_do_nothing())
        now, token = self.now(), new_token()
        brief = brief and bool(lesson.get("short"))
        step = lesson["short"][0] - 1 if brief else 0
        phase = rooms_of.phases_of(lesson["steps"][step])[0]
        more = json.dumps({"gathering": True, "brief": brief, "address": address})
        for _ in range(50):
            code = new_code()
            made = connection.scalar(self._insert(ROOMS).values(
                code=code, slug=lesson["slug"], digest=digest, token_hash=hashed(token), step=step, phase=phase,
                paused=False, roam=False, words=False, mirror=None, version=1, tally=0, opened=now, expires=now + keep_s,
                ended=False, more=more,
            ).on_conflict_do_nothing().returning(ROOMS.c.code))
            if made is not None:
                return code, token
        raise Closed("No code is free. Delete old rooms.")

    def locked(self, connection: sa.Connection, code: str) -> Room:
        """The room as it stands, held until the transaction ends.

        Raises
        ------
        Closed
            There is no such room any more.
        """
        held: dict[str, Room] = connection.info[HELD]
        if code not in held:
            # asked once a transaction: two hundred answers that are kept together need not lock the same row each
            asked = sa.select(ROOMS, (ROOMS.c.expires < self.now()).label("over")).where(ROOMS.c.code == code)
            row = connection.execute(asked.with_for_update(key_share=True)).mappings().first()
            if row is None or row["over"]:
                raise Closed("This room is closed.")
            held[code] = room_of(row)
        return held[code]

    def open_for(self, connection: sa.Connection, code: str, step: int, turn: int | None = None) -> Room:
        room = self.locked(connection, code)
        if why := rooms_of.refusal(room, step, turn):
            raise Closed(why)
        return room

    def change(self, connection: sa.Connection, code: str, move: Callable[[Room], Room]) -> Room:
        """Move a room by a pure function of `room`."""
        before = self.locked(connection, code)
        after = move(before)
        if after != before:
            moved = (before.step, before.phase, before.paused, before.gathering, before.ended) != (
                after.step, after.phase, after.paused, after.gathering, after.ended)
            if moved:
                after = rooms_of.timed(before, after, float(connection.scalar(sa.select(self.now())) or 0.0))
            mirror = None if after.mirror is None else json.dumps(dict(after.mirror))
            connection.execute(sa.update(ROOMS).where(ROOMS.c.code == code).values(
                step=after.step, phase=after.phase, paused=after.paused, roam=after.roam, words=after.words, mirror=mirror,
                version=after.version, ended=after.ended, more=json.dumps({name: getattr(after, name) for name in _MORE}),
            ))
            connection.info[HELD][code] = after
        return after

    def touch(self, connection: sa.Connection, codes: Iterable[str]) -> None:
        """Let all servers know that something in these rooms is new."""
        for code in sorted(set(codes)):
            connection.execute(sa.update(ROOMS).where(ROOMS.c.code == code).values(tally=ROOMS.c.tally + 1))
        self.in_use(connection, codes)

    def in_use(self, connection: sa.Connection, codes: Iterable[str]) -> None:
        """Count the time that rooms are kept from now on; one that is past its time is not called back."""
        until = self.now() + self.keep_s
        wanted = sorted(set(codes))
        connection.execute(sa.update(ROOMS).where(
            ROOMS.c.code.in_(wanted), ROOMS.c.expires >= self.now(), ROOMS.c.expires < until - min(_OFTEN_S, 0.1 * self.keep_s)
        ).values(expires=until))

    def delete(self, connection: sa.Connection, code: str | None = None) -> int:
        """Delete one room, or all, with everything in it; how many there were."""
        connection.info[HELD].clear()
        query = sa.delete(ROOMS) if code is None else sa.delete(ROOMS).where(ROOMS.c.code == code)
        count = connection.execute(query).rowcount
        self._sweep(connection)
        return int(count)

    def purge(self, connection: sa.Connection) -> int:
        """Delete rooms past their time and processes that ended without a word; how many rooms.

        A room goes when two readings of the clock, far enough apart, both say that it is past its time; the first of them is
        kept in the store. A clock that jumped forward and is mended within that time has deleted nothing.
        """
        before = connection.scalar(sa.select(PROCESSES.c.seen).where(PROCESSES.c.id == _READING))
        now = float(connection.scalar(sa.select(self.now())) or 0.0)
        count = 0
        if before is not None and now - before >= _SURE_S:
            empty = ROOMS.c.code.not_in(self.here(PRESENCE.c.room))
            over = sa.delete(ROOMS).where(ROOMS.c.expires < before, ROOMS.c.expires < now, empty)
            count = connection.execute(over).rowcount
        if before is None or not 0.0 <= now - before < _SURE_S:
            mark = self._insert(PROCESSES).values(id=_READING, seen=now)
            connection.execute(mark.on_conflict_do_update(index_elements=["id"], set_={"seen": now}))
        gone = (PROCESSES.c.seen < self.now() - 4 * STALE_S) & (PROCESSES.c.id != _READING)
        connection.execute(sa.delete(PROCESSES).where(gone))
        connection.execute(sa.delete(RIGHTS).where(RIGHTS.c.until < self.now()))
        self._sweep(connection)
        return int(count)

    def _sweep(self, connection: sa.Connection) -> None:
        connection.execute(sa.delete(LESSONS).where(LESSONS.c.digest.not_in(sa.select(ROOMS.c.digest))))


def room_of(row: sa.RowMapping) -> Room:
    mirror = None if row["mirror"] is None else json.loads(row["mirror"])
    return Room(row["code"], row["slug"], row["step"], row["phase"], bool(row["paused"]), bool(row["roam"]), bool(row["words"]),
                mirror, row["version"], bool(row["ended"]), **_more(row["more"]))


def _more(text: str | None) -> dict[str, Any]:
    found = {name: value for name, value in json.loads(text or "{}").items() if name in _MORE}
    return {**found, "shut": tuple(found.get("shut", ()))}
