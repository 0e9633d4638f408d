"""A page is built when its line opens: whoever only asks for it costs no session, and is answered with what would be built."""

from __future__ import annotations

import asyncio
import json
import re
import threading
import weakref
from collections.abc import Callable
from typing import Any

import pytest
import tornado.httpclient
from bokeh.server.views.ws import WSHandler
from page_line import begun_line, end_line, line_of, on_server, text_of

from graspwave import simulator as sim
from graspwave.apps import ahead, building, kept, serve, sessions, shield
from graspwave.apps.desk.state import DeskState
from graspwave.apps.told.scenes import scene_to_address

STIFF = scene_to_address(sim.presets()["stiff"].replace("channel.0.pulse.amplitude_ma", 23.0))


def test_who_only_asks_for_a_page_has_no_session() -> None:
    async def ask(address: str, server: Any) -> list[int]:
        counts = []
        for page in ("explore", "explore", f"explore?s={STIFF}", "explore?s=broken&tab=dose", "explore?lang=de", "explore/"):
            text = await text_of(address, page)
            assert "data-root-id" in text
            counts.append(len(server.get_sessions("/explore")))
        return counts

    assert on_server(ask) == [1] * 6, "the first of a kind is built as it is asked for"


def ids_by_order(text: str) -> str:
    """A page's text with its session's name left out, and the places of its views by their order."""
    text = re.sub(r'"token":"[^"]+"', "", text)
    item = re.search(r'"root_ids":(\[[^\]]+\])', text)
    assert item
    places = re.search(r'"roots":(\{[^}]+\})', text)
    assert places
    for i, root in enumerate(json.loads(item[1])):
        text = text.replace(json.loads(places[1])[root], f"place {i}").replace(f'"{root}"', f'"root {i}"')
    return re.sub(r"\bp\d{4,}\b|[0-9a-f]{8}-[0-9a-f-]{27}", "id", text)


@pytest.mark.parametrize(("page", "other"), [
    ("explore", f"explore?s={STIFF}&show=angles&tab=dose"), ("practise", f"practise?s={STIFF}"),
    ("explain?lang=de", f"explain?s={STIFF}&lang=de"),
])
def test_what_is_answered_is_what_would_be_built(monkeypatch: pytest.MonkeyPatch, page: str, other: str) -> None:
    """For another scene and other tabs than those of the visitor whose page was kept."""
    async def ask(address: str, _: Any) -> list[str]:
        await text_of(address, page)
        answered = await text_of(address, other)
        monkeypatch.setattr(kept.Kept, "page", lambda *_: None)
        return [answered, await text_of(address, other)]

    answered, built = map(ids_by_order, on_server(ask))
    assert answered == built
    assert '<p class="coming">' in answered


def test_a_page_that_another_cannot_be_made_of_is_not_kept() -> None:
    found = kept.Kept()
    coming = ahead.Coming(("/explore", "en"), "Hand & wrist")
    assert not found.keep(coming, "a page without its words: token", "token")
    assert found.page(coming, "other") is None
    assert found.keep(coming, '<p class="coming">Hand &amp; wrist</p> token', "token")
    assert found.page(ahead.Coming(("/explore", "en"), "<b>"), "other") == '<p class="coming">&lt;b&gt;</p> other'
    assert found.page(ahead.Coming(("/explore", "de"), ""), "other") is None


def failing_second(monkeypatch: pytest.MonkeyPatch, page: str, fail: Callable[[], None]) -> None:
    """A page whose first visitor is served."""
    plain, visits = serve.PAGES[page], list[int]()

    def build() -> Any:
        visits.append(1)
        if len(visits) > 1:
            fail()
        return plain()

    monkeypatch.setattr(serve, "PAGES", {page: build})


def broken() -> None:
    """A fault of ours."""
    raise KeyError("a fault of ours")


@pytest.mark.parametrize("where", ["page", "around it"])
def test_a_page_that_cannot_be_built_for_its_line_is_asked_anew_and_says_so(monkeypatch: pytest.MonkeyPatch, where: str) -> None:
    if where == "page":
        failing_second(monkeypatch, "explain", broken)
    else:
        failing_second(monkeypatch, "explain", lambda: monkeypatch.setattr(building, "_own_styles", lambda _document: broken()))

    async def ask(address: str, _: Any) -> tuple[Any, int, str, int]:
        await text_of(address, "explain")
        page = f"explain?s={STIFF}"
        line = await begun_line(address, page, await text_of(address, page))
        assert await asyncio.wait_for(line.read_message(), 60.0) is None, "nothing is told"
        line.close()
        again = await tornado.httpclient.AsyncHTTPClient().fetch(f"{address}/{page}", request_timeout=60.0, raise_error=False)
        others = await tornado.httpclient.AsyncHTTPClient().fetch(f"{address}/explain", request_timeout=60.0)
        return line, again.code, again.body.decode(), others.code

    line, code, text, others = on_server(ask)
    assert line.close_code == 1011
    assert code == 500
    assert "That did not work" in text
    if where == "page":
        assert re.search("noted here as [0-9a-f]{8}", text)
        assert re.fullmatch(r"That did not work\. [0-9a-f]{8}", line.close_reason)
    assert others == 200


def test_addresses_that_failed_are_forgotten_in_their_turn() -> None:
    refused = kept.Refused(2)
    for query in ("a", "b", "c"):
        refused.add("/explain/", query)
    assert [("/explain", query) in refused for query in "abc"] == [False, True, True]


def test_a_browser_that_leaves_while_its_page_is_built_leaves_no_session(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nor does one that leaves while it waits for its turn have a page built at all."""
    begun, go_on = threading.Semaphore(0), threading.Semaphore(0)

    def slow() -> None:
        begun.release()
        assert go_on.acquire(timeout=60.0)

    failing_second(monkeypatch, "explain", slow)
    closed: list[Any] = []
    joined: list[bool] = []
    plain_close, plain_join = WSHandler.on_close, shield._Line._async_open

    async def joins(self: Any, token: str) -> None:
        await plain_join(self, token)
        joined.append(self.connection is not None)

    def closes(self: Any) -> None:
        closed.append(self)
        plain_close(self)

    monkeypatch.setattr(WSHandler, "on_close", closes)
    monkeypatch.setattr(shield._Line, "_async_open", joins)

    async def until(done: Callable[[], bool]) -> None:
        for _ in range(6000):
            if done():
                return
            await asyncio.sleep(0.01)
        raise TimeoutError

    async def ask(address: str, server: Any) -> list[int]:
        lines = [await begun_line(address, "explain", await text_of(address, "explain")) for _ in range(3)]
        await asyncio.get_running_loop().run_in_executor(None, begun.acquire)
        for line in lines[1:]:
            line.close()
        await until(lambda: len(closed) == 2)
        go_on.release()
        await until(lambda: len(joined) == 3)
        sessions = server.get_sessions("/explain")
        counts = [session.connection_count for session in sessions]
        await end_line(lines[0])
        return counts

    assert on_server(ask) == [1, 0], "the first visitor's, and the one that was being built"
    assert joined.count(True) == 1
    assert not begun.acquire(blocking=False), "no third was begun"


def test_who_has_left_is_forgotten_with_all_that_was_made_for_the_page(monkeypatch: pytest.MonkeyPatch) -> None:
    """A few seconds after the line has closed, even where others are answered all the time."""
    monkeypatch.setattr(sessions, "MANY", 1)
    made: list[weakref.ref[Any]] = []
    plain = DeskState.__init__

    def noted(self: DeskState, *given: Any, **named: Any) -> None:
        plain(self, *given, **named)
        made.append(weakref.ref(self))

    async def visit(address: str, server: Any) -> list[bool]:
        giving = sessions.Giving()
        _, line = await line_of(address, "explain")
        monkeypatch.setattr(DeskState, "__init__", noted)
        _, line_of_another = await line_of(address, "explain")
        there = [state() is not None for state in made]
        await end_line(line_of_another)
        for session in server.get_sessions("/explain"):
            session.request_expiration()
        while len(server.get_sessions("/explain")) > 1:
            await server._tornado._cleanup_sessions()
        sessions.used()
        given = giving()
        gone = [state() is None for state in made]
        await end_line(line)
        return [any(there), given, all(gone)]

    assert on_server(visit) == [True, True, True]
