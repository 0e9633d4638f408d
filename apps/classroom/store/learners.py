"""Learners: who joins a room, who is sent out, and whose page is here now."""

from __future__ import annotations

from collections.abc import Iterable

import sqlalchemy as sa

from graspwave.apps.classroom.codes import new_handle
from graspwave.apps.classroom.gate import hashed, new_token, same
from graspwave.apps.classroom.store.rooms import Closed, Rooms, Shut
from graspwave.apps.classroom.store.tables import ANSWERS, DONE, LEARNERS, PRESENCE, PROCESSES, WORDS

__all__ = ["FULL_ROOM", "Learners"]

FULL_ROOM = 500
"""Most learners of one room."""

_GHOST_S = 30.0


class Learners(Rooms):
    """Who is in a room, and who of them is here."""

    def join(self, connection: sa.Connection, code: str) -> tuple[str, str]:
        """One more learner: token and handle."""
        room = self.locked(connection, code)
        if room.ended:
            raise Closed("This room has ended.")
        if room.door_shut:
            raise Shut("The door of this room is shut. Ask who leads it to open it.")
        taken = set(connection.scalars(sa.select(LEARNERS.c.handle).where(LEARNERS.c.room == code)))
        if len(taken) >= FULL_ROOM:
            # who joined and was never seen since holds no place against one who stands at the door
            taken -= self._without_ghosts(connection, code)
        if len(taken) >= FULL_ROOM:
            raise Closed(f"This room is full: it holds {FULL_ROOM}.")
        token, handle = new_token(), new_handle(taken)
        connection.execute(sa.insert(LEARNERS).values(
            room=code, handle=handle, token_hash=hashed(token), joined=self.now()))
        return token, handle

    def _without_ghosts(self, connection: sa.Connection, code: str) -> set[str]:
        """Delete learners who joined a while ago, are not here and have sent nothing; their handles."""
        here = self.here(PRESENCE.c.learner).where(PRESENCE.c.room == code)
        sent = [sa.select(table.c.learner).where(table.c.room == code) for table in (ANSWERS, DONE, WORDS)]
        return set(connection.scalars(sa.delete(LEARNERS).where(
            LEARNERS.c.room == code, LEARNERS.c.joined < self.now() - _GHOST_S,
            *(LEARNERS.c.id.not_in(some) for some in (here, *sent)),
        ).returning(LEARNERS.c.handle)))

    def empty(self, connection: sa.Connection, code: str, newest_s: float | None = None) -> int:
        """Send learners out, with all that they sent: all, or those who joined within so many seconds; how many."""
        self.locked(connection, code)
        new = sa.true() if newest_s is None else LEARNERS.c.joined > self.now() - newest_s
        return int(connection.execute(sa.delete(LEARNERS).where(LEARNERS.c.room == code, new)).rowcount)

    def learner(self, code: str, token: str) -> tuple[int, str] | None:
        """Number and handle of the learner whose token that is, or None."""
        with self.reading() as connection:
            row = connection.execute(
                sa.select(LEARNERS.c.id, LEARNERS.c.handle, LEARNERS.c.token_hash)
                .where((LEARNERS.c.room == code) & (LEARNERS.c.token_hash == hashed(token)))).first()
        return (row.id, row.handle) if row is not None and same(row.token_hash, hashed(token)) else None

    def beat(self, connection: sa.Connection, process: str, present: Iterable[tuple[str, int]]) -> None:
        """Say that a process lives, and which learners it has: they count as here for a few seconds more."""
        mark = self._insert(PROCESSES).values(id=process, seen=self.now())
        connection.execute(mark.on_conflict_do_update(index_elements=["id"], set_={"seen": self.now()}))
        rows = sorted(set(present))
        for at in range(0, len(rows), 100):
            # a room or learner that was deleted meanwhile is passed over
            wanted = sa.tuple_(LEARNERS.c.room, LEARNERS.c.id).in_(rows[at:at + 100])
            found = sa.select(LEARNERS.c.room, LEARNERS.c.id, sa.literal(process)).where(wanted)
            new = self._insert(PRESENCE).from_select(["room", "learner", "process"], found)
            connection.execute(new.on_conflict_do_nothing())

    def leave(self, connection: sa.Connection, process: str, code: str, learner: int) -> None:
        """Say that a learner's last line to a process has ended."""
        connection.execute(sa.delete(PRESENCE).where(
            (PRESENCE.c.room == code) & (PRESENCE.c.learner == learner) & (PRESENCE.c.process == process)))

    def forget(self, connection: sa.Connection, process: str) -> None:
        """Say that a process ends."""
        connection.execute(sa.delete(PROCESSES).where(PROCESSES.c.id == process))
