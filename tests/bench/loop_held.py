"""How long the loop that serves pages and rooms is held by one piece of work: ``python -m tests.bench.loop_held [--where]``.

A browser drags, rests, opens every tab of Explore, practises and explains; the server times every callback of its loop, by the
clock and by the processor time of its thread. With ``--where`` it also says in which of our functions the long ones were.
Reported, never asserted.
"""

from __future__ import annotations

import asyncio.events
import json
import re
import sys
import threading
import time
import traceback
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any

from playwright.sync_api import Page, sync_playwright

from tests.serving import CHROMIUM, served

LONG_S = 0.010
ROOT = Path(__file__).parents[2]
OURS = tuple(f"{one.name}/" for where in ("apps", "simulator") for one in ROOT.glob(f"{where}/**/") if one.is_dir())
TABS = ("Current, five zooms", "Force and tiring", "Nerve", "One cycle", "Dose", "Limits and why", "Curve in words")
LOG = Path("/tmp") if sys.platform != "win32" else Path.home()


def serve(log: Path) -> None:
    """The server as the command starts it, every callback of its loop timed into a file."""
    from graspwave.apps.command import main

    plain = asyncio.events.Handle._run
    loop_thread = threading.get_ident()
    begun: list[float] = [0.0]
    seen: Counter[str] = Counter()
    out = log.open("w", buffering=1)

    def timed(handle: Any) -> None:
        if threading.get_ident() != loop_thread:
            plain(handle)
            return
        seen.clear()
        begun[0] = time.perf_counter()
        cpu = time.thread_time()
        plain(handle)
        wall, cpu = time.perf_counter() - begun[0], time.thread_time() - cpu
        begun[0] = 0.0
        if wall > LONG_S:
            out.write(json.dumps([time.time(), wall, cpu, seen.most_common(4)]) + "\n")

    def watch() -> None:
        while True:
            time.sleep(0.002)
            if begun[0] and time.perf_counter() - begun[0] > LONG_S:
                frame = sys._current_frames().get(loop_thread)
                files = [(Path(one.filename), one.name) for one in traceback.extract_stack(frame)]
                stack = [f"{file.parent.name}/{file.name}:{name}" for file, name in files]
                ours = [s for s in stack if s.startswith(OURS)]
                seen[" < ".join([*stack[-1:], *reversed(ours[-3:])])] += 1

    asyncio.events.Handle._run = timed  # type: ignore[method-assign]
    if "--where" in sys.argv:
        threading.Thread(target=watch, daemon=True).start()
    main(["open", "--port", "0", "--no-browser"])


def press(page: Page, name: str, key: str, times: int, pause_ms: int) -> None:
    """A key pressed on a slider as a drag has it, one step every so many milliseconds."""
    slider = page.get_by_role("slider", name=re.compile(name)).or_(page.get_by_label(re.compile(name))).first
    slider.focus()
    for _ in range(times):
        slider.press(key)
        page.wait_for_timeout(pause_ms)


def acts(page: Page, address: str) -> dict[str, Callable[[], None]]:
    """What a visitor does, by words for it."""
    def opened(path: str, ready: str) -> Callable[[], None]:
        def go() -> None:
            page.goto(address.replace("/explore", path))
            page.get_by_role("img", name=re.compile(ready)).first.wait_for()
            page.wait_for_timeout(1500)
        return go

    def tab(words: str) -> Callable[[], None]:
        def go() -> None:
            page.get_by_role("radio", name=words, exact=True).first.check(force=True)
            page.wait_for_timeout(1200)
            press(page, "^Current", "ArrowRight", 3, 400)
        return go

    def more() -> None:
        page.get_by_role("button", name="More settings").click()
        page.wait_for_timeout(600)

    def wait(ms: int) -> None:
        page.wait_for_timeout(ms)

    return {
        "Explore opened": opened("/explore", "^Hand"),
        "current dragged": lambda: (press(page, "^Current", "ArrowRight", 25, 40), wait(600))[1],
        "phase duration dragged": lambda: (press(page, "^Phase", "ArrowLeft", 12, 60), wait(1200))[1],
        "more settings": more,
        "pads dragged": lambda: (press(page, "^Pads", "ArrowRight", 12, 60), wait(1200))[1],
        "fat dragged": lambda: (press(page, "[Ff]at", "ArrowRight", 6, 60), wait(1200))[1],
        "getting ready": lambda: (page.get_by_role("button", name="Getting ready").click(), wait(1500),
                                  press(page, "stretches", "ArrowLeft", 3, 400))[1],
        **{f"tab {words}": tab(words) for words in TABS},
        "one cycle played": lambda: (page.get_by_role("button", name="Play one cycle").click(), wait(1500))[1],
        "Practise opened": opened("/practise", "^Hand"),
        "half an hour": lambda: (page.get_by_role("button", name=re.compile("half an hour", re.I)).first.click(), wait(4000))[1],
        "Explain opened": lambda: (page.goto(address.replace("/explore", "/explain")), wait(4000))[1],
        "Explain, current": lambda: press(page, "^Current", "ArrowRight", 6, 300),
    }


def main() -> None:
    if "--serve" in sys.argv:
        serve(Path(sys.argv[sys.argv.index("--serve") + 1]))
        return
    log = LOG / f"graspwave-loop-{time.time_ns()}.json"
    where = ["--where"] if "--where" in sys.argv else []
    spans: list[tuple[str, float, float]] = []
    with served(("-m", "tests.bench.loop_held", "--serve", str(log), *where)) as address, sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        page = browser.new_page(viewport={"width": 1440, "height": 900})
        page.set_default_timeout(6_000)
        for words, act in acts(page, address).items():
            began = time.time()
            try:
                act()
            except Exception as error:
                print(f"{words}: could not be done here ({str(error).splitlines()[0][:90]})")
            spans.append((words, began, time.time()))
        browser.close()
    rows = [json.loads(line) for line in log.read_text().splitlines()]
    log.unlink()
    print(f"{'':26s} {'longest ms':>10s} {'processor':>10s}  over 10, 20 ms")
    for words, began, ended in spans:
        mine = [row for row in rows if began <= row[0] < ended]
        walls = [1e3 * row[1] for row in mine]
        print(f"{words:26s} {max(walls, default=0.0):10.0f} {1e3 * max((row[2] for row in mine), default=0.0):10.0f}  "
              f"{len(walls)}, {sum(w > 20.0 for w in walls)}")
        if where:
            for _, wall, cpu, stacks in sorted(mine, key=lambda row: -row[1])[:4]:
                print(f"      {1e3 * wall:5.0f} ms ({1e3 * cpu:.0f}): {stacks[:3]}")


if __name__ == "__main__":
    main()
