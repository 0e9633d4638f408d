"""Work beside the server: done in another process, stopped when it takes too long, and a queue that says how long it is."""

from __future__ import annotations

import dataclasses
import os
import pickle
import time
from collections.abc import Callable

import pytest

from graspwave import simulator as sim
from graspwave.apps.computing import Busy, Computing, TooLong
from graspwave.apps.practise.half_hour import worked_out


def own_process(number: int) -> tuple[int, int]:
    return os.getpid(), number


def for_ever() -> None:
    while True:
        pass


def at_once_gone() -> None:
    os._exit(3)


def printing() -> str:
    print("this must not come between")  # noqa: T201
    return "well"


def faulty(name: str) -> None:
    raise sim.SceneError(name, "another", 3, "change it")


@pytest.fixture(scope="module")
def pool() -> Computing:
    return Computing(1, waiting=4)


def test_work_is_done_in_another_process_that_stays(pool: Computing) -> None:
    first, second = (pool.submit(own_process, number).result(60) for number in (1, 2))
    assert first[0] == second[0] != os.getpid()
    assert (first[1], second[1]) == (1, 2)
    assert pool.submit(printing).result(60) == "well"


def test_what_takes_too_long_is_stopped_and_the_next_goes_on(pool: Computing) -> None:
    began = time.monotonic()
    with pytest.raises(TooLong, match="longer than 1 s"):
        pool.submit(for_ever, limit_s=1.0).result(60)
    assert time.monotonic() - began < 50.0
    assert pool.submit(own_process, 3).result(60)[1] == 3


def test_a_process_that_dies_is_replaced(pool: Computing) -> None:
    with pytest.raises(TooLong, match="could not be worked out"):
        pool.submit(at_once_gone).result(60)
    assert pool.submit(own_process, 4).result(60)[1] == 4


def test_a_fault_comes_back_as_it_was(pool: Computing) -> None:
    with pytest.raises(sim.SceneError, match=r"^'pulse' must be another \(got 3\): change it$") as found:
        pool.submit(faulty, "pulse").result(60)
    assert found.value.name == "pulse"
    assert str(pickle.loads(pickle.dumps(found.value))) == str(found.value)


def test_a_full_queue_says_how_long_it_is() -> None:
    pool = Computing(1, waiting=2)
    running = pool.submit(for_ever, limit_s=3.0)
    waiting = []

    def crowd() -> None:
        for _ in range(10):
            waiting.append(pool.submit(own_process, 1))

    with pytest.raises(Busy, match=r"about \d+ s"):
        crowd()
    with pytest.raises(TooLong):
        running.result(60)
    assert all(one.result(60)[1] == 1 for one in waiting), "who stands in the queue is served"


def shortest_cycles() -> sim.Scene:
    scene = sim.presets()["tight"].replace("channel.0.ramp.up_s", 0.0).replace("channel.0.ramp.down_s", 0.0)
    return scene.replace("channel.0.timing.on_s", 0.1).replace("channel.0.timing.off_s", 0.0).replace("session.minutes", 180.0)


def two_channels() -> sim.Scene:
    scene = sim.presets()["tight"].replace("session.minutes", 60.0).replace("channel.0.train.frequency_hz", 100.0)
    return dataclasses.replace(scene, channel=(scene.channel[0], scene.channel[0]))


def timed(scene: sim.Scene) -> tuple[float, int, bool]:
    """Processor seconds, sessions, and whether there is a table and a finding."""
    worked_out(sim.presets()["tight"].replace("session.minutes", 0.5))  # what is loaded and kept once counts against no session
    began = time.process_time()
    sessions, table, said = worked_out(scene)
    return time.process_time() - began, len(sessions), bool(table and said)


@pytest.mark.parametrize("make", [shortest_cycles, two_channels])
def test_the_heaviest_session_is_worked_out_in_two_seconds(pool: Computing, make: Callable[[], sim.Scene]) -> None:
    """Three hours of the shortest cycles; an hour of two channels at 100 Hz."""
    seconds, sessions, told = pool.submit(timed, make(), limit_s=60.0).result(120)
    assert (sessions, told) == (2, True)
    assert seconds < 2.0


def test_what_is_longer_than_it_may_be_is_refused_with_the_reason(pool: Computing) -> None:
    with pytest.raises(TooLong, match=r"longer than 0 s here\. Set a shorter time or fewer pulses\."):
        pool.submit(worked_out, shortest_cycles().replace("session.minutes", 170.0), limit_s=0.1).result(60)
