"""Where the tendons run: moment arms, the slopes of the paths of `simulator.hand.ray` and `simulator.hand.whole`.

Stage ``hand``. A path ``x(q)`` [mm] is how far the muscle is stretched by the angles; its moment arm is ``-dx/dq``, so flexors
have positive and extensors negative arms. Because every arm is the slope of a path, work is never made or lost.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import ArrayLike, NDArray

from graspwave.simulator.hand.drives import columns_of
from graspwave.simulator.hand.layout import PATHS, constants_of
from graspwave.simulator.hand.parameters import ANGLES, FINGERS, PER_RAY, HandLike, HandModel, standard_hand

__all__ = ["moment_arm_mm", "path_of", "share_of_slips"]

Array = NDArray[np.float64]


def path_of(model: HandModel, q: Array) -> tuple[Array, Array]:
    """Paths of all muscles [mm] at postures (n, 13) [rad] and their slopes, shapes (n, 24) and (n, 24, 13).

    Slopes are what a pull of one newton does to the gradient of a hand without any other force.
    """
    from graspwave.simulator.hand.whole import energies, paths

    constants = constants_of(model, 1.0, model.bones.reference_length_mm, 0.0)
    n, none = q.shape[0], np.zeros((q.shape[0], len(PATHS)))
    rows = np.ascontiguousarray(q, dtype=np.float64)
    x, slope = np.empty((n, len(PATHS))), np.empty((n, len(PATHS), len(ANGLES)))
    for i in range(n):
        paths(constants, rows[i], x[i], np.empty((7, 3)), np.empty((len(FINGERS), 8)))
    bare = energies(constants, rows, none, none, np.zeros((n, 2)))[1]
    for path in range(len(PATHS)):
        pull = none.copy()
        pull[:, path] = 1.0
        slope[:, path] = energies(constants, rows, none, pull, np.zeros((n, 2)))[1] - bare
    return x, slope


def share_of_slips(model: HandModel, mcp_rad: ArrayLike) -> tuple[Array, Array, Array]:
    """Share of the extensor's force that reaches the slips, with its first and second derivative by MCP angle.

    Falls by a published third as the MCP flexes, and again as the MCP passes straight (`hood.slack`, fitted): the
    slips go slack because the tendon's force ends at the hyperextended joint.
    """
    from graspwave.simulator.hand import ray

    middle = constants_of(model, 1.0, model.bones.reference_length_mm, 0.0).ray[FINGERS.index("middle")]
    angle = np.asarray(mcp_rad, dtype=float)
    found = np.array([ray.share_of_slips(middle, float(a)) for a in angle.ravel()]).T
    share, first, second = found.reshape(3, *angle.shape)
    return share, first, second


def moment_arm_mm(
    hand: HandLike,
    muscle: str,
    joint: str,
    angle_deg: Mapping[str, ArrayLike] | None = None,
    *,
    model: HandModel | None = None,
) -> float | Array:
    """Moment arm of a muscle at a joint.

    Parameters
    ----------
    hand : Hand
        Arms are those of a hand of the reference length; they are not scaled.
    muscle : str
        One of `MUSCLES`, EIP, EDM, or a finger's part such as ``index.EDC``. Of a muscle with a part for each finger, that of the
        finger of the joint is meant. FCU and PL are given the path of FCR.
    joint : str
        wrist, MCP, PIP, DIP (the middle finger), or ``index.MCP`` and so on.
    angle_deg : mapping of str to float or array, optional
        Posture; a joint left out is straight.
    model : HandModel, optional
        Other parameters than the standard ones.

    Returns
    -------
    float or ndarray
        Millimetres, flexion positive; zero where the muscle does not cross the joint. A float for a single posture.

    Raises
    ------
    ValueError
        Unknown muscle or joint.

    Examples
    --------
    >>> from graspwave import simulator as sim
    >>> sim.moment_arm_mm(sim.Hand(), "EDC", "MCP") < 0.0 < sim.moment_arm_mm(sim.Hand(), "FDP", "MCP")
    True
    """
    columns = columns_of("muscle", muscle)
    _must_be_one_of("joint", joint, ANGLES)
    given = dict(angle_deg or {})
    for name in given:
        _must_be_one_of("angle_deg", name, ANGLES)
    angles = np.broadcast_arrays(*(np.asarray(given.get(name, 0.0), dtype=float) for name in ANGLES))
    shape = angles[0].shape
    q = np.radians(np.stack([a.ravel() for a in angles], axis=1))
    at = ANGLES.index(joint)
    finger = FINGERS.index("middle") if at == 0 else (at - 1) // 3
    column = columns[finger] if muscle in PER_RAY else columns[0]
    arm = 0.0 - path_of(model or standard_hand(), q)[1][:, column, at]
    return arm.reshape(shape) if shape else float(arm[0])


def _must_be_one_of(name: str, value: str, known: tuple[str, ...]) -> None:
    if value not in known:
        raise ValueError(f"'{name}' must be one of {', '.join(known)} (got '{value}')")
