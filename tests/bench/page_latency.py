"""Time from a step of the current slider to the last hero changed, in a browser: ``python -m tests.bench.page_latency``."""

from __future__ import annotations

import re
import shutil
from pathlib import Path
from statistics import median

from playwright.sync_api import sync_playwright

from tests.serving import served

ROOT = Path(__file__).parents[2]
PRESSES = 40

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


def told(words: str, times: list[float]) -> str:
    """Median and p95 of some times."""
    times = sorted(times)
    return f"{words}, {len(times)} steps: median {median(times):.0f} ms, p95 {times[int(0.95 * len(times))]:.0f} ms"


def main() -> None:
    with served() as address, sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=shutil.which("chromium"), args=["--no-sandbox"])
        page = browser.new_page(viewport={"width": 1440, "height": 900})
        page.goto(address)
        page.get_by_role("img", name=re.compile("^Hand from the thumb side")).wait_for()
        page.locator(".bk-Figure").first.wait_for(state="attached")
        page.wait_for_timeout(1500)
        found: dict[str, list[float]] = {}
        for words, script in (("slider to last hero changed", WATCH), ("pads to last hero changed", PADS)):
            if script is PADS:
                page.get_by_role("button", name="More settings").click()
                page.get_by_role("slider", name=re.compile("^Pads")).first.wait_for()
            for _ in range(PRESSES):
                found.setdefault(words, []).append(page.evaluate(script, None))
                page.wait_for_timeout(900)  # the cycle's plots follow after a pause; each step is timed alone
        browser.close()
    for words, times in found.items():
        print(told(words, times))


if __name__ == "__main__":
    main()
