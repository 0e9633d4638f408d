"""Serving rooms: inside the first process, or in several processes of their own that share one further port.

A process of its own is begun anew, not forked, and listens on the shared port itself; the kernel hands each new line to one of
them. It ends when the first process does. A process that dies is replaced; nothing that was acknowledged lives in it.
"""

from __future__ import annotations

import asyncio
import dataclasses
import importlib
import json
import logging
import os
import socket
import subprocess
import sys
import threading
from collections.abc import Callable
from typing import Any

import tornado.httpserver
import tornado.netutil
import tornado.web

from graspwave import simulator as sim
from graspwave.apps.classroom.base import quiet
from graspwave.apps.classroom.handlers import Nothing, home_routes, routes, web_routes
from graspwave.apps.classroom.services import Services, Settings

__all__ = ["LONGEST_MESSAGE", "Processes", "patience", "room_application", "run_rooms", "to_rooms"]

_LOG = logging.getLogger(__name__)
_MAKER = "graspwave.apps.classroom.services:make_services"
_READY_S = 60.0
LONGEST_MESSAGE = 1 << 20
"""Bytes of a message that a page's line may bring."""

def patience() -> dict[str, Any]:
    """How long and how large a request may be: half of one is waited for ten seconds, or as long as ``GRASPWAVE_PATIENCE`` says.

    Routes that take a body ask for less.
    """
    given = os.environ.get("GRASPWAVE_PATIENCE", "")
    seconds = float(given) if given.isdigit() and int(given) > 0 else 10.0
    return {"idle_connection_timeout": seconds, "body_timeout": seconds, "max_header_size": 64 * 1024,
            "max_body_size": 64 * 1024, "decompress_request": False}


def room_application(services: Services) -> tornado.web.Application:
    """Rooms as an application of their own, with the frame's files and the way back to the other pages."""
    patterns = [*routes(services), *web_routes(services), *home_routes(services)]
    return tornado.web.Application(patterns, compress_response=True, default_handler_class=Nothing,
                                   default_handler_args={"services": services}, log_function=quiet)


class _ToRooms(tornado.web.RequestHandler):
    """Sends a page that asked the first port on to the rooms' own port."""

    def initialize(self, port: int) -> None:
        self._port = port

    def get(self) -> None:
        name = self.request.host_name or "127.0.0.1"
        name = f"[{name}]" if ":" in name and not name.startswith("[") else name
        self.redirect(f"{self.request.protocol}://{name}:{self._port}{self.request.uri}")


def to_rooms(port: int) -> list[tuple[Any, ...]]:
    """Routes for the first port that lead to the rooms' own."""
    return [(r"/(?:teach|join|lead|room|lesson|picture)(?:/.*)?", _ToRooms, {"port": port})]


async def run_rooms(services: Services, listening: list[socket.socket], ready: Callable[[], None], stop: asyncio.Event) -> None:
    """Serve rooms on sockets until `stop` is set."""
    server = tornado.httpserver.HTTPServer(room_application(services), xheaders=False, **patience())
    server.add_sockets(listening)
    services.start()
    ready()
    try:
        await stop.wait()
    finally:
        server.stop()
        services.stop()


class Processes:
    """Several processes that serve rooms on one port, begun and watched by the first.

    Parameters
    ----------
    settings : Settings
    count : int
        How many.
    port : int
        0 takes any free one.
    maker : str
        ``module:function`` that makes the services of each, as `services.make_services`.

    Raises
    ------
    SceneError
        This system cannot share a port, or the port is taken.
    """

    def __init__(self, settings: Settings, count: int, port: int = 0, maker: str = _MAKER) -> None:
        if not hasattr(socket, "SO_REUSEPORT"):
            raise sim.SceneError("processes", "1 on this system", count)
        self._settings, self._count, self._maker = settings, count, maker
        # held, not listened on: nobody else takes the port while a process is replaced
        self._holder = socket.socket(socket.AF_INET6 if ":" in settings.host else socket.AF_INET)
        self._holder.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEPORT, 1)
        try:
            self._holder.bind((settings.host, port))
        except OSError as error:
            self._holder.close()
            raise sim.SceneError("port", "free, and the one after it too", port, f"give another with --port "
                                 f"({error.strerror})") from None
        self.port: int = self._holder.getsockname()[1]
        self._running: list[subprocess.Popen[bytes]] = []

    def serve_pages_at(self, home: str) -> None:
        """Where the other pages lie, as ``:port``; before `start`."""
        self._settings = dataclasses.replace(self._settings, home=home)

    @property
    def pids(self) -> list[int]:
        """Numbers of the processes."""
        return [process.pid for process in self._running]

    def start(self) -> None:
        """Begin all and wait until each serves.

        Raises
        ------
        SceneError
            One of them ended instead.
        """
        self._running = [self._begin() for _ in range(self._count)]
        for process in self._running:
            if not _said_ready(process):
                self.stop()
                raise sim.SceneError("processes", "able to begin", self._count, "the reason stands above")

    def watch(self) -> None:
        """Replace what has died; to be called now and then."""
        for at, process in enumerate(self._running):
            if process.poll() is not None:
                _LOG.warning("a process that serves rooms ended (%s) and is replaced", process.returncode)
                _close(process)
                self._running[at] = self._begin()

    def stop(self) -> None:
        """End all."""
        for process in self._running:
            _close(process)
        for process in self._running:
            try:
                process.wait(timeout=5.0)
            except subprocess.TimeoutExpired:
                process.kill()
                process.wait()
        self._running = []
        self._holder.close()

    def _begin(self) -> subprocess.Popen[bytes]:
        process = subprocess.Popen(
            [sys.executable, "-m", "graspwave.apps.classroom.server"], stdin=subprocess.PIPE, stdout=subprocess.PIPE,
            env={**os.environ, "PYTHONPATH": os.pathsep.join(filter(None, sys.path))},
        )
        # through the pipe, not the command line, for it holds the key and the store's password
        asked = {"settings": dataclasses.asdict(self._settings), "port": self.port, "maker": self._maker}
        assert process.stdin is not None
        process.stdin.write(json.dumps(asked).encode() + b"\n")
        process.stdin.flush()
        return process


def _said_ready(process: subprocess.Popen[bytes]) -> bool:
    said: list[bytes] = []
    assert process.stdout is not None
    reader = threading.Thread(target=lambda: said.append(process.stdout.readline()), daemon=True)  # type: ignore[union-attr]
    reader.start()
    reader.join(_READY_S)
    return bool(said) and said[0].strip() == b"ready"


def _close(process: subprocess.Popen[bytes]) -> None:
    for pipe in (process.stdin, process.stdout):
        if pipe is not None:
            try:
                pipe.close()
            except BrokenPipeError:
                continue


def _main() -> int:
    """One process: settings come as a line on standard input, whose end is the end of this process too."""
    asked = json.loads(sys.stdin.buffer.readline())
    module, _, name = asked["maker"].partition(":")
    try:
        services = getattr(importlib.import_module(module), name)(Settings(**asked["settings"]), check=False)
    except sim.SceneError as error:
        sys.stderr.write(f"graspwave: {error}\n")
        return 2
    listening = tornado.netutil.bind_sockets(asked["port"], asked["settings"]["host"], reuse_port=True)

    async def serve() -> None:
        stop, loop = asyncio.Event(), asyncio.get_running_loop()

        def until_closed() -> None:
            sys.stdin.buffer.read()
            loop.call_soon_threadsafe(stop.set)

        def ready() -> None:
            sys.stdout.write("ready\n")
            sys.stdout.flush()

        threading.Thread(target=until_closed, daemon=True).start()
        await run_rooms(services, listening, ready, stop)

    try:
        asyncio.run(serve())
    except KeyboardInterrupt:
        services.stop()
    return 0


if __name__ == "__main__":
    sys.exit(_main())
