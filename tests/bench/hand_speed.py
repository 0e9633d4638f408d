"""The hand's loops beside numpy and beside C, in one run: ``python -m tests.bench.hand_speed [earlier checkout]``.

The same four-finger hand is walked by the compiled loops, by numpy over all rows at once (`hand_in_numpy`), and by the same
loop in C where there is a compiler (``hand.c``); how far apart the postures are that they find is told beside. Then whole
calls: a curve, the motion of 24 s and of half an hour, `why` with all parts; with another checkout that has been set up, the
same calls there. Processor time, the least of some repeats, so that a busy machine tells the same. Reported, never asserted.
"""

from __future__ import annotations

import ctypes
import os
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np

HERE = Path(__file__).parent
_CYCLES = 75  # of 24 s in half an hour
CALLS = """
import os, sys, time, json
os.environ["OPENBLAS_NUM_THREADS"] = "1"
import numpy as np
from graspwave import simulator as sim
from graspwave.simulator import run
from graspwave.simulator.why import explain_opening
tight, supple = sim.presets()["tight"], sim.presets()["supple"]
at = "channel.0.pulse.amplitude_ma"
toned = supple.replace("hand.finger_tone", 0.01)
other = tight.replace("hand.own_opening", 0.2).replace("hand.strength", 0.7)
spent = [0.0]
def clocked(call):
    def timed(*given, **named):
        began = time.process_time()
        found = call(*given, **named)
        spent[0] += time.process_time() - began
        return found
    return timed
def least(call, times):
    call(0)
    took = []
    for n in range(1, times + 1):
        began = time.process_time()
        call(n)
        took.append(time.process_time() - began)
    return 1e3 * min(took)
found = {"curve of 61 currents": least(lambda n: sim.opening_curve(tight, np.linspace(0.0, 60.0, 61)), 15),
         "why, current": least(lambda n: explain_opening(tight.replace(at, 13 + 0.1 * n), tight.replace(at, 24 + 0.3 * n)), 10),
         "why, all parts": least(lambda n: explain_opening(toned.replace(at, 13 + 0.1 * n), other.replace(at, 24 + 0.3 * n)), 10)}
run._motion = clocked(run._motion)
for words, seconds, times in (("motion of 24 s", 24.0, 5), ("motion of half an hour", 1800.0, 1)):
    sim.simulate(tight, seconds)
    took = []
    for _ in range(times):
        spent[0] = 0.0
        sim.simulate(tight, seconds)
        took.append(1e3 * spent[0])
    found[words] = min(took)
print(json.dumps(found))
"""


def least_ms(call: Callable[[], object], times: int = 20) -> float:
    """Least processor time of some calls."""
    took = []
    for _ in range(times):
        began = time.process_time()
        call()
        took.append(time.process_time() - began)
    return 1e3 * min(took)


class InC:
    """``hand.c`` with the record's fields numbered as they stand in the constants."""

    def __init__(self, k: Any, folder: str) -> None:
        names = [f"-D{head}_{name}={i}" for head, record in (("R", k.ray), ("W", k.whole))
                 for i, name in enumerate(record.dtype.names)]
        library = f"{folder}/hand.so"
        compiler = shutil.which("cc") or "cc"
        subprocess.run([compiler, "-O2", "-shared", "-fPIC", f"-DR_count={len(k.ray.dtype.names)}", *names, "-o", library,
                        str(HERE / "hand.c"), "-lm"], check=True)
        self._library = ctypes.CDLL(library)
        parts = [np.array(k.ray.tolist()), np.array(k.whole.tolist()), *k[2:]]
        self._parts = [np.ascontiguousarray(part, dtype=np.float64) for part in parts]
        self._k = (ctypes.c_void_p * len(self._parts))(*(part.ctypes.data for part in self._parts))

    def settle(self, q: Any, drive: Any, tone: Any, most: int, done: float) -> Any:
        found = q.copy()
        at = [ctypes.c_void_p(a.ctypes.data) for a in (found, drive, tone)]
        self._library.settle(self._k, *at, 0, q.shape[0], most, ctypes.c_double(done))
        return found

    def move(self, q: Any, drive: Any, tone: Any, hold: float, done: float) -> Any:
        now, out = q.copy(), np.empty((drive.shape[0], q.shape[1]))
        at = [ctypes.c_void_p(a.ctypes.data) for a in (now, drive, tone)]
        self._library.move(self._k, *at, 0, drive.shape[0], ctypes.c_double(hold), ctypes.c_double(done),
                           ctypes.c_void_p(out.ctypes.data))
        return out


def posed() -> tuple[Any, Any, Any, Any]:
    """Constants, start, drive and tone of the tight hand's curve of 61 currents."""
    from graspwave import simulator as sim
    from graspwave.simulator.hand.drives import drive_rows
    from graspwave.simulator.hand.layout import hand_constants
    from graspwave.simulator.hand.parameters import scene_hand
    from graspwave.simulator.hand.settling import rest_of
    from graspwave.simulator.run import drive_of_hand, effective_hand, stimulated

    scene, model = sim.presets()["tight"], scene_hand()
    hand = effective_hand(scene)
    currents = np.linspace(0.0, 60.0, 61)
    drive, tone = drive_rows(hand, drive_of_hand(stimulated(scene, currents)[1], hand, 61), model)
    return hand_constants(hand, model), np.repeat(rest_of(hand, model).q, 61, axis=0), drive, tone


def loops() -> None:
    """The loops alone: numba, numpy, C."""
    from graspwave.simulator.hand.walk import move, settle
    from tests.bench import hand_in_numpy as other

    k, start, drive, tone = posed()
    free, none = np.zeros(61, dtype=np.bool_), np.zeros_like(drive)

    def compiled() -> Any:
        found = start.copy()
        settle(k, found, np.full(61, -1), drive, none, tone, free, 100, 1e-3)
        return found

    # a rise and a fall of the drive in 480 steps of 50 ms, as a cycle of 24 s has it
    level = np.clip(np.minimum(np.arange(480) / 20.0, (280 - np.arange(480)) / 20.0), 0.0, 1.0)
    cycle = np.ascontiguousarray(drive[0] + level[:, None] * (drive[24] - drive[0]))
    room = np.zeros((0, 9, 1))

    def moved() -> Any:
        return move(k, start[:1].copy(), cycle[:, None], none[:1], tone[:1], False, 3.0, 0.01, 0.0, 0.05, np.zeros((9, 1)), room,
                    np.zeros((9, 1)))[:, 0]

    def moved_in_numpy() -> Any:
        q, out = start[:1], []
        for row in cycle:
            q = other.settle(k, q, row[None], tone[:1], free[:1], 60, 0.01, 3.0)
            out.append(q[0])
        return np.array(out)

    rivals: dict[str, tuple[Callable[[], Any], Callable[[], Any]]] = {
        "compiled": (compiled, moved),
        "numpy, all rows at once": (lambda: other.settle(k, start, drive, tone, free, 100, 1e-3), moved_in_numpy),
    }
    with tempfile.TemporaryDirectory() as folder:
        if shutil.which("cc"):
            c = InC(k, folder)
            rivals["C, -O2"] = (
                lambda: c.settle(start, drive, tone, 100, 1e-3), lambda: c.move(start[:1], cycle, tone, 3.0, 0.01),
            )
        postures, ways = compiled(), moved()
        ours: list[float] = []
        print(f"{'loops alone':28s} {'61 postures':>12s} {'':8s} {'24 s of motion':>15s}")
        for words, (settles, moves) in rivals.items():
            apart = max(np.abs(settles() - postures).max(), np.abs(moves() - ways).max())
            took = least_ms(settles), least_ms(moves, 3 if "numpy" in words else 20)
            ours = ours or list(took)
            print(f"{words:28s} {took[0]:9.2f} ms {took[0] / ours[0]:7.2f}x {took[1]:12.2f} ms {took[1] / ours[1]:7.2f}x   "
                  f"furthest apart {apart:.0e} rad")


def in_numpy() -> None:
    """What was asked of the compiled hand against four fingers in numpy: half an hour, and whole calls with its loop put in."""
    from graspwave import simulator as sim
    from graspwave.simulator.hand import walk
    from graspwave.simulator.hand.walk import move
    from graspwave.simulator.why import explain_opening
    from tests.bench import hand_in_numpy as other

    k, start, drive, tone = posed()
    none, free = np.zeros_like(drive), np.zeros(_CYCLES, dtype=np.bool_)
    level = np.clip(np.minimum(np.arange(480) / 20.0, (280 - np.arange(480)) / 20.0), 0.0, 1.0)
    # as it tires, no cycle is quite as strong as the one before
    weaker = np.linspace(1.0, 0.6, _CYCLES)
    cycles = drive[0] + (level[:, None] * weaker)[:, :, None] * (drive[24] - drive[0])  # (480, cycles, paths)
    row = np.ascontiguousarray(cycles.swapaxes(0, 1).reshape(480 * _CYCLES, 1, -1))
    room = np.zeros((0, 9, 1))

    def compiled() -> Any:
        return move(k, start[:1].copy(), row, none[:1], tone[:1], False, 3.0, 0.01, 0.0, 0.05, np.zeros((9, 1)), room,
                    np.zeros((9, 1)))

    def side_by_side() -> Any:
        q = np.repeat(start[:1], _CYCLES, axis=0)
        for now in cycles:
            q = other.settle(k, q, now, np.repeat(tone[:1], _CYCLES, axis=0), free, 60, 0.01, 3.0)
        return q

    ours, theirs = least_ms(compiled, 5), least_ms(side_by_side, 1)
    print(f"\n{'beside four fingers in numpy':34s} {'now':>12s} {'numpy':>12s}")
    print(f"{'half an hour, cycles side by side':34s} {ours:9.2f} ms {theirs:9.0f} ms {theirs / ours:7.1f}x")

    # numpy walks all rows at once, so each from its own start: `since`, which would have them wait for each other, is left out
    def put_in(constants: Any, q: Any, since: Any, drive: Any, pull: Any, tone: Any, held: Any, most: int, done: float) -> Any:
        q[:] = other.settle(constants, q, drive, tone, held, most, done)
        return np.zeros(len(q), dtype=np.int64), np.zeros(len(q))

    def put_in_each(
        constants: Any, which: Any, q: Any, since: Any, drive: Any, pull: Any, tone: Any, held: Any, most: int, done: float
    ) -> Any:
        for j in np.unique(which):  # rows of one hand side by side, as numpy can
            rows, one = which == j, type(constants)(*(part[j] for part in constants))
            q[rows] = other.settle(one, q[rows], drive[rows], tone[rows], held[rows], most, done)
        return np.zeros(len(q), dtype=np.int64), np.zeros(len(q))

    tight, at, changed = sim.presets()["tight"], "channel.0.pulse.amplitude_ma", iter(range(10**6))
    toned = sim.presets()["supple"].replace("hand.finger_tone", 0.01)
    other_hand = tight.replace("hand.own_opening", 0.2).replace("hand.strength", 0.7)

    def why() -> Any:
        n = next(changed) % 97
        return explain_opening(toned.replace(at, 13 + 0.1 * n), other_hand.replace(at, 24 + 0.3 * n))

    plain = walk.settle, walk.settle_each
    for words, call in (("curve of 61 currents", lambda: sim.opening_curve(tight, np.linspace(0.0, 60.0, 61))),
                        ("why, all parts", why)):
        now = least_ms(call, 15)
        walk.settle, walk.settle_each = put_in, put_in_each
        then = least_ms(call, 5)
        walk.settle, walk.settle_each = plain
        print(f"{words:34s} {now:9.2f} ms {then:9.0f} ms {then / now:7.1f}x")


def calls(python: str, root: Path) -> dict[str, float]:
    """Whole calls in a checkout."""
    import json

    done = subprocess.run([python, "-c", CALLS], cwd=root, capture_output=True, text=True, check=True)
    return dict(json.loads(done.stdout.splitlines()[-1]))


def main() -> None:
    loops()
    in_numpy()
    now = calls(sys.executable, HERE.parents[1])
    before = None
    if len(sys.argv) > 1:
        root = Path(sys.argv[1])
        before = calls(str(root / ".venv/bin/python"), root)
    print(f"\n{'whole calls':28s} {'now':>12s}" + (f" {'there':>12s}" if before else ""))
    for words, took in now.items():
        there = f" {before[words]:9.2f} ms {before[words] / took:7.2f}x" if before else ""
        print(f"{words:28s} {took:9.2f} ms{there}")


if __name__ == "__main__":
    main()
