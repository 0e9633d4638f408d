"""Fixtures shared by all tests."""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect
from serving import CHROMIUM, served

os.environ.setdefault("GRASPWAVE_LESSONS", "when asked for")  # each server of a test would work all lessons out
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # two threads of small matrices wait for each other

expect.set_options(timeout=20_000)  # a busy machine is slow, not wrong

_BROWSER_FLAGS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)


@pytest.fixture(scope="session")
def browser_type_launch_args(browser_type_launch_args: dict[str, Any]) -> dict[str, Any]:
    """Use the system's chromium where there is one, and keep it from asking for anything outside."""
    found = {"executable_path": CHROMIUM} if CHROMIUM else {}
    return {**browser_type_launch_args, **found, "args": list(_BROWSER_FLAGS)}


@pytest.fixture
def context(context: BrowserContext) -> BrowserContext:
    """Of each test; it waits as long as a busy machine needs."""
    context.set_default_timeout(60_000)
    return context


@pytest.fixture(scope="session")
def base_url() -> None:
    """No address is given from outside; this stands for the plugin's fixture, which newer pytest warns about."""


@pytest.fixture(scope="session")
def address() -> Iterator[str]:
    """Address of the Explore page, served by the command itself in a process of its own."""
    with served() as where:
        yield where


DESK = {"width": 1440, "height": 900}


class SharedPage:
    """Explore, loaded once for tests that leave it as they found it but for its scene; another where a test has failed on it."""

    def __init__(self, browser: Browser, address: str) -> None:
        self._browser, self._address = browser, address
        self._page: Page | None = None
        self.wrong: list[str] = []

    def page(self) -> Page:
        """On a desk, in the light, on the page; what went wrong since is in `wrong`."""
        if self._page is None:
            context = self._browser.new_context()
            context.set_default_timeout(60_000)
            self._page = page = context.new_page()
            host = (self._address.rsplit("/", 1)[0], "data:", "blob:")
            page.on("request", lambda request: None if request.url.startswith(host) else self.wrong.append(request.url))
            page.on("pageerror", lambda error: self.wrong.append(str(error)))
            page.on("console", lambda said: self.wrong.append(said.text) if said.type == "error" else None)
            page.goto(self._address)
        page = self._page
        page.set_viewport_size(DESK)  # type: ignore[arg-type]
        page.emulate_media(color_scheme="light", reduced_motion="no-preference", forced_colors="none")
        expect(page.get_by_role("slider", name="Current")).to_be_visible()
        expect(page.get_by_role("img", name=re.compile("^Hand from the thumb side"))).to_have_attribute(
            "aria-label", re.compile("opening"))
        return page

    def end(self) -> None:
        """Close it."""
        if self._page is not None:
            self._page.context.close()
            self._page = None
            self.wrong.clear()


@pytest.fixture(scope="session")
def _shared(browser: Browser, address: str) -> Iterator[SharedPage]:
    found = SharedPage(browser, address)
    yield found
    found.end()


@pytest.fixture
def explore(_shared: SharedPage, request: pytest.FixtureRequest) -> Iterator[Page]:
    """Explore, loaded by an earlier test where there was one; a request to another host, or an error in it, fails the test."""
    before = request.session.testsfailed
    try:
        page = _shared.page()
    except BaseException:
        _shared.end()
        raise
    yield page
    wrong = list(_shared.wrong)
    if wrong or request.session.testsfailed > before:
        _shared.end()
    assert wrong == []


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Without a browser its tests are skipped, and say what to install."""
    if CHROMIUM:
        return
    for item in items:
        if "browser" in getattr(item, "fixturenames", ()):
            item.add_marker(pytest.mark.skip(reason="no chromium on this machine: install the package 'chromium-headless-shell'"))
