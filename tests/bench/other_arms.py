"""What a hundred other arms cost, and what others feel of it: ``python -m tests.bench.other_arms``.

Processor time of the work alone, first and once all is loaded; time from a press of the switch to the band, for arms that nobody
asked for before; and the current slider of another visitor in turn with nothing, a changed setting, and such a count going on.
"""

from __future__ import annotations

import re
import statistics
import subprocess
import sys
import time
from typing import Any

from playwright.sync_api import Browser, Page, sync_playwright

from tests.serving import CHROMIUM, served

ROUNDS = 3
MOVES = 12
WORK = """
import time
began = time.process_time()
from graspwave import simulator as sim
from graspwave.lessons.arm_curves import ARMS, arm_curves
scene = sim.presets()["tight"]
arm_curves(scene, range(1, 2))
ready = time.process_time()
arm_curves(scene, range(1, ARMS + 1))
print(f"{ready - began:.2f} s until the first arm, {time.process_time() - ready:.2f} s for {ARMS} (processor)")
"""
DRAG = """async moves => {
  const find = (root, selector) => {
    for (const e of root.querySelectorAll('*')) {
      const found = e.matches(selector) ? e : e.shadowRoot && find(e.shadowRoot, selector)
      if (found) return found
    }
  }
  const slider = find(document, '.gw-slider.big input'), hand = find(document, 'svg[role=img]'), took = []
  for (let k = 0; k < moves; k++) {
    const before = hand.getAttribute('aria-label'), began = performance.now()
    slider.value = String(10 + ((Number(slider.value) - 3) % 40))
    slider.dispatchEvent(new Event('input', { bubbles: true }))
    while (hand.getAttribute('aria-label') === before && performance.now() - began < 5000)
      await new Promise(r => setTimeout(r, 2))
    took.push(performance.now() - began)
    await new Promise(r => setTimeout(r, 40))
  }
  return took
}"""


def opened(browser: Browser, address: str) -> Page:
    page = browser.new_context(viewport={"width": 1440, "height": 900}, reduced_motion="reduce").new_page()
    page.set_default_timeout(120_000)
    page.goto(address)
    page.get_by_role("img", name=re.compile("^Hand from the thumb side")).wait_for()
    page.wait_for_timeout(2000)
    return page


def told(name: str, took: list[float]) -> None:
    """Median and 95th percentile."""
    high = sorted(took)[int(0.95 * (len(took) - 1))]
    print(f"{name}: {statistics.median(took):.0f}, {high:.0f} ms (median, p95 of {len(took)})")


def main() -> None:
    subprocess.run([sys.executable, "-c", WORK], check=True)
    with served() as address, sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        dragging, asking = opened(browser, address), opened(browser, address)
        dragging.evaluate(DRAG, MOVES)
        switch: Any = asking.get_by_role("button", name="100 other arms")
        done: Any = asking.get_by_role("button", name="Invented arms")
        shown, alone, changed, beside = [], [], [], []
        for number in range(2 * ROUNDS + 1):
            alone += dragging.evaluate(DRAG, MOVES)
            asking.get_by_role("slider", name="Frequency").press("ArrowRight")
            changed += dragging.evaluate(DRAG, MOVES // 2)
            asking.wait_for_timeout(4000)  # the second look at its curve ends
            began = time.monotonic()
            switch.click()
            if number % 2:
                asking.get_by_text(re.compile(r": \d+ of 100")).first.wait_for()
                beside += dragging.evaluate(DRAG, MOVES // 2)
            done.wait_for()
            if not number:
                print(f"first press of this server, its process begun: {1000.0 * (time.monotonic() - began):.0f} ms")
            elif not number % 2:
                shown.append(1000.0 * (time.monotonic() - began))
            switch.click()
        told("from the press to the band", shown)
        told("slider of another visitor, nothing going on", alone)
        told("slider of another visitor, a setting changed without arms", changed)
        told("slider of another visitor, a count going on at first", beside)
        browser.close()


if __name__ == "__main__":
    main()
