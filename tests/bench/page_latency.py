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
  const tag = models.find(m => m.type === 'Label' && / mA$/.test(m.text ?? ''))
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


def main() -> None:
    with served() as address, sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=shutil.which("chromium"), args=["--no-sandbox"])
        page = browser.new_page(viewport={"width": 1440, "height": 900})
        page.goto(address)
        page.get_by_role("img", name=re.compile("^Hand from the thumb side")).wait_for()
        page.locator(".bk-Figure").first.wait_for(state="attached")
        page.wait_for_timeout(1500)
        times = []
        for _ in range(PRESSES):
            times.append(page.evaluate(WATCH, None))
            page.wait_for_timeout(900)  # the cycle's plots follow after a pause; each press is timed alone
        browser.close()
    times.sort()
    late = times[int(0.95 * len(times))]
    print(f"slider to last hero changed, {len(times)} steps: median {median(times):.0f} ms, p95 {late:.0f} ms")


if __name__ == "__main__":
    main()
