"""Net torque at every joint of hands held in given postures: what a finger or wrist pushed there feels.

Stage ``hand``. Minus the slope of the potential.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import ArrayLike, NDArray

from graspwave.simulator.hand.drives import drive_rows
from graspwave.simulator.hand.geometry import posed
from graspwave.simulator.hand.layout import PATHS, constants_of, gravity_of
from graspwave.simulator.hand.parameters import ANGLES, HandLike, HandModel, standard_hand

__all__ = ["torque_nmm"]

Array = NDArray[np.float64]


def torque_nmm(
    hand: HandLike,
    angle_deg: Mapping[str, ArrayLike],
    drive: Mapping[str, ArrayLike] | None = None,
    *,
    weight: bool = False,
    model: HandModel | None = None,
) -> dict[str, Array]:
    """Net flexion torque at each joint.

    Parameters
    ----------
    hand : Hand
        Its tone acts; its weight where asked.
    angle_deg : mapping of str to array, shape (n,)
        wrist, MCP, PIP, DIP; a finger without angles of its own is bent as the middle finger is.
    drive : mapping of str to array, shape (n,), optional
        As in `equilibrium`.
    weight : bool
    model : HandModel, optional

    Returns
    -------
    dict of str to ndarray, shape (n,)
        N mm by joint, flexion positive: at the wrist of the whole hand, elsewhere of that finger.
    """
    from graspwave.simulator.hand.whole import energies

    model = model or standard_hand()
    q, _ = posed(hand, angle_deg, model)
    rows, toned = drive_rows(hand, drive or {}, model)
    n = np.broadcast_shapes((q.shape[0],), (rows.shape[0],))[0]
    q, rows, toned = (np.array(np.broadcast_to(part, (n, part.shape[1]))) for part in (q, rows, toned))
    constants = constants_of(
        model, float(hand.flexor_length_factor), float(hand.hand_length_mm), gravity_of(hand) if weight else 0.0,
        float(hand.help_opening),
    )
    _, slope, _ = energies(constants, q, rows, np.zeros((n, len(PATHS))), toned)
    return {joint: -slope[:, i] for i, joint in enumerate(ANGLES)}
