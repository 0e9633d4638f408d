"""Where rooms are kept: SQLite in a file, or PostgreSQL for several servers. Nothing about a person but a made-up name.

Every change happens inside one transaction that `writer.Writer` opens, with the room's row locked, so that a late answer is
judged by where the room stands when it is written. `tally` of a room rises with every answer, `version` with every step.
"""

from __future__ import annotations

import hashlib
import importlib.util
import json
import os
import random
import time
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import sqlalchemy as sa
from sqlalchemy.dialects import sqlite

from graspwave import simulator as sim
from graspwave.apps.classroom import room as rooms_of
from graspwave.apps.classroom.codes import new_code, new_handle, new_invitation
from graspwave.apps.classroom.file_watch import FileWatch
from graspwave.apps.classroom.gate import hashed, new_token, same
from graspwave.apps.classroom.room import Room
from graspwave.apps.classroom.tables import (
    ADDED,
    ANSWERS,
    DONE,
    LEARNERS,
    LESSONS,
    META,
    PRESENCE,
    PROCESSES,
    RIGHTS,
    ROOMS,
    SCHEMA,
    SOLVED,
    UNCLEAR,
    VERSION,
    WORDS,
)

__all__ = ["FULL_ROOM", "KEEP_S", "SCHEMA", "Closed", "Shut", "Snapshot", "Store", "default_store", "open_store"]

FULL_ROOM = 500
"""Most learners of one room."""

KEEP_S = 24 * 3600.0
"""How long a room is kept after its last use, where nothing else is said."""

_STALE_S = 15.0
_SURE_S = 3600.0
"""What is past its time at two readings this far apart is deleted: a clock may have jumped before one of them."""

_OFTEN_S = 60.0
_GHOST_S = 30.0
_READING = "last purge"
_HELD = "rooms held by this transaction"
_WORDS_EACH = 5
_INVITED_S = 600.0
_MORE = ("picture", "gathering", "call", "brief", "shut", "spent", "since", "address", "reached", "best",
         "door_shut")
"""Fields of a room that no query asks for."""


class Closed(ValueError):
    """What was asked cannot be done as the room stands; the text is plain and may be shown."""


class Shut(Closed):
    """Nobody new comes in now; it may be tried again."""


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


def default_store() -> Path:
    """The file that is used where none is given, in the user's own data folder."""
    home = os.environ.get("XDG_DATA_HOME", "")
    try:
        return (Path(home) if os.path.isabs(home) else Path.home() / ".local" / "share") / "graspwave" / "rooms.sqlite"
    except RuntimeError:
        raise sim.SceneError("store", "given where this user has no folder of its own", "none", "name a file with --store"
                             ) from None


def open_store(where: str | Path | None = None, *, check: bool = True, hook: Callable[[Any], None] | None = None) -> Store:
    """Open the store, make its tables where there are none, and check it.

    Parameters
    ----------
    where : str or Path, optional
        A file, or an address that begins with ``sqlite:///``, ``postgresql://`` or ``postgresql+psycopg://``.
    check : bool
        Whether the whole file is looked through for damage.
    hook : callable, optional
        Called with each new connection of the driver.

    Raises
    ------
    SceneError
        It cannot be used; the text says why and what to do.
    """
    if where is None:
        where = default_store()
        try:
            where.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        except OSError as error:
            raise sim.SceneError("store", "in a folder that can be made", str(where.parent), f"give another with --store "
                                 f"({error.strerror})") from None
    url = _address(where)
    shown = _shown(url)
    store = Store(url, hook)
    try:
        store.prepare(check)
    except sim.SceneError:
        store.close()
        raise
    except (sa.exc.SQLAlchemyError, OSError, UnicodeError) as error:
        store.close()
        raise _trouble(shown, url, error) from None
    return store


def _address(where: str | Path) -> sa.URL:
    text = str(where)
    if "://" not in text:
        url = sa.URL.create("sqlite", database=os.path.abspath(os.path.expanduser(text)))
    else:
        try:
            url = sa.make_url(text)
        except (sa.exc.ArgumentError, ValueError):
            raise sim.SceneError("store", "a file or an address", text.split("@")[-1]) from None
    if url.drivername in ("postgresql", "postgres"):
        url = url.set(drivername="postgresql+psycopg")
    if url.drivername not in ("sqlite", "postgresql+psycopg"):
        raise sim.SceneError("store", "a file or an address that begins with sqlite:/// or postgresql://", _shown(url))
    if url.drivername == "postgresql+psycopg" and importlib.util.find_spec("psycopg") is None:
        raise sim.SceneError("store", "one whose driver is installed", _shown(url), "pip install graspwave[postgres]")
    if url.drivername == "sqlite":
        if url.database in (None, "", ":memory:"):
            raise sim.SceneError("store", "a file that lasts", text, "name a file")
        path = Path(str(url.database).removeprefix("file:"))
        if not path.parent.is_dir():
            raise sim.SceneError("store", "in a folder that exists", str(path), f"make the folder {path.parent} first")
        if path.is_dir():
            raise sim.SceneError("store", "a file", str(path), "name a file inside that folder")
    return url


def _shown(url: sa.URL) -> str:
    """The address without its password; a file as its path."""
    return str(url.database) if url.drivername == "sqlite" else url.render_as_string(hide_password=True)


def _trouble(shown: str, url: sa.URL, error: Exception) -> sim.SceneError:
    said = str(getattr(error, "orig", None) or error).strip().splitlines()[0]
    low = said.lower()
    if "readonly" in low or "read-only" in low or "permission" in low:
        return sim.SceneError("store", "one that can be written", shown,
                              "give it leave to be written, or name another with --store")
    if "not a database" in low:
        return sim.SceneError("store", "a file of rooms", shown, "it is something else; name another with --store")
    if "malformed" in low or "corrupt" in low:
        return _damaged(shown)
    if "locked" in low:
        return sim.SceneError("store", "free", shown, "another program holds it; end that program or name another file")
    if "full" in low:
        return sim.SceneError("store", "on a disk with room left", shown, "make room, or name a file on another disk")
    if url.drivername != "sqlite":
        return sim.SceneError("store", "a database that answers", shown,
                              f"start it, and check address, user and password ({said})")
    return sim.SceneError("store", "a file that can be used", shown, said)


def _damaged(shown: str) -> sim.SceneError:
    return sim.SceneError("store", "a whole file", shown, "it is damaged; put a copy back, or move it away to begin anew")


class Store:
    """The tables and all that is asked of them; use `open_store`.

    Methods that change take a connection inside a transaction, which the writer gives; the others open their own.
    """

    def __init__(self, url: sa.URL, hook: Callable[[Any], None] | None = None) -> None:
        self.url = url
        self.is_file = url.drivername == "sqlite"
        self.keep_s = KEEP_S
        # a clock that is set while this runs must not end rooms: time goes on from where it stood, by the other clock
        self._began = time.time() - time.monotonic()
        self._file = FileWatch(str(url.database).removeprefix("file:")) if self.is_file else None
        arguments: dict[str, Any] = {"timeout": 5.0, "check_same_thread": False} if self.is_file else {
            "connect_timeout": 5, "options": "-c statement_timeout=8000 -c lock_timeout=5000", "keepalives_idle": 5,
            "keepalives_interval": 2, "keepalives_count": 3, "tcp_user_timeout": 8000,
        }
        self.engine = sa.create_engine(
            url, connect_args=arguments, pool_pre_ping=not self.is_file, pool_size=4, max_overflow=2, pool_timeout=5.0,
            **({"poolclass": sa.QueuePool} if self.is_file else {"isolation_level": "READ COMMITTED"}),
        )
        self._insert: Any = sqlite.insert if self.is_file else _postgresql_insert()
        if self.is_file:
            sa.event.listen(self.engine, "connect", _file_settings)
            sa.event.listen(self.engine, "begin", _file_begin)
        if hook is not None:
            sa.event.listen(self.engine, "connect", lambda raw, record: hook(raw))

    def close(self) -> None:
        """Give all connections back."""
        self.engine.dispose()

    def prepare(self, check: bool = True) -> None:
        """Make the tables where there are none; refuse newer ones and, with `check`, a damaged file.

        Raises
        ------
        SceneError
            The store is newer than this program, or damaged.
        """
        shown = _shown(self.url)
        with self.writing() as connection:
            if self.is_file:
                if check and (found := connection.exec_driver_sql("PRAGMA quick_check(1)").scalar()) != "ok":
                    raise _damaged(f"{shown}: {found}")
            else:
                # two servers that start at once make the tables one after the other
                connection.execute(sa.select(sa.func.pg_advisory_xact_lock(5080_1)))
            tables = set(sa.inspect(connection).get_table_names())
            if tables and "schema_version" not in tables and self.is_file:
                raise sim.SceneError("store", "a file of rooms", shown, "it is something else; name another with --store")
            if "schema_version" in tables:
                version = connection.scalar(sa.select(sa.func.max(VERSION.c.version))) or 0
                if version > SCHEMA:
                    raise sim.SceneError("store", f"of form {SCHEMA} or older", f"form {version} in {shown}",
                                         "a newer graspwave wrote it: use that one, or name another with --store")
                for form in range(version + 1, SCHEMA + 1):
                    for table, name in ADDED.get(form, ()):
                        kind = table.c[name].type.compile(self.engine.dialect)
                        connection.exec_driver_sql(f"ALTER TABLE {table.name} ADD COLUMN {name} {kind}")
            META.create_all(connection)
            # written each time, so that a store which cannot be written says so at once
            connection.execute(sa.delete(VERSION))
            connection.execute(sa.insert(VERSION).values(version=SCHEMA))

    @contextmanager
    def writing(self) -> Iterator[sa.Connection]:
        """A transaction that may change; committed at the end of the block, and not before."""
        with self.engine.connect() as connection:
            with connection.begin():
                connection.info[_HELD] = {}
                self._check_file(connection)
                yield connection
                self._check_file(connection)
            self._check_file(connection)  # nor is anything said to be kept that went to a file just taken away

    def _check_file(self, connection: sa.Connection) -> None:
        if self._file is not None:
            self._file.check(connection.info)

    @contextmanager
    def reading(self) -> Iterator[sa.Connection]:
        """A connection that sees one instant and blocks nobody."""
        with self.engine.connect() as connection:
            options = {"gw_read": True} if self.is_file else {"isolation_level": "REPEATABLE READ", "postgresql_readonly": True}
            connection = connection.execution_options(**options)
            with connection.begin():
                self._check_file(connection)
                yield connection

    def now(self) -> sa.ColumnElement[float]:
        """Seconds since 1970, by the one clock that all servers of this store share, as a part of a query."""
        if self.is_file:
            return sa.literal(self._began + time.monotonic())
        return sa.cast(sa.extract("epoch", sa.func.clock_timestamp()), sa.Float)

    # rooms

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
        held: dict[str, Room] = connection.info[_HELD]
        if code not in held:
            # asked once a transaction: two hundred answers that are kept together need not lock the same row each
            asked = sa.select(ROOMS, (ROOMS.c.expires < self.now()).label("over")).where(ROOMS.c.code == code)
            row = connection.execute(asked.with_for_update(key_share=True)).mappings().first()
            if row is None or row["over"]:
                raise Closed("This room is closed.")
            held[code] = _room(row)
        return held[code]

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
            connection.info[_HELD][code] = after
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

    # people and what they send

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
        here = sa.select(PRESENCE.c.learner).join(PROCESSES, PROCESSES.c.id == PRESENCE.c.process).where(
            PRESENCE.c.room == code, PROCESSES.c.seen > self.now() - _STALE_S)
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

    def answer(
        self, connection: sa.Connection, code: str, learner: int, step: int, turn: int, answer: Mapping[str, Any],
        sure: int | None,
    ) -> None:
        """Keep an answer; sent again or changed it takes the place of the first.

        Raises
        ------
        Closed
            The room does not take it now.
        """
        self._open_for(connection, code, step, turn)
        values = {"answer": json.dumps(answer, allow_nan=False), "sure": sure, "at": self.now()}
        new = self._insert(ANSWERS).values(room=code, learner=learner, step=step, round=turn, **values)
        connection.execute(new.on_conflict_do_update(index_elements=["room", "learner", "step", "round"], set_=values))

    def done(self, connection: sa.Connection, code: str, learner: int, step: int) -> None:
        """Keep that a learner is through with the step."""
        self._open_for(connection, code, step)
        connection.execute(self._insert(DONE).values(room=code, learner=learner, step=step).on_conflict_do_nothing())

    def say(self, connection: sa.Connection, code: str, learner: int, step: int, text: str) -> None:
        """Keep words, unseen by all but the educator until shown; the same words of the same learner are kept once."""
        room = self._open_for(connection, code, step)
        if not room.words:
            raise Closed("Words are not asked for now.")
        own = (WORDS.c.room == code) & (WORDS.c.learner == learner) & (WORDS.c.step == step)
        said = list(connection.scalars(sa.select(WORDS.c.text).where(own)))
        if text in said:
            return
        if len(said) >= _WORDS_EACH:
            raise Closed(f"That is enough for this step: {_WORDS_EACH} at most.")
        connection.execute(sa.insert(WORDS).values(room=code, learner=learner, step=step, text=text, shown=False))

    def unclear(self, connection: sa.Connection, code: str, learner: int, step: int, text: str) -> None:
        """Keep that something is not understood, in words or in none; always taken while the room goes on."""
        if self.locked(connection, code).ended:
            raise Closed("This room has ended.")
        own = (UNCLEAR.c.room == code) & (UNCLEAR.c.learner == learner) & (UNCLEAR.c.step == step)
        said = list(connection.scalars(sa.select(UNCLEAR.c.text).where(own)))
        if text in said or (not text and said):
            return
        if len(said) >= _WORDS_EACH:
            raise Closed(f"That is enough for this step: {_WORDS_EACH} at most.")
        if said == [""]:
            connection.execute(sa.delete(UNCLEAR).where(own))
        connection.execute(sa.insert(UNCLEAR).values(room=code, learner=learner, step=step, text=text))

    def solved(
        self, connection: sa.Connection, code: str, learner: int, step: int, ma: float, mm: float, changed: int,
    ) -> None:
        """Keep with what a learner met the step's goal; the least current is kept."""
        self._open_for(connection, code, step)
        values = {"ma": ma, "mm": mm, "changed": changed}
        new = self._insert(SOLVED).values(room=code, learner=learner, step=step, **values)
        connection.execute(new.on_conflict_do_update(
            index_elements=["room", "learner", "step"], set_=values, where=SOLVED.c.ma > ma))

    def show_words(self, connection: sa.Connection, code: str, number: int, shown: bool) -> None:
        """Show words to all, or take them back."""
        connection.execute(sa.update(WORDS).where((WORDS.c.id == number) & (WORDS.c.room == code)).values(shown=shown))

    def _open_for(self, connection: sa.Connection, code: str, step: int, turn: int | None = None) -> Room:
        room = self.locked(connection, code)
        if why := rooms_of.refusal(room, step, turn):
            raise Closed(why)
        return room

    # who else may lead or show

    def invite(self, connection: sa.Connection, code: str, role: str) -> str:
        """A short code that gives the right to lead the room or show its wall once, for ten minutes; only its digest is kept."""
        self.locked(connection, code)
        words = new_invitation()
        connection.execute(sa.insert(RIGHTS).values(
            hash=hashed(words), room=code, role=f"invite {role}", until=self.now() + _INVITED_S))
        return words

    def redeem(self, connection: sa.Connection, words: str) -> tuple[str, str, str] | None:
        """Room, role and a token for an invitation, which is used up; None where it is none, or too old."""
        asked = sa.select(RIGHTS.c.room, RIGHTS.c.role).where((RIGHTS.c.hash == hashed(words)) & (RIGHTS.c.until > self.now()))
        row = connection.execute(asked).first()
        if row is None or not connection.execute(sa.delete(RIGHTS).where(RIGHTS.c.hash == hashed(words))).rowcount:
            return None
        role = row.role.removeprefix("invite ")
        return row.room, role, self.entitle(connection, row.room, role)

    def entitle(self, connection: sa.Connection, code: str, role: str) -> str:
        """One more token that leads the room, or shows its wall."""
        token = new_token()
        connection.execute(sa.insert(RIGHTS).values(hash=hashed(token), room=code, role=role, until=None))
        return token

    # who is here

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

    # reading

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
            room = _room(row)
            learners = {r.id: r.handle for r in connection.execute(
                sa.select(LEARNERS.c.id, LEARNERS.c.handle).where(LEARNERS.c.room == code).order_by(LEARNERS.c.id))}
            given: dict[int, dict[int, tuple[str, int | None]]] = {1: {}, 2: {}}
            for r in connection.execute(sa.select(ANSWERS).where((ANSWERS.c.room == code) & (ANSWERS.c.step == room.step))):
                given[r.round][r.learner] = (r.answer, r.sure)
            done = connection.scalars(sa.select(DONE.c.learner).where((DONE.c.room == code) & (DONE.c.step == room.step)))
            here = connection.scalars(
                sa.select(PRESENCE.c.learner).join(PROCESSES, PROCESSES.c.id == PRESENCE.c.process)
                .where((PRESENCE.c.room == code) & (PROCESSES.c.seen > self.now() - _STALE_S)))
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

    def educator(self, code: str, token: str, role: str = "control") -> bool:
        """Whether a token opened this room, or was given the right to lead it; for role ``wall``, to show it."""
        roles = ("control",) if role == "control" else ("control", "wall")
        with self.reading() as connection:
            kept = connection.scalar(sa.select(ROOMS.c.token_hash).where(ROOMS.c.code == code))
            given = connection.scalar(sa.select(RIGHTS.c.hash).where(
                (RIGHTS.c.room == code) & (RIGHTS.c.hash == hashed(token)) & RIGHTS.c.role.in_(roles)))
        return kept is not None and (same(hashed(token), kept) or same(hashed(token), given or ""))

    def learner(self, code: str, token: str) -> tuple[int, str] | None:
        """Number and handle of the learner whose token that is, or None."""
        with self.reading() as connection:
            row = connection.execute(
                sa.select(LEARNERS.c.id, LEARNERS.c.handle, LEARNERS.c.token_hash)
                .where((LEARNERS.c.room == code) & (LEARNERS.c.token_hash == hashed(token)))).first()
        return (row.id, row.handle) if row is not None and same(row.token_hash, hashed(token)) else None

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

    # clearing away

    def delete(self, connection: sa.Connection, code: str | None = None) -> int:
        """Delete one room, or all, with everything in it; how many there were."""
        connection.info[_HELD].clear()
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
            here = sa.select(PRESENCE.c.room).join(PROCESSES, PROCESSES.c.id == PRESENCE.c.process).where(
                PROCESSES.c.seen > self.now() - _STALE_S)
            over = sa.delete(ROOMS).where(ROOMS.c.expires < before, ROOMS.c.expires < now, ROOMS.c.code.not_in(here))
            count = connection.execute(over).rowcount
        if before is None or not 0.0 <= now - before < _SURE_S:
            mark = self._insert(PROCESSES).values(id=_READING, seen=now)
            connection.execute(mark.on_conflict_do_update(index_elements=["id"], set_={"seen": now}))
        gone = (PROCESSES.c.seen < self.now() - 4 * _STALE_S) & (PROCESSES.c.id != _READING)
        connection.execute(sa.delete(PROCESSES).where(gone))
        connection.execute(sa.delete(RIGHTS).where(RIGHTS.c.until < self.now()))
        self._sweep(connection)
        return int(count)

    def _sweep(self, connection: sa.Connection) -> None:
        connection.execute(sa.delete(LESSONS).where(LESSONS.c.digest.not_in(sa.select(ROOMS.c.digest))))


def _room(row: sa.RowMapping) -> Room:
    mirror = None if row["mirror"] is None else json.loads(row["mirror"])
    return Room(row["code"], row["slug"], row["step"], row["phase"], bool(row["paused"]), bool(row["roam"]), bool(row["words"]),
                mirror, row["version"], bool(row["ended"]), **_more(row["more"]))


def _more(text: str | None) -> dict[str, Any]:
    found = {name: value for name, value in json.loads(text or "{}").items() if name in _MORE}
    return {**found, "shut": tuple(found.get("shut", ()))}


def _file_settings(raw: Any, record: object) -> None:
    raw.isolation_level = None  # transactions begin where this module says, not where the driver guesses
    # what is deleted is written over, not only let go of
    for setting in ("busy_timeout=5000", "foreign_keys=ON", "synchronous=FULL", "journal_mode=WAL", "secure_delete=ON"):
        raw.execute(f"PRAGMA {setting}").close()


def _file_begin(connection: sa.Connection) -> None:
    # a writer takes the lock first: two that read and then write would refuse each other instead of waiting
    connection.exec_driver_sql("BEGIN" if connection.get_execution_options().get("gw_read") else "BEGIN IMMEDIATE")


def _postgresql_insert() -> Any:
    """Loaded only where rooms are kept there: a tenth of a second of every start."""
    from sqlalchemy.dialects import postgresql

    return postgresql.insert
