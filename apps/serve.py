"""Serves the pages from this machine; nothing is fetched from anywhere else."""

from __future__ import annotations

import errno
import os
import socket
import sys
import webbrowser
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import panel as pn
from tornado.ioloop import PeriodicCallback

from graspwave import simulator as sim
from graspwave.apps.ahead import work_ahead
from graspwave.apps.building import applications, short_turns
from graspwave.apps.classroom.gate import new_token
from graspwave.apps.classroom.handlers import routes
from graspwave.apps.classroom.network import addresses, ask_for_name, web_address
from graspwave.apps.classroom.server import LONGEST_MESSAGE, Processes, patience, to_rooms
from graspwave.apps.classroom.services import LOCAL, Settings, make_services, served_names
from graspwave.apps.doors import close_unused
from graspwave.apps.explain.page import explain
from graspwave.apps.explore.page import explore
from graspwave.apps.installed.routes import app_routes
from graspwave.apps.look.pulse import pulse_routes
from graspwave.apps.practise.page import practise
from graspwave.apps.proof.handlers import proof_routes
from graspwave.apps.sessions import Ceiling, Giving, keep, most_sessions
from graspwave.apps.shield import guarded, quiet, shield, shielded
from graspwave.apps.start.handlers import Missing, answer_heads, start_routes
from graspwave.apps.teach.beside import beside
from graspwave.apps.turns import begin_thread, take_turns_aside
from graspwave.apps.web.serving import WEB_PATTERN, WebFiles

__all__ = ["PAGES", "make_server", "serve"]

PAGES = {"explore": explore, "practise": practise, "explain": explain}

_WATCH_MS = 500
_GIVE_BACK_MS = 3_000
_UNUSED_MS, _LOOK_MS = 5_000, 3_000
"""How long a session lives without a line, and how often that is looked at: a line that comes later has it made anew."""


def make_server(host: str = "127.0.0.1", port: int = 0, *, patterns: list[tuple[Any, ...]] | None = None) -> Any:
    """A server that listens but does not answer yet; `serve` starts it.

    Parameters
    ----------
    host : str
        Address to listen on.
    port : int
        0 takes any free one.
    patterns : list of tuple, optional
        Further routes, as a Tornado application takes them.

    Raises
    ------
    SceneError
        The port is taken.
    """
    with socket.socket(socket.AF_INET6 if ":" in host else socket.AF_INET) as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((host, port))
        except OSError as error:
            if isinstance(error, socket.gaierror) or error.errno not in (errno.EADDRINUSE, errno.EACCES):
                raise sim.SceneError("host", "an address or name of this machine", host, error.strerror or "not one") from None
            raise sim.SceneError("port", "free", port, f"give another with --port ({error.strerror})") from None
        port = probe.getsockname()[1]
    short_turns()
    take_turns_aside()
    server = pn.io.server.get_server(
        applications({name: guarded(page) for name, page in PAGES.items()}, "Graspwave"),
        address=host, port=port, show=False, start=False, title="Graspwave",
        websocket_origin=[f"127.0.0.1:{port}"],  # what the shield below puts its own question in the place of
        unused_session_lifetime_milliseconds=_UNUSED_MS, check_unused_sessions_milliseconds=_LOOK_MS,
        compress_response=True, index=None, websocket_max_message_size=LONGEST_MESSAGE, http_server_kwargs=patience(),
        extra_patterns=[
            (WEB_PATTERN, WebFiles), *start_routes(), *proof_routes(), *app_routes(), *pulse_routes(), *(patterns or []),
        ],
    )
    close_unused(server._tornado.wildcard_router.rules)
    answer_heads(server._tornado.wildcard_router.rules)
    names, ceiling = served_names(host), Ceiling(most_sessions())
    shield(server._tornado.wildcard_router.rules, names, ceiling, work_ahead)
    # for whatever no route answers
    server._tornado.settings["default_handler_class"] = shielded(Missing, {"names": names, "ceiling": ceiling})
    server._tornado.settings["log_function"] = quiet
    giving: Any = Giving()
    server.io_loop.add_callback(PeriodicCallback(giving, _GIVE_BACK_MS).start)
    server.io_loop.add_callback(begin_thread)
    keep()  # all that was loaded stays
    return server


def serve(
    host: str, port: int, *, show: bool, store: str | Path | None = None, processes: int = 1, keep_hours: float = 24.0,
    lessons: Sequence[str] = (),
) -> None:
    """Serve until stopped, after saying where.

    Parameters
    ----------
    host : str
        Address to listen on.
    port : int
        0 takes any free one.
    show : bool
        Whether a browser is opened.
    store : str or Path, optional
        File or address where rooms are kept; a file of the user's own where not given.
    processes : int
        With more than one, lessons and rooms are served by that many processes on one further port.
    keep_hours : float
        How long a room is kept.
    lessons : sequence of str
        Files and folders of own lessons.

    Raises
    ------
    SceneError
        A port is taken, or the store cannot be used.
    """
    local = host in LOCAL
    key = None if local else new_token()
    settings = Settings(None if store is None else str(store), host, key, keep_hours * 3600.0, secret=new_token(),
                        lessons=tuple(str(Path(path).expanduser().resolve()) for path in lessons))
    rooms = None
    if processes == 1:
        services = make_services(settings)
        server = make_server(host, port, patterns=routes(services))
        server.io_loop.add_callback(services.start)
    else:
        make_services(settings).stop()  # the store is made, checked and cleared once, and what is wrong with it said once
        server, rooms = _with_processes(settings, host, port, processes)
    if not local:
        print(f"graspwave: others on the network can open these pages ({host}:{server.port})", file=sys.stderr)
    server.start()
    rooms_port = rooms.port if rooms else server.port
    for line in _where(host, server.port, rooms_port, key):
        print(line, flush=True)
    if show:
        # the educator's own browser holds the key; behind the sign it never leaves it as part of an address
        opened = f"{_own(host, server.port)}/" if key is None else f"{_own(host, rooms_port)}/teach#key={key}"
        server.io_loop.add_callback(webbrowser.open, opened)
    working = None if os.environ.get("GRASPWAVE_LESSONS") == "when asked for" else beside()
    try:
        server.io_loop.start()  # left to the system's own signals, which end it at once; nothing is kept that could be lost
    except KeyboardInterrupt:
        server.stop()
    finally:
        if working is not None:
            working.end()
        if rooms is not None:
            rooms.stop()


def _own(host: str, port: int) -> str:
    """Address of this server for a browser on this machine."""
    name = "127.0.0.1" if host in ("0.0.0.0", "::") else f"[{host}]" if ":" in host else host
    return f"http://{name}:{port}"


def _where(host: str, port: int, rooms_port: int, key: str | None) -> list[str]:
    """What is said at the start: where the pages are, and where phones find the rooms."""
    lines = [f"Graspwave: {_own(host, port)}/  (Ctrl+C stops it)",
             f"Lessons and rooms: {_own(host, rooms_port)}/teach{'' if key is None else f'#key={key}'}"]
    if host not in ("0.0.0.0", "::"):
        return lines
    ask_for_name(1.0)
    found = addresses()
    if not found:
        return [*lines, "Phones: this machine is in no network. Join a Wi-Fi network or switch on a hotspot; addresses are "
                        "looked up anew whenever a page is opened."]
    return [*lines, "Phones in the same network open one of these:",
            *(f"  {web_address(one.host, rooms_port)}/join  ({one.on})" for one in found)]


def _with_processes(settings: Settings, host: str, port: int, count: int) -> tuple[Any, Processes]:
    """The first port's server, and the processes that serve rooms, begun and watched."""
    probe = Processes(settings, count)
    server = make_server(host, port, patterns=to_rooms(probe.port))
    probe.serve_pages_at(f":{server.port}")
    probe.start()
    server.io_loop.add_callback(PeriodicCallback(probe.watch, _WATCH_MS).start)
    return server, probe
