"""What every answer carries, refuses and says when it fails: walked over all routes of a real server."""

from __future__ import annotations

import asyncio
import gc
import json
import os
import re
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from pathlib import Path
from types import SimpleNamespace

import pytest
from own_loop import in_own_loop
from page_line import begun_line, document_of, end_line, text_of
from serving import COMMAND

from graspwave import simulator as sim
from graspwave.apps.classroom.gate import known_host
from graspwave.apps.classroom.server import patience
from graspwave.apps.classroom.services import served_names
from graspwave.apps.serve import make_server
from graspwave.apps.sessions import Ceiling, Giving, left, most_sessions, used
from graspwave.apps.shield import guarded, shielded
from graspwave.apps.told.scenes import scene_to_address

ROOT = Path(__file__).parents[2]
TIGHT = sim.presets()["tight"]
ROUTES = [
    "/", "/start.json", "/proof", "/app", "/app-away", "/app-worker.js", "/app.webmanifest",
    "/pulse", "/explore", "/explore/", "/practise", "/explain", "/teach", "/teach/claw",
    "/teach/none", "/join", "/room/plum-river-42", "/room/plum-river-42/control", "/room/plum-river-42/wall", "/lesson/none.json",
    "/picture/0123456789.json", "/web/web/dom.js", "/web/look/static/style.css", "/web/none", "/static/js/bokeh.min.js",
    "/static/extensions/panel/panel.min.js", "/static/none", "/nothing", "/components/this/a/b/c", "/explore/ws", "/beat/x",
]


class Served:
    """A server of this test alone, with its log."""

    def __init__(self, port: int, log: Path) -> None:
        self.port, self.log = port, log

    def ask(
        self, path: str, *, method: str = "GET", headers: dict[str, str] | None = None, data: bytes | None = None,
    ) -> tuple[int, dict[str, str], str]:
        """Status, headers and text."""
        request = urllib.request.Request(f"http://127.0.0.1:{self.port}{path}", method=method, headers=headers or {}, data=data)
        try:
            with urllib.request.urlopen(request, timeout=60) as answer:
                return answer.status, dict(answer.headers), answer.read().decode("utf-8", "replace")
        except urllib.error.HTTPError as answer:
            with answer:
                return answer.code, dict(answer.headers), answer.read().decode("utf-8", "replace")

    def said(self) -> str:
        return self.log.read_text("utf-8")


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    folder = tmp_path_factory.mktemp("shield")
    log = folder / "log"
    with open(log, "w") as errors, subprocess.Popen(
        [sys.executable, *COMMAND, "--store", str(folder / "rooms.sqlite")], stdout=subprocess.PIPE, stderr=errors, text=True,
        cwd=ROOT, env={**os.environ, "GRASPWAVE_PATIENCE": "2"},
    ) as process:
        try:
            assert process.stdout
            found = next(filter(None, (re.search(r"http://127\.0\.0\.1:(\d+)", line) for line in process.stdout)))
            yield Served(int(found[1]), log)
        finally:
            process.terminate()


@pytest.mark.parametrize("path", ROUTES)
def test_every_route_sends_what_keeps_a_page_to_itself(served: Served, path: str) -> None:
    status, headers, text = served.ask(path)
    assert status < 500
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert headers["Referrer-Policy"] == "no-referrer"
    assert "frame-ancestors 'none'" in headers.get("Content-Security-Policy", "") or headers["X-Frame-Options"] == "DENY"
    if "text/html" in headers.get("Content-Type", "") and status != 405:
        policy = headers["Content-Security-Policy"]
        assert "frame-ancestors 'none'" in policy
        assert "'unsafe-inline'" not in policy.split("style-src")[0]
    assert "Traceback" not in text
    assert str(ROOT) not in text


@pytest.mark.parametrize("path", ROUTES)
@pytest.mark.parametrize("host", ["evil.example", "evil.example:80", "192.0.2.9", "127.0.0.1.evil.example", "[::ffff:c000:209]"])
def test_a_foreign_name_is_refused_on_every_route(served: Served, path: str, host: str) -> None:
    assert served.ask(path, headers={"Host": host})[0] == 403


@pytest.mark.parametrize(("host", "came_to", "fits"), [
    ("127.0.0.1:80", "127.0.0.1", True), ("192.168.4.7:5080", "192.168.4.7", True), ("[fe80::1%25eth0]:80", "fe80::1%eth0", True),
    ("192.168.4.7", "::ffff:192.168.4.7", True), ("localhost", "127.0.0.1", True), ("school-pc.local", "192.168.4.7", True),
    ("192.168.4.8", "192.168.4.7", False), ("evil.example", "192.168.4.7", False), ("", "192.168.4.7", False),
    ("[", "192.168.4.7", False), ("0x7f000001", "127.0.0.1", False), ("2130706433", "127.0.0.1", False),
])
def test_names_and_addresses_of_its_own(host: str, came_to: str, fits: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(socket, "gethostname", lambda: "school-pc")
    sock = SimpleNamespace(getsockname=lambda: (came_to, 5080))
    request = SimpleNamespace(host=host, connection=SimpleNamespace(stream=SimpleNamespace(socket=sock)))
    assert known_host(request, served_names("0.0.0.0")) is fits


def test_a_name_can_be_added(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("GRASPWAVE_NAMES", "hands.school.example, other")
    assert {"hands.school.example", "other"} <= set(served_names("0.0.0.0"))
    assert "hands.school.example" not in served_names("127.0.0.1")


CRAFTED = {
    "no session": "/explore?bokeh-session-id=", "another session": "/explore?bokeh-token=x", "bytes": "/explore?theme=%ff",
    "wrist at its end": f"/explore?s={scene_to_address(TIGHT.replace('hand.wrist_held_deg', -70.0))}",
    "wrist at its other end": f"/explain?s={scene_to_address(TIGHT.replace('hand.wrist_held_deg', 75.0))}",
    "upper arm": f"/practise?s={scene_to_address(TIGHT.replace('channel.0.pads.limb', 'upper arm'))}",
    "upper arm, explore": f"/explore?s={scene_to_address(TIGHT.replace('channel.0.pads.limb', 'upper arm'))}",
}


async def told(address: str, page: str) -> str:
    """The document that a page's line is told."""
    document, line = await document_of(address, page)
    await end_line(line)
    return document


@pytest.mark.parametrize("path", CRAFTED.values(), ids=CRAFTED)
def test_a_crafted_address_shows_no_traceback(served: Served, path: str) -> None:
    """Neither as it is asked for nor by its line, which is where most pages are built."""
    before = served.said()
    status, _, text = served.ask(path)
    assert status in (200, 404)
    assert "Traceback" not in text
    if status == 200:
        assert '"roots"' in in_own_loop(lambda: told(f"http://127.0.0.1:{served.port}", path[1:]))
    assert "Error" not in served.said()[len(before):]


def test_a_page_that_fails_says_so_by_number(monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture) -> None:
    def broken() -> None:
        raise KeyError("a fault of ours")

    assert guarded(broken)() is None
    line = caplog.records[-1].getMessage()
    assert re.fullmatch(r"page broken failed \[[0-9a-f]{8}\]: KeyError: 'a fault of ours' at \S+", line)


def test_nothing_of_a_visitor_is_logged(served: Served) -> None:
    built = ("/explore", "/practise", "/explain")  # a page that is built takes a second: one of each kind of address will do
    for path in [*(path for path in ROUTES if not path.rstrip("/").endswith(built)), CRAFTED["bytes"], CRAFTED["upper arm"]]:
        served.ask(path)
    for path in [*ROUTES, *CRAFTED.values()]:
        served.ask(path, method="POST", data=b"x" * 10)
    said = served.said()
    assert "127.0.0.1" not in said.replace("http://127.0.0.1", "")
    assert "?s=" not in said
    assert "HTTPServerRequest" not in said


def test_half_a_request_is_not_waited_for(served: Served) -> None:
    starts = [b"", b"GET /explore HT", b"GET /explore HTTP/1.1\r\nHost: 127.0.0.1\r\n",
              b"POST /teach/open HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Length: 100\r\n\r\n{"]
    lines = []
    for start in starts:
        line = socket.create_connection(("127.0.0.1", served.port), timeout=30.0)
        line.sendall(start)
        lines.append(line)
    began = time.monotonic()
    for line in lines:
        while line.recv(4096):
            pass
        line.close()
    assert time.monotonic() - began < 9.0, "two seconds on a quiet machine, where two are given"


def test_ten_seconds_are_given_where_nobody_says_another_time(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("GRASPWAVE_PATIENCE", raising=False)
    assert (patience()["idle_connection_timeout"], patience()["body_timeout"]) == (10.0, 10.0)
    for odd in ("0", "-3", "soon"):
        monkeypatch.setenv("GRASPWAVE_PATIENCE", odd)
        assert patience()["body_timeout"] == 10.0


@pytest.mark.parametrize("path", ["/explore", "/", "/teach/open", "/bench", "/room/plum-river-42/join", "/nothing", "/pulse"])
def test_a_long_body_is_refused_before_it_is_read(served: Served, path: str) -> None:
    with socket.create_connection(("127.0.0.1", served.port), timeout=30.0) as line:
        line.sendall(f"POST {path} HTTP/1.1\r\nHost: 127.0.0.1:{served.port}\r\nContent-Length: 100000000\r\n\r\n".encode())
        came = line.recv(4096)
    assert came == b"" or re.match(rb"HTTP/1.1 4\d\d", came), came


def test_a_line_of_a_session_takes_no_more_than_a_megabyte() -> None:
    server = make_server()
    assert server._tornado.settings["websocket_max_message_size"] == 1 << 20
    server._http.stop()


def test_a_full_server_says_so_kindly(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("GRASPWAVE_SESSIONS", "3")
    assert most_sessions() == 3
    context = SimpleNamespace(_sessions={"a": 1}, _pending_sessions={"b": 1})
    application = SimpleNamespace(applications={"/explore": context})
    ceiling = Ceiling(3)
    assert ceiling.room_for_one(application)
    context._sessions["c"] = 1
    assert not ceiling.room_for_one(application)
    monkeypatch.delenv("GRASPWAVE_SESSIONS")
    assert 20 <= most_sessions() <= 400


def test_memory_is_given_back_when_somebody_has_left_and_nothing_goes_on(monkeypatch: pytest.MonkeyPatch) -> None:
    at = [1000.0]
    monkeypatch.setattr("graspwave.apps.sessions.time", SimpleNamespace(monotonic=lambda: at[0]))
    giving = Giving()
    assert [giving(), giving()] == [False, False]
    left()
    used()
    assert not giving(), "somebody is being answered"
    at[0] += 3.0
    gc.unfreeze()  # what earlier tests set aside may be gone by now
    assert gc.get_freeze_count() == 0
    assert [giving(), giving()] == [True, False]
    assert gc.get_freeze_count() > 0, "what stays is set aside"
    gc.unfreeze()

    def until_given(leave: int) -> float:
        """Seconds, where somebody always is answered."""
        began = at[0]
        for _ in range(200):
            for _ in range(leave):
                left()
            used()
            if giving():
                break
            at[0] += 3.0
            leave = 0
        return at[0] - began

    assert 240.0 <= until_given(19) < 250.0
    assert until_given(20) == 0.0, "so many are not waited beyond"
    gc.unfreeze()


def test_the_ceiling_holds_on_a_server(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("GRASPWAVE_SESSIONS", "2")
    with subprocess.Popen([sys.executable, *COMMAND, "--store", str(tmp_path / "rooms.sqlite")], stdout=subprocess.PIPE,
                          stderr=subprocess.DEVNULL, text=True, cwd=ROOT) as process:
        try:
            assert process.stdout
            found = next(filter(None, (re.search(r"http://127\.0\.0\.1:(\d+)", line) for line in process.stdout)))
            server = Served(int(found[1]), tmp_path / "log")
            address = f"http://127.0.0.1:{server.port}"

            async def two_stay_and_one_more_comes() -> None:
                texts = [await text_of(address, "explain") for _ in range(3)]  # who only asks takes no place
                lines = [await begun_line(address, "explain", text) for text in texts]
                assert ['"ACK"' in str(await line.read_message()) for line in lines] == [True, True, False]
                assert (lines[2].close_code, lines[2].close_reason) == (1013, "This server is full.")
                status, headers, text = await asyncio.to_thread(server.ask, "/explore")
                assert (status, headers["Retry-After"]) == (503, "60")
                assert "This server is full" in text
                assert (await asyncio.to_thread(server.ask, "/teach"))[0] == 200, "rooms go on"
                lines[2].close()
                for line in lines[:2]:
                    await end_line(line)

            in_own_loop(two_stay_and_one_more_comes)
        finally:
            process.terminate()


def test_a_handler_keeps_its_name_and_module() -> None:
    import tornado.web

    class Plain(tornado.web.RequestHandler):
        """Some handler."""

    made = shielded(Plain, {"names": ()})
    assert (made.__name__, made.__module__) == ("Plain", Plain.__module__)
    assert shielded(made, {}) is made
    assert json.dumps(made.names) == "[]"
