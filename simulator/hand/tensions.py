"""What every tendon pulls in a posture, by muscle and by finger.

Stage ``hand``, before ``posture``.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import ArrayLike, NDArray

from graspwave.simulator.hand.drives import FREE_MUSCLES, columns_of, share_of_lump
from graspwave.simulator.hand.layout import Constants
from graspwave.simulator.hand.parameters import FINGERS, MUSCLES, WRIST_FLEXORS, HandModel

__all__ = ["tension_by_muscle"]

Array = NDArray[np.float64]


def tension_by_muscle(
    model: HandModel, constants: Constants, q: Array, rows: Array, toned: Array, drive: Mapping[str, ArrayLike]
) -> tuple[dict[str, Array], Array]:
    """Tension [N] by whole muscle and by finger, and the share of the middle finger's extensor force that its slips have."""
    from graspwave.simulator.hand.walk import slip_shares
    from graspwave.simulator.hand.whole import tensions

    tension, passive, _ = tensions(constants, q, rows, toned)
    unstretched, _, _ = tensions(constants, q, rows, np.zeros_like(toned))
    whole: dict[str, Array] = {}
    for muscle in MUSCLES:
        columns = columns_of("muscle", muscle)
        if muscle not in WRIST_FLEXORS:
            whole[muscle] = tension[:, columns].sum(axis=1)
            continue
        (column,) = columns
        # what the muscle's own drive makes is its own; what stretch makes is shared by force
        own = np.clip(np.asarray(drive.get(muscle, 0.0), dtype=float) + model.tone.wrist_base * toned[:, 1], 0.0, 1.0)
        driven, total = unstretched[:, column] - passive[:, column], rows[:, column]
        shared = tension[:, column] - driven
        active = np.divide(driven * own, total, out=np.zeros_like(driven), where=total > 0.0)
        whole[muscle] = share_of_lump(model, muscle) * (active + shared)
    for name in FREE_MUSCLES:
        whole[name] = tension[:, columns_of("muscle", name)].sum(axis=1)
    for r, finger in enumerate(FINGERS):
        for i, muscle in enumerate(("EDC", "OWN", "FDP", "FDS", "INT")):
            if muscle != "OWN":
                whole[f"{finger}.{muscle}"] = tension[:, 5 * r + i]
    return whole, np.asarray(slip_shares(constants, q)[:, FINGERS.index("middle")])
