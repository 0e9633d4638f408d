"""A page in the frame, served by a thread of the tests themselves."""

from __future__ import annotations

import socket
from collections.abc import Callable, Iterator
from contextlib import contextmanager

import panel as pn

from graspwave.apps.web.serving import WEB_PATTERN, WebFiles

__all__ = ["framed"]


@contextmanager
def framed(explore: Callable[[], pn.Template]) -> Iterator[str]:
    """Its address, where ``/explore`` leads to what `explore` makes at each visit."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    server = pn.serve(
        {"explore": explore}, port=port, address="127.0.0.1", show=False, threaded=True, verbose=False,
        extra_patterns=[(WEB_PATTERN, WebFiles)],
    )
    try:
        yield f"http://127.0.0.1:{port}/explore"
    finally:
        server.stop()
