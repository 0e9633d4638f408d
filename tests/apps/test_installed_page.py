"""Explain on a home screen: a browser takes the manifest and the worker, and the worker says when the server is away."""

from __future__ import annotations

import struct
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, expect

from graspwave.apps import notices
from graspwave.apps.installed.routes import away_page, keep_page, manifest, worker
from graspwave.apps.look.parts import STATIC
from graspwave.apps.web.source import address


def test_explain_is_kept_and_says_when_its_server_is_away(browser: Browser, page: Page, address: str) -> None:
    context = browser.new_context(viewport={"width": 820, "height": 1180})
    tablet, errors = context.new_page(), []
    tablet.on("console", lambda said: errors.append(said.text) if "Content Security Policy" in said.text else None)
    explain = address.replace("/explore", "/explain")
    tablet.goto(address.replace("/explore", "/app"))
    expect(tablet.locator("#can")).to_contain_text("can be kept: from the home screen")
    assert tablet.evaluate("navigator.serviceWorker.ready.then(kept => kept.scope)") == explain.replace("/explain", "/")
    line = context.new_cdp_session(tablet)
    assert line.send("Page.getAppManifest")["errors"] == []
    # an incognito window, which a test's is, is the one thing that may stand against it
    against = {one["errorId"] for one in line.send("Page.getInstallabilityErrors")["installabilityErrors"]}
    assert against <= {"in-incognito"}
    tablet.goto(explain)
    expect(tablet.locator("#main svg").first).to_be_visible()
    context.set_offline(True)
    tablet.goto(explain)
    expect(tablet.get_by_role("heading", name="Graspwave does not answer")).to_be_visible()
    expect(tablet.locator("footer.caution")).to_contain_text(notices.CAUTION_FIRST)
    found = Axe().run(tablet).response["violations"]
    assert [v["id"] for v in found if v["impact"] in ("serious", "critical")] == []
    context.set_offline(False)
    tablet.get_by_role("link", name="Try again").click()
    expect(tablet.locator("#main svg").first).to_be_visible()
    assert tablet.url == explain
    assert errors == []
    context.close()


def test_on_plain_http_of_another_machine_it_is_said_that_only_a_link_is_kept(page: Page) -> None:
    page.context.route("http://192.0.2.7/**", lambda route: route.fulfill(
        body=keep_page() if route.request.url.endswith("/app") else
        (Path(STATIC).parents[1] / "web" / "installable.js").read_text("utf-8") if "installable" in route.request.url else "",
        content_type="text/javascript" if ".js" in route.request.url else "text/html"))
    page.goto("http://192.0.2.7/app")
    expect(page.locator("#can")).to_contain_text("can be kept as a link only: it is plain http of another machine")
    assert page.evaluate("window.isSecureContext") is False


@pytest.mark.parametrize("size", [192, 512])
def test_icons_are_of_the_size_that_is_told(size: int) -> None:
    assert struct.unpack(">II", (STATIC / f"icon-{size}.png").read_bytes()[16:24]) == (size, size)
    assert address(f"look/static/icon-{size}.png") in {icon["src"] for icon in manifest()["icons"]}


def test_the_page_that_is_kept_needs_nothing_else() -> None:
    html = away_page()
    assert "default-src 'none'" in html
    assert 'src="' not in html.replace('src="data:', "")
    assert "STAMP" not in worker()
