"""Time from moved pads to the new field and recruitment curves: ``python -m tests.bench.pads_moved``."""

from __future__ import annotations

from statistics import median
from time import perf_counter

import numpy as np

from graspwave import simulator as sim
from graspwave.simulator.field import field_at_axons

CURRENT = np.linspace(0.0, 60.0, 61)


def main() -> None:
    scene = sim.presets()["tight"]
    sim.recruitment_curve(scene, CURRENT)  # reads the maps
    field, both = [], []
    for step in range(200):
        moved = scene.replace("channel.0.pads.along_percent", 20.0 + 0.2 * step)
        start = perf_counter()
        field_at_axons(moved.channel[0].pads, moved.hand)
        between = perf_counter()
        sim.recruitment_curve(moved, CURRENT)
        field.append(between - start)
        both.append(perf_counter() - between)
    for words, times in (("field", field), ("field and 61-point curves of 16 muscles", both)):
        print(f"{words}: median {1e3 * median(times):.2f} ms, longest {1e3 * max(times):.2f} ms")


if __name__ == "__main__":
    main()
