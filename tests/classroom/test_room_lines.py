"""A page that does not keep up, and processes that are replaced."""

from __future__ import annotations

import asyncio
import os
import signal
from pathlib import Path
from typing import Any

import pytest
from room_clients import Person, get, join, open_room, post, run
from room_lesson import Source
from room_server import PlainPages, Server, Servers
from tornado.httputil import HTTPConnection, HTTPHeaders, HTTPServerRequest, RequestStartLine
from tornado.web import Application

from graspwave import simulator as sim
from graspwave.apps.classroom.line import LiveLine
from graspwave.apps.classroom.server import Processes
from graspwave.apps.classroom.services import Settings, make_services
from graspwave.apps.classroom.store import open_store


def test_a_page_that_does_not_keep_up_is_dropped_and_nobody_waits_for_it(tmp_path: Path) -> None:
    services = make_services(Settings(str(tmp_path / "rooms.sqlite")), lessons=Source(), pages=PlainPages())

    async def work() -> None:
        connection: Any = HTTPConnection()
        connection.set_close_callback = lambda callback: None
        request = HTTPServerRequest(
            start_line=RequestStartLine("GET", "/", "HTTP/1.1"), headers=HTTPHeaders({"Host": "127.0.0.1"}),
            connection=connection)
        line = LiveLine(Application(), request, services=services)
        loop, taken = asyncio.get_running_loop(), []
        closed: list[bool] = []

        def write(text: str) -> asyncio.Future[None]:
            taken.append(loop.create_future())
            return taken[-1]

        line.write_message = write  # type: ignore[method-assign, assignment]
        line._drop = lambda: closed.append(True)  # type: ignore[method-assign]
        line._connected = True
        for _ in range(40):
            line.tell("x")
        for future in taken:
            future.set_result(None)
        await asyncio.sleep(0)
        assert not closed
        for _ in range(65):
            line.tell("x")
        assert closed == [True]
        assert len(taken) == 40 + 64

    run(work)
    services.stop()


def test_several_processes_share_one_port_and_a_dead_one_is_replaced(tmp_path: Path) -> None:
    settings = Settings(str(tmp_path / "rooms.sqlite"))
    make_services(settings, lessons=Source(), pages=PlainPages()).stop()
    processes = Processes(settings, 2, maker="room_server:small_house")
    processes.serve_pages_at(":5080")
    processes.start()
    try:
        server = Server(processes.pids[0], processes.port, tmp_path / "log")

        async def people(count: int) -> None:
            code, token = await open_room(server.http)
            control = await Person.arrive(server.live, code, "control", token)
            for _ in range(count):
                mine, _ = await join(server.http, code)
                await Person.arrive(server.live, code, "learner", mine)
            await control.until_state(lambda s: s["counts"]["here"] == count)

        run(people, 8)
        before = processes.pids
        os.kill(before[0], signal.SIGKILL)
        while before[0] in processes.pids:
            processes.watch()
        assert processes.pids[1] == before[1]
        run(people, 8)
    finally:
        processes.stop()
    assert not any(Path(f"/proc/{pid}").exists() for pid in before)


def test_a_port_that_is_taken_is_said(tmp_path: Path) -> None:
    import socket

    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        port = taken.getsockname()[1]
        with pytest.raises(sim.SceneError) as caught:
            Processes(Settings(str(tmp_path / "x")), 2, port)
    assert str(caught.value) == (
        f"'port' must be free, and the one after it too (got {port}): give another with --port (Address already in use)")


@pytest.mark.parametrize(("arguments", "text"), [
    (["open", "--processes", "0"], "'processes' must be 1 to 64 (got 0)"),
    (["open", "--keep-hours", "0"], "'keep-hours' must be 0.1 to 8760 (got 0)"),
    (["rooms", "delete"], "'code' must be a room's code, or --all (got 'nothing')"),
    (["rooms", "delete", "plum-river-42", "--all"], "'code' must be a room's code, or --all (got 'plum-river-42')"),
])
def test_the_command_checks_what_it_is_given(arguments: list[str], text: str, capsys: Any) -> None:
    from graspwave.apps.command import main

    assert main(arguments) == 2
    assert capsys.readouterr().err == f"graspwave: {text}\n"


def test_the_command_lists_rooms(tmp_path: Path, capsys: Any) -> None:
    from graspwave.apps.command import main

    open_store(tmp_path / "rooms.sqlite")
    assert main(["rooms", "list", "--store", str(tmp_path / "rooms.sqlite")]) == 0
    assert main(["rooms", "delete", "--all", "--store", str(tmp_path / "rooms.sqlite")]) == 0
    assert capsys.readouterr().out == "no rooms\n0 rooms deleted\n"


PORT_OF_ROOMS = ["/teach", "/", "/explore", "/web/look/static/style.css", "/web/none.js", "/nothing", "/lesson/none.json",
                 "/room/a", "/components/this/a/b/c", "/room/plum-river-42/join", "/picture/0123456789.json", "/bench"]


def test_the_rooms_own_port_is_as_closed_as_the_pages_one(services: Servers, tmp_path: Path) -> None:
    """Where several processes serve rooms, no page framework stands before them: headers, names and logs are their own."""
    server = services.begin(tmp_path / "rooms.sqlite", tmp_path / "log")

    async def work() -> None:
        for path in PORT_OF_ROOMS:
            reply = await get(f"{server.http}{path}?s=secret")
            assert reply.code in (200, 302, 404, 405), path
            assert reply.headers["X-Content-Type-Options"] == "nosniff", path
            assert reply.headers["Referrer-Policy"] == "no-referrer", path
            assert "frame-ancestors 'none'" in reply.headers["Content-Security-Policy"], path
            assert (await get(f"{server.http}{path}", headers={"Host": "evil.example"})).code == 403, path
            assert (await post(f"{server.http}{path}?s=secret", "x", headers={"Host": "evil.example"})).code in (403, 405), path
        style = await get(f"{server.http}/web/look/static/style.css")
        assert style.code == 200
        assert len(style.body) > 1000

    run(work)
    assert "127.0.0.1" not in server.log
    assert "secret" not in server.log
