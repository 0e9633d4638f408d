"""The thumb: how far its four angles are turned from rest by its own muscles.

Stage ``hand``. Each joint balances its muscles against a spring that stiffens towards its end, on its own:
``M = k R atanh((th - th_0) / R)``, so ``th = th_0 + R tanh(M / (k R))``, with R the way from rest to the end on that side.
That is the slope of a potential, and solved in one line. Left out: force-length, the pull of these muscles at the wrist,
coupling of its joints. Most arms are worked out from one open model; stiffness is chosen.

Effort of the person's own and resting tone move the fingers only. Where the model's `thumb.driven` is 0, for a look at
what the fingers do alone, the thumb stays at rest.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import ArrayLike, NDArray

from graspwave.simulator.facts import number
from graspwave.simulator.hand.parameters import HandModel, ThumbJoint, standard_hand

__all__ = ["THUMB_JOINTS", "THUMB_MUSCLES", "thumb_angles_deg", "thumb_motion_deg"]

Array = NDArray[np.float64]

THUMB_JOINTS = ("CMC", "CMC_RADIAL", "THUMB_MCP", "IP")
"""CMC: abduction of the metacarpal from the palm, CMC_RADIAL: its turn to the thumb's side; the other two: flexion."""

THUMB_MUSCLES = ("APL", "EPB", "EPL", "FPL")
"""Muscles of the forearm that move the thumb."""


_SHUT_AT = 0.05  # how much shorter the closers of a tight hand are


def thumb_angles_deg(
    drive: Mapping[str, ArrayLike], *, model: HandModel | None = None, length_factor: float = 1.0
) -> dict[str, Array]:
    """Angles of the thumb under drive.

    Parameters
    ----------
    drive : mapping of str to array, shape (n,)
        Active fraction of full force by muscle; muscles that are not the thumb's are passed over, missing ones rest.
    model : HandModel, optional
    length_factor : float
        Of the hand's closers: where they are short, web and adductor are, and the thumb stands less aside.

    Returns
    -------
    dict of str to ndarray, shape (n,)
        By joint of `THUMB_JOINTS` [deg]; one row without drive.
    """
    model = model or standard_hand()
    pull = {m: number(f"architecture.{m.lower()}.force_n") * np.atleast_1d(np.asarray(drive[m], dtype=float))
            for m in THUMB_MUSCLES if m in drive}  # fmt: skip
    shut = model.thumb.web_shut_deg * float(np.clip((1.0 - length_factor) / _SHUT_AT, 0.0, 1.0))
    rest = (model.thumb.cmc_deg, model.thumb.radial_deg - shut, model.thumb.mcp_deg, model.thumb.ip_deg)
    joints: tuple[ThumbJoint, ...] = (model.thumb_cmc, model.thumb_radial, model.thumb_mcp, model.thumb_ip)
    found = {}
    for name, at, joint in zip(THUMB_JOINTS, rest, joints, strict=True):
        torque = np.zeros(1)
        for muscle, force in pull.items():
            torque = torque + model.thumb.driven * force * getattr(joint, f"{muscle.lower()}_arm_mm")
        way = np.radians(np.where(torque >= 0.0, joint.more_deg, joint.less_deg))
        found[name] = np.asarray(at + np.degrees(way * np.tanh(torque / (joint.stiffness_nmm_rad * way))))
    return found


def thumb_motion_deg(
    drive: Mapping[str, Array],
    dt_s: float,
    *,
    start_deg: Mapping[str, float] | None = None,
    model: HandModel | None = None,
    length_factor: float = 1.0,
) -> dict[str, Array]:
    """Angles of the thumb over time: each joint follows its muscles with the hand's friction time, on its own.

    Parameters
    ----------
    drive : mapping of str to array, shape (n,)
        At every time.
    dt_s : float
        Time step, above 0.
    start_deg : mapping of str to float, optional
        Angles at the first time; by default those that the first drive holds.
    model : HandModel, optional
    length_factor : float
        As in `thumb_angles_deg`.

    Returns
    -------
    dict of str to ndarray, shape (n,)

    Raises
    ------
    ValueError
        A time step that is not above 0.
    """
    from graspwave.simulator.hand.lag import following  # compiled loops are loaded once wanted

    if not (np.isfinite(dt_s) and dt_s > 0.0):
        raise ValueError(f"'dt_s' must be above 0 (got {dt_s})")
    model = model or standard_hand()
    keep = float(np.exp(-dt_s / model.friction.time_s))
    found = {}
    for joint, aim in thumb_angles_deg(drive, model=model, length_factor=length_factor).items():
        first = float(aim[0]) if start_deg is None else float(start_deg[joint])
        found[joint] = following(np.ascontiguousarray(aim), first, keep)
    return found
