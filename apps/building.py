"""Pages built beside the loop that serves: a page's views, its text and what its line is first told are made in threads.

The loop answers rooms and lines meanwhile. One page at a time is built (`sessions.Ceiling.turn`). Stage ``apps``.
"""

from __future__ import annotations

import asyncio
import sys
from collections.abc import Callable, Mapping
from concurrent.futures import ThreadPoolExecutor
from functools import cache, partial
from typing import Any, TypeVar

from bokeh.application.handlers.function import FunctionHandler
from bokeh.document import Document
from bokeh.server.session import ServerSession
from panel.io.application import Application
from panel.io.resources import LOCAL_DIST, Resources, patch_model_css
from panel.io.server import server_html_page_for_session
from panel.io.state import set_curdoc, state

from graspwave.apps.defaults import forget_empty
from graspwave.apps.sessions import keep, left
from graspwave.apps.turns import NOBODY

__all__ = ["applications", "beside_the_loop", "built", "page_text", "short_turns", "told_whole"]

_Result = TypeVar("_Result")

_THREADS = 2
"""One builds a page, the other tells pages that are built already what is in them."""

_TURN_S = 0.0005


def short_turns() -> None:
    """Have threads hand the interpreter over ten times as often as they would: the loop waits that much less for it."""
    sys.setswitchinterval(_TURN_S)


async def beside_the_loop(work: Callable[..., _Result], *given: Any) -> _Result:
    """What `work` returns or raises, done in one of the threads that build."""
    return await asyncio.get_running_loop().run_in_executor(_threads(), work, *given)


@cache
def _threads() -> ThreadPoolExecutor:
    return ThreadPoolExecutor(_THREADS, thread_name_prefix="graspwave-building")


def applications(pages: Mapping[str, Callable[[], Any]], title: str) -> dict[str, Any]:
    """The framework's applications of pages by address, each built beside the loop.

    Parameters
    ----------
    pages : mapping of str to callable
        Each returns a template, or none where it failed.
    title : str
        Of a page that gives itself none.
    """
    return {f"/{name}": _Beside(FunctionHandler(partial(_fill, page, title))) for name, page in pages.items()}


def _fill(page: Callable[[], Any], title: str, document: Document) -> None:
    """Put a page into its document; what is in it is listed once, at the end, and not anew with each of its parts."""
    with set_curdoc(document), document.models.freeze():
        if (template := page()) is not None:
            template._modify_doc(None, title, document, True)
            _own_styles(document)
    forget_empty(document)
    keep()  # it stays until its visitor leaves


def _own_styles(document: Document) -> None:
    """Have the framework's style sheets come from this server.

    It sees to that as it writes a page's HTML only. A page that was left open while its server was begun anew is told a new
    document without any, and its browser would ask a foreign host.
    """
    document._template_variables["dist_url"] = LOCAL_DIST
    for root in document.roots:
        patch_model_css(root, LOCAL_DIST)


def built(page: Callable[[], Any], title: str = "Graspwave") -> Document:
    """A page as nobody's: to have what pages share worked out before the first one is asked for, or to look at its parts."""
    document = Document()
    _fill(page, title, document)
    return document


class _Beside(Application):
    """A page whose document is filled in a thread, before the framework asks for it in the loop."""

    async def on_session_created(self, session_context: Any) -> None:
        await super().on_session_created(session_context)
        document = session_context._document
        try:
            await beside_the_loop(super().initialize_document, document)
        except Exception as error:  # which the framework would only log here
            document._graspwave_failed = error
        state._thread_id_[document] = NOBODY

    async def on_session_destroyed(self, session_context: Any) -> None:
        await super().on_session_destroyed(session_context)
        left()

    def initialize_document(self, doc: Document) -> None:
        error = getattr(doc, "_graspwave_failed", None)
        if error is not None:
            raise error


_UNUSED = "bokeh-gl"
"""No plot of ours is drawn by the graphics card; a page is a fifteenth lighter without what does."""


async def page_text(session: ServerSession, resources: Any) -> str:
    """A built page as HTML: written in a thread, while the document is locked."""
    document = session.document

    def written() -> str:
        with set_curdoc(document):
            given = Resources.from_bokeh(resources)
            given.components = [part for part in given.components if part != _UNUSED]
            text = str(server_html_page_for_session(
                session, resources=given, title=document.title, token=session.token,
                template=document.template, template_variables=document.template_variables,
            ))
            forget_empty(document)
            return text

    return str(await session.with_document_locked(beside_the_loop, written))


async def told_whole(message: Any, connection: Any) -> Any:
    """Answer a line that asks for its whole document: written out in a thread, while the document is locked."""
    session = connection.session

    def written() -> Any:
        reply = connection.protocol.create("PULL-DOC-REPLY", message.header["msgid"], session.document)
        reply.content_json  # noqa: B018  # kept by the message
        forget_empty(session.document)
        return reply

    return await session.with_document_locked(beside_the_loop, written)
