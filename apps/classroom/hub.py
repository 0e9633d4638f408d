"""The rooms of this process: who is connected, what they see, and what other processes changed.

All that is shared lies in the store. Every tenth of a second one query asks it for the versions of the rooms that somebody here
has open; what was changed here is sent at once. A message is written once a role, and a line that does not take it is dropped.
"""

from __future__ import annotations

import asyncio
import time
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from graspwave.apps.classroom import view as views
from graspwave.apps.classroom.live_room import Line, LiveRoom
from graspwave.apps.classroom.messages import json_text, mine_for, whole
from graspwave.apps.classroom.room import Room
from graspwave.apps.classroom.room_lessons import RoomLessons
from graspwave.apps.classroom.rounds import Rounds
from graspwave.apps.classroom.store import Snapshot, Store
from graspwave.apps.classroom.writer import NotKept, Reader, Writer

__all__ = ["GONE", "Hub"]

GONE = 4004
"""Closing code of a line whose room is no more; above 4000 a page does not come back by itself."""

POLL_S = 0.1
TOGETHER_S = 0.1
BEAT_S = 10.0
PRESENT_S = 5.0
PURGE_S = 600.0


class Hub:
    """All lines of one process, by room.

    Parameters
    ----------
    store, writer, reader
    process : str
        Name of this process among those of the store.
    """

    def __init__(self, store: Store, writer: Writer, reader: Reader, process: str) -> None:
        self.store, self.writer, self.reader, self.process = store, writer, reader, process
        self._rooms: dict[str, LiveRoom] = {}
        self.lessons = RoomLessons(store, reader)
        self._rounds = Rounds(self._all_told)
        self._trouble = ""

    # lines

    async def add(self, code: str, line: Line) -> str | None:
        """Take a line in; the first message's state as JSON text, or None where the room is no more.

        Raises
        ------
        NotKept
            The store does not answer.
        """
        live = self._rooms.get(code)
        if live is None or live.snapshot is None:
            snapshot = await self.reader.ask(self.store.snapshot, code)
            if snapshot is None:
                return None
            lesson = await self.lessons.of(snapshot.digest)
            live = self._rooms.setdefault(code, LiveRoom(code, self.changed))
            if live.snapshot is None:
                live.snapshot, live.lesson = snapshot, lesson
        snapshot = live.snapshot
        assert snapshot is not None
        if all(other.role != line.role for other in live.lines):
            live.sent[line.role] = live.told(snapshot, line.role)
        told = live.sent[line.role]
        live.lines.add(line)
        self.changed(code)
        if line.learner is not None:
            self._present(code, line.learner)
        head = views.lesson_head(live.lesson)
        mine = mine_for(snapshot, line.learner)
        return f'"lesson":{json_text(head)},"mine":{json_text(mine)},"state":{whole(told)}'

    def remove(self, code: str, line: Line) -> None:
        """Let a line go."""
        live = self._rooms.get(code)
        if live is None:
            return
        live.lines.discard(line)
        learner = line.learner
        if learner is not None and not any(other.learner == learner for other in live.lines):
            self._quietly(self.writer.submit(lambda c: self.store.leave(c, self.process, code, learner), room=code))
        if not live.lines:
            del self._rooms[code]
        self.changed(code)

    def room_of(self, code: str) -> tuple[Snapshot, Mapping[str, Any]] | None:
        """A room as last read here, and its lesson."""
        live = self._rooms.get(code)
        return None if live is None or live.snapshot is None else (live.snapshot, live.lesson)

    def _present(self, code: str, learner: int) -> None:
        present = [(code, learner)]
        self._quietly(self.writer.submit(lambda c: self.store.beat(c, self.process, present), room=code), then=code)

    def _quietly(self, future: asyncio.Future[Any], then: str = "") -> None:
        """Nobody waits for this; what it changed is sent, and a failure is made good at the next beat."""
        def over(done: asyncio.Future[Any]) -> None:
            if not done.cancelled() and done.exception() is None and then:
                self.changed(then)
        future.add_done_callback(over)

    # sending

    def changed(self, code: str) -> None:
        """Something of a room is new: read it and send it, at once and then at most every tenth of a second."""
        live = self._rooms.get(code)
        if live is None:
            return
        live.stale = True
        if live.task is None or live.task.done():
            live.task = self._rounds.spawn(self._send(live))

    async def _send(self, live: LiveRoom) -> None:
        while live.stale and live.lines:
            live.stale = False
            began = time.monotonic()
            try:
                snapshot = await self.reader.ask(self.store.snapshot, live.code)
            except NotKept as trouble:
                self._all_told(str(trouble))
                return  # the poll reads it again once the store is back
            if snapshot is None:
                for line in list(live.lines):
                    line.end(GONE, "This room is closed.")
                return
            before = live.snapshot
            if before is not None and snapshot.room.version < before.room.version:
                continue
            live.snapshot = snapshot
            if before is not None:
                live.send_out(before.learners.keys() - snapshot.learners.keys())
            took_s = time.monotonic() - began
            live.publish(snapshot, moved=before is not None and before.room.step != snapshot.room.step)
            # a store that is slow to answer is asked less often
            await asyncio.sleep(max(TOGETHER_S, 3.0 * took_s))

    def mirrored(self, code: str, room: Room) -> None:
        """A scene is shown, moved or taken away here: it is sent at once, without asking the store what else there is."""
        live = self._rooms.get(code)
        known = live.snapshot if live else None
        if live is None or known is None or known.room.version + 1 != room.version:
            return self.changed(code)  # it was read already, or something else came between
        # one change, one more in the tally; where that is wrong the poll reads the room again
        live.snapshot = replace(known, room=room, tally=known.tally + 1)
        live.publish(live.snapshot, moved=False)

    def _all_told(self, trouble: str) -> None:
        """Tell every line once that the store is in trouble, and once that it is over (an empty text)."""
        if trouble == self._trouble:
            return
        self._trouble = trouble
        text = json_text({"type": "trouble", "text": trouble})
        for live in self._rooms.values():
            for line in list(live.lines):
                line.tell(text)

    # what runs on its own

    def start(self) -> None:
        """Begin to poll, to beat and to clear away; inside a running loop."""
        self._rounds.spawn(self._rounds.forever(POLL_S, self._poll))
        self._rounds.spawn(self._rounds.forever(BEAT_S, self._beat))
        self._rounds.spawn(self._rounds.forever(PRESENT_S, self._reconcile))
        self._rounds.spawn(self._rounds.forever(PURGE_S, self._purge))

    def stop(self) -> None:
        """End what runs on its own."""
        self._rounds.stop()

    async def _poll(self) -> None:
        if not self._rooms:
            return
        watched = await self.reader.ask(self.store.watch, list(self._rooms))
        self._all_told("")
        for code, live in list(self._rooms.items()):
            known = live.snapshot
            if known is None or watched.get(code) != (known.room.version, known.tally):
                self.changed(code)

    async def _beat(self) -> None:
        for live in list(self._rooms.values()):
            for line in list(live.lines):
                line.tell('{"type":"beat"}')

    async def _reconcile(self) -> None:
        present = [(code, line.learner) for code, live in self._rooms.items() for line in live.lines if line.learner is not None]
        if self._rooms:
            await self.writer.submit(lambda c: self._live_on(c, list(self._rooms), present))
        for code in list(self._rooms):
            self.changed(code)  # somebody's process may have ended without a word

    def _live_on(self, connection: Any, codes: list[str], present: list[tuple[str, int]]) -> None:
        """Say who is here, and that these rooms are in use: a page that only looks counts as well."""
        self.store.beat(connection, self.process, present)
        self.store.in_use(connection, codes)

    async def _purge(self) -> None:
        await self.writer.submit(self.store.purge)
