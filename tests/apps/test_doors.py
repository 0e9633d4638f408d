"""Which addresses answer: every route that the server knows is ours or is named here, and the framework's others are closed."""

from __future__ import annotations

import urllib.error
import urllib.request

import pytest
from panel.io.server import ComponentResourceHandler

from graspwave.apps.doors import is_open
from graspwave.apps.serve import PAGES, make_server

FRAMEWORK = {
    *(f"/{page}/ws$" for page in PAGES), *(f"/{page}/?$" for page in PAGES),
    r"/static/extensions/(.*)$", r"/static/(.*)$",
}
"""All of the framework that is open: pages, their sessions' lines, scripts and styles."""


def status(url: str) -> int:
    try:
        with urllib.request.urlopen(url, timeout=60) as answer:
            return int(answer.status)
    except urllib.error.HTTPError as answer:
        with answer:
            return answer.code


def test_every_route_is_ours_or_named_here() -> None:
    rules = make_server()._tornado.wildcard_router.rules
    found = {rule.matcher.regex.pattern for rule in rules if not ours(rule.target)}
    assert found == FRAMEWORK


def ours(handler: type) -> bool:
    return handler.__module__.startswith("graspwave.") and handler.__name__ != "Headed"


@pytest.mark.parametrize("path", [
    "/components/antigravity/a/b/c", "/components/this/a/b/c", "/components/os/path/x/y", "/explore/autoload.js",
    "/explore/metadata", "/explore/static/js/bokeh.min.js", "/favicon.ico",
])
def test_the_frameworks_other_routes_are_closed(address: str, path: str) -> None:
    assert status(address.removesuffix("/explore") + path) == 404


def test_a_module_named_in_an_address_is_not_imported(address: str) -> None:
    # a module that ends the process when it is imported: the server must be there afterwards
    base = address.removesuffix("/explore")
    for module in ("graspwave.apps.told.marks", "idlelib.idle", "__phello__", "test.autotest"):
        assert status(f"{base}/components/{module}/a/b/c") == 404
    assert status(base) == 200


def test_an_open_component_route_would_be_found() -> None:
    assert not is_open(r"/components/(.*)$", ComponentResourceHandler)
    assert not is_open(r"/static/(.*)$", ComponentResourceHandler)
