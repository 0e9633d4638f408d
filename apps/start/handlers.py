"""The routes of the door: the start page, its hands, and whatever no other route answers."""

from __future__ import annotations

import asyncio
from collections.abc import Iterable
from typing import Any

import tornado.web
from bokeh.server.views.doc_handler import DocHandler

from graspwave.apps.plain_route import Plain
from graspwave.apps.start.hands import hands_json
from graspwave.apps.start.page import missing_page, start_page

__all__ = ["Missing", "answer_heads", "start_routes"]

class _Start(Plain):
    def get(self) -> None:
        self.page(start_page())

    head = get


class _Hands(Plain):
    async def get(self) -> None:
        # seconds on a slow machine the first time: never on the loop that serves everybody else
        text = await asyncio.get_running_loop().run_in_executor(None, hands_json)
        self.set_header("Content-Type", "application/json; charset=utf-8")
        self.finish(text)


class Missing(Plain):
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
