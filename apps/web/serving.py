"""The route of all that browsers are given. Stage ``apps``."""

from __future__ import annotations

from pathlib import PurePosixPath

import tornado.web

from graspwave.apps.web.source import KINDS, stamp, web_file

__all__ = ["WEB_PATTERN", "WebFiles"]

WEB_PATTERN = r"/web/([0-9a-f]{4,40}/)?([a-z0-9_./-]{1,90})"


class WebFiles(tornado.web.RequestHandler):
    """One file; under the present stamp browsers may keep it for good."""

    def get(self, given: str | None, path: str) -> None:
        data = web_file(path)
        if data is None:
            raise tornado.web.HTTPError(404)
        kind = KINDS[PurePosixPath(path).suffix]
        self.set_header("Content-Type", f"{kind}; charset=utf-8" if kind.startswith("text/") else kind)
        fresh = given is not None and given.strip("/") == stamp()
        self.set_header("Cache-Control", "public, max-age=31536000, immutable" if fresh else "no-cache")
        self.set_header("X-Content-Type-Options", "nosniff")
        # a page's worker is held to the policy that its script came with
        self.set_header("Content-Security-Policy", "default-src 'self'; frame-ancestors 'none'")
        self.finish(data)

    def head(self, given: str | None, path: str) -> None:
        """The head of what `get` answers; its body is left out on the way."""
        self.get(given, path)
