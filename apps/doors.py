"""Which addresses of the page framework are open: those that our pages ask for, and no others.

The framework brings more than a page needs: a route that imports any module it is told the name of, scripts that put a page into
another site, lists of what is served. Each is taken out, so that it answers like any address that leads nowhere.
"""

from __future__ import annotations

from typing import Any

from bokeh.server.views.doc_handler import DocHandler
from bokeh.server.views.multi_root_static_handler import MultiRootStaticHandler
from bokeh.server.views.static_handler import StaticHandler
from bokeh.server.views.ws import WSHandler
from panel.io.server import ComponentResourceHandler
from tornado.web import StaticFileHandler

__all__ = ["close_unused", "is_open"]

_FILES = (StaticHandler, MultiRootStaticHandler, StaticFileHandler)


def is_open(pattern: str, handler: type[Any]) -> bool:
    """Whether a route stays.

    Parameters
    ----------
    pattern : str
        The route's regular expression.
    handler : type
        Its handler.

    Returns
    -------
    bool
        Our own handlers stay. Of the framework's: pages, their session's line, and the scripts and styles that it ships.
    """
    if handler.__module__.startswith("graspwave."):
        return True
    if issubclass(handler, ComponentResourceHandler):
        return False  # a file handler by birth, but it imports whatever module the address names
    if issubclass(handler, (DocHandler, WSHandler)):
        return True
    # a page's own folder of files is served a second time under each page's address
    return issubclass(handler, _FILES) and pattern.startswith("/static/")


def close_unused(rules: list[Any]) -> None:
    """Take every route out of a Tornado router's rules that `is_open` does not name; in place."""
    rules[:] = [rule for rule in rules if is_open(rule.matcher.regex.pattern, rule.target)]
