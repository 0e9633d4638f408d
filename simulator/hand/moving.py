"""The hand in motion: over-damped, so it follows its muscles without swinging.

Stage ``hand``. ``friction C q' = -grad U(q, drive(t))`` by implicit Euler; each step is the same walk downhill that
finds a posture, tied to the posture before. First order in the time step, stable at any.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import ArrayLike, NDArray

from graspwave.simulator.hand.drives import drive_rows
from graspwave.simulator.hand.layout import hand_constants
from graspwave.simulator.hand.parameters import HandLike, HandModel
from graspwave.simulator.hand.posture import Posture, angles_rad
from graspwave.simulator.hand.reflex import Memory, at_rest
from graspwave.simulator.hand.settling import model_for, rest_of

__all__ = ["motion", "motion_and_memory"]

Array = NDArray[np.float64]

_DONE_NMM = 0.01  # against friction of 100 N mm per rad a step and more: less than a hundredth of a degree


def motion(
    hand: HandLike,
    drive: Mapping[str, ArrayLike],
    dt_s: float,
    *,
    start: Posture | None = None,
    slips_slack: bool = True,
    model: HandModel | None = None,
) -> Array:
    """Angles over time under drive.

    Parameters
    ----------
    hand : Hand
    drive : mapping of str to array, shape (steps, rows)
        Active fraction of full force by muscle at the end of each step, 0 to 1; rows move side by side, each on its
        own. A muscle left out has none; tone is added here.
    dt_s : float
        Time step.
    start : Posture, optional
        One row or `rows`; by default the hand at rest.
    slips_slack : bool
        As in `posture.equilibrium`.
    model : HandModel, optional

    Returns
    -------
    ndarray, shape (steps, rows, 13)
        By `parameters.ANGLES` [deg], at the end of each step.

    Raises
    ------
    ValueError
        Time step not above zero; drive not of two dimensions or outside 0 to 1; unknown muscle.

    Notes
    -----
    With a reflex gain, the flexors' drive also answers how fast their fibres lengthen, see `simulator.hand.reflex`; each
    step uses what was felt before it.
    """
    return motion_and_memory(hand, drive, dt_s, start=start, slips_slack=slips_slack, model=model)[0]


def motion_and_memory(
    hand: HandLike,
    drive: Mapping[str, ArrayLike],
    dt_s: float,
    *,
    start: Posture | None = None,
    memory: Memory | None = None,
    slips_slack: bool = True,
    model: HandModel | None = None,
) -> tuple[Array, Memory]:
    """As `motion`, with the reflex's memory before and after, so that a movement can be cut and continued."""
    from graspwave.simulator.hand.walk import move

    if not (np.isfinite(dt_s) and dt_s > 0.0):
        raise ValueError(f"'dt_s' must be above 0 (got {dt_s})")
    arrays = {muscle: np.asarray(value, dtype=float) for muscle, value in drive.items()}
    shapes = {a.shape for a in arrays.values()}
    if len(shapes) != 1 or len(shape := shapes.pop()) != 2:
        got = ", ".join(f"{muscle} {a.shape}" for muscle, a in arrays.items()) or "none"
        raise ValueError(f"'drive' must hold arrays of one shape (steps, rows) (got {got})")
    steps, rows = shape
    model = model_for(model, slips_slack)
    constants = hand_constants(hand, model)
    flat, toned = drive_rows(hand, {muscle: a.ravel() for muscle, a in arrays.items()}, model)
    driven = flat.reshape(steps, rows, flat.shape[1])
    held = hand.wrist_held_deg
    q = rest_of(hand, model).q if start is None else angles_rad(start)
    if q.shape[0] not in (1, rows):
        raise ValueError(f"'start' must have 1 or {rows} rows (got {q.shape[0]}); use one posture for each row")
    q = np.repeat(q, rows, axis=0) if q.shape[0] == 1 else q.copy()
    if held is not None:
        q[:, 0] = np.radians(held)
    begun = at_rest(constants, q, dt_s) if memory is None else memory
    felt = Memory(*(np.array(part, dtype=np.float64, order="C") for part in begun))
    angles = move(
        constants, np.ascontiguousarray(q), driven, np.zeros((rows, flat.shape[1])), np.ascontiguousarray(toned[:rows]),
        held is not None, model.friction.time_s / dt_s, _DONE_NMM, float(hand.reflex_gain), float(dt_s), *felt,
    )  # fmt: skip
    return np.degrees(angles), felt
