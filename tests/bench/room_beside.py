"""A room's votes beside people who explore on the same server: acknowledgement of answers, with and without them.

``python -m tests.bench.room_beside [explorers] [learners]``: one server as the command starts it; each explorer opens Explore
with another scene every other second; the learners vote at moments spread over five seconds, twice.
Reported, never asserted.
"""

from __future__ import annotations

import asyncio
import contextlib
import json
import random
import re
import subprocess
import sys
import tempfile
import threading
import time
import urllib.request
from pathlib import Path

from graspwave import simulator as sim
from graspwave.apps.told.scenes import scene_to_address

sys.path[:0] = [str(Path(__file__).parents[1] / "classroom"), str(Path(__file__).parents[1])]

from room_clients import Person, join, post, run  # noqa: E402
from serving import COMMAND  # noqa: E402

SPREAD_S = 5.0


def explore(address: str, stop: threading.Event, opened: list[int]) -> None:
    """One person who opens Explore with another current every other second: the heaviest that a page asks of the server."""
    tight = sim.presets()["tight"]
    while not stop.wait(2.0):
        scene = tight.replace("channel.0.pulse.amplitude_ma", float(len(opened) % 300) / 10.0)
        with contextlib.suppress(OSError):
            urllib.request.urlopen(f"{address}/explore?s={scene_to_address(scene)}", timeout=60.0).close()
            opened.append(1)


async def votes(address: str, learners: int, told: list[float]) -> None:
    """A room of learners through two votes of a shipped lesson."""
    reply = await post(f"{address}/teach/open", {"lesson": "claw"})
    assert reply.code == 200, reply.body
    made = json.loads(reply.body)
    live = address.replace("http", "ws", 1)
    control = await Person.arrive(live, made["code"], "control", made["token"])
    lesson = control.came[0]["lesson"]
    step = next(i for i, one in enumerate(lesson["steps"]) if one["kind"] == "ask")
    people = [await Person.arrive(live, made["code"], "learner", (await join(address, made["code"]))[0]) for _ in range(learners)]
    chance = random.Random(7)

    async def vote(person: Person, turn: int) -> None:
        await asyncio.sleep(chance.uniform(0.0, SPREAD_S))
        began = time.perf_counter()
        await person.answer(step, turn, {"choice": "A"}, within_s=60.0)
        told.append(time.perf_counter() - began)

    for phase, turn in (("vote", 1), ("talk", 0), ("again", 2)):
        reply = await control.ask(60.0, type="go", step=step, phase=phase)
        assert reply["type"] == "kept", reply
        if turn:
            await asyncio.gather(*(vote(person, turn) for person in people))


def measure(address: str, explorers: int, learners: int) -> None:
    """One row."""
    stop, moved, told = threading.Event(), list[int](), list[float]()
    threads = [threading.Thread(target=explore, args=(address, stop, moved), daemon=True) for _ in range(explorers)]
    for thread in threads:
        thread.start()
    if explorers:
        time.sleep(5.0)
    began, before = time.perf_counter(), len(moved)
    run(votes, address, learners, told)
    moves = (len(moved) - before) / (time.perf_counter() - began)
    stop.set()
    for thread in threads:
        thread.join(30.0)
    told.sort()
    p50, p95 = (1e3 * told[min(int(part * len(told)), len(told) - 1)] for part in (0.5, 0.95))
    print(f"{learners} learners beside {explorers} who explore ({moves:.1f} pages/s): {len(told)} answers acknowledged, "
          f"ms p50 {p50:.0f}, p95 {p95:.0f}, longest {1e3 * told[-1]:.0f}", flush=True)


def main() -> None:
    """Print a row without explorers and one with them."""
    explorers, learners = (int(text) for text in [*sys.argv[1:3], *["10", "60"][len(sys.argv) - 1:]])
    with tempfile.TemporaryDirectory() as folder, subprocess.Popen(
        [sys.executable, *COMMAND, "--store", f"{folder}/rooms.sqlite"],
        stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True,
    ) as server:
        try:
            assert server.stdout
            found = next(filter(None, (re.search(r"http://127\.0\.0\.1:\d+", line) for line in server.stdout)))
            urllib.request.urlopen(f"{found.group()}/lesson/claw.json", timeout=300.0).close()  # worked out before it is measured
            for _ in range(3):  # what is loaded and kept with the first page is there in a server that is in use
                urllib.request.urlopen(f"{found.group()}/explore", timeout=300.0).close()
            for count in (0, explorers):
                measure(found.group(), count, learners)
        finally:
            server.terminate()


if __name__ == "__main__":
    main()
