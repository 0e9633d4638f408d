"""Time and points of a trace at every zoom: two channels, 1200 pixels, sessions of 3 to 60 minutes.

Run with ``python -m tests.bench.trace_zoom``; ends with 1 where a budget is missed. The ratio of a long session to a
short one is taken in the same run, so a busy machine does not matter to it.
"""

from __future__ import annotations

import statistics
import sys
import time
from collections.abc import Callable

from graspwave.simulator.pulses import PulseTrain, pulse_train
from graspwave.simulator.scene import Channel, Pulse, Scene, Session, Timing, Train
from graspwave.simulator.trace import trace_current

PIXELS = 1200
BUDGET_MS = 10.0
WINDOWS_S = (50e-6, 1e-3, 20e-3, 1.0, 10.0, 60.0, 180.0)
REPEATS = 15


def milliseconds(call: Callable[[], object]) -> float:
    """Median time of a call."""
    times = []
    for _ in range(REPEATS):
        start = time.perf_counter()
        call()
        times.append(1e3 * (time.perf_counter() - start))
    return statistics.median(times)


def scene_of(minutes: float, frequency_hz: float) -> Scene:
    """Two channels without rest, one asymmetric: as many pulses as the rate allows."""
    timing, train = Timing(on_s=8.0, off_s=0.0), Train(frequency_hz=frequency_hz)
    pair = (Channel(timing=timing, train=train),
            Channel(timing=timing, train=train, pulse=Pulse(shape="asymmetric", gap_us=100.0)))
    return Scene(channel=pair, session=Session(minutes=minutes))


def trains_of(minutes: float, frequency_hz: float) -> tuple[PulseTrain, PulseTrain]:
    """Both channels' pulses."""
    scene = scene_of(minutes, frequency_hz)
    return pulse_train(scene, 0), pulse_train(scene, 1)


def drawn(trains: tuple[PulseTrain, PulseTrain], t0_s: float, t1_s: float) -> int:
    """Points of both channels' lines; the larger."""
    return max(len(trace_current(train, t0_s, t1_s, PIXELS)[0]) for train in trains)


def main() -> int:
    missed = 0
    print(f"{'Hz':>5} {'min':>4} {'window s':>9} {'points':>7} {'first ms':>9} {'ms':>7} {'of 3 min':>9}")
    for frequency_hz in (35.0, 50.0, 100.0):
        short: dict[float, float] = {}
        for minutes in (3, 30, 60):
            print(f"{frequency_hz:5g} {minutes:4d} both trains made in "
                  f"{milliseconds(lambda m=minutes, f=frequency_hz: trains_of(m, f)):.2f} ms")
            for window in (*WINDOWS_S, 60.0 * minutes):
                trains = trains_of(minutes, frequency_hz)
                t0 = 0.3 * (60.0 * minutes - window)
                start = time.perf_counter()
                points = drawn(trains, t0, t0 + window)
                first = 1e3 * (time.perf_counter() - start)
                took = milliseconds(lambda v=trains, a=t0, w=window: drawn(v, a, a + w))
                short.setdefault(window, took)
                missed += took > BUDGET_MS or points > 4 * PIXELS
                print(f"{frequency_hz:5g} {minutes:4d} {window:9g} {points:7d} {first:9.2f} {took:7.2f} "
                      f"{took / short[window]:9.2f}")
    print("budget missed" if missed else f"every zoom within {BUDGET_MS:g} ms and {4 * PIXELS} points")
    return int(missed > 0)


if __name__ == "__main__":
    sys.exit(main())
