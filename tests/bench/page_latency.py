"""From a step of the current slider, and of the pads, to the last hero changed, in a browser, alone and with ten people.

``python -m tests.bench.page_latency [steps]``. The nine others change their current every 0.7 s and their pads every 2.1 s on the
same server, as lines without a browser (`explorers`), since nine people have nine more machines. Reported, never asserted.
"""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
from statistics import median
from typing import Any

from playwright.sync_api import Page, WebSocket, sync_playwright

from tests.bench.explorers import places
from tests.serving import served

PRESSES = 20

# resolves with the time until hand, thread and curve all show the new current
WATCH = """
async key => {
  const deep = (root, found = []) => {
    for (const node of root.querySelectorAll('*')) { found.push(node); if (node.shadowRoot) deep(node.shadowRoot, found) }
    return found
  }
  const all = deep(document)
  const hand = all.find(n => n.getAttribute?.('aria-label')?.startsWith('Hand from the thumb side'))
  const slider = all.find(n => n.type === 'range' && n.getAttribute('aria-valuetext')?.endsWith('mA'))
  const models = Bokeh.documents.flatMap(d => [...d.all_models])
  const tag = models.find(m => m.type === 'Label' && /^\\d+ mA$/.test(m.text ?? ''))
  const want = +slider.value + 1
  const start = performance.now()
  slider.value = want
  slider.dispatchEvent(new Event('input', {bubbles: true}))
  for (;;) {
    await new Promise(requestAnimationFrame)
    const there = tag.text === `${want} mA` && hand.getAttribute('aria-label').includes(`skin ${want} mA`)
    if (there) return performance.now() - start
    if (performance.now() - start > 5000) return NaN
  }
}
"""


# the same for a step of the pads: until hand and curve have both been told anew
PADS = """
async () => {
  const deep = (root, found = []) => {
    for (const node of root.querySelectorAll('*')) { found.push(node); if (node.shadowRoot) deep(node.shadowRoot, found) }
    return found
  }
  const all = deep(document)
  const pair = all.find(n => n.getAttribute?.('aria-label') === 'Pads on the forearm')
  const hand = all.find(n => n.getAttribute?.('aria-label')?.startsWith('Hand from the thumb side'))
  const past = Bokeh.documents.flatMap(d => [...d.all_models]).filter(m => m.type === 'ColumnDataSource')
  const before = [hand.getAttribute('aria-label'), past.map(m => m.data)]
  const start = performance.now()
  window.gwForth = !window.gwForth
  const key = window.gwForth ? 'ArrowRight' : 'ArrowLeft'
  pair.dispatchEvent(new KeyboardEvent('keydown', {key, bubbles: true, composed: true}))
  for (;;) {
    await new Promise(requestAnimationFrame)
    const moved = hand.getAttribute('aria-label') !== before[0] && past.some((m, i) => m.data !== before[1][i])
    if (moved) return performance.now() - start
    if (performance.now() - start > 5000) return NaN
  }
}
"""


def opened(browser: Any, address: str, sent: list[str], came: list[str]) -> Page:
    """Explore with all its settings shown; what its line carries is kept."""
    page: Page = browser.new_page(viewport={"width": 1440, "height": 900})

    def listen(line: WebSocket) -> None:
        line.on("framesent", lambda text: sent.append(str(text)))
        line.on("framereceived", lambda text: came.append(text) if isinstance(text, str) and '"doc"' in text else None)

    page.on("websocket", listen)
    page.set_default_timeout(30_000)
    page.goto(address)
    page.get_by_role("img", name=re.compile("^Hand from the thumb side")).wait_for()
    page.locator(".bk-Figure").first.wait_for(state="attached")
    page.get_by_role("button", name="More settings").click()
    page.get_by_role("slider", name=re.compile("^Pads")).first.wait_for()
    return page


def steps(page: Page, words: str, count: int) -> None:
    """Both kinds of step, timed one by one: the cycle's plots follow after a pause."""
    for what, script in (("slider", WATCH), ("pads", PADS)):
        times = []
        for _ in range(count):
            times.append(page.evaluate(script, None))
            page.wait_for_timeout(600)
        print(told(f"{words}, {what} to last hero changed", times), flush=True)


def told(words: str, times: list[float]) -> str:
    """Median and p95 of some times."""
    came = sorted(time for time in times if time == time)  # a step that did not come in five seconds is no number
    lost = f", {len(times) - len(came)} did not come" if len(came) < len(times) else ""
    if not came:
        return f"{words}: none came"
    return f"{words}, {len(came)} steps: median {median(came):.0f} ms, p95 {came[int(0.95 * len(came))]:.0f} ms{lost}"


def main() -> None:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else PRESSES
    with served() as address, sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=shutil.which("chromium"), args=["--no-sandbox"])
        sent, came = list[str](), list[str]()
        page = opened(browser, address, sent, came)
        page.wait_for_timeout(1500)
        steps(page, "alone", count)
        names = places(came[0])
        parts = [next(filter(None, (re.search(rf'"id":"(p\d+)"}},"attr":"{what}"', text) for text in reversed(sent))))[1]
                 for what in ("value", "move")]
        command = [sys.executable, "-m", "tests.bench.explorers", address, "9", *(str(names.index(part)) for part in parts)]
        with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as others:
            try:
                assert others.stdout
                assert others.stdout.readline() == "there\n"
                page.wait_for_timeout(3000)
                steps(page, "with ten people", count)
            finally:
                others.terminate()
        browser.close()


if __name__ == "__main__":
    main()
