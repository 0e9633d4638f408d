"""What answers with a page of words: nothing is kept on the server behind it."""

from __future__ import annotations

import logging
from typing import Any

import tornado.web

from graspwave.apps.classroom.gate import content_policy, security_headers

__all__ = ["Plain"]

_LOG = logging.getLogger(__name__)


class Plain(tornado.web.RequestHandler):
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
