"""The route of all that browsers are given. Stage ``apps``."""

from __future__ import annotations

from pathlib import PurePosixPath

import tornado.web

from graspwave.apps.web.source import KINDS, stamp, web_file, web_packed

__all__ = ["OF_DOCUMENTS", "WEB_PATTERN", "WebFiles"]

WEB_PATTERN = r"/web/([0-9a-f]{4,40}/)?([a-z0-9_./-]{1,90})"


OF_DOCUMENTS = ("Cross-Origin-Opener-Policy", "Permissions-Policy", "X-Frame-Options")
"""What speaks of documents only; that no frame may hold a file is said by its content policy, too."""


class WebFiles(tornado.web.RequestHandler):
    """One file; under the present stamp browsers may keep it for good, so it needs no mark to be asked after by.

    A page's first load is some fifty of these: each is packed once for all, and its head says no more than it must.
    """

    def compute_etag(self) -> str | None:
        return None if "immutable" in self._headers.get("Cache-Control", "") else super().compute_etag()

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
        for name in OF_DOCUMENTS:
            self.clear_header(name)
        packed = web_packed(path) if "gzip" in self.request.headers.get("Accept-Encoding", "") else None
        if packed is not None:
            self.set_header("Content-Encoding", "gzip")
        self.set_header("Vary", "Accept-Encoding")
        self.finish(data if packed is None else packed)

    def head(self, given: str | None, path: str) -> None:
        """The head of what `get` answers; its body is left out on the way."""
        self.get(given, path)
