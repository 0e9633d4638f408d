"""The stretch reflex of the flexors: drive that answers how fast their fibres lengthen, a little later.

Stage ``hand``. ``r' = (gain a max(v - v0, 0) - r) / rise`` with v the lengthening of the fibres [optimal lengths a
second] a delay ago, and no more than a largest drive. It needs speed, so a steady hand has none. The published
measurement (kamper-rymer-2000) has the reflex's work rise in proportion to speed; its size is chosen, not measured.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from graspwave.simulator.hand.layout import PATHS, Constants, hand_constants
from graspwave.simulator.hand.parameters import ANGLES, HandLike, HandModel, Reflex, standard_hand
from graspwave.simulator.hand.tendons import path_of

__all__ = ["Memory", "at_rest", "reflex_work_nmm"]

Array = NDArray[np.float64]

_ROWS = [i for i, name in enumerate(PATHS) if name.endswith(("FDP", "FDS")) or name == "wrist flexors"]
_STRETCH_STEPS = 400


class Memory(NamedTuple):
    """What the reflex remembers between two steps.

    Attributes
    ----------
    length : ndarray, shape (9, rows)
        Fibre length over optimum of FDP and FDS of each finger and of the wrist flexors at the end of the step.
    waiting : ndarray, shape (k, 9, rows)
        Drive on its way, the oldest first.
    drive : ndarray, shape (9, rows)
        Reflex drive in force.
    """

    length: Array
    waiting: Array
    drive: Array


def at_rest(constants: Constants, q: Array, dt_s: float) -> Memory:
    """Memory of hands (n, 13) [rad] that have not moved."""
    from graspwave.simulator.hand.walk import toned_lengths

    length = toned_lengths(constants, np.ascontiguousarray(q)).T.copy()
    steps = max(round(float(constants.whole["reflex_delay"][0]) / dt_s) - 1, 0)
    return Memory(length, np.zeros((steps, *length.shape)), np.zeros_like(length))


def reflex_work_nmm(
    hand: HandLike,
    speed_deg_s: ArrayLike,
    *,
    from_deg: float = 60.0,
    to_deg: float = 0.0,
    model: HandModel | None = None,
) -> Array:
    """Work that the reflex takes from a hand that straightens all MCP joints at constant speed.

    Parameters
    ----------
    hand : Hand
        Its reflex gain and flexor length factor.
    speed_deg_s : array, shape (n,)
        Above 0.
    from_deg, to_deg : float
        MCP angles; the wrist and the other joints are held straight.
    model : HandModel, optional

    Returns
    -------
    ndarray, shape (n,)
        N mm of the whole hand.

    Raises
    ------
    ValueError
        A speed that is not above 0.

    Notes
    -----
    Over the turn the drive is the exact answer of delay and first-order rise to a step of speed, since arms at the MCP
    are constant. Near proportion to speed until delay and rise fill much of the movement (some 300 degrees a second).
    """
    speed = np.atleast_1d(np.asarray(speed_deg_s, dtype=float))
    if not (np.isfinite(speed) & (speed > 0.0)).all():
        raise ValueError(f"'speed_deg_s' must be above 0 (got {speed_deg_s!r})")
    from graspwave.simulator.hand.walk import toned_lengths

    model = model or standard_hand()
    constants, reflex = hand_constants(hand, model), model.reflex
    turn = np.radians(np.linspace(from_deg, to_deg, _STRETCH_STEPS))
    q = np.zeros((turn.size, len(ANGLES)))
    knuckles = [i for i, name in enumerate(ANGLES) if name.endswith("MCP")]
    q[:, knuckles] = turn[:, None]
    arm = -path_of(model, q)[1][:, _ROWS][:, :, knuckles].sum(axis=2).T
    length = toned_lengths(constants, q).T
    time = (turn[0] - turn) / np.radians(speed)[:, None]
    felt = _answer(reflex, hand.reflex_gain, np.gradient(length, axis=1)[:, None] / np.gradient(time, axis=1))
    risen = -np.expm1(-np.maximum(time - reflex.delay_s, 0.0) / reflex.rise_s)
    bell = np.exp(-((length - 1.0) ** 2) / model.muscle_curve.width)[:, None]
    force = constants.muscle[_ROWS, 0][:, None, None] * bell * felt * risen
    torque = (force * arm[:, None]).sum(axis=0)
    return np.asarray((0.5 * (torque[:, 1:] + torque[:, :-1]) * -np.diff(turn)).sum(axis=-1))


def _answer(reflex: Reflex, gain: float, per_s: Array) -> Array:
    return np.asarray(np.minimum(gain * reflex.drive_s * np.maximum(per_s - reflex.from_per_s, 0.0), reflex.most))
