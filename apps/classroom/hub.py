"""The rooms of this process: who is connected, what they see, and what other processes changed.

All that is shared lies in the store. Every tenth of a second one query asks it for the versions of the rooms that somebody here
has open; what was changed here is sent at once. A message is written once a role, and a line that does not take it is dropped.
"""

from __future__ import annotations

import asyncio
import json
import logging
import time
from collections import OrderedDict
from collections.abc import Callable, Collection, Coroutine, Mapping
from dataclasses import replace
from typing import Any, NamedTuple, Protocol

from graspwave.apps.classroom import view as views
from graspwave.apps.classroom.answers import share_right
from graspwave.apps.classroom.room import Room
from graspwave.apps.classroom.store import Snapshot, Store
from graspwave.apps.classroom.writer import NotKept, Reader, Writer

__all__ = ["GONE", "Hub", "Line", "counts_for", "mine_for", "state_for"]

GONE = 4004
"""Closing code of a line whose room is no more; above 4000 a page does not come back by itself."""

SENT_OUT = 4002
"""Closing code of a learner who was sent out."""

POLL_S = 0.1
TOGETHER_S = 0.1
COUNTS_S = 0.5
BEAT_S = 10.0
PRESENT_S = 5.0
PURGE_S = 600.0
_LESSONS = 16
_LOG = logging.getLogger(__name__)


class Line(Protocol):
    """A connected page."""

    role: str
    learner: int | None

    def tell(self, text: str) -> None: ...
    def end(self, code: int, why: str) -> None: ...


class _Told(NamedTuple):
    """What the lines of a role were told, as JSON text: the state without the shown scene, that scene, and counts."""

    version: int
    state: str
    mirror: str
    counts: str


class _Live:
    """A room that somebody here has open."""

    def __init__(self, code: str) -> None:
        self.code = code
        self.lines: set[Line] = set()
        self.snapshot: Snapshot | None = None
        self.lesson: Mapping[str, Any] = {}
        self.sent: dict[str, _Told] = {}  # by role: what its lines have
        self.stale = True
        self.states: dict[str, tuple[tuple[int, int], str, str]] = {}  # by role: version and tally, state, shown scene
        self.later = False
        self.counted = 0.0  # when learners were last told counts alone
        self.task: asyncio.Task[None] | None = None


def counts_for(snapshot: Snapshot, lesson: Mapping[str, Any], role: str) -> dict[str, Any]:
    """How many joined, are here, answered and are done; for the educator also who by handle, share right and all words."""
    room = snapshot.room
    counts: dict[str, Any] = {
        "joined": len(snapshot.learners), "here": len(snapshot.here), "answered": len(snapshot.answered),
        "done": len(snapshot.done), "of": len(snapshot.here | snapshot.answered | snapshot.done),
    }
    if role != "learner" and snapshot.solved:
        # how each met the goal, without who: sorted, so that the order tells nothing
        counts["solved"] = sorted([ma, mm, changed] for ma, mm, changed in snapshot.solved.values())
    if role != "control":
        counts["words"] = [text for _, _, text, shown in snapshot.words if shown]
        return counts
    counts["unclear"] = [{"step": step, "text": text} for _, step, text in snapshot.unclear]
    counts["unclear_now"] = len({learner for learner, step, _ in snapshot.unclear if step == room.step})
    counts["roster"] = [
        {"handle": handle, "here": learner in snapshot.here, "answered": learner in snapshot.answered,
         "done": learner in snapshot.done}
        for learner, handle in snapshot.learners.items()
    ]
    counts["words"] = [
        {"id": number, "handle": snapshot.learners.get(learner, ""), "text": text, "shown": shown}
        for number, learner, text, shown in snapshot.words
    ]
    # from the first answer on: whether a talk is worth it is decided before the wall says so
    counts["first_right"] = share_right(lesson["steps"][room.step], _answers(snapshot, 1).values())
    return counts


def _answers(snapshot: Snapshot, turn: int) -> dict[int, Mapping[str, Any]]:
    return {learner: json.loads(answer) for learner, (answer, _) in snapshot.answers[turn].items()}


def sees_bars(snapshot: Snapshot, role: str) -> bool:
    """Whether a role sees in this phase how the answers spread."""
    return views.reached(snapshot.room.phase, "talk" if role == "control" else "bars")


def state_for(snapshot: Snapshot, lesson: Mapping[str, Any], role: str) -> dict[str, Any]:
    """Where the room stands and what a role sees of it, without counts."""
    room = snapshot.room
    first, second = (_answers(snapshot, 1), _answers(snapshot, 2)) if sees_bars(snapshot, role) else ({}, {})
    return {
        "type": "state", "version": room.version, "step": room.step, "phase": room.phase, "paused": room.paused,
        "roam": room.roam, "words": room.words, "ended": room.ended,
        "mirror": None if room.mirror is None else {"settings": dict(room.mirror), "picture": room.picture},
        "gathering": room.gathering, "call": room.call, "brief": room.brief, "shut": room.step in room.shut,
        "address": room.address, "reached": room.reached, "clock": {"spent": dict(room.spent), "since": room.since},
        "door_shut": room.door_shut, "best": None if room.best is None or role == "learner" else dict(room.best),
        "view": views.room_view(lesson, room, role), "bars": views.bars(lesson, room, role, first, second),
    }


def mine_for(snapshot: Snapshot, learner: int | None) -> dict[str, Any]:
    """What a learner has sent for the present step."""
    if learner is None:
        return {"1": None, "2": None, "done": False}
    given = {turn: snapshot.answers[turn].get(learner) for turn in (1, 2)}
    mine: dict[str, Any] = {
        str(turn): None if kept is None else {"answer": json.loads(kept[0]), "sure": kept[1]} for turn, kept in given.items()}
    return {**mine, "done": learner in snapshot.done}


def _text(message: Mapping[str, Any]) -> str:
    return json.dumps(message, separators=(",", ":"), allow_nan=False)


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
        self._rooms: dict[str, _Live] = {}
        self._lessons: OrderedDict[str, Mapping[str, Any]] = OrderedDict()
        self._tasks: set[asyncio.Task[Any]] = set()
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
            lesson = await self.lesson(snapshot.digest)
            live = self._rooms.setdefault(code, _Live(code))
            if live.snapshot is None:
                live.snapshot, live.lesson = snapshot, lesson
        snapshot = live.snapshot
        assert snapshot is not None
        if all(other.role != line.role for other in live.lines):
            live.sent[line.role] = self._texts(live, snapshot, line.role)
        told = live.sent[line.role]
        live.lines.add(line)
        self.changed(code)
        if line.learner is not None:
            self._present(code, line.learner)
        head = views.lesson_head(live.lesson)
        mine = mine_for(snapshot, line.learner)
        return f'"lesson":{_text(head)},"mine":{_text(mine)},"state":{_joined(told)}'

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
            live.task = self._spawn(self._send(live))

    async def _send(self, live: _Live) -> None:
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
                _send_out(live, before.learners.keys() - snapshot.learners.keys())
            took_s = time.monotonic() - began
            self._publish(live, snapshot, moved=before is not None and before.room.step != snapshot.room.step)
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
        self._publish(live, live.snapshot, moved=False)

    def _texts(self, live: _Live, snapshot: Snapshot, role: str) -> _Told:
        # while answers come in, only bars that somebody sees make a state new
        key = (snapshot.room.version, snapshot.tally if sees_bars(snapshot, role) else -1)
        known = live.states.get(role)
        if known is None or known[0] != key:
            state = state_for(snapshot, live.lesson, role)
            mirror = state.pop("mirror")
            del state["version"]
            known = live.states[role] = (key, _text(state), _text(mirror) if mirror else "null")
        return _Told(key[0], *known[1:], _text(counts_for(snapshot, live.lesson, role)))

    def _publish(self, live: _Live, snapshot: Snapshot, *, moved: bool) -> None:
        texts = {role: self._texts(live, snapshot, role) for role in {line.role for line in live.lines}}
        # two hundred phones need not hear of every answer of a neighbour at once
        if not self._counts_due(live, texts):
            texts["learner"] = texts["learner"]._replace(counts=live.sent["learner"].counts)
        news = {role: _news(role, live.sent[role], told) for role, told in texts.items()}
        for line in list(live.lines):
            if moved and line.learner is not None:
                line.tell(f'{{"type":"mine","step":{snapshot.room.step},{_text(mine_for(snapshot, line.learner))[1:]}')
            if news[line.role]:
                line.tell(news[line.role])
        live.sent.update(texts)

    def _counts_due(self, live: _Live, texts: Mapping[str, _Told]) -> bool:
        """Whether learners are told counts now; where not, they are told a little later."""
        if "learner" not in texts or texts["learner"].state != live.sent["learner"].state:
            return True
        wait = live.counted + COUNTS_S - time.monotonic()
        if wait <= 0.0:
            live.counted = time.monotonic()
            return True
        if texts["learner"].counts != live.sent["learner"].counts and not live.later:
            live.later = True
            asyncio.get_running_loop().call_later(wait, self._later, live)
        return False

    def _later(self, live: _Live) -> None:
        live.later = False
        self.changed(live.code)

    def _all_told(self, trouble: str) -> None:
        """Tell every line once that the store is in trouble, and once that it is over (an empty text)."""
        if trouble == self._trouble:
            return
        self._trouble = trouble
        text = _text({"type": "trouble", "text": trouble})
        for live in self._rooms.values():
            for line in list(live.lines):
                line.tell(text)

    # lessons

    async def lesson(self, digest: str) -> Mapping[str, Any]:
        """A lesson as rooms run it; kept here once read.

        Raises
        ------
        NotKept
            The store does not have it, or does not answer.
        """
        if digest not in self._lessons:
            found = await self.reader.ask(self.store.lesson, digest)
            if found is None:
                raise NotKept("This room's lesson cannot be read.")
            self._lessons[digest] = found
            while len(self._lessons) > _LESSONS:
                self._lessons.popitem(last=False)
        self._lessons.move_to_end(digest)
        return self._lessons[digest]

    async def picture(self, wanted: str) -> Mapping[str, Any] | None:
        """A picture of any lesson that a room runs."""
        for lesson in list(self._lessons.values()):
            if (found := views.room_picture(lesson, wanted)) is not None:
                return found
        for digest in await self.reader.ask(self.store.digests):
            if digest not in self._lessons and (found := views.room_picture(await self.lesson(digest), wanted)) is not None:
                return found
        return None

    # what runs on its own

    def start(self) -> None:
        """Begin to poll, to beat and to clear away; inside a running loop."""
        self._spawn(self._forever(POLL_S, self._poll))
        self._spawn(self._forever(BEAT_S, self._beat))
        self._spawn(self._forever(PRESENT_S, self._reconcile))
        self._spawn(self._forever(PURGE_S, self._purge))

    def stop(self) -> None:
        """End what runs on its own."""
        for task in list(self._tasks):
            task.cancel()

    def _spawn(self, work: Coroutine[Any, Any, None]) -> asyncio.Task[None]:
        task = asyncio.get_running_loop().create_task(work)
        self._tasks.add(task)
        task.add_done_callback(self._tasks.discard)
        return task

    async def _forever(self, every_s: float, work: Callable[[], Coroutine[Any, Any, None]]) -> None:
        while True:
            began = time.monotonic()
            try:
                await work()
            except NotKept as trouble:
                self._all_told(str(trouble))
            except Exception:
                _LOG.exception("the room's own work failed")
            await asyncio.sleep(max(0.01, every_s - (time.monotonic() - began)))

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


def _joined(told: _Told) -> str:
    return (f'{told.state[:-1]},"version":{told.version},"mirror":{told.mirror},"now":{time.time():.2f},'
            f'"counts":{told.counts}}}')


def _news(role: str, before: _Told, now: _Told) -> str:
    """The one message that brings lines of a role from what they have to what is; empty where nothing is new.

    A scene that moves is a few kilobytes and comes up to seven times a second: it is sent without the step that it stands in.
    """
    if now.state != before.state or (now.counts != before.counts and role != "learner"):
        return _joined(now)
    if now.mirror != before.mirror:
        counts = f',"counts":{now.counts}' if now.counts != before.counts else ""
        return f'{{"type":"mirror","version":{now.version},"now":{time.time():.2f},"mirror":{now.mirror}{counts}}}'
    if now.version != before.version:
        return _joined(now)
    return f'{{"type":"counts","version":{now.version},{now.counts[1:]}' if now.counts != before.counts else ""


def _send_out(live: _Live, gone: Collection[int]) -> None:
    """End the lines of learners whose place is no more."""
    for line in [line for line in live.lines if line.learner in gone]:
        line.end(SENT_OUT, "You were sent out of this room. Who belongs here may join again.")
