"""A room under load: answers lost or doubled, time from the educator's step to each learner, acknowledgement, memory a session.

``python -m tests.bench.room_load``: 60 learners on one process with SQLite, 200 on two and three processes with PostgreSQL. All
learners answer at moments spread over five seconds, twice, and half of them send their answer a second time. Before that 200
see the educator's scene move 20 times, and 50 of them drag sliders of their own, a thousand questions in ten seconds, hardly any
of them asked before, on the program's own model. ``--scene`` does that part only. Reported, never asserted.
"""

from __future__ import annotations

import asyncio
import json
import random
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))
sys.path.insert(0, str(Path(__file__).parents[1] / "classroom"))

from postgres_server import binaries, postgres
from room_clients import Person, join, open_room, post, run
from room_server import Server, Servers, servers
from serving import COMMAND, served

from graspwave.apps.classroom.goals import AMPLITUDE
from graspwave.apps.classroom.store import open_store

SPREAD_S = 5.0
MOVES, ROAMING, DRAGS, ASKS = 20, 50, 4, 5


def share(values: list[float], part: float) -> float:
    """Value below which `part` of the values lie."""
    ordered = sorted(values)
    return ordered[min(int(part * len(ordered)), len(ordered) - 1)]


async def load(several: list[Server], learners: int, store: str, told: dict[str, float]) -> None:
    """One room with learners spread over servers, through two votes."""
    chance = random.Random(7)
    code, token = await open_room(several[0].http)
    control = await Person.arrive(several[0].live, code, "control", token)
    before = [server.memory_kb for server in several]
    people: list[Person] = []
    for number in range(learners):
        server = several[number % len(several)]
        mine, _ = await join(server.http, code)
        people.append(await Person.arrive(server.live, code, "learner", mine))
    told["memory, MB a session"] = sum(
        server.memory_kb - kb for server, kb in zip(several, before, strict=True)) / 1024 / learners
    seen: list[float] = []
    acknowledged: list[float] = []
    wrong = 0

    async def step(number: int, phase: str) -> None:
        began = time.perf_counter()

        async def until(person: Person) -> None:
            await person.until_state(lambda s: (s["step"], s["phase"]) == (number, phase), 60.0)
            seen.append(time.perf_counter() - began)

        await asyncio.gather(control.go(number, phase), *(until(person) for person in people))

    async def vote(person: Person, turn: int, choice: str) -> None:
        nonlocal wrong
        await asyncio.sleep(chance.uniform(0.0, SPREAD_S))
        for _ in range(2 if chance.random() < 0.5 else 1):
            began = time.perf_counter()
            reply = await person.answer(1, turn, {"choice": choice}, within_s=60.0)
            acknowledged.append(time.perf_counter() - began)
            wrong += reply["type"] != "kept"

    for phase, turn in (("vote", 1), ("talk", 0), ("again", 2), ("bars", 0), ("look", 0), ("reveal", 0)):
        await step(1, phase)
        if turn:
            await asyncio.gather(*(vote(person, turn, "ABC"[at % 3]) for at, person in enumerate(people)))
    opened = open_store(store, check=False)
    found = opened.snapshot(code)
    opened.close()
    assert found
    told["lost"] = 2 * learners - sum(len(found.answers[turn]) for turn in (1, 2)) + wrong
    bars = [sum(person.state["bars"][turn].values()) for person in people for turn in ("first", "second")]
    told["doubled"] = sum(max(0, count - learners) for count in bars)
    told["step to seen, ms p50"], told["p95"] = (1e3 * share(seen, part) for part in (0.5, 0.95))
    told["acknowledged, ms p50"], told["ack p95"] = (1e3 * share(acknowledged, part) for part in (0.5, 0.95))


def measure(several: Servers, name: str, store: str, folder: Path, processes: int, learners: int) -> None:
    """Run one load and print its row."""
    begun = [several.begin(store, folder / f"log{number}") for number in range(processes)]
    told: dict[str, float] = {}
    run(load, begun, learners, store, told)
    several.end_all()
    print(name, "; ".join(f"{what} {value:.4g}" for what, value in told.items()))


async def shown_scene(http: str, learners: int, told: dict[str, float]) -> None:
    """A mirrored scene on the program's own lesson: seconds from the educator's move to each phone, then phones that roam."""
    live, chance = http.replace("http", "ws"), random.Random(7)
    opened = json.loads((await post(f"{http}/teach/open", {"lesson": "claw"})).body)
    code = opened["code"]
    control = await Person.arrive(live, code, "control", opened["token"])
    await control.ask(type="begin")
    tokens = [(await join(http, code))[0] for _ in range(learners)]
    people = [await Person.arrive(live, code, "learner", token) for token in tokens]
    path = "channel.0.pads.along_percent"
    seen: list[float] = []
    # the page that leads shows the scene to its educator first
    await post(f"{http}/room/{code}/mine", {"token": opened["token"], "step": 0})
    for number in range(MOVES):
        value, began = 30.0 + number, time.perf_counter()

        async def until(person: Person, value: float = value, began: float = began) -> None:
            await person.until_state(lambda s: s["mirror"] and s["mirror"]["settings"].get(path) == value, 60.0)
            seen.append(time.perf_counter() - began)

        await asyncio.gather(control.ask(60.0, type="mirror", settings={path: value}), *(until(person) for person in people))
    told["scene seen, ms p50"], told["scene p95"] = (1e3 * share(seen, part) for part in (0.5, 0.95))
    told["scenes lost"] = MOVES * learners - len(seen)
    steps = people[0].came[0]["lesson"]["steps"]
    at = next(number for number, step in enumerate(steps) if step["kind"] == "roam")
    await control.ask(type="mirror", settings=None)
    await control.go(at, "show")
    await people[0].until_state(lambda s: s["step"] == at and s["view"]["bench"], 60.0)
    free = [one for one in people[0].state["view"]["bench"]["settings"] if "choices" not in one and one["path"] != AMPLITUDE]
    answered: list[float] = []
    refused = 0

    async def roam(token: str) -> None:
        """Drag a slider now and then as the page does: one question at a time, at most ten a second."""
        nonlocal refused
        mine: dict[str, float] = {}
        for _ in range(DRAGS):
            await asyncio.sleep(chance.uniform(0.5, 3.0))
            setting = chance.choice(free)
            for _ in range(ASKS):
                # hardly any two phones ask for the same
                mine[setting["path"]], began = round(chance.uniform(setting["low"], setting["high"]), 3), time.perf_counter()
                reply = await post(f"{http}/bench", {"slug": "claw", "step": at, "code": code, "token": token, "settings": mine})
                answered.append(time.perf_counter() - began)
                refused += reply.code != 200
                await asyncio.sleep(max(0.0, began + 0.1 - time.perf_counter()))

    await asyncio.gather(*(roam(token) for token in tokens[:ROAMING]))
    told["roam answered, ms p50"], told["roam p95"] = (1e3 * share(answered, part) for part in (0.5, 0.95))
    told["roam asked"], told["roam refused"] = len(answered), refused


def main() -> None:
    """Print a row for each load."""
    with tempfile.TemporaryDirectory() as named, servers() as several:
        folder = Path(named)
        with served((*COMMAND, "--store", str(folder / "own.sqlite"))) as where:
            told: dict[str, float] = {}
            run(shown_scene, where.removesuffix("/explore"), 200, told)
            row = "; ".join(f"{what} {value:.4g}" for what, value in told.items())
            print("200 learners see a scene, 50 roam:", row, flush=True)
        if "--scene" in sys.argv[1:]:
            return
        measure(several, "60 learners, 1 process, SQLite:", str(folder / "rooms.sqlite"), folder, 1, 60)
        measure(several, "200 learners, 1 process, SQLite:", str(folder / "rooms.sqlite"), folder, 1, 200)
        if binaries() is None:
            print("no PostgreSQL on this machine")
            return
        with postgres(sure=True) as database:
            for processes in (2, 3):
                measure(several, f"200 learners, {processes} processes, PostgreSQL:", database.url, folder, processes, 200)


if __name__ == "__main__":
    main()
