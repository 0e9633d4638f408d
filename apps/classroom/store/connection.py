"""How the store is opened: its driver, its clock, its transactions, and the form of its tables."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

import sqlalchemy as sa
from sqlalchemy.dialects import sqlite

from graspwave import simulator as sim
from graspwave.apps.classroom.store.file_watch import FileWatch
from graspwave.apps.classroom.store.tables import ADDED, META, PRESENCE, PROCESSES, SCHEMA, VERSION
from graspwave.apps.classroom.store.where import damaged, shown_address

__all__ = ["HELD", "KEEP_S", "STALE_S", "Connected"]

KEEP_S = 24 * 3600.0
"""How long a room is kept after its last use, where nothing else is said."""

STALE_S = 15.0
"""How long after its last beat a process counts as alive."""

HELD = "rooms held by this transaction"


class Connected:
    """An open store: what a transaction is, and what time it is for all servers of it."""

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
        shown = shown_address(self.url)
        with self.writing() as connection:
            if self.is_file:
                if check and (found := connection.exec_driver_sql("PRAGMA quick_check(1)").scalar()) != "ok":
                    raise damaged(f"{shown}: {found}")
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
                connection.info[HELD] = {}
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

    def here(self, column: sa.Column[Any]) -> Any:
        """A question for a column of those who are here: their process gave a sign of life just now."""
        alive = PROCESSES.c.seen > self.now() - STALE_S
        return sa.select(column).join(PROCESSES, PROCESSES.c.id == PRESENCE.c.process).where(alive)


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
