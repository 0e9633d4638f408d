"""What axe-core finds on a page that has settled."""

from __future__ import annotations

from typing import Any

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

_LOOKS = 3


def serious(page: Page, options: dict[str, Any] | None = None) -> list[tuple[str, str, list[Any]]]:
    """What axe-core calls serious or critical on a page that is not dimmed as late, which is at 2.1 : 1 on purpose.

    A page may be dimmed, or change from dark to light, while it is looked at: what is found is looked for again on the page as it
    then stands, and what is still there is told.
    """
    found: list[tuple[str, str, list[Any]]] = []
    for _ in range(_LOOKS):
        expect(page.locator("html:not([data-late])")).to_have_count(1)
        expect(page.locator(".gw-late")).to_have_count(0)
        violations = Axe().run(page, options=options).response["violations"]
        grave = [v for v in violations if v["impact"] in ("serious", "critical")]
        found = [(v["id"], v["impact"], [n["target"] for n in v["nodes"]][:3]) for v in grave]
        if not found:
            break
    return found
