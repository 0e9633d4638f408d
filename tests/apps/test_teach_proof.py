"""The reckoning that joining may cost, as the page does it in a browser."""

from __future__ import annotations

from playwright.sync_api import Page

from graspwave.apps.classroom.proof import Proofs, solve


def test_the_page_reckons_as_the_server_does(page: Page, address: str) -> None:
    page.goto(address.removesuffix("/explore") + "/join")
    texts = [Proofs("secret").text("plum-river-42", bits) for bits in (1, 6, 11, 13)]
    found = page.evaluate(
        "async texts => { const m = await import('/web/web/proof.js');"
        " return [await Promise.all(texts.map(m.solve)), m.firstBits('abc'), m.firstBits('')] }", texts)
    # first words of the digests of "abc" and of nothing, FIPS 180-4's examples
    assert found == [[solve(text) for text in texts], 0xBA7816BF, 0xE3B0C442]
