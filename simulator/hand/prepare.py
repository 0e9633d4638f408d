"""Compile the loops of hand and muscle and keep them, so that the first hand is there at once.

    python -m graspwave.simulator.hand.prepare

Stage ``hand``. What is kept already is loaded, not compiled again.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator

import numpy as np

from graspwave.simulator import compiling
from graspwave.simulator.hand.geometry import opening, widest_mm
from graspwave.simulator.hand.lag import following
from graspwave.simulator.hand.moving import motion
from graspwave.simulator.hand.parameters import scene_hand
from graspwave.simulator.hand.posture import equilibrium, relaxed_posture
from graspwave.simulator.hand.torques import torque_nmm
from graspwave.simulator.muscle import muscle_force
from graspwave.simulator.scene import Hand

__all__ = ["prepare"]

_AT_ONCE_S = 3.0


def prepare(say: Callable[[str], None] = compiling.told) -> None:
    """Run every loop once, telling each step where they have to be compiled first."""
    kept, begun = compiling.is_kept(), time.perf_counter()
    if not kept:
        say("compiling the hand, once, some 30 s ...")
        compiling.forget_older()
    for done, of, what in _steps():
        if not kept:
            say(f"  {done} of {of}: {what} ({time.perf_counter() - begun:.0f} s)")
    took = time.perf_counter() - begun
    if not kept or took > _AT_ONCE_S:
        where = compiling.cache_folder()
        say(f"the hand is ready after {took:.0f} s" + (f", kept in {where}" if where is not None else ""))


def _steps() -> Iterator[tuple[int, int, str]]:
    hand, model = Hand(), scene_hand()
    work: tuple[tuple[str, Callable[[], object]], ...] = (
        ("a relaxed hand", lambda: relaxed_posture(hand, 0.0, model=model)),
        ("postures", lambda: equilibrium(hand, {"EDC": [0.0, 0.1]}, model=model)),
        ("motion", lambda: [motion(hand, {"EDC": np.zeros((2, 1))}, 0.05, model=model), following(np.zeros(2), 0.0, 0.5)]),
        ("objects", lambda: [widest_mm(hand, {"wrist": 0.0, "MCP": 0.0, "PIP": 0.0, "DIP": 0.0}, "ball"),
                             opening(hand, {"wrist": 0.0, "MCP": 0.0, "PIP": 0.0, "DIP": 0.0})]),
        ("tiring", lambda: muscle_force([0.0, 0.1])),
        ("torques", lambda: torque_nmm(hand, {"wrist": 0.0, "MCP": 0.0, "PIP": 0.0, "DIP": 0.0}, model=model)),
    )  # fmt: skip
    for i, (what, run) in enumerate(work):
        run()
        yield i + 1, len(work), what


if __name__ == "__main__":
    prepare()
