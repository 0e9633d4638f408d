"""People who explore, as lines without a browser: what they do costs the server what it costs, and this machine hardly more.

Each opens Explore, moves its current every 0.7 s and its pads every 2.1 s as a page tells it, and reads what comes without
drawing it. Begun by the benches as ``python -m tests.bench.explorers <address> <how many> <slider> <pads>``, the last two the
places of those parts among the models of a page (`places`); says ``there`` when all of them are.
"""

from __future__ import annotations

import asyncio
import contextlib
import json
import re
import sys
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[1] / "apps"))
sys.path.insert(0, str(Path(__file__).parents[1]))

STEP_S = 0.7


def places(document: str) -> list[str]:
    """Names of a document's models in the order in which it lists them, which is the same for every page that was just opened."""
    return list(dict.fromkeys(re.findall(r'"id":\s*"(p\d+)"', document)))


async def change(line: Any, number: int, model: str, attribute: str, new: object) -> None:
    """One change of one model, told as a page does."""
    event = {"kind": "ModelChanged", "model": {"id": model}, "attr": attribute, "new": new}
    for part in ({"msgid": str(number), "msgtype": "PATCH-DOC"}, {}, {"events": [event]}):
        await line.write_message(json.dumps(part))


async def explore(address: str, number: int, parts: tuple[int, int], there: asyncio.Semaphore) -> None:
    """One person, until the bench ends."""
    from page_line import document_of

    document, line = await document_of(address, "explore")
    names = places(document)
    slider, pads = (names[part] for part in parts)
    there.release()

    async def read() -> None:
        while await line.read_message() is not None:
            pass

    reading = asyncio.ensure_future(read())
    await asyncio.sleep(STEP_S * number / 10.0)
    turn = 0
    with contextlib.suppress(Exception):
        while not reading.done():
            turn += 1
            await change(line, 10 * turn, slider, "value", 5 + (7 * number + 3 * turn) % 30)
            if turn % 3 == 0:
                along = 20 + (number + turn // 3) % 10
                moved = {"along_percent": along, "around_deg": 10, "spacing_mm": 30, "n": turn}
                await change(line, 10 * turn + 1, pads, "move", {"type": "map", "entries": list(map(list, moved.items()))})
            await asyncio.sleep(STEP_S)


async def all_of_them(address: str, count: int, parts: tuple[int, int]) -> None:
    there = asyncio.Semaphore(0)
    async with asyncio.TaskGroup() as group:  # whose failure ends all
        for number in range(count):
            group.create_task(explore(address, number, parts, there))
        for _ in range(count):
            await there.acquire()
        print("there", flush=True)


if __name__ == "__main__":
    asyncio.run(all_of_them(sys.argv[1].removesuffix("/explore"), int(sys.argv[2]), (int(sys.argv[3]), int(sys.argv[4]))))
