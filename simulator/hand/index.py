"""The index as a ray of its own: its joints under drive, at the wrist's angle of the whole hand.

Stage ``hand``. Forces, fibres, arms and bones are the index's; rest lengths, passive curves, hood and capsules are those
fitted to the middle ray, since no relaxed posture of the index was found. The wrist is where the whole hand holds it: what
four fingers pull there is counted once, with the middle ray (`energy`).

The opening is not measured at the index. Thumb and finger lie in one plane here, and the thumb's rest was chosen against the
middle finger; the index's own extensor EIP lies near the wrist, so that under pads near the elbow the index lags by an
amount that hangs on recalled places of axons, and no measurement is known to hold it against.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from graspwave.simulator.hand.parameters import JOINTS, HandLike, HandModel, changed, standard_hand
from graspwave.simulator.hand.posture import Posture, equilibrium

__all__ = ["INDEX_JOINTS", "index_angles_deg", "index_extensor_drive", "index_hand"]

Array = NDArray[np.float64]

INDEX_JOINTS = JOINTS[1:]
"""Joints of the index, base to tip."""


@lru_cache(maxsize=16)
def index_hand(model: HandModel) -> HandModel:
    """The model with the index's ray in place of the middle one."""
    own = model.index
    return changed(
        model, edc__force_n=own.edc_force_n + own.eip_force_n, edc__fibre_mm=own.edc_fibre_mm,
        edc__mcp_arm_mm=own.edc_mcp_arm_mm, fdp__force_n=own.fdp_force_n, fdp__fibre_mm=own.fdp_fibre_mm,
        fdp__mcp_arm_mm=own.fdp_mcp_arm_mm, fdp__pip_arm_mm=own.fdp_pip_arm_mm, fdp__dip_arm_mm=own.fdp_dip_arm_mm,
        fds__force_n=own.fds_force_n, fds__fibre_mm=own.fds_fibre_mm, fds__mcp_arm_mm=own.fds_mcp_arm_mm,
        fds__pip_arm_mm=own.fds_pip_arm_mm, bones__metacarpal=own.metacarpal, bones__proximal=own.proximal,
        bones__middle=own.middle, bones__distal=own.distal,
    )  # fmt: skip


def index_extensor_drive(slip: ArrayLike, own: ArrayLike, *, model: HandModel | None = None) -> Array:
    """Drive of the index's extensor from those of EDC's index slip and of EIP, weighted by their forces."""
    forces = (model or standard_hand()).index
    total = forces.edc_force_n + forces.eip_force_n
    return np.asarray(
        (forces.edc_force_n * np.asarray(slip, dtype=float) + forces.eip_force_n * np.asarray(own, dtype=float)) / total
    )


def index_angles_deg(
    hand: HandLike,
    drive: Mapping[str, ArrayLike],
    at: Posture,
    *,
    slips_slack: bool = True,
    model: HandModel | None = None,
) -> dict[str, Array]:
    """Joints of the index.

    Parameters
    ----------
    hand : Hand
    drive : mapping of str to array, shape (n,)
        As in `posture.equilibrium`, with EDC that of the index's extensor, see `index_extensor_drive`.
    at : Posture
        The whole hand under the same loads, n rows: its wrist is kept.
    slips_slack : bool
        As in `posture.equilibrium`.
    model : HandModel, optional

    Returns
    -------
    dict of str to ndarray, shape (n,)
        MCP, PIP, DIP [deg], flexion positive.
    """
    posture = equilibrium(
        hand, drive, slips_slack=slips_slack, model=index_hand(model or standard_hand()), start=at,
        wrist_held_deg=at.angle_deg["wrist"],
    )
    return {joint: posture.angle_deg[joint] for joint in INDEX_JOINTS}
