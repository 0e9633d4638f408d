"""What visitors leave behind in memory: ``python -m tests.bench.memory [sessions] [loads] [hours]``.

A server as the command starts it, that tells its memory and what lives in it when asked. Visitors open Explore, their lines are
open together, and they leave; then pages are loaded one after the other as fast as they come, in two ways: asked for only, by
whoever never opens a line, and loaded as a browser does, whose line opens, is told the whole page, and closes; then a room lives
through so many hours of a lesson in accelerated form: somebody leaves and comes back, and the educator goes on. Reported, never
asserted.
"""

from __future__ import annotations

import asyncio
import contextlib
import gc
import json
import os
import re
import subprocess
import sys
import tempfile
import threading
import time
import urllib.request
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any

sys.path[:0] = [str(Path(__file__).parents[1] / name) for name in ("classroom", "apps", "")]

LEFT_S = 20.0
"""How long is waited after all have left: sessions end 5 to 8 s after their line, memory is given back 3 s after the last."""

HOUR_TURNS = 450
"""Turns of a room for an hour: one for every eight seconds."""

_PACE_S = 0.2  # a line may send twenty messages a second, and a turn is three


def resident_mb(pid: int | str = "self") -> float:
    """Memory of a process that is really there."""
    text = Path(f"/proc/{pid}/status").read_text(encoding="ascii")
    return float(re.search(r"VmRSS:\s+(\d+)", text)[1]) / 1024.0  # type: ignore[index]


def serve(store: str) -> None:
    """The server; each line that it is sent is answered with what lives in it."""
    from graspwave.apps.serve import serve as as_ever

    del os.environ["PYTHONMALLOC"]

    def answer() -> None:
        for _ in sys.stdin:
            gc.unfreeze()  # what was set aside counts as well
            kinds = Counter(f"{type(one).__module__}.{type(one).__qualname__}" for one in gc.get_objects())
            found = {"mb": resident_mb(), "objects": sum(kinds.values()), "kinds": dict(kinds.most_common(400))}
            print(f"heap {json.dumps(found)}", flush=True)

    threading.Thread(target=answer, daemon=True).start()
    as_ever("127.0.0.1", 0, show=False, store=store)


class Server:
    """The server of a run."""

    def __init__(self, process: Any) -> None:
        self._process = process
        assert process.stdout
        said = (re.search(r"http://127\.0\.0\.1:\d+", line) for line in process.stdout)
        self.address = next(found.group() for found in said if found)

    def heap(self) -> dict[str, Any]:
        """Its memory and what lives in it."""
        self._process.stdin.write("\n")
        self._process.stdin.flush()
        line = next(line for line in self._process.stdout if line.startswith("heap "))
        return dict(json.loads(line[5:]))

    def resident_mb(self) -> float:
        """Its memory that is really there, without a look at what lives in it."""
        return resident_mb(self._process.pid)

    def documents(self) -> int:
        """Pages that are alive."""
        return int(self.heap()["kinds"].get("bokeh.document.document.Document", 0))


def told(words: str, now: dict[str, Any], before: dict[str, Any] | None = None) -> None:
    """One line, and which kinds of objects there are more of."""
    change = "" if before is None else f", {now['mb'] - before['mb']:+.1f} MB, {now['objects'] - before['objects']:+d} objects"
    print(f"{words:52s} {now['mb']:7.1f} MB{change}", flush=True)
    if before is not None:
        more = Counter({kind: count - before["kinds"].get(kind, 0) for kind, count in now["kinds"].items()})
        print("    " + ", ".join(f"{kind.rpartition('.')[2]} {count:+d}" for kind, count in more.most_common(8) if count > 0))


async def visit(address: str, stay: asyncio.Event, there: asyncio.Semaphore) -> None:
    """One visitor: the page, its line, and gone when all may go."""
    from page_line import document_of, end_line

    # ten at a time ask, the others wait for as long as it takes
    _, line = await document_of(address, "explore", 900.0)
    there.release()
    await stay.wait()
    await end_line(line)


async def loaded(address: str) -> None:
    """A page as a browser loads it, left at once."""
    from page_line import document_of, end_line

    await end_line((await document_of(address, "explore", 900.0))[1])


async def together(server: Server, count: int, before: dict[str, Any]) -> None:
    """So many at once."""
    stay, there = asyncio.Event(), asyncio.Semaphore(0)
    people = [asyncio.ensure_future(visit(server.address, stay, there)) for _ in range(count)]
    all_of_them = asyncio.gather(*people)
    for _ in people:
        one = asyncio.ensure_future(there.acquire())
        await asyncio.wait({one, all_of_them}, return_when=asyncio.FIRST_COMPLETED)
        if all_of_them.done():
            all_of_them.result()  # somebody could not come
    now = server.heap()
    told(f"{count} on Explore ({(now['mb'] - before['mb']) / count:.2f} MB each)", now, before)
    stay.set()
    await all_of_them


def wait_until_left(server: Server, least: int) -> None:
    """Until the sessions have gone and their memory was given back."""
    time.sleep(LEFT_S)
    for _ in range(12):
        if server.documents() <= least:
            time.sleep(10.0)
            return
        time.sleep(10.0)


def load(server: Server, ways: tuple[str, Callable[[], Any]], loads: int, least: int) -> None:
    """So many loads one after the other, and what they leave."""
    (words, once), before, most = ways, server.heap(), 0.0
    for count in range(1, loads + 1):
        once()
        most = max(most, server.resident_mb())
        if count % 250 == 0:
            told(f"{words}: while they come, {count}", server.heap(), before)
    wait_until_left(server, least)
    told(f"{words}: after {loads}, at most {most:.0f} MB", server.heap(), before)


async def room(server: Server, hours: float) -> None:
    """A room that lives for hours, in accelerated form: people come, answer and go, the educator goes on and back."""
    from room_clients import Person, join, post

    address = server.address
    reply = await post(f"{address}/teach/open", {"lesson": "claw"})
    made = json.loads(reply.body)
    live = address.replace("http", "ws", 1)
    control = await Person.arrive(live, made["code"], "control", made["token"])
    steps = control.came[0]["lesson"]["steps"]
    asks = [i for i, one in enumerate(steps) if one["kind"] == "ask"]
    tokens = [(await join(address, made["code"]))[0] for _ in range(20)]
    people = [await Person.arrive(live, made["code"], "learner", token) for token in tokens]
    start = server.heap()
    told("a room of 20", start)
    for turn in range(round(hours * HOUR_TURNS)):
        step = asks[turn % len(asks)]
        for phase, number in (("vote", 1), ("talk", 0), ("again", 2)):
            await control.ask(60.0, type="go", step=step, phase=phase)
            if number and turn < len(asks):
                await asyncio.gather(*(person.answer(step, number, {"choice": "A"}, within_s=60.0) for person in people))
        await asyncio.sleep(_PACE_S)
        gone = people[turn % len(people)]
        with contextlib.suppress(Exception):
            gone.line.close()
        people[turn % len(people)] = await Person.arrive(live, made["code"], "learner", tokens[turn % len(people)])
        for person in (control, *people):
            del person.came[:-5]
        if turn and turn % HOUR_TURNS == 0:
            told(f"after {turn // HOUR_TURNS} h of it", server.heap(), start)
    told(f"after {hours:g} h of it", server.heap(), start)


def main() -> None:
    if "--serve" in sys.argv:
        serve(sys.argv[-1])
        return
    sessions, loads, hours = (float(text) for text in [*sys.argv[1:4], *["60", "1000", "8"][len(sys.argv) - 1:]])
    with tempfile.TemporaryDirectory() as folder, subprocess.Popen(
        [sys.executable, "-m", "tests.bench.memory", "--serve", f"{folder}/rooms.sqlite"],
        env={**os.environ, "PYTHONMALLOC": "malloc"},  # as the command begins its server
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True,
    ) as process:
        try:
            server = Server(process)
            if not sessions:  # the room alone
                asyncio.run(room(server, hours))
                return
            for _ in range(5):  # what is loaded and remembered once
                asyncio.run(loaded(server.address))
            wait_until_left(server, 1)
            base = server.heap()
            told("nobody, after five visits", base)
            for round_ in (1, 2):
                asyncio.run(together(server, int(sessions), base))
                wait_until_left(server, base["kinds"].get("bokeh.document.document.Document", 0))
                after = server.heap()
                told(f"all have left, round {round_} ({100.0 * (after['mb'] / base['mb'] - 1.0):+.0f} %)", after, base)
            for ways in (("asked for only", lambda: urllib.request.urlopen(f"{server.address}/explore", timeout=300.0).read()),
                         ("line opened and closed", lambda: asyncio.run(loaded(server.address)))):
                load(server, ways, int(loads), base["kinds"].get("bokeh.document.document.Document", 0))
            if hours:
                asyncio.run(room(server, hours))
        finally:
            process.terminate()


if __name__ == "__main__":
    main()
