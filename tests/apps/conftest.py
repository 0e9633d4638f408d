"""Fixtures of the pages' tests."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path, PurePosixPath
from typing import Any
from urllib.parse import urlparse

import numpy as np
import pytest
from picture_pages import BAND, S, T, made, page_html
from playwright.sync_api import BrowserContext, Page, Route
from serving import served
from teach_people import PHONE, Visitor

from graspwave import simulator as sim
from graspwave.apps.teach.pictures import picture
from graspwave.apps.web.source import KINDS, web_file
from graspwave.lessons.grammar import Picture
from tests import earlier_files


@pytest.fixture(scope="session")
def teach(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """Address of the server, without a path."""
    store = tmp_path_factory.mktemp("rooms") / "rooms.db"
    earlier_files.restore(store)  # rooms that were open when the program was renewed
    with served((str(Path(__file__).parent / "teach_server.py"), str(store))) as where:
        yield where.removesuffix("/teach")


@pytest.fixture(scope="session")
def views() -> Iterator[str]:
    """Address of the views that stand on pages of their own, without a path."""
    with served((str(Path(__file__).parent / "view_server.py"),)) as where:
        yield where.removesuffix("/views")


@pytest.fixture
def visitor(browser, request: pytest.FixtureRequest) -> Iterator[Visitor]:  # type: ignore[no-untyped-def]
    """Makes pages of people who share nothing; each must end without an error of its own."""
    request.getfixturevalue("page")  # so that these tests are skipped where no browser is
    contexts: list[BrowserContext] = []
    errors: list[str] = []

    def make(size: dict[str, int] = PHONE, scheme: str = "light") -> Page:
        context = browser.new_context(viewport=size, color_scheme=scheme, reduced_motion="reduce")
        contexts.append(context)
        page = context.new_page()
        page.on("pageerror", lambda error: errors.append(str(error)))
        return page

    yield make
    for context in contexts:
        context.close()
    assert errors == []


@pytest.fixture(scope="session")
def all_kinds() -> dict[str, dict[str, Any]]:
    x = np.linspace(0.0, 2.0, 50)
    runs = {"Timer": sim.run_practice(S, "timed", minutes=6), "Held switch": sim.run_practice(S, "held", minutes=6)}
    return {
        "hand": made("hand", scene=T(amp=14)),
        "led": made("hand", scene=T, **{"from": 10.0, "to": 14.5}),
        "played": made("hand", scene=S(freq=1, amp=25), play_s=1.0),
        "curve": made("curve", scenes={"supple hand": S, "tight hand": T}, at=14.0, object_mm=70.0),
        "shaded": picture(Picture("curve", "", "", "start", {"scenes": {"": T}, "at": 14.0}, {"": BAND})),
        "covered": made("curve", scenes={"tight hand": T}, at=14.0, object_mm=55.0, cover=True),
        "lines": made("lines", x=x, y={"a": np.sin(x), "b": np.cos(x)}, x_axis=("Time", "s"), y_axis=("Force", "N"),
                      quantity="force"),
        "dots": made("lines", x=x[::10], y={"a": x[::10] ** 2}, x_axis=("Time", "s"), y_axis=("Current", "mA"),
                     quantity="current", dots=True, points={"here": (1.0, 1.0)}),
        "bars": made("bars", values={"one": 41.2, "two": 0.3}, unit="mm", quantity="opening"),
        "why": made("why", before=T(amp=14), after=T(amp=24)),
        "strips": made("strips", runs=runs, minutes=None),
        "forearm": made("forearm", scenes={"": S}, muscles=("EDC", "ECRB", "FDS")),
        "pulse": made("pulse", scenes={"300": S(amp=20), "150": S(amp=20, phase=150)}, from_us=-50.0, to_us=800.0),
        "words": made("words", lines=("You feel **taps**.", "<script>alert(1)</script>")),
    }


@pytest.fixture
def canvas(page: Page) -> Callable[..., Page]:
    """An empty page of a made-up address, answered from memory."""
    def opened(theme: str = "light", motion: str = "less", layout: str = "desk", size: tuple[int, int] = (1000, 900)) -> Page:
        errors: list[str] = []
        page.on("pageerror", lambda error: errors.append(str(error)))
        page.errors = errors  # type: ignore[attr-defined]

        def answer(route: Route) -> None:
            path = urlparse(route.request.url).path
            if path == "/":
                route.fulfill(body=page_html(theme, motion, layout), content_type="text/html")
                return
            name = path.removeprefix("/web/")
            body = web_file(name) if path.startswith("/web/") else None
            if body is None:
                route.fulfill(status=204)
            else:
                route.fulfill(body=body, content_type=KINDS[PurePosixPath(name).suffix])

        page.set_viewport_size({"width": size[0], "height": size[1]})
        page.route("**/*", answer)
        page.goto("http://pictures.test/")
        page.wait_for_function("() => Boolean(window.show)")
        return page

    return opened
