"""What was promised to be kept: the store's file under a running server, the time that rooms are kept, clocks that jump."""

from __future__ import annotations

import asyncio
import os
import shutil
import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest
import sqlalchemy as sa
from room_clients import Person, join, open_room, post, run
from room_lesson import lesson
from room_server import Servers

from graspwave.apps.classroom.store import Store, open_store
from graspwave.apps.classroom.store.file_watch import FileGone
from graspwave.apps.classroom.store.tables import PROCESSES, ROOMS

LESSON = lesson()


def move_away(file: Path) -> None:
    file.rename(file.with_name("elsewhere.sqlite"))


def replace(file: Path) -> None:
    shutil.copy(file, file.with_name("copy"))
    file.with_name("copy").replace(file)


def cut(file: Path) -> None:
    os.truncate(file, 0)


def lose_the_log(file: Path) -> None:
    file.with_name(file.name + "-wal").unlink()


HARM = [Path.unlink, move_away, replace, cut, lose_the_log]


@pytest.mark.parametrize("harm", HARM)
def test_a_file_that_is_taken_away_is_noticed_before_anything_is_said_to_be_kept(
    tmp_path: Path, harm: Callable[[Path], None],
) -> None:
    file = tmp_path / "rooms.sqlite"
    store = open_store(file)
    with store.writing() as connection:
        code, _ = store.open_room(connection, LESSON, 3600.0)
    harm(file)
    with pytest.raises(FileGone), store.writing() as connection:
        store.join(connection, code)
    with pytest.raises(FileGone), store.reading():
        pass
    store.close()


def test_a_file_taken_away_inside_a_transaction_is_noticed_too(tmp_path: Path) -> None:
    file = tmp_path / "rooms.sqlite"
    store = open_store(file)
    with store.writing() as connection:
        code, _ = store.open_room(connection, LESSON, 3600.0)

    def work() -> None:
        with store.writing() as connection:
            store.join(connection, code)
            file.unlink()

    with pytest.raises(FileGone):
        work()
    store.close()


def test_a_file_that_is_put_back_is_used_again(tmp_path: Path) -> None:
    file = tmp_path / "rooms.sqlite"
    store = open_store(file)
    with store.writing() as connection:
        code, _ = store.open_room(connection, LESSON, 3600.0)
    move_away(file)
    with pytest.raises(FileGone), store.writing():
        pass
    file.with_name("elsewhere.sqlite").rename(file)
    with store.writing() as connection:
        store.join(connection, code)
    store.close()


@pytest.mark.parametrize("harm", [Path.unlink, replace])
def test_a_room_says_that_its_file_is_gone_and_acknowledges_nothing(
    services: Servers, tmp_path: Path, harm: Callable[[Path], None],
) -> None:
    file = tmp_path / "rooms.sqlite"
    server = services.begin(file, tmp_path / "log")

    async def work() -> None:
        code, token = await open_room(server.http)
        control = await Person.arrive(server.live, code, "control", token)
        people = [await Person.arrive(server.live, code, "learner", (await join(server.http, code))[0]) for _ in range(5)]
        await control.go(1, "vote")
        assert (await people[0].answer(1, 1, {"choice": "A"}))["type"] == "kept"
        harm(file)
        for person in people:
            reply = await person.answer(1, 1, {"choice": "B"})
            assert reply["type"] == "refused"
            assert reply["again"]
            assert "moved, deleted or replaced" in reply["text"]
        told = await control.until(lambda m: m["type"] == "trouble")
        assert "moved, deleted or replaced" in told["text"]
        assert (await post(f"{server.http}/teach/open", {"lesson": "small"})).code == 503

    run(work)


def opened(store: Store, keep_s: float = 3600.0) -> str:
    with store.writing() as connection:
        return store.open_room(connection, LESSON, keep_s)[0]


def later(store: Store, seconds: float) -> None:
    """Let everything in the store have happened so much earlier, as it is when time has gone by."""
    with store.writing() as connection:
        connection.execute(sa.update(ROOMS).values(expires=ROOMS.c.expires - seconds))
        connection.execute(sa.update(PROCESSES).values(seen=PROCESSES.c.seen - seconds))


def purged(store: Store) -> int:
    with store.writing() as connection:
        return store.purge(connection)


def test_a_room_is_kept_from_its_last_use_on(store: Store) -> None:
    store.keep_s = 3600.0
    code = opened(store)
    for _ in range(10):
        later(store, 1800.0)
        with store.writing() as connection:
            store.touch(connection, [code])
        purged(store)
        assert store.exists(code)
        assert store.all_answers(code) is not None, "the report is there for as long as the room"
    later(store, 3700.0)
    assert not store.exists(code)
    with store.writing() as connection:
        store.in_use(connection, [code])
    assert not store.exists(code), "what is past its time is not called back"


def test_a_room_that_somebody_looks_at_is_in_use(services: Servers, tmp_path: Path) -> None:
    file = tmp_path / "rooms.sqlite"
    server = services.begin(file, tmp_path / "log", present_s=0.3)

    async def work() -> None:
        code, token = await open_room(server.http)
        await Person.arrive(server.live, code, "wall", token)
        with closing(sqlite3.connect(file, timeout=10.0)) as raw:
            raw.execute("update rooms set expires = expires - 3600").close()
            raw.commit()
            before = raw.execute("select expires from rooms").fetchone()[0]
        for _ in range(200):
            if expires(file) > before:
                return
            await asyncio.sleep(0.1)
        raise AssertionError("a room that somebody looks at runs out")

    run(work)


def expires(file: Path) -> float:
    with closing(sqlite3.connect(file, timeout=10.0)) as raw:
        return float(raw.execute("select expires from rooms").fetchone()[0])


def test_one_reading_of_the_clock_deletes_nothing(store: Store) -> None:
    code = opened(store)
    purged(store)
    later(store, 3700.0)
    assert purged(store) == 0, "only now is it past its time"
    assert not store.exists(code)
    assert [room["code"] for room in store.list_rooms()] == [code]
    assert purged(store) == 0, "the second reading is not far enough from the first"
    later(store, 3700.0)
    assert purged(store) == 1


def test_a_clock_that_jumps_forward_and_is_mended_deletes_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    file, year = tmp_path / "rooms.sqlite", 365 * 86400.0
    store = open_store(file)
    code = opened(store)
    purged(store)
    from time import time

    now = time()
    monkeypatch.setattr("time.time", lambda: now + year)
    assert store.exists(code), "a clock that is set while the server runs ends no room"
    assert purged(store) == 0
    store.close()
    jumped = open_store(file)
    assert purged(jumped) == 0
    assert purged(jumped) == 0
    jumped.close()
    monkeypatch.undo()
    mended = open_store(file)
    assert purged(mended) == 0
    assert mended.exists(code)
    mended.close()


def test_what_is_deleted_is_written_over(tmp_path: Path) -> None:
    file = tmp_path / "rooms.sqlite"
    store = open_store(file)
    code = opened(store)
    with store.writing() as connection:
        assert connection.exec_driver_sql("pragma secure_delete").scalar() == 1
        store.delete(connection, code)
    store.close()
    assert code.encode() not in file.read_bytes()
