"""A page's turns are taken beside the loop, and told to its browser as one message; counted, not timed."""

from __future__ import annotations

import asyncio
import json
import socket
import threading
from collections.abc import Callable
from types import SimpleNamespace
from typing import Any

import panel as pn
import pytest
from bokeh.document import Document
from bokeh.io import curdoc
from bokeh.models import ColumnDataSource, Range1d
from bokeh.protocol import Protocol
from own_loop import in_own_loop
from page_line import line_of, on_server
from tornado.ioloop import IOLoop

from graspwave.apps.desk.state import DeskState
from graspwave.apps.explore import curve
from graspwave.apps.turns import NOBODY, Turns, take_turns_aside


class Line:
    """What a browser's line is sent, and by which thread."""

    def __init__(self) -> None:
        self.protocol, self.sent, self.by = Protocol(), list[Any](), set[int]()
        self._socket = SimpleNamespace(send_message=self._send)

    async def send_message(self, message: Any) -> None:
        """As newer frameworks have the line send what a loop's turn has changed."""
        await self._send(message)

    async def _send(self, message: Any) -> None:
        self.sent.append(message)
        self.by.add(threading.get_ident())

    def send_patch_document(self, event: Any) -> Any:
        return self._send(self.protocol.create("PATCH-DOC", [event]))

    @property
    def kinds(self) -> list[list[str]]:
        return [[event.get("attr", event["kind"]) for event in message.content["events"]] for message in self.sent]


def turned(turn: Callable[[Document, list[int]], Any], models: tuple[Any, ...] = ()) -> tuple[Line, list[int], int, Document]:
    """The line, the threads that `turn` noted, and the loop's, after one turn and what it asked for."""
    threads: list[int] = []
    take_turns_aside()

    async def run() -> tuple[Line, list[int], int, Document]:
        document, line = Document(), Line()
        for model in models:
            document.add_root(model)
        session = Turns("one" * 16, document, io_loop=IOLoop.current())  # type: ignore[arg-type]
        session.subscribe(line)  # type: ignore[arg-type]
        over = asyncio.Event()
        loop = asyncio.get_running_loop()

        def last() -> None:
            loop.call_soon_threadsafe(over.set)

        document.add_next_tick_callback(lambda: turn(document, threads))
        document.add_timeout_callback(last, 50)
        await asyncio.wait_for(over.wait(), 60.0)
        await session.with_document_locked(lambda: None)
        return line, threads, threading.get_ident(), document

    return in_own_loop(run)


def test_a_turn_is_taken_in_a_thread_and_goes_out_as_one_message() -> None:
    ends, source = Range1d(0, 1), ColumnDataSource({"x": [0.0]})

    def turn(document: Document, threads: list[int]) -> None:
        threads.append(threading.get_ident())
        assert pn.state.curdoc is document
        assert pn.state._unblocked(document) or pn.state._thread_id_[document] == threading.get_ident()
        ends.update(start=2.0, end=5.0)
        ends.end = 6.0
        source.data = {"x": [1.0, 2.0]}

    line, threads, loop, document = turned(turn, (ends, source))
    assert threads
    assert loop not in threads
    assert line.kinds == [["start", "end", "data"]], "one message, each setting once"
    assert line.by == {loop}, "written by the loop alone"
    assert ends.end == 6.0
    assert pn.state._thread_id_[document] == NOBODY
    assert document.callbacks.hold_value is None


def test_what_a_turn_asks_for_later_is_a_turn_of_its_own() -> None:
    ends = Range1d(0, 1)

    def turn(document: Document, threads: list[int]) -> None:
        def later() -> None:
            threads.append(threading.get_ident())
            ends.end = 3.0

        document.add_next_tick_callback(later)
        ends.start = -1.0

    line, threads, loop, _ = turned(turn, (ends,))
    assert threads
    assert loop not in threads
    assert line.kinds == [["start"], ["end"]]


def test_a_turn_that_waits_goes_on_in_the_loop() -> None:
    ends = Range1d(0, 1)

    def turn(document: Document, threads: list[int]) -> Any:
        async def waits() -> None:
            threads.append(threading.get_ident())
            await asyncio.sleep(0)
            threads.append(threading.get_ident())
            ends.end = 4.0

        return waits()

    line, threads, loop, _ = turned(turn, (ends,))
    assert threads[0] != loop == threads[1]
    assert line.kinds == [["end"]]


def test_a_turn_that_fails_leaves_the_page_in_order(caplog: pytest.LogCaptureFixture) -> None:
    ends = Range1d(0, 1)

    def turn(document: Document, threads: list[int]) -> None:
        def later() -> None:
            ends.start = 1.0

        document.add_next_tick_callback(later)
        ends.end = 7.0
        raise ValueError("in a turn")

    line, _, _, document = turned(turn, (ends,))
    assert line.kinds == [["end"], ["start"]], "what had changed is told, and the next turn comes"
    assert document.callbacks.hold_value is None
    assert "in a turn" in caplog.text
    assert curdoc() is not document, "no document that failed is left as the present one of all threads"


def test_a_dragged_current_is_worked_out_and_told_outside_the_loop(monkeypatch: pytest.MonkeyPatch) -> None:
    threads: set[int] = set()
    plain = DeskState.change_all

    def noted(self: DeskState, settings: dict[str, object], key: str) -> bool:
        threads.add(threading.get_ident())
        return plain(self, settings, key)

    monkeypatch.setattr(DeskState, "change_all", noted)
    monkeypatch.setattr(curve, "_SILENT_S", -1.0)  # what is read aloud is told with each step, however soon after the page

    async def drag(address: str, server: Any) -> tuple[int, str]:
        _, line = await line_of(address, "explore")
        session = server.get_sessions("/explore")[0]
        document = session.document
        for connection in session._subscribed_connections:
            stream = connection._socket.ws_connection.stream
            assert stream.socket.getsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY), "no part waits for the one before"
        slider = next(model for model in document.models if getattr(model, "label", "") == "Current")
        ready = {"type": "event", "name": "document_ready", "values": {"type": "map", "entries": []}}
        for events in ([{"kind": "MessageSent", "msg_type": "bokeh_event", "msg_data": ready}],
                       [{"kind": "ModelChanged", "model": {"id": slider.id}, "attr": "value", "new": 31}]):
            for part in ('{"msgid": "2", "msgtype": "PATCH-DOC"}', "{}", json.dumps({"events": events})):
                await line.write_message(part)
            while not pn.state._connected.get(document):
                await asyncio.sleep(0.01)
        text = ""
        while "31 mA" not in text:
            text = str(await line.read_message())
        line.close()
        return threading.get_ident(), text

    loop, text = on_server(drag)
    assert threads
    assert loop not in threads
    told = json.loads(text)["events"]
    assert len(told) > 10
    for shown in ("ColumnDataChanged", "the opening is", "Hand from the thumb side", "a pulse."):
        assert shown in text, "all that the page shows of a current is one message"
