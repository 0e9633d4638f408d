"""Pages of a made-up address for tests of modules: what the server gives under ``/web/`` is answered from memory."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import PurePosixPath
from urllib.parse import urlparse

from playwright.sync_api import Page, Route

from graspwave.apps.web.source import KINDS, web_file

__all__ = ["module_page"]


def module_page(page: Page, html: str = "<body></body>", names: Sequence[str] = (), more: str = "") -> Page:
    """Open a page whose global names are what the named modules export.

    Parameters
    ----------
    page : Page
    html : str
        What stands at ``/``.
    names : sequence of str
        Paths of modules inside ``apps``.
    more : str
        A script that then runs.
    """
    def answer(route: Route) -> None:
        path = urlparse(route.request.url).path
        name = path.removeprefix("/web/")
        body = web_file(name) if path.startswith("/web/") else None
        if path == "/":
            route.fulfill(body=html, content_type="text/html")
        elif body is None:
            route.fulfill(status=204)
        else:
            route.fulfill(body=body, content_type=KINDS[PurePosixPath(name).suffix])

    page.route("**/*", answer)
    page.goto("http://pictures.test/")
    if names:
        script = "async names => { for (const n of names) Object.assign(globalThis, await import('/web/' + n)) }"
        page.evaluate(script, list(names))
    if more:
        page.add_script_tag(content=more)
    return page
