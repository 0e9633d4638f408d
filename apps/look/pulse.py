"""The pulse of the server, by which a page tells slow from gone, and the beats by which a held switch stays held.

Both are asked by a worker of the page, which goes on while the page itself draws.
"""

from __future__ import annotations

import secrets
from collections.abc import Callable
from typing import Any
from weakref import WeakMethod

import tornado.web

__all__ = ["SERVER", "follow_beats", "pulse_routes"]

SERVER = secrets.token_hex(4)
"""Drawn anew at each start: a page that meets another one than it was made by has lost its session."""

_FOLLOWERS: dict[str, WeakMethod[Callable[[int], None]]] = {}


def follow_beats(listener: Callable[[int], None]) -> str:
    """Have a bound method called at each beat, as long as its object lives.

    Parameters
    ----------
    listener : bound method
        Called with 0 at a beat, and with the number of a hold, from 1 on, when that hold ends: a page's own words for it may
        wait behind what the page is being told. It is called in the server's loop, without a page's document, and must only
        note the time.

    Returns
    -------
    str
        Name of the beats, which nobody can guess: the page sends them to ``/beat/<name>``.
    """
    name = secrets.token_hex(12)
    _FOLLOWERS[name] = WeakMethod(listener, lambda _: _FOLLOWERS.pop(name, None))
    return name


class _Quiet(tornado.web.RequestHandler):
    def set_default_headers(self) -> None:
        self.set_header("Cache-Control", "no-store")
        self.set_header("X-Content-Type-Options", "nosniff")

    def check_xsrf_cookie(self) -> None:
        """A beat carries nothing but a name that cannot be guessed."""


class _Pulse(_Quiet):
    def get(self) -> None:
        self.set_header("Content-Type", "text/plain")
        self.finish(SERVER)

    head = get


class _Beat(_Quiet):
    def post(self, name: str, ended: str | None = None) -> None:
        listener = _FOLLOWERS.get(name, lambda: None)()
        if listener is None:
            self.set_status(410)  # the page's session is gone: its worker stops
        else:
            listener(int(ended or 0))
            self.set_status(204)
        self.finish()


def pulse_routes() -> list[tuple[Any, ...]]:
    """Routes for a Tornado application."""
    return [(r"/pulse", _Pulse), (r"/beat/([0-9a-f]{24})(?:/([1-9][0-9]{0,8}))?", _Beat)]
