"""A page's turns are taken beside the loop: whatever a control, a clock or a piece of work done aside makes a page do.

The framework calls all of that back in the loop, one after the other, and rooms would wait for it. Here one thread takes the
turns of all pages, one after the other as well; what a turn changes goes to the browser as one message, written out in that
thread and sent by the loop. A document is locked meanwhile as ever. Stage ``apps``.
"""

from __future__ import annotations

import asyncio
import inspect
import threading
import weakref
from collections.abc import Callable, Generator, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager, suppress
from functools import cache
from typing import Any

import bokeh.io.doc
import bokeh.server.contexts
from bokeh.document.events import DocumentChangedEvent, DocumentPatchedEvent
from bokeh.server.session import ServerSession
from panel.io.model import monkeypatch_events
from panel.io.state import set_curdoc, state

from graspwave.apps.defaults import forget_empty

__all__ = ["NOBODY", "Turns", "begin_thread", "take_turns_aside"]

NOBODY = 0
"""The thread that a page belongs to between its turns: to none, so that the framework leaves all to the next turn."""


class Turns(ServerSession):
    """A visitor's session whose callbacks are called in the thread of turns."""

    def _wrap_document_callback(self, callback: Callable[..., Any]) -> Callable[..., Any]:
        if getattr(callback, "nolock", False):
            return callback

        def wrapped(*given: Any, **named: Any) -> Any:
            return self.with_document_locked(self._take, callback, given, named)

        return wrapped

    async def _take(self, callback: Callable[..., Any], given: Any, named: Any) -> Any:
        turn = _Turn(self)
        try:
            result = await asyncio.get_running_loop().run_in_executor(_thread(), turn.take, callback, given, named)
        finally:
            for event in turn.events:
                self.document.callbacks.trigger_on_change(event)
            for connection, message in turn.messages:
                await connection._socket.send_message(message)
        return await result if inspect.isawaitable(result) else result


class _Turn:
    """One turn: what the browser is told of it, and what else it asked for, such as to be called again."""

    def __init__(self, session: Turns) -> None:
        self._session = session
        self.messages: list[tuple[Any, Any]] = []
        self.events: list[DocumentChangedEvent] = []

    def take(self, callback: Callable[..., Any], given: Any, named: Any) -> Any:
        document = self._session.document
        callbacks = document.callbacks
        state._thread_id_[document] = threading.get_ident()
        listed = document.models._models
        callbacks.hold("combine")
        try:
            with set_curdoc(document):
                return _begun(callback(*given, **named))
        finally:
            held, callbacks._held_events, callbacks._hold = list(callbacks._held_events), [], None
            state._thread_id_[document] = NOBODY
            self._write(held)
            if document.models._models is not listed:  # its models were listed anew
                forget_empty(document)

    def _write(self, held: list[DocumentChangedEvent]) -> None:
        monkeypatch_events(held)
        patches: list[DocumentPatchedEvent] = []
        for event in held:
            if isinstance(event, DocumentPatchedEvent):
                patches.append(event)
            else:
                self.events.append(event)
        if not patches:
            return
        for connection in self._session._subscribed_connections:
            message = connection.protocol.create("PATCH-DOC", patches)
            message.content_json  # noqa: B018  # kept by the message
            self.messages.append((connection, message))


def _begun(result: Any) -> Any:
    """What a callback gives; of one that may wait, what is left of it once it does."""
    if not inspect.iscoroutine(result):
        return result
    try:
        waits_for = result.send(None)
    except StopIteration as done:
        return done.value
    return _Rest(result, waits_for)


class _Rest:
    """A coroutine that was begun elsewhere and has come to wait for something."""

    def __init__(self, coroutine: Any, waits_for: Any) -> None:
        self._coroutine, self._waits_for = coroutine, waits_for

    def __await__(self) -> Generator[Any, Any, Any]:
        waits_for, go_on = self._waits_for, self._coroutine.send
        while True:
            try:
                given = yield waits_for
            except BaseException as error:
                given, go_on = error, self._coroutine.throw
            try:
                waits_for = go_on(given)
            except StopIteration as done:
                return done.value
            go_on = self._coroutine.send


@cache
def _thread() -> ThreadPoolExecutor:
    return ThreadPoolExecutor(1, thread_name_prefix="graspwave-turns")


def begin_thread() -> None:
    """Begin the thread of turns; whoever begins a thread waits until it has, which the loop should not do in somebody's drag."""
    _thread().submit(threading.get_ident).result()


def take_turns_aside() -> None:
    """Have every session that is made from now on take its turns so."""
    bokeh.server.contexts.ServerSession = Turns
    if isinstance(getattr(bokeh.io.doc, "_PATCHED_CURDOCS", None), list):  # newer ones keep it for each thread, and end it
        bokeh.io.doc.patch_curdoc = _present


@contextmanager
def _present(document: Any) -> Iterator[None]:
    """Make a document the present one; where a turn fails it ends too, and of two threads each ends its own."""
    present: list[Any] = bokeh.io.doc._PATCHED_CURDOCS
    own = _Present(document)
    present.append(own)
    del document
    try:
        yield
    finally:
        with suppress(ValueError):
            present.remove(own)


class _Present(weakref.ref):  # type: ignore[type-arg]
    """A document that is the present one, told from the same document made so by another."""

    __slots__ = ()
    __hash__ = object.__hash__

    def __eq__(self, other: object) -> bool:
        return self is other
