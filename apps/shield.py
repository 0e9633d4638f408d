"""What every answer of the pages' server carries, refuses and says when something fails; put round each route when it is made.

The pages share their origin with the one that holds an educator's right to lead a room, so they are as closed as that one. What a
visitor is told of a failure is a sentence and a number; what the log is told is one line with that number, and nobody's address.
"""

from __future__ import annotations

import asyncio
import logging
import secrets
import traceback
from collections.abc import Callable, Iterable, MutableSequence
from functools import lru_cache
from pathlib import Path
from typing import Any
from weakref import WeakKeyDictionary

import panel as pn
import tornado.web
from bokeh.server.views.doc_handler import DocHandler
from bokeh.server.views.ws import WSHandler
from bokeh.util.token import generate_jwt_token, generate_session_id, get_session_id

from graspwave.apps.ahead import Coming
from graspwave.apps.building import page_text, told_whole
from graspwave.apps.classroom.base import Base, quiet
from graspwave.apps.classroom.gate import content_policy, known_host, same_origin, security_headers
from graspwave.apps.kept import Kept, Refused
from graspwave.apps.look.plain import plain_page
from graspwave.apps.sessions import Ceiling, used
from graspwave.apps.web.serving import OF_DOCUMENTS
from graspwave.apps.web.source import packed

__all__ = ["guarded", "quiet", "shield", "trouble_page"]

_LOG = logging.getLogger(__name__)
_FAILED: WeakKeyDictionary[Any, str] = WeakKeyDictionary()
_PACKED = (".js", ".css", ".svg")
_SCRIPTS = ("blob:",)
"""What the page framework's scripts need beyond files of this server: parts of a page are modules made in the browser."""


class _Failed(Exception):
    """A page could not be built; its number is told."""


def guarded(page: Callable[[], Any]) -> Callable[[], Any]:
    """A page's function whose failure is told by number, on a page of ours."""

    def build() -> Any:
        try:
            return page()
        except Exception as error:
            number = _told(f"page {page.__name__}", error)
            if pn.state.curdoc is not None:
                _FAILED[pn.state.curdoc] = number
            return None

    return build


def _told(what: str, error: BaseException) -> str:
    """One line in the log; the number under which it stands."""
    number = secrets.token_hex(4)
    last = traceback.extract_tb(error.__traceback__)[-1:]
    where = f" at {last[0].filename}:{last[0].lineno}" if last else ""
    said = " ".join(str(error).split())[:200]
    _LOG.error("%s failed [%s]: %s: %s%s", what, number, type(error).__name__, said, where)
    return number


def trouble_page(head: str, text: str) -> str:
    """A page that says in plain words what is the matter."""
    body = (f'<div class="missing" role="region" aria-labelledby="missing-head"><h2 id="missing-head">{head}</h2>'
            f'<p>{text}</p><p><a class="btn strong" href="/">To the start</a></p></div>')
    return plain_page("missing", head, body)


class _Shield(tornado.web.RequestHandler):
    """Headers, names, failures and logging; put before a handler of the framework."""

    names: tuple[str, ...] = ()
    ceiling: Ceiling | None = None
    ahead: Callable[[str, Callable[[str], str]], Coming | None] | None = None
    kept: Kept
    refused: Refused
    _number = ""

    def set_default_headers(self) -> None:
        super().set_default_headers()
        self.clear_header("Server")  # nobody needs to know
        own = {name for name, _ in self._headers.get_all()}
        for name, value in security_headers().items():
            if name not in own and not (name == "Cache-Control" and not isinstance(self, DocHandler)):
                self.set_header(name, value)
        if "Content-Security-Policy" not in own:
            # a page's worker is held to the policy that its script came with
            self.set_header("Content-Security-Policy", "default-src 'self'; frame-ancestors 'none'")

    async def prepare(self) -> None:
        used()
        if not known_host(self.request, self.names):
            self.set_status(403)
            self.finish("This server is not known by that name.\n")
            return
        done = super().prepare()
        if done is not None:
            await done

    def _request_summary(self) -> str:
        return f"{self.request.method} {self.request.path}"  # no address of anybody, no query

    def log_exception(self, kind: Any, error: Any, trace: Any) -> None:
        if isinstance(error, _Failed):
            self._number = str(error)
        elif not isinstance(error, tornado.web.HTTPError):
            self._number = _told(self._request_summary(), error)

    def write_error(self, status_code: int, **kwargs: Any) -> None:
        if status_code == 503:
            head, text = "This server is full", "It works for as many visitors as it can. Try again in a minute."
            self.set_header("Retry-After", "60")
        elif status_code >= 500:
            head, text = "That did not work", f"It is noted here as {self._number or 'nothing'}. Try again, or begin anew."
        else:
            head, text = "There is nothing here", "The address may have lost or gained a letter."
        html = trouble_page(head, text)
        self.set_header("Content-Type", "text/html; charset=utf-8")
        self.set_header("Content-Security-Policy", content_policy(html, self.request.host))
        self.finish(html)


@lru_cache(maxsize=32)
def _packed(file: Path, changed_ns: int) -> bytes:
    """A file of the framework packed by gzip, once for all, as small as it gets: packing it with each first load took 0.1 s."""
    return packed(file.read_bytes())


class _File(_Shield):
    """A file of the framework: packed once, in a thread; others have their turn between its pieces."""

    async def get(self, path: str, include_body: bool = True) -> None:
        asked = self.request.headers
        for name in OF_DOCUMENTS:
            self.clear_header(name)
        self.path = self.parse_url_path(path)  # type: ignore[attr-defined]
        where = self.get_absolute_path(self.root, self.path)  # type: ignore[attr-defined]
        plain = not include_body or "Range" in asked or "gzip" not in asked.get("Accept-Encoding", "")
        if not plain and Path(where).suffix in _PACKED:
            file = Path(self.validate_absolute_path(self.root, where))  # type: ignore[attr-defined]
            data = await asyncio.get_running_loop().run_in_executor(None, _packed, file, file.stat().st_mtime_ns)

            def content(*_: Any) -> bytes:
                self.set_header("Content-Encoding", "gzip")
                self.set_header("Content-Length", len(data))
                return data

            self.get_content = content
        await super().get(path, include_body)  # type: ignore[misc]

    def flush(self, include_footers: bool = False) -> Any:
        sent = super().flush(include_footers)

        async def then_others() -> None:
            await sent
            await asyncio.sleep(0)

        return asyncio.ensure_future(then_others())


class _Page(_Shield):
    """A page of the framework: built only while there is room, with its own content policy."""

    async def prepare(self) -> None:
        # the framework reads more of an address than our pages do
        for name in [name for name in self.request.arguments if name == "theme" or name.startswith("bokeh-a")]:
            del self.request.arguments[name]
        await super().prepare()

    async def get(self, *_: Any, **__: Any) -> None:
        # as the framework does, but for who may enter, which it asks nobody here, and in a thread
        self.set_header("Cache-Control", "no-store")
        self.set_header("Content-Type", "text/html")
        given = [self.get_argument(name, default=None) for name in ("bokeh-token", "bokeh-session-id")]
        if given != [None, None] or "Bokeh-Session-Id" in self.request.headers:
            raise tornado.web.HTTPError(404)  # no page of ours asks for another's session
        if self.ceiling is not None and not self.ceiling.room_for_one(self.application):
            raise tornado.web.HTTPError(503)
        coming = None
        if self.ahead is not None:
            coming = await asyncio.get_running_loop().run_in_executor(None, self.ahead, self.request.path, self._asked)
        if coming is not None and (self.request.path, self.request.query) not in self.refused:
            html = self.kept.page(coming, self._token())
            if html is not None:
                self.write(html)
                return
        session = await self.get_session()
        html = await page_text(session, self.application.resources())  # type: ignore[attr-defined]
        if coming is not None:
            self.kept.keep(coming, html, session.token)
        self.write(html)

    def _asked(self, name: str) -> str:
        """One value of the address, read as pages read it."""
        return self.request.arguments.get(name, [b""])[0].decode("ascii", "ignore")

    def _token(self) -> str:
        """What the page's line will name its session by, which is made then."""
        server: Any = self.application
        return str(generate_jwt_token(
            generate_session_id(secret_key=server.secret_key, signed=server.sign_sessions),
            secret_key=server.secret_key, signed=server.sign_sessions, expiration=server.session_token_expiration,
            extra_payload=self._generate_token_payload(),  # type: ignore[attr-defined]
        ))

    async def get_session(self) -> Any:
        if self.ceiling is None:
            session = await super().get_session()  # type: ignore[misc]
        else:
            async with self.ceiling.turn:
                session = await super().get_session()  # type: ignore[misc]
        if (number := _FAILED.pop(session.document, None)) is not None:
            session.request_expiration()
            raise _Failed(number)
        return session

    def finish(self, chunk: Any = None) -> Any:
        if self._write_buffer and self.get_status() == 200:
            html = b"".join(self._write_buffer).decode("utf-8", "replace")
            self.set_header("Content-Security-Policy", content_policy(html, self.request.host, _SCRIPTS))
        return super().finish(chunk)


class _Line(_Shield):
    """A page's line to its session."""

    def check_origin(self, origin: str) -> bool:
        return same_origin(self.request.headers, self.request.host)

    def get_compression_options(self) -> dict[str, Any]:
        """What a page is made of comes by this line, half a megabyte of names and numbers: packed it is a fifth of that."""
        return {"compression_level": 1}

    def open(self) -> None:
        """A message has several parts: none waits until the browser has acknowledged the one before, which takes it 40 ms."""
        super().open()  # type: ignore[misc]
        self.set_nodelay(True)  # type: ignore[attr-defined]

    async def on_message(self, fragment: str | bytes) -> None:
        used()
        await super().on_message(fragment)  # type: ignore[misc]

    async def _async_open(self, token: str) -> None:
        if self.ceiling is None or self.ceiling.knows(self.application, token):
            await self._join(token)
            return
        async with self.ceiling.turn:
            if self._gone:  # while it waited
                return
            if self.ceiling.room_for_one(self.application):
                await self._join(token)
            else:
                self.close(1013, "This server is full.")  # type: ignore[attr-defined]

    @property
    def _gone(self) -> bool:
        """Whether the browser has closed the line."""
        return self.ws_connection is None  # type: ignore[attr-defined]

    async def _join(self, token: str) -> None:
        """Join the line to its session, which is made where there is none; a page that cannot be built is answered for anew."""
        context: Any = self.application_context  # type: ignore[attr-defined]
        name = get_session_id(token)
        try:
            session = await context.create_session_if_needed(name, self.request, token)
        except Exception:
            context._pending_sessions.pop(name, None)
            self._refuse("")
            raise
        if (number := _FAILED.pop(session.document, None)) is not None:
            session.request_expiration()
            self._refuse(number)
        elif not self._gone:  # nor was while its page was built, when nobody would have been told of it
            await super()._async_open(token)  # type: ignore[misc]
            self.handler._handlers["PULL-DOC-REQ"] = told_whole  # type: ignore[attr-defined]

    def _refuse(self, number: str) -> None:
        """Close the line; the browser asks anew, and is answered with what went wrong."""
        self.refused.add(self.request.path.removesuffix("/ws"), self.request.query)
        self.close(1011, f"That did not work. {number}")  # type: ignore[attr-defined]


def shield(
    rules: MutableSequence[Any], names: Iterable[str], ceiling: Ceiling | None = None,
    ahead: Callable[[str, Callable[[str], str]], Coming | None] | None = None,
) -> None:
    """Put the shield round every route that does not carry its own.

    Parameters
    ----------
    rules : list of tornado.routing.Rule
        Changed in place.
    names : iterable of str
        Names under which the server may be asked, besides its own addresses.
    ceiling : Ceiling, optional
        Of the pages' sessions.
    ahead : callable, optional
        Takes a page's path and what reads its address, and works out in a thread what the page will ask for
        (`apps.ahead.work_ahead`).
    """
    given = {"names": tuple(names), "ceiling": ceiling, "ahead": staticmethod(ahead) if ahead else None,
             "kept": Kept(), "refused": Refused()}
    for rule in rules:
        if isinstance(rule.target, type) and issubclass(rule.target, tornado.web.RequestHandler):
            rule.target = shielded(rule.target, given)


def shielded(handler: type[Any], given: dict[str, Any]) -> type[Any]:
    """A handler with the shield before it; those of rooms carry their own."""
    if issubclass(handler, (Base, _Shield)):
        return handler
    kinds = ((DocHandler, _Page), (WSHandler, _Line), (tornado.web.StaticFileHandler, _File))
    first = next((ours for kind, ours in kinds if issubclass(handler, kind)), _Shield)
    return type(handler.__name__, (first, handler), {**given, "__module__": handler.__module__})
