"""The stretch reflex of the flexors: drive that answers how fast their fibres lengthen, a little later.

Stage ``hand``. ``r' = (gain a max(v - v0, 0) - r) / rise`` with v the lengthening of the fibres [optimal lengths a
second] a delay ago, and no more than a largest drive. It needs speed, so a steady hand has none. The published
measurement (kamper-rymer-2000) has the reflex's work rise in proportion to speed; its size is chosen, not measured.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from graspwave.simulator.hand.energy import TONED, Constants
from graspwave.simulator.hand.parameters import HandLike, HandModel, Reflex, standard_hand
from graspwave.simulator.hand.posture import hand_constants
from graspwave.simulator.hand.tendons import PATHS, path_of

__all__ = ["Memory", "at_rest", "reflex_work_nmm", "stepped"]

Array = NDArray[np.float64]

_ROWS = [PATHS.index(name) for name in TONED]
_STRETCH_STEPS = 400


class Memory(NamedTuple):
    """What the reflex remembers between two steps.

    Attributes
    ----------
    length : ndarray, shape (3, rows)
        Fibre length over optimum of the paths of `TONED` at the end of the step.
    waiting : ndarray, shape (k, 3, rows)
        Drive on its way, the oldest first.
    drive : ndarray, shape (3, rows)
        Reflex drive in force.
    """

    length: Array
    waiting: Array
    drive: Array


def fibre_length(constants: Constants, q: Array) -> Array:
    """Fibre length over optimum of the paths of `TONED`, shape (3, n)."""
    stretch = path_of(constants.model, q).stretch_mm[_ROWS]
    return np.asarray(constants.length_at_zero[_ROWS] + stretch / constants.fibre_mm[_ROWS])


def at_rest(constants: Constants, q: Array, dt_s: float) -> Memory:
    """Memory of a hand that has not moved."""
    length = fibre_length(constants, q)
    steps = max(round(constants.model.reflex.delay_s / dt_s) - 1, 0)
    return Memory(length, np.zeros((steps, *length.shape)), np.zeros_like(length))


def stepped(memory: Memory, constants: Constants, q: Array, gain: float, dt_s: float) -> Memory:
    """Memory after a step of `dt_s` that ended at `q`; what was felt in it acts from the next step on, or later."""
    reflex, length = constants.model.reflex, fibre_length(constants, q)
    felt = _answer(reflex, gain, (length - memory.length) / dt_s)
    queue = np.concatenate([memory.waiting, felt[None]])
    risen = -np.expm1(-dt_s / reflex.rise_s)
    return Memory(length, queue[1:], memory.drive + risen * (queue[0] - memory.drive))


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
    constants = hand_constants(hand, model or standard_hand())
    reflex = constants.model.reflex
    turn = np.radians(np.linspace(from_deg, to_deg, _STRETCH_STEPS))
    q = np.zeros((4, turn.size))
    q[1] = turn
    path, length = path_of(constants.model, q), fibre_length(constants, q)
    time = (turn[0] - turn) / np.radians(speed)[:, None]
    felt = _answer(reflex, hand.reflex_gain, np.gradient(length, axis=1)[:, None] / np.gradient(time, axis=1))
    risen = -np.expm1(-np.maximum(time - reflex.delay_s, 0.0) / reflex.rise_s)
    bell = np.exp(-((length - 1.0) ** 2) / constants.model.muscle_curve.width)[:, None]
    force = (constants.rays * constants.force_n)[_ROWS][:, :, None] * bell * felt * risen
    torque = -(force * path.slope_mm[_ROWS, 1][:, None]).sum(axis=0)
    return np.asarray((0.5 * (torque[:, 1:] + torque[:, :-1]) * -np.diff(turn)).sum(axis=-1))


def _answer(reflex: Reflex, gain: float, per_s: Array) -> Array:
    return np.asarray(np.minimum(gain * reflex.drive_s * np.maximum(per_s - reflex.from_per_s, 0.0), reflex.most))
