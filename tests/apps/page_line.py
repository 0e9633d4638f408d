"""A page's line, as a browser opens it, to a server in the test's own process."""

from __future__ import annotations

import re
from collections.abc import Callable, Coroutine
from typing import Any

import tornado.httpclient
import tornado.websocket
from own_loop import in_own_loop

from graspwave.apps import serve

__all__ = ["begun_line", "document_of", "end_line", "line_of", "on_server", "text_of"]


async def line_of(address: str, page: str) -> tuple[str, Any]:
    """A page's text and its line, which was told the whole document."""
    text, line, _ = await _opened(address, page)
    return text, line


async def document_of(address: str, page: str, within_s: float = 120.0) -> tuple[str, Any]:
    """The document that a page's line was told, and the line."""
    _, line, document = await _opened(address, page, within_s)
    return document, line


async def text_of(address: str, page: str, within_s: float = 120.0) -> str:
    """A page's text."""
    client = tornado.httpclient.AsyncHTTPClient()
    return (await client.fetch(f"{address}/{page}", request_timeout=within_s, connect_timeout=within_s)).body.decode()


async def begun_line(address: str, page: str, text: str) -> Any:
    """The line that a page's text asks for, before anything was said."""
    path, _, query = page.partition("?")
    token = re.search(r'"token":"([^"]+)"', text)[1]  # type: ignore[index]
    return await tornado.websocket.websocket_connect(
        tornado.httpclient.HTTPRequest(f"{address.replace('http', 'ws')}/{path}/ws?{query}", headers={"Origin": address}),
        subprotocols=["bokeh", token], max_message_size=2**26,
    )


async def end_line(line: Any) -> None:
    """Close a line, and wait until it is."""
    line.close()
    while await line.read_message() is not None:
        pass


async def _opened(address: str, page: str, within_s: float = 120.0) -> tuple[str, Any, str]:
    text = await text_of(address, page, within_s)
    line = await begun_line(address, page, text)
    while '"ACK"' not in str(await line.read_message()):  # the server hears nothing before, as a browser knows
        pass
    for part in ('{"msgid": "1", "msgtype": "PULL-DOC-REQ"}', "{}", "{}"):
        await line.write_message(part)
    document = ""
    while '"doc"' not in document:
        document = str(await line.read_message())
    return text, line, document


def on_server(work: Callable[[str, Any], Coroutine[Any, Any, Any]]) -> Any:
    """What `work` gives with a server's address and the server, in the loop that it serves in."""
    async def run() -> Any:
        server = serve.make_server()
        server.start()
        try:
            return await work(f"http://127.0.0.1:{server.port}", server)
        finally:
            server.stop()

    return in_own_loop(run)
