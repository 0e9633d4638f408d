"""Time of `explain_opening`, beside one curve of 61 currents in the same run.

    OPENBLAS_NUM_THREADS=1 python tests/bench/why_time.py

First is a pair never seen before (another current each time, no result kept), best the least of the repeats.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from graspwave import simulator as sim
from graspwave.simulator.scene import Scene
from graspwave.simulator.why import explain_opening

AMPLITUDE = "channel.0.pulse.amplitude_ma"
REPEAT = 15


def times_ms(call: Callable[[int], object]) -> tuple[float, float, float]:
    took = []
    for k in range(REPEAT):
        start = time.perf_counter()
        call(k)
        took.append(1e3 * (time.perf_counter() - start))
    return took[0], float(np.median(took)), min(took)


def main() -> None:
    tight, supple = sim.presets()["tight"], sim.presets()["supple"]
    toned = supple.replace("hand.finger_tone", 0.01)
    other = tight.replace("hand.own_opening", 0.2).replace("hand.strength", 0.7)
    held = tight.replace("hand.wrist_held_deg", 0.0)
    cases: dict[str, tuple[Scene, Scene]] = {
        "current, wrist held": (held, held), "current": (tight, tight), "current and length": (supple, tight),
        "current, length, tone": (toned, tight), "all that can differ": (toned, other),
    }
    sim.opening_curve(tight, np.linspace(0.0, 60.0, 61))
    first, middle, best = times_ms(lambda _: sim.opening_curve(tight, np.linspace(0.0, 60.0, 61)))
    print(f"{'curve of 61':26s} {'':14s} first {first:6.1f}  median {middle:6.1f}  best {best:6.1f} ms")
    for name, (one, two) in cases.items():
        def call(k: int, one: Scene = one, two: Scene = two) -> object:
            return explain_opening(one.replace(AMPLITUDE, 13.0 + 0.1 * k), two.replace(AMPLITUDE, 24.0 + 0.3 * k))

        parts = len(explain_opening(one.replace(AMPLITUDE, 12.0), two.replace(AMPLITUDE, 40.0)).shares)
        first, middle, best = times_ms(call)
        print(f"{name:26s} {parts} parts, {2**parts:3d} sets first {first:6.1f}  median {middle:6.1f}  best {best:6.1f} ms")


if __name__ == "__main__":
    main()
