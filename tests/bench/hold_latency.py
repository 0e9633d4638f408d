"""From the press of the switch to the moving hand, alone and with ten people: ``python -m tests.bench.hold_latency``.

The rise is set to none, so that what is timed is the way to the hand and not the ramp. Frames are counted as the hand's outline
changes while it opens.
"""

from __future__ import annotations

import shutil
from statistics import median
from typing import Any

from playwright.sync_api import Page, sync_playwright

from graspwave import simulator as sim
from graspwave.apps.told.scenes import scene_to_address
from tests.serving import served

PRESSES = 25

FIND = """
window.gwFind = () => {
  const deep = (root, found = []) => {
    for (const node of root.querySelectorAll('*')) { found.push(node); if (node.shadowRoot) deep(node.shadowRoot, found) }
    return found
  }
  const all = deep(document)
  return [all.find(n => n.classList?.contains('gw-hold')), all.find(n => n.getAttribute?.('aria-label')?.startsWith('Hand and'))]
}
"""

PRESS = """
async () => {
  const [hold, hand] = gwFind()
  // the hand may still be closing from the last time: what counts is that the current and its pull appear on it
  const shown = p => [p.getAttribute('opacity'), p.getAttribute('fill-opacity')]
  const shape = () => [...hand.querySelectorAll('ellipse, path, stop')].map(shown).join('|')
  const before = shape(), start = performance.now()
  hold.dispatchEvent(new KeyboardEvent('keydown', {key: ' ', bubbles: true}))
  let moved = NaN
  for (;;) {
    await new Promise(requestAnimationFrame)
    if (shape() !== before) { moved = performance.now() - start; break }
    if (performance.now() - start > 3000) break
  }
  return moved
}
"""

FRAMES = """
async seconds => {
  const [, hand] = gwFind()
  const length = path => (path.getAttribute('d') ?? '').length
  const outline = [...hand.querySelectorAll('path')].sort((a, b) => length(b) - length(a))[0]
  let last = outline.getAttribute('d'), changed = 0
  const end = performance.now() + 1000 * seconds
  while (performance.now() < end) {
    await new Promise(requestAnimationFrame)
    const now = outline.getAttribute('d')
    if (now !== last) { changed++; last = now }
  }
  return changed / seconds
}
"""


def opened(browser: Any, address: str) -> Page:
    """A page of the task with no rise and no fall."""
    page: Page = browser.new_page(viewport={"width": 900, "height": 620})
    page.goto(address)
    page.locator(".gw-hold").wait_for()
    page.wait_for_timeout(1500)
    page.evaluate(FIND)
    return page


def release(page: Page) -> None:
    page.evaluate("gwFind()[0].dispatchEvent(new KeyboardEvent('keyup', {key: ' ', bubbles: true}))")


def main() -> None:
    scene = sim.presets()["tight"].replace("channel.0.pulse.amplitude_ma", 14.0)
    scene = scene.replace("channel.0.ramp.up_s", 0.0).replace("channel.0.ramp.down_s", 0.0)
    with served() as explore, sync_playwright() as playwright:
        address = f"{explore.replace('/explore', '/practise')}?s={scene_to_address(scene)}"
        browser = playwright.chromium.launch(executable_path=shutil.which("chromium"), args=["--no-sandbox"])
        page = opened(browser, address)
        pressed, released = [], []
        for _ in range(PRESSES):
            pressed.append(page.evaluate(PRESS))
            page.wait_for_timeout(1500)
            released.append(page.evaluate(PRESS.replace("keydown", "keyup")))
            page.wait_for_timeout(2000)
        for words, times in (("press", sorted(pressed)), ("release", sorted(released))):
            late = times[int(0.95 * len(times))]
            print(f"{words} to the hand, {len(times)} times: median {median(times):.0f} ms, p95 {late:.0f} ms")
        page.evaluate(PRESS)
        print(f"frames a second while it opens, alone: {page.evaluate(FRAMES, 0.5):.0f}")
        release(page)
        others = [opened(browser, address) for _ in range(9)]
        for other in others:
            # nine more people have nine more machines: theirs draw once a second, so that this one draws for one
            other.evaluate("window.requestAnimationFrame = f => setTimeout(() => f(performance.now()), 1000)")
            other.evaluate("gwFind()[0].dispatchEvent(new KeyboardEvent('keydown', {key: ' ', bubbles: true}))")
        page.bring_to_front()
        page.evaluate(PRESS)
        print(f"the same with ten people holding: {page.evaluate(FRAMES, 0.5):.0f}")
        browser.close()


if __name__ == "__main__":
    main()
