"""Servers of rooms with the small lesson, each in a process of its own, for tests and benchmarks.

One process is begun that has all modules loaded and begins a server as its own child when asked to, so that a test can kill
twenty of them without waiting for twenty starts of Python. `small_house` makes the services of each.
"""

from __future__ import annotations

import asyncio
import json
import os
import signal
import sqlite3
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from html import escape
from pathlib import Path
from typing import Any

import tornado.netutil

sys.path[:0] = [str(Path(__file__).parents[2]), str(Path(__file__).parent)]

from room_lesson import Source  # noqa: E402

from graspwave.apps.classroom import hub  # noqa: E402
from graspwave.apps.classroom.server import run_rooms  # noqa: E402
from graspwave.apps.classroom.services import Services, Settings, make_services  # noqa: E402

__all__ = ["PlainPages", "Server", "Servers", "servers", "small_house"]


class PlainPages:
    """Pages that say only what they were given."""

    def lessons_page(self, rows: Any = None, **more: Any) -> str:
        return f"<!doctype html><title>Lessons</title>{escape(repr(more))}"

    def alone_page(self, slug: str) -> str:
        return f"<!doctype html><title>{escape(slug)}</title>"

    def join_page(self, code: str = "", trouble: str = "") -> str:
        return f"<!doctype html><title>Join</title>{escape(code)} {escape(trouble)}"

    def learner_page(self, code: str) -> str:
        return f"<!doctype html><title>{escape(code)}</title><script>let room</script>"

    def control_page(self, code: str, ways: Any = (), *, shared: bool = False) -> str:
        each = "".join(f"{escape(way['join'])}{way['svg']}" for way in ways)
        return f"<!doctype html><title>{escape(code)}</title>{shared} {each}"

    def lead_page(self) -> str:
        return "<!doctype html><title>Lead</title>"

    wall_page = control_page


def small_house(settings: Settings, *, check: bool = True, pages: int = 0) -> Services:
    """A services with the small lesson; `pages` bounds the pages of its SQLite file, as a disk that is full does."""
    def hook(raw: Any) -> None:
        if pages and isinstance(raw, sqlite3.Connection):
            raw.execute(f"PRAGMA max_page_count={pages}").close()

    return make_services(settings, lessons=Source(), pages=PlainPages(), check=check, hook=hook)


class Server:
    """A server in a process of its own."""

    def __init__(self, pid: int, port: int, log: Path) -> None:
        self.pid, self.port, self._log = pid, port, log

    @property
    def http(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    @property
    def live(self) -> str:
        return f"ws://127.0.0.1:{self.port}"

    @property
    def log(self) -> str:
        """What it said on standard error."""
        return self._log.read_text("utf-8")

    @property
    def alive(self) -> bool:
        return Path(f"/proc/{self.pid}").exists()

    @property
    def memory_kb(self) -> int:
        """Memory of its own, not shared with the process that began it."""
        lines = Path(f"/proc/{self.pid}/smaps_rollup").read_text("utf-8").splitlines()
        return sum(int(line.split()[1]) for line in lines if line.startswith(("Private_Clean", "Private_Dirty")))

    def kill(self) -> None:
        """End it in the middle of whatever it does."""
        os.kill(self.pid, signal.SIGKILL)
        while self.alive:
            time.sleep(0.002)


class Servers:
    """Begins servers, and ends those that are left."""

    def __init__(self, process: subprocess.Popen[str]) -> None:
        self._process = process
        self._begun: list[Server] = []

    def begin(self, store: str | Path, log: Path, *, host: str = "127.0.0.1", port: int = 0, pages: int = 0,
              present_s: float = hub.PRESENT_S) -> Server:
        """One more server; it answers once this returns."""
        assert self._process.stdin
        assert self._process.stdout
        asked = {"store": str(store), "log": str(log), "host": host, "port": port, "pages": pages,
                 "present_s": present_s}
        self._process.stdin.write(json.dumps(asked) + "\n")
        self._process.stdin.flush()
        said = self._process.stdout.readline().split()
        assert said[:1] == ["serves"], f"the server did not start: {log.read_text('utf-8')}"
        server = Server(int(said[1]), int(said[2]), log)
        self._begun.append(server)
        return server

    def end_all(self) -> None:
        for server in self._begun:
            if server.alive:
                server.kill()
        self._begun.clear()


@contextmanager
def servers() -> Iterator[Servers]:
    """Something that begins servers; all end with the block."""
    command = [sys.executable, str(Path(__file__))]
    environment = {**os.environ, "OPENBLAS_NUM_THREADS": "1"}
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, env=environment) as process:
        several = Servers(process)
        try:
            yield several
        finally:
            several.end_all()
            assert process.stdin
            process.stdin.close()
            process.wait(timeout=10)


def _say(line: str) -> None:
    sys.stdout.write(line + "\n")
    sys.stdout.flush()


def _serve(asked: dict[str, Any]) -> None:
    with open(asked["log"], "a") as log:
        os.dup2(log.fileno(), 2)
    host = asked["host"]
    hub.PRESENT_S = asked["present_s"]
    services = small_house(Settings(asked["store"], host, None if host == "127.0.0.1" else "the-key"), pages=asked["pages"])
    listening = tornado.netutil.bind_sockets(asked["port"], host)

    def ready() -> None:
        _say(f"serves {os.getpid()} {listening[0].getsockname()[1]}")

    async def serve() -> None:
        await run_rooms(services, listening, ready, asyncio.Event())

    asyncio.run(serve())


def _main() -> None:
    signal.signal(signal.SIGCHLD, signal.SIG_IGN)  # children that end leave nothing behind
    for line in sys.stdin:
        if os.fork() == 0:
            os.close(0)
            try:
                _serve(json.loads(line))
            except BaseException as error:
                _say(f"failed {type(error).__name__}")
                sys.stderr.write(f"{error}\n")
                os._exit(1)


if __name__ == "__main__":
    _main()
