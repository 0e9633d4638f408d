"""What all routes share: headers, where a request comes from, limits, plain words when something cannot be done."""

from __future__ import annotations

import json
import logging
import math
import time
from collections.abc import Callable, Mapping
from typing import Any

import tornado.web

from graspwave import simulator as sim
from graspwave.apps.classroom.gate import MESSAGE_BYTES, content_policy, known_host, parse_message, same_origin, security_headers
from graspwave.apps.classroom.network import addresses, qr_svg, web_address
from graspwave.apps.classroom.room import RoomError
from graspwave.apps.classroom.services import Services
from graspwave.apps.classroom.settings import LOCAL
from graspwave.apps.classroom.store import Closed
from graspwave.apps.classroom.writer import NotKept
from graspwave.apps.sessions import used
from graspwave.lessons import LessonError

__all__ = ["Base", "Post", "numbers_by_path", "quiet"]

_LOG = logging.getLogger(__name__)


class Base(tornado.web.RequestHandler):
    """Headers, origins and errors that all routes share."""

    def initialize(self, services: Services) -> None:
        self.services = services

    def set_default_headers(self) -> None:
        for name, value in security_headers().items():
            self.set_header(name, value)
        # of whatever is no page; a page says its own below
        self.set_header("Content-Security-Policy", "default-src 'self'; frame-ancestors 'none'")

    def _request_summary(self) -> str:
        return f"{self.request.method} {self.request.path}"  # no address of anybody, no query

    def log_exception(self, kind: Any, error: Any, trace: Any) -> None:
        if isinstance(error, tornado.web.HTTPError):
            _LOG.info("%s %s", error.status_code, self._request_summary())
        else:
            _LOG.error("%s failed", self._request_summary(), exc_info=(kind, error, trace))

    def prepare(self) -> None:
        used()
        if not known_host(self.request, self.services.gate.hosts):
            self.refuse(403, "This server is not known by that name.")
        elif self.request.method == "POST" and not same_origin(self.request.headers, self.request.host):
            self.refuse(403, "This was asked by another page.")

    def head(self, *given: str) -> Any:
        """The head of what `get` answers; its body is left out on the way."""
        return self.get(*given)

    def refuse(self, status: int, text: str, **more: Any) -> None:
        """Answer with a plain sentence, and no more."""
        self.set_status(status)
        self.set_header("Content-Type", "application/json; charset=utf-8")
        self.finish(json.dumps({"text": text, **more}))

    def write_error(self, status_code: int, **kwargs: Any) -> None:
        text = {404: "There is nothing here.", 405: "That cannot be done here."}.get(status_code, "That did not work.")
        self.refuse(status_code, text)

    def no_page(self, kind: str) -> None:
        """Answer a person who came to an address of no lesson or room: a page that says where to go."""
        from graspwave.apps.teach.pages import missing_page

        self.set_status(404)
        self.page(missing_page(kind))

    def lesson_page(self, slug: str, make: Callable[[str], str]) -> None:
        """Answer with what `make` makes of a lesson; one that is not there, or could not be worked out, is said on a page."""
        if slug not in self.services.lessons.names():
            return self.no_page("lesson")
        if slug in self.services.troubles:
            self.set_status(503)
            return self.page(self.services.pages.missing_page("trouble", self.services.troubles[slug]))
        return self.page(make(slug))

    def page(self, html: str) -> None:
        """Answer with a page and its content policy."""
        self.set_header("Content-Type", "text/html; charset=utf-8")
        self.set_header("Content-Security-Policy", content_policy(html, self.request.host))
        self.finish(html)

    def json(self, data: bytes | str | Mapping[str, Any]) -> None:
        """Answer with JSON."""
        self.set_header("Content-Type", "application/json; charset=utf-8")
        self.finish(data if isinstance(data, (bytes, str)) else json.dumps(data, allow_nan=False))

    @property
    def address(self) -> str:
        return self.services.gate.address(self.request)

    def limited(self, kind: str, key: str) -> bool:
        """Refuse where somebody asks too often."""
        if self.services.gate.take(kind, key):
            return False
        self.set_header("Retry-After", "6")
        self.refuse(429, "Too many at once. Wait a few seconds.", again=True)
        return True

    def own_ways(self) -> list[dict[str, str]]:
        """Ways in which others reach this server: ``host``, ``on`` (by which of its interfaces) and ``url``; none where it
        serves its own machine alone. Never this machine's name for itself: no phone can open that.

        A name that the browser in front already uses, and that is not this machine's own, is known to work and comes first.
        """
        served = self.services.settings.host
        if served in LOCAL:
            return []
        port = int(self.request.host.rpartition(":")[2]) if ":" in self.request.host.rpartition("]")[2] else 80
        any_of_them = served in ("0.0.0.0", "::", "")
        found = [(one.host, one.on) for one in addresses()] if any_of_them else [(f"[{served}]" if ":" in served else served, "")]
        asked = self.request.host_name or ""
        if asked.strip("[]") not in LOCAL and asked not in [host for host, _ in found]:
            found.insert(0, (asked, "as this page"))
        found.sort(key=lambda one: one[0] != asked)
        return [{"host": host, "on": on, "url": web_address(host, port)} for host, on in found]

    def joining(self, code: str) -> list[dict[str, str]]:
        """`own_ways` with what a phone opens to join a room, as ``join`` and as a picture code, ``svg``."""
        ways = [{**way, "join": f"{way['url']}/join?code={code}"} for way in self.own_ways()]
        return [{**way, "svg": qr_svg(way["join"])} for way in ways]


@tornado.web.stream_request_body
class Post(Base):
    """A post with a small JSON object as its body."""

    def prepare(self) -> None:
        self._parts: list[bytes] = []
        self.request.connection.set_max_body_size(MESSAGE_BYTES)  # type: ignore[union-attr]
        super().prepare()

    def data_received(self, chunk: bytes) -> None:
        self._parts.append(chunk)

    async def post(self, *given: str) -> None:
        try:
            body = parse_message(b"".join(self._parts) or b"{}")
        except ValueError:
            return self.refuse(400, "That cannot be read.")
        try:
            await self.act(body, *given)
        except (Closed, RoomError) as why:
            self.refuse(409, str(why))
        except NotKept as why:
            self.refuse(503, str(why), again=True)
        except sim.SceneError as why:
            self.refuse(400, str(why))
        except LessonError as why:
            self.refuse(503, f"This lesson cannot be worked out here. {why}")

    async def act(self, body: dict[str, Any], *given: str) -> None:
        raise NotImplementedError


def quiet(handler: tornado.web.RequestHandler) -> None:
    """What is logged of each request: none of the visitor, and nothing at all where all is well."""
    status = handler.get_status()
    if status >= 500 and status != 503:
        _LOG.warning("%d %s %s (%.0f ms)", status, handler.request.method, handler.request.path,
                     1e3 * (time.time() - handler.request._start_time))


def numbers_by_path(raw: object) -> dict[str, float | None] | None:
    """Settings as numbers by path, None for one that is let free; None in all where they are something else."""
    if not isinstance(raw, dict) or len(raw) > 20:
        return None
    plain: dict[str, float | None] = {}
    for path, value in raw.items():
        if len(path) > 80:
            return None
        if value is None:
            plain[path] = None
        elif isinstance(value, bool) or not isinstance(value, (int, float)) or not math.isfinite(value):
            return None
        else:
            plain[path] = float(value)
    return plain
