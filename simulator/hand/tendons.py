"""Where the tendons run: their path as a function of the four angles, and the moment arms that follow.

Stage ``hand``. A path ``x(q)`` [mm] is how far the muscle is stretched by the angles ``q`` = wrist, MCP, PIP, DIP
[rad]; its moment arm is ``-dx/dq``, so flexors have positive and extensors negative arms. Because every arm is the
slope of a path, work is never made or lost: a share of the extensor's force that depends on the MCP angle brings
its own term at the MCP (`share_of_slips`).
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import expit

from graspwave.simulator.hand.parameters import (
    JOINTS,
    MUSCLES,
    PER_RAY,
    WRIST_FLEXORS,
    HandLike,
    HandModel,
    WristArm,
    standard_hand,
)

__all__ = ["PATHS", "Path", "moment_arm_mm", "path_of", "share_of_slips"]

Array = NDArray[np.float64]

PATHS = (*PER_RAY, "ECRL", "ECRB", "ECU", "wrist flexors")
"""Rows of a `Path`."""

_WRIST_TABLE = ("fdp_cm", "fds_cm", "ecrl_cm", "ecrb_cm", "ecu_cm", "fcr_cm")
_WRIST_ROWS = (1, 2, 4, 5, 6, 7)  # the rows of PATHS those polynomials belong to
_MM_PER_CM = 10.0


class Path(NamedTuple):
    """Paths of all tendons at n postures.

    Attributes
    ----------
    stretch_mm : ndarray, shape (8, n)
        Path of each muscle of `PATHS`, zero with all joints straight.
    slope_mm : ndarray, shape (8, 4, n)
        First derivative by each joint; minus the moment arm.
    bend_mm : ndarray, shape (4, 4, 8, n)
        Second derivative.
    share : ndarray, shape (n,)
        Share of EDC's force that reaches the slips.
    """

    stretch_mm: Array
    slope_mm: Array
    bend_mm: Array
    share: Array


def path_of(model: HandModel, q: Array) -> Path:
    """Paths, slopes and curvatures of all tendons.

    Parameters
    ----------
    model : HandModel
    q : ndarray, shape (4, n)
        Wrist, MCP, PIP, DIP [rad].

    Notes
    -----
    EDC: ``A(w) + B(m) + h(m) e(p, d)`` with ``A = s (a w - c W ln cosh(w / W))``, ``B = r (m - f m^2)``, and
    ``e`` the mean stretch of central slip and lateral bands weighted by their forces. Flexors turn round pulleys with
    constant arms at the fingers and the published regressions at the wrist, held constant beyond 65 degrees.
    Valid inside the joints' range; the capsule keeps the hand there.
    """
    w, m, p, d = q
    n = q.shape[1]
    x = np.empty((8, n))
    dx = np.zeros((8, 4, n))
    ddx = np.zeros((4, 4, 8, n))

    edc, hood, ins = model.edc, model.hood, model.intrinsics
    arm = edc.wrist_arm_scale * edc.wrist_arm_mm
    change = edc.wrist_arm_scale * edc.wrist_change_scale * edc.wrist_arm_change_mm
    y = w / edc.wrist_arm_width_rad
    tanh = np.tanh(y)
    share, dshare, ddshare = share_of_slips(model, m)
    central, lateral, terminal = _slip_weights(model)
    e = central * (p - hood.central_arm_fall * p * p) + lateral * (p - hood.lateral_arm_fall * p * p) + terminal * d
    bend = -2.0 * (central * hood.central_arm_fall + lateral * hood.lateral_arm_fall)
    e_p = central + lateral + bend * p
    x[0] = (
        arm * w - change * edc.wrist_arm_width_rad * (np.logaddexp(y, -y) - np.log(2.0))
        + edc.mcp_arm_mm * (m - edc.mcp_arm_fall * m * m) + share * e
    )  # fmt: skip
    dx[0, 0] = arm - change * tanh
    dx[0, 1] = edc.mcp_arm_mm * (1.0 - 2.0 * edc.mcp_arm_fall * m) + dshare * e
    dx[0, 2] = share * e_p
    dx[0, 3] = share * terminal
    ddx[0, 0, 0] = -change / edc.wrist_arm_width_rad * (1.0 - tanh * tanh)
    ddx[1, 1, 0] = -2.0 * edc.mcp_arm_mm * edc.mcp_arm_fall + ddshare * e
    ddx[1, 2, 0] = ddx[2, 1, 0] = dshare * e_p
    ddx[1, 3, 0] = ddx[3, 1, 0] = dshare * terminal
    ddx[2, 2, 0] = share * bend

    for row, flexor in ((1, model.fdp), (2, model.fds)):
        x[row] = -(flexor.mcp_arm_mm * m + flexor.pip_arm_mm * p + flexor.dip_arm_mm * d)
        dx[row, 1], dx[row, 2], dx[row, 3] = -flexor.mcp_arm_mm, -flexor.pip_arm_mm, -flexor.dip_arm_mm

    fall = hood.lateral_arm_fall
    x[3] = -ins.mcp_arm_mm * m + ins.pip_arm_mm * (p - fall * p * p) + ins.dip_arm_mm * d
    dx[3, 1] = -ins.mcp_arm_mm
    dx[3, 2] = ins.pip_arm_mm * (1.0 - 2.0 * fall * p)
    dx[3, 3] = ins.dip_arm_mm
    ddx[2, 2, 3] = -2.0 * fall * ins.pip_arm_mm
    x[4:] = 0.0

    area, arms, slopes = _wrist_polynomials(model.wrist_arm)
    edge = np.radians(model.wrist_arm.constant_beyond_deg)
    inside = np.clip(w, -edge, edge)
    powers = np.empty((6, n))
    powers[0] = 1.0
    for k in range(1, 6):
        np.multiply(powers[k - 1], inside, out=powers[k])
    r = arms @ powers
    rows = list(_WRIST_ROWS)
    x[rows] -= (area @ powers) * inside + r * (w - inside)
    dx[rows, 0] = -r
    ddx[0, 0, rows] = -(slopes @ powers) * (inside == w)
    return Path(x, dx, ddx, share)


def share_of_slips(model: HandModel, mcp_rad: Array) -> tuple[Array, Array, Array]:
    """Share of EDC's force that reaches the slips, with its first and second derivative by MCP angle.

    Falls by a published third as the MCP flexes, and again as the MCP passes straight (`hood.slack`, fitted): the
    slips go slack because the tendon's force ends at the hyperextended joint.
    """
    hood = model.hood
    up = expit((mcp_rad - hood.flexed_at_rad) / hood.flexed_width_rad)
    down = expit((hood.slack_at_rad - mcp_rad) / hood.slack_width_rad)
    d_up = up * (1.0 - up) / hood.flexed_width_rad
    d_down = -down * (1.0 - down) / hood.slack_width_rad
    dd_up = d_up * (1.0 - 2.0 * up) / hood.flexed_width_rad
    dd_down = -d_down * (1.0 - 2.0 * down) / hood.slack_width_rad
    flexed, straight = 1.0 - hood.flexed_loss * up, 1.0 - hood.slack * down
    d_flexed, d_straight = -hood.flexed_loss * d_up, -hood.slack * d_down
    dd_flexed, dd_straight = -hood.flexed_loss * dd_up, -hood.slack * dd_down
    return (
        np.asarray(hood.share * flexed * straight),
        np.asarray(hood.share * (d_flexed * straight + flexed * d_straight)),
        np.asarray(hood.share * (dd_flexed * straight + 2.0 * d_flexed * d_straight + flexed * dd_straight)),
    )


def moment_arm_mm(
    hand: HandLike,
    muscle: str,
    joint: str,
    angle_deg: Mapping[str, ArrayLike] | None = None,
    *,
    model: HandModel | None = None,
) -> float | Array:
    """Moment arm of a muscle at a joint of the middle ray.

    Parameters
    ----------
    hand : Hand
        Arms are those of a hand of the reference length; they are not scaled.
    muscle : str
        One of `MUSCLES`. FCU and PL are given the path of FCR.
    joint : str
        One of `JOINTS`.
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
    _must_be_one_of("muscle", muscle, MUSCLES)
    _must_be_one_of("joint", joint, JOINTS)
    given = dict(angle_deg or {})
    for name in given:
        _must_be_one_of("angle_deg", name, JOINTS)
    angles = np.broadcast_arrays(*(np.asarray(given.get(name, 0.0), dtype=float) for name in JOINTS))
    shape = angles[0].shape
    q = np.radians(np.stack([a.ravel() for a in angles]))
    row = PATHS.index("wrist flexors" if muscle in WRIST_FLEXORS else muscle)
    arm = 0.0 - path_of(model or standard_hand(), q).slope_mm[row, JOINTS.index(joint)]
    return arm.reshape(shape) if shape else float(arm[0])


@lru_cache(maxsize=32)
def _wrist_polynomials(arm: WristArm) -> tuple[Array, Array, Array]:
    """Coefficients [mm] of the path over angle, of the arm and of its slope, one row a muscle."""
    arms = _MM_PER_CM * np.array([getattr(arm, name) for name in _WRIST_TABLE], dtype=float)
    arms[_WRIST_TABLE.index("ecu_cm")] *= arm.ecu_lifts
    order = np.arange(arms.shape[1])
    slopes = np.zeros_like(arms)
    slopes[:, :-1] = arms[:, 1:] * order[1:]
    return arms / (order + 1.0), arms, slopes


def _slip_weights(model: HandModel) -> tuple[float, float, float]:
    """Arms of central slip, lateral bands and terminal tendon, each weighted by its part of the slips' force."""
    hood = model.hood
    terminal = hood.terminal_to_central / (1.0 + hood.terminal_to_central)
    return (1.0 - terminal) * hood.central_arm_mm, terminal * hood.lateral_arm_mm, terminal * hood.terminal_arm_mm


def _must_be_one_of(name: str, value: str, known: tuple[str, ...]) -> None:
    if value not in known:
        raise ValueError(f"'{name}' must be one of {', '.join(known)} (got '{value}')")
