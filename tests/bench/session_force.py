"""Force and tiring of a 30-minute session: time, error, growth and memory in one run.

    OPENBLAS_NUM_THREADS=1 python tests/bench/session_force.py

The rivals solve the same equations of the same session, all layers of all muscles of a channel as one system (their
best case: a wider system costs little more), every interval between pulses anew, since the derivative of activation
jumps there. Error is against a tight solution of one muscle.
"""

from __future__ import annotations

import sys
import time
import tracemalloc
from pathlib import Path

import numpy as np

HERE = Path(__file__).resolve()
sys.path[:0] = [str(HERE.parents[2]), str(HERE.parents[1] / "reference")]

from force_solver import solve_session  # noqa: E402

from graspwave.simulator.muscle import parameter_set, session_force  # noqa: E402

MUSCLES = 18
HIGHEST = (0.95, 0.8, 0.6, 0.5, 0.3, 0.2, 0.1, 0.05)  # invented: shares of the muscles at the hold
STEP_S = 0.05


def train(length_s: float, hz: float, on_s: float = 7.0, off_s: float = 5.0) -> tuple[np.ndarray, np.ndarray]:
    """Onsets with a doublet at the head of each burst, and intensity 0 to 1 with 1-s ramps."""
    onset, level = [], []
    for start in np.arange(0.0, length_s, on_s + off_s):
        t = np.insert(np.arange(0.0, on_s, 1.0 / hz), 1, 0.005)
        onset.append(start + t)
        level.append(np.clip(np.minimum(t, on_s - t), 0.0, 1.0))
    return np.concatenate(onset), np.concatenate(level)


def session(length_s: float, hz: tuple[float, float] = (45.0, 40.0), muscles: int = MUSCLES):
    """Two channels; the second reaches the last four muscles."""
    trains, shares = [], []
    for channel, f in enumerate(hz):
        onset, level = train(length_s, f)
        share = np.zeros((onset.size, muscles))
        for k in range(muscles):
            if (k >= muscles - 4) == (channel == 1):
                share[:, k] = HIGHEST[k % len(HIGHEST)] * level ** (0.8 + 0.15 * (k % 5))
        trains.append(onset)
        shares.append(share)
    return trains, shares, np.full(muscles, 100.0), np.arange(0.0, length_s, STEP_S)


def best(call, repeat: int = 7) -> tuple[float, float]:
    """Least wall time and least processor time."""
    wall, cpu = [], []
    for _ in range(repeat):
        w, c = time.perf_counter(), time.process_time()
        call()
        wall.append(time.perf_counter() - w)
        cpu.append(time.process_time() - c)
    return min(wall), min(cpu)


def growth() -> None:
    print("length   pulses  muscles   wall s    cpu s   us/pulse")
    for length, hz, muscles in (
        (450.0, (45.0, 40.0), 18), (900.0, (45.0, 40.0), 18), (1800.0, (45.0, 40.0), 18), (3600.0, (45.0, 40.0), 18),
        (1800.0, (20.0, 20.0), 18), (1800.0, (80.0, 80.0), 18), (1800.0, (45.0, 40.0), 5), (1800.0, (45.0, 40.0), 9),
    ):
        given = session(length, hz, muscles)
        pulses = sum(t.size for t in given[0])
        wall, cpu = best(lambda given=given: session_force(*given), 3)
        print(f"{length:6.0f} {pulses:8d} {muscles:8d} {wall:8.3f} {cpu:8.3f} {1e6 * wall / pulses:10.2f}")


def memory() -> None:
    for length in (900.0, 1800.0, 3600.0):
        given = session(length)
        tracemalloc.start()
        out = session_force(*given)
        peak = tracemalloc.get_traced_memory()[1]
        tracemalloc.stop()
        asked = out.force_n.nbytes + out.slow.nbytes + out.tired.nbytes
        pulses = sum(t.size for t in given[0])
        print(f"{length:6.0f} s: peak {peak / 1e6:6.1f} MB, of which returned {asked / 1e6:5.1f} MB; "
              f"the rest {(peak - asked) / pulses:5.0f} bytes a pulse")


def rivals() -> None:
    muscle = parameter_set("forearm extensors")
    given = session(1800.0)
    trains, shares, _, sample = given
    start = time.perf_counter()
    exact, _ = solve_session(trains[0], shares[0][:, 0], sample, muscle)
    print(f"tight reference (DOP853, rtol 1e-10), one muscle: {time.perf_counter() - start:.1f} s")
    miss = (session_force(*given).force_n[:, 0] - exact) / exact.max()
    print(f"engine: worst {np.abs(miss).max():.1e} of peak, r.m.s. {np.sqrt(np.mean(miss**2)):.1e}")
    for method in ("LSODA", "RK45"):
        before, _ = best(lambda: session_force(*given), 3)
        start = time.perf_counter()
        force = [solve_session(t, r, sample, muscle, method=method, rtol=1e-6)[0]
                 for t, r in zip(trains, shares, strict=True)]
        took = time.perf_counter() - start
        after, _ = best(lambda: session_force(*given), 3)
        engine = min(before, after)
        worst = np.abs(force[0][:, 0] - exact).max() / exact.max()
        print(f"{method} rtol 1e-6, all muscles: {took:.1f} s, worst {worst:.1e}; engine {engine:.3f} s, "
              f"{took / engine:.0f} times faster")


if __name__ == "__main__":
    session_inputs = session(1800.0)
    wall, cpu = best(lambda: session_force(*session_inputs))
    print(f"30 min, 2 channels, {sum(t.size for t in session_inputs[0])} pulses, {MUSCLES} muscles, "
          f"{session_inputs[3].size} samples: wall {wall:.3f} s, processor {cpu:.3f} s")
    growth()
    memory()
    rivals()
