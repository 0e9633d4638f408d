"""The thread that writes: together where it can, acknowledged only when on the disk, refused in plain words."""

from __future__ import annotations

import asyncio
import sqlite3
from pathlib import Path

import pytest
import sqlalchemy as sa
from room_clients import run
from room_lesson import lesson

from graspwave.apps.classroom import room as moves
from graspwave.apps.classroom.room import RoomError
from graspwave.apps.classroom.store import Closed, Store, open_store
from graspwave.apps.classroom.store.tables import WORDS
from graspwave.apps.classroom.writer import NotKept, Reader, Writer, why_not_kept

LESSON = lesson()


def prepared(store: Store) -> tuple[str, int]:
    """A room in its first vote, and a learner."""
    with store.writing() as connection:
        code, _ = store.open_room(connection, LESSON, 3600.0)
        token, _ = store.join(connection, code)
        store.change(connection, code, lambda room: moves.go(room, LESSON, 5, "vote"))
    found = store.learner(code, token)
    assert found
    return code, found[0]


def kept_x(store: Store, code: str) -> str | None:
    found = store.snapshot(code)
    assert found
    return next((answer for answer, _ in found.answers[1].values()), None)


def test_what_waits_together_is_one_transaction_and_one_piece_of_news(store: Store) -> None:
    code, who = prepared(store)
    commits = []
    sa.event.listen(store.engine, "commit", lambda connection: commits.append(1))
    writer = Writer(store)

    async def work() -> None:
        futures = [
            writer.submit(lambda c, x=x: store.answer(c, code, who, 5, 1, {"x": x}, None), room=code) for x in range(40)
        ]
        await asyncio.gather(*futures)

    before = store.watch([code])[code][1]
    commits.clear()
    run(work)
    writer.stop()
    assert kept_x(store, code) == '{"x": 39}'
    assert len(commits) <= 4
    assert 1 <= store.watch([code])[code][1] - before <= 4


def test_acknowledged_means_that_another_connection_sees_it(store: Store) -> None:
    code, who = prepared(store)
    writer = Writer(store)

    async def work() -> None:
        for x in range(10):
            await writer.submit(lambda c, x=x: store.answer(c, code, who, 5, 1, {"x": x}, None))
            assert kept_x(store, code) == f'{{"x": {x}}}'

    run(work)
    writer.stop()


def test_one_that_is_refused_or_broken_takes_none_of_the_others_with_it(store: Store) -> None:
    code, who = prepared(store)
    writer = Writer(store)

    def broken(connection: sa.Connection) -> None:
        connection.execute(sa.insert(WORDS).values(room=code, learner=10**6, step=0, text="x", shown=False))

    def faulty(connection: sa.Connection) -> None:
        raise KeyError("a fault of ours")

    async def work() -> None:
        results = await asyncio.gather(
            writer.submit(lambda c: store.answer(c, code, who, 5, 1, {"x": 1}, None), room=code),
            writer.submit(lambda c: store.answer(c, code, who, 5, 2, {"x": 2}, None), room=code),
            writer.submit(lambda c: store.change(c, code, lambda room: moves.go(room, LESSON, 99))),
            writer.submit(broken),
            writer.submit(faulty),
            writer.submit(lambda c: store.answer(c, code, who, 5, 1, {"x": 3}, None), room=code),
            return_exceptions=True,
        )
        assert [type(result) for result in results] == [type(None), Closed, RoomError, NotKept, NotKept, type(None)]
        assert kept_x(store, code) == '{"x": 3}'

    run(work)
    writer.stop()


def test_a_full_disk_is_said_nothing_is_acknowledged_and_it_goes_on_when_there_is_room(tmp_path: Path) -> None:
    lines: list[sqlite3.Connection] = []
    file = tmp_path / "rooms.sqlite"
    store = open_store(file, hook=lines.append)
    code, who = prepared(store)
    with store.writing() as connection:
        store.change(connection, code, lambda room: moves.switched(room, words=True))
    writer, long = Writer(store), "w" * 4000
    number = 0

    async def write() -> None:
        nonlocal number
        number += 1
        await writer.submit(lambda c, n=number: c.execute(
            sa.insert(WORDS).values(room=code, learner=who, step=0, text=f"{n} {long}", shown=False)))

    def bound(pages: int) -> None:
        for line in lines:
            line.execute(f"pragma max_page_count={pages}").close()

    async def work() -> None:
        for _ in range(3):
            await write()
        with store.reading() as connection:
            pages = connection.exec_driver_sql("pragma page_count").scalar()
        bound(pages + 4)
        kept = 3
        refused = None
        while refused is None:
            try:
                await write()
                kept += 1
            except NotKept as error:
                refused = error
        assert kept < 50
        assert str(refused) == "The server's disk is full. Nothing is lost here: it is tried again."
        with store.reading() as connection:
            assert connection.scalar(sa.text("select count(*) from words")) == kept
        bound(100000)
        await write()
        with store.reading() as connection:
            assert connection.scalar(sa.text("select count(*) from words")) == kept + 1

    run(work)
    writer.stop()
    store.close()


def test_a_store_that_is_held_is_said_and_tried_again(tmp_path: Path) -> None:
    file = tmp_path / "rooms.sqlite"
    store = open_store(file, hook=lambda raw: raw.execute("pragma busy_timeout=20").close())
    code, who = prepared(store)
    writer, reader = Writer(store), Reader()
    holder = sqlite3.connect(file, isolation_level=None, check_same_thread=False)

    async def work() -> None:
        holder.execute("begin immediate")
        with pytest.raises(NotKept) as caught:
            await writer.submit(lambda c: store.answer(c, code, who, 5, 1, {"x": 1}, None))
        assert str(caught.value) == "The server's store is busy. It is tried again."
        assert (await reader.ask(store.snapshot, code)) is not None  # readers are not held up
        holder.execute("commit")
        await writer.submit(lambda c: store.answer(c, code, who, 5, 1, {"x": 1}, None))

    run(work)
    holder.close()
    writer.stop()
    reader.stop()
    assert kept_x(store, code) == '{"x": 1}'
    store.close()


@pytest.mark.parametrize(("said", "text"), [
    ("database or disk is full", "The server's disk is full. Nothing is lost here: it is tried again."),
    ("could not extend file: No space left on device", "The server's disk is full. Nothing is lost here: it is tried again."),
    ("database is locked", "The server's store is busy. It is tried again."),
    ("attempt to write a readonly database", "The server's store cannot be written. It is tried again."),
    ("server closed the connection unexpectedly", "The server cannot reach its store. It is tried again."),
])
def test_plain_words_for_each_trouble(said: str, text: str) -> None:
    assert why_not_kept(OSError(said)) == text
