"""The hand in motion: over-damped, so it follows its muscles without swinging.

Stage ``hand``. ``friction C q' = -grad U(q, drive(t))`` by implicit Euler; each step is the same walk downhill that
finds a posture, tied to the posture before. First order in the time step, stable at any.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import ArrayLike, NDArray

from graspwave.simulator.hand.energy import TONED
from graspwave.simulator.hand.newton import descend
from graspwave.simulator.hand.parameters import HandLike, HandModel
from graspwave.simulator.hand.posture import Posture, angles_rad, drive_rows, hand_constants, model_for, rest_of
from graspwave.simulator.hand.reflex import Memory, at_rest, stepped
from graspwave.simulator.hand.tendons import PATHS

__all__ = ["motion", "motion_and_memory"]

Array = NDArray[np.float64]

_DONE_NMM = 0.05  # against friction of some 1000 N mm per rad a step: less than a thousandth of a degree


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
    ndarray, shape (steps, rows, 4)
        wrist, MCP, PIP, DIP [deg] at the end of each step.

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
    flat, tone = drive_rows(hand, {muscle: a.ravel() for muscle, a in arrays.items()}, model)
    driven = np.ascontiguousarray(np.moveaxis(flat.reshape(len(PATHS), steps, rows), 1, 0))
    held = hand.wrist_held_deg
    q = rest_of(hand, model).q if start is None else angles_rad(start)
    if q.shape[1] not in (1, rows):
        raise ValueError(f"'start' must have 1 or {rows} rows (got {q.shape[1]}); use one posture for each row")
    q = np.repeat(q, rows, axis=1) if q.shape[1] == 1 else q.copy()
    if held is not None:
        q[0] = np.radians(held)
    hold = model.friction.time_s / dt_s
    tone, toned = tone[:, :rows], [PATHS.index(name) for name in TONED]
    memory = at_rest(constants, q, dt_s) if memory is None else memory
    angles = np.empty((steps, rows, 4))
    for i in range(steps):
        if hand.reflex_gain > 0.0:
            driven[i, toned] = np.minimum(driven[i, toned] + memory.drive, 1.0)
        q = descend(
            constants, q, driven[i], tone=tone, wrist_held=held is not None, anchor=q, friction_per_step=hold,
            done_nmm=_DONE_NMM,
        ).q
        if hand.reflex_gain > 0.0:
            memory = stepped(memory, constants, q, hand.reflex_gain, dt_s)
        angles[i] = q.T
    return np.degrees(angles), memory
