"""What is read of rooms: one of them at an instant, its answers for a report, which there are."""

from __future__ import annotations

import json
import random
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

import sqlalchemy as sa

from graspwave.apps.classroom.room import Room
from graspwave.apps.classroom.store.connection import Connected
from graspwave.apps.classroom.store.rooms import room_of
from graspwave.apps.classroom.store.tables import ANSWERS, DONE, LEARNERS, LESSONS, PRESENCE, ROOMS, SOLVED, UNCLEAR, WORDS

__all__ = ["Seen", "Snapshot"]


@dataclass(frozen=True)
class Snapshot:
    """A room at one instant, with all that belongs to its present step.

    `answers` maps round to learner to (answer as JSON text, how sure); `learners` maps id to handle. `unclear` are learner, step
    and text of what was not understood anywhere in the lesson; `solved` maps learner to milliamperes, millimetres and number of
    settings changed of the step's goal.
    """

    room: Room
    digest: str
    tally: int
    learners: Mapping[int, str]
    answers: Mapping[int, Mapping[int, tuple[str, int | None]]]
    done: frozenset[int]
    here: frozenset[int]
    words: tuple[tuple[int, int, str, bool], ...] = field(default=())
    unclear: tuple[tuple[int, int, str], ...] = field(default=())
    solved: Mapping[int, tuple[float, float, int]] = field(default_factory=dict)

    @property
    def answered(self) -> frozenset[int]:
        """Learners who answered the round that is open, or either round once the votes are over."""
        turns = {"vote": (1,), "talk": (1,), "again": (2,)}.get(self.room.phase, (1, 2))
        return frozenset(learner for turn in turns for learner in self.answers.get(turn, ()))


class Seen(Connected):
    """Questions; each opens a connection of its own that sees one instant."""

    def watch(self, codes: Iterable[str]) -> dict[str, tuple[int, int]]:
        """Version and tally of rooms, those that exist, in one query."""
        wanted = sorted(codes)
        with self.reading() as connection:
            query = sa.select(ROOMS.c.code, ROOMS.c.version, ROOMS.c.tally).where(ROOMS.c.code.in_(wanted))
            return {row.code: (row.version, row.tally) for row in connection.execute(query)}

    def snapshot(self, code: str) -> Snapshot | None:
        """A room with all of its present step, or None where there is none."""
        with self.reading() as connection:
            asked = sa.select(ROOMS, (ROOMS.c.expires < self.now()).label("over")).where(ROOMS.c.code == code)
            row = connection.execute(asked).mappings().first()
            if row is None or row["over"]:
                return None
            room = room_of(row)
            learners = {r.id: r.handle for r in connection.execute(
                sa.select(LEARNERS.c.id, LEARNERS.c.handle).where(LEARNERS.c.room == code).order_by(LEARNERS.c.id))}
            given: dict[int, dict[int, tuple[str, int | None]]] = {1: {}, 2: {}}
            for r in connection.execute(sa.select(ANSWERS).where((ANSWERS.c.room == code) & (ANSWERS.c.step == room.step))):
                given[r.round][r.learner] = (r.answer, r.sure)
            done = connection.scalars(sa.select(DONE.c.learner).where((DONE.c.room == code) & (DONE.c.step == room.step)))
            here = connection.scalars(self.here(PRESENCE.c.learner).where(PRESENCE.c.room == code))
            words = connection.execute(
                sa.select(WORDS.c.id, WORDS.c.learner, WORDS.c.text, WORDS.c.shown)
                .where((WORDS.c.room == code) & (WORDS.c.step == room.step)).order_by(WORDS.c.id).limit(500))
            unclear = connection.execute(
                sa.select(UNCLEAR.c.learner, UNCLEAR.c.step, UNCLEAR.c.text).where(UNCLEAR.c.room == code)
                .order_by(UNCLEAR.c.id.desc()).limit(200))
            solved = connection.execute(
                sa.select(SOLVED.c.learner, SOLVED.c.ma, SOLVED.c.mm, SOLVED.c.changed)
                .where((SOLVED.c.room == code) & (SOLVED.c.step == room.step)))
            return Snapshot(
                room=room, digest=row["digest"], tally=row["tally"], learners=learners, answers=given, done=frozenset(done),
                here=frozenset(here), words=tuple((r.id, r.learner, r.text, bool(r.shown)) for r in words),
                unclear=tuple((r.learner, r.step, r.text) for r in unclear),
                solved={r.learner: (r.ma, r.mm, r.changed) for r in solved})

    def exists(self, code: str) -> bool:
        """Whether a room of that code is open or ended, not yet expired."""
        with self.reading() as connection:
            return connection.scalar(sa.select(ROOMS.c.expires >= self.now()).where(ROOMS.c.code == code)) is True

    def lesson(self, digest: str) -> dict[str, Any] | None:
        """The compiled lesson that rooms with this digest run, as it was when they were opened."""
        with self.reading() as connection:
            compiled = connection.scalar(sa.select(LESSONS.c.compiled).where(LESSONS.c.digest == digest))
        return None if compiled is None else json.loads(compiled)

    def digests(self) -> list[str]:
        """Digests of the lessons that rooms run."""
        with self.reading() as connection:
            return list(connection.scalars(sa.select(LESSONS.c.digest)))

    def all_answers(self, code: str) -> tuple[Mapping[str, Any], list[Mapping[str, Any]], list[Mapping[str, Any]]] | None:
        """For the report: the room's row, its answers, and the words that were shown. None without a room.

        Answers that one person gave carry one number, drawn anew each time, that leads to nobody.
        """
        with self.reading() as connection:
            row = connection.execute(sa.select(ROOMS).where(ROOMS.c.code == code)).mappings().first()
            if row is None:
                return None
            columns = (ANSWERS.c.step, ANSWERS.c.round, ANSWERS.c.answer, ANSWERS.c.sure)
            # sorted by what was answered, so that the order tells nothing of who came first
            answers = connection.execute(
                sa.select(*columns, ANSWERS.c.learner).where(ANSWERS.c.room == code).order_by(*columns)).mappings().all()
            shown = connection.execute(
                sa.select(WORDS.c.step, WORDS.c.text).where((WORDS.c.room == code) & WORDS.c.shown)
                .order_by(WORDS.c.step, WORDS.c.text)).mappings().all()
            joined = connection.scalar(sa.select(sa.func.count()).select_from(LEARNERS).where(LEARNERS.c.room == code))
            learners = sorted({a["learner"] for a in answers})
            drawn = dict(zip(learners, random.SystemRandom().sample(range(10**6), len(learners)), strict=True))
            plain: list[Mapping[str, Any]] = [
                {**{name: a[name] for name in ("step", "round", "answer", "sure")}, "person": drawn[a["learner"]]}
                for a in answers
            ]
            return {**row, "joined": joined}, plain, [dict(w) for w in shown]

    def list_rooms(self) -> list[dict[str, Any]]:
        """All rooms with code, slug, opened, expires, ended and how many joined, oldest first."""
        joined = sa.func.count(LEARNERS.c.id).label("joined")
        columns = (ROOMS.c.code, ROOMS.c.slug, ROOMS.c.opened, ROOMS.c.expires, ROOMS.c.ended)
        query = sa.select(*columns, joined).outerjoin(LEARNERS, LEARNERS.c.room == ROOMS.c.code)
        with self.reading() as connection:
            return [dict(row) for row in connection.execute(query.group_by(*columns).order_by(ROOMS.c.opened)).mappings()]
