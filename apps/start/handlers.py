"""The routes of the door: the start page, its hands, and whatever no other route answers."""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Iterable
from typing import Any

import tornado.web
from bokeh.server.views.doc_handler import DocHandler

from graspwave.apps.classroom.gate import content_policy, security_headers
from graspwave.apps.start.hands import hands_json
from graspwave.apps.start.page import missing_page, start_page

__all__ = ["Missing", "answer_heads", "start_routes"]

_LOG = logging.getLogger(__name__)


class _Plain(tornado.web.RequestHandler):
    """A page of words: asked for whole or for its head only, never cached under an address that may change."""

    def set_default_headers(self) -> None:
        for name, value in security_headers().items():
            self.set_header(name, value)

    def page(self, html: str) -> None:
        self.set_header("Content-Type", "text/html; charset=utf-8")
        self.set_header("Content-Security-Policy", content_policy(html, self.request.host))
        self.finish(html)

    def log_exception(self, kind: Any, error: Any, trace: Any) -> None:
        if not isinstance(error, tornado.web.HTTPError):
            _LOG.error("%s %s failed", self.request.method, self.request.path, exc_info=(kind, error, trace))


class _Start(_Plain):
    def get(self) -> None:
        self.page(start_page())

    head = get


class _Hands(_Plain):
    async def get(self) -> None:
        # seconds on a slow machine the first time: never on the loop that serves everybody else
        text = await asyncio.get_running_loop().run_in_executor(None, hands_json)
        self.set_header("Content-Type", "application/json; charset=utf-8")
        self.finish(text)


class Missing(_Plain):
    """Any address that leads nowhere, by any method."""

    def prepare(self) -> None:
        self.set_status(404)
        if self.request.method in ("GET", "HEAD"):
            self.page(missing_page())
        else:
            self.finish("There is nothing here.\n")


def answer_heads(routes: Iterable[Any]) -> None:
    """Let pages that know only GET answer HEAD as well: the same address, no session, no body.

    Parameters
    ----------
    routes : iterable of tornado.routing.Rule
        Those whose handlers make a whole page are changed in place.
    """
    for rule in routes:
        if isinstance(rule.target, type) and issubclass(rule.target, DocHandler):
            rule.target = type("Headed", (rule.target,), {"head": _head})


async def _head(self: tornado.web.RequestHandler) -> None:
    self.set_header("Content-Type", "text/html; charset=utf-8")
    self.finish()


def start_routes() -> list[tuple[Any, ...]]:
    """Routes of the start page, for a Tornado application."""
    return [(r"/", _Start), (r"/start\.json", _Hands)]
