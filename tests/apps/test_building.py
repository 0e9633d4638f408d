"""Pages are built beside the loop that serves: who works where is counted on a real server, and rooms answer meanwhile."""

from __future__ import annotations

import asyncio
import threading
from collections.abc import Callable
from typing import Any

import panel as pn
import pytest
import tornado.httpclient
from bokeh.document import Document
from bokeh.models import ImportedStyleSheet
from bokeh.server.contexts import ApplicationContext
from own_loop import in_own_loop
from page_line import line_of, on_server

from graspwave.apps import building, serve
from graspwave.apps.turns import NOBODY

PAGES = ("explore", "practise", "explain")


def test_no_page_is_built_written_or_told_in_the_loop(monkeypatch: pytest.MonkeyPatch) -> None:
    worked: dict[str, set[int]] = {}

    def noted(name: str, call: Callable[..., Any]) -> Callable[..., Any]:
        def work(*given: Any, **named: Any) -> Any:
            worked.setdefault(name, set()).add(threading.get_ident())
            return call(*given, **named)
        work.__name__ = name
        return work

    monkeypatch.setattr(serve, "PAGES", {name: noted(name, page) for name, page in serve.PAGES.items()})
    monkeypatch.setattr(building, "server_html_page_for_session", noted("text", building.server_html_page_for_session))
    monkeypatch.setattr(Document, "to_json", noted("told", Document.to_json))

    async def look(address: str, _: Any) -> tuple[int, list[str]]:
        texts = []
        for page in PAGES:
            text, line = await line_of(address, page)
            line.close()
            texts.append(text)
        return threading.get_ident(), texts

    loop, texts = on_server(look)
    assert set(worked) == {*PAGES, "text", "told"}
    assert all(loop not in threads for threads in worked.values())
    assert all("bk-root" in text or "data-root-id" in text for text in texts)


def test_the_loop_answers_while_a_page_is_built_and_pages_take_turns(monkeypatch: pytest.MonkeyPatch) -> None:
    begun, go_on = threading.Semaphore(0), threading.Semaphore(0)
    inside: list[int] = []
    most: list[int] = []

    def slow() -> Any:
        inside.append(1)
        most.append(len(inside))
        begun.release()
        assert go_on.acquire(timeout=60.0)
        inside.pop()
        return serve_page()

    serve_page = serve.PAGES["explain"]
    monkeypatch.setattr(serve, "PAGES", {"explain": slow})

    async def look(address: str, _: Any) -> list[int]:
        client = tornado.httpclient.AsyncHTTPClient()
        asked = [asyncio.ensure_future(client.fetch(f"{address}/explain", request_timeout=120.0)) for _ in range(2)]
        codes = []
        for _ in asked:
            await asyncio.get_running_loop().run_in_executor(None, begun.acquire)
            codes.append((await client.fetch(f"{address}/app.webmanifest", request_timeout=120.0)).code)
            assert not all(one.done() for one in asked)
            go_on.release()
        return codes + [(await one).code for one in asked]

    assert on_server(look) == [200, 200, 200, 200]
    assert most == [1, 1]


def session_of(page: Callable[[], Any]) -> tuple[Document, int]:
    """The document of a visitor's page, and the thread of the loop that it was made for."""
    context = ApplicationContext(building.applications({"one": page}, "title")["/one"])

    async def make() -> tuple[Document, int]:
        session = await context.create_session_if_needed("one" * 16)  # type: ignore[arg-type]
        return session.document, threading.get_ident()

    return in_own_loop(make)


def test_a_failure_that_is_not_the_pages_own_goes_to_whoever_asked() -> None:
    def page() -> Any:
        raise ValueError("no such page")

    with pytest.raises(ValueError, match="no such page"):
        session_of(page)


def test_a_page_that_is_built_belongs_to_no_thread_until_its_turn() -> None:
    document, _ = session_of(lambda: None)
    assert pn.state._thread_id_[document] == NOBODY


@pytest.mark.parametrize("name", PAGES)
def test_a_page_asks_no_foreign_host_for_its_styles_even_before_it_is_written(name: str) -> None:
    """A page left open while its server is begun anew is told a document that was never written as HTML."""
    document = building.built(serve.PAGES[name])
    styles = [style.url for root in document.roots for style in root.select({"type": ImportedStyleSheet})]
    assert styles
    assert [url for url in styles if "//" in url] == []
