"""Serves the pages from this machine; nothing is fetched from anywhere else."""

from __future__ import annotations

import socket
import sys
from typing import Any

import panel as pn

import simulator as sim
from apps.explain.page import explain
from apps.explore.page import explore
from apps.look.frame import static_dirs
from apps.practise.page import practise

__all__ = ["PAGES", "make_server", "serve"]

PAGES = {"explore": explore, "practise": practise, "explain": explain}

_LOCAL = ("127.0.0.1", "localhost", "::1")


def make_server(host: str = "127.0.0.1", port: int = 0) -> Any:
    """A server that listens but does not answer yet; `serve` starts it.

    Parameters
    ----------
    host : str
        Address to listen on.
    port : int
        0 takes any free one.

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
            raise sim.SceneError("port", "free", port, f"give another with --port ({error.strerror})") from None
        port = probe.getsockname()[1]
    # others who open the page name this machine by an address that is not known here
    origins = [f"{name}:{port}" for name in _LOCAL[:2]] if host in _LOCAL else ["*"]
    server = pn.io.server.get_server(
        {**PAGES}, address=host, port=port, show=False, start=False, title="Graspwave", static_dirs=static_dirs(),
        websocket_origin=origins, compress_response=True, index=None,
    )
    return server


def serve(host: str, port: int, *, show: bool) -> None:
    """Serve until stopped, after saying where."""
    server = make_server(host, port)
    if host not in _LOCAL:
        print(f"graspwave: others on the network can open these pages ({host}:{server.port})", file=sys.stderr)
    server.start()
    address = f"http://{'127.0.0.1' if host in ('0.0.0.0', '::') else host}:{server.port}/explore"
    print(f"Graspwave: {address}  (Ctrl+C stops it)", flush=True)
    if show:
        server.io_loop.add_callback(server.show, "/explore")
    try:
        server.io_loop.start()  # left to the system's own signals, which end it at once; nothing is kept that could be lost
    except KeyboardInterrupt:
        server.stop()
