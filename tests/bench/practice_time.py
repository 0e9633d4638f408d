"""Time of half an hour of practice, timed and held, and of a table of changes.

    OPENBLAS_NUM_THREADS=1 python tests/bench/practice_time.py

First is a scene never seen before, best the least of the repeats.
"""

from __future__ import annotations

import sys
import time
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from graspwave import simulator as sim
from graspwave.simulator.practice import change_one_thing, run_practice

REPEAT = 9


def main() -> None:
    print(f"{'':28s} {'first':>7s} {'median':>7s} {'best':>7s} ms   repetitions")
    for preset in ("supple", "tight"):
        for size in (60.0, 15.0):
            for control in ("timed", "held"):
                scene = sim.presets()[preset].replace("task.diameter_mm", size)
                took = []
                for seed in range(1, REPEAT + 1):
                    start = time.perf_counter()
                    run = run_practice(scene, control, seed)
                    took.append(1e3 * (time.perf_counter() - start))
                name = f"{preset}, {size:.0f} mm, {control}"
                print(f"{name:28s} {took[0]:7.0f} {np.median(took):7.0f} {min(took):7.0f}      {run.repetitions}")
    start = time.perf_counter()
    rows = change_one_thing(sim.presets()["supple"].replace("task.diameter_mm", 55.0), "timed")
    print(f"table of {len(rows)} changes, 5 seeds: {time.perf_counter() - start:.1f} s")


if __name__ == "__main__":
    main()
