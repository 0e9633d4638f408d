"""A damped Newton method that walks down the potential of many hands at once.

Stage ``hand``. The step solves ``(H + mu C) s = -g`` with the metric ``C`` of `energy.metric_of`. With ``mu`` small
this is Newton's method for the posture; a quadratic term ``C / (2 dt)`` about the last posture turns the same walk
into one implicit Euler step of the over-damped motion ``C q' = -g``.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from graspwave.simulator.hand.energy import Constants, Energy, energy_of, metric_of

__all__ = ["Rest", "descend"]

Array = NDArray[np.float64]

# How the walk goes, not what the hand is: first damping, how it falls and grows, longest step, least curvature.
_DAMPING, _DAMPING_LEAST, _EASED, _STIFFENED = 0.05, 1e-9, 0.15, 6.0
_LONGEST_STEP_RAD = 0.35
_LEAST_CURVATURE, _SHIFT = 1e-3, 1.2
_ROUNDING = 1e-12


@dataclass(frozen=True, slots=True, eq=False)
class Rest:
    """Where the walk ended.

    Attributes
    ----------
    q : ndarray, shape (4, n)
        Angles [rad].
    residual_nmm : ndarray, shape (n,)
        Largest net torque left at a free joint, N mm of the whole hand.
    iterations : int
        Steps taken by the slowest row.
    rows_left : int
        Rows whose residual is still above the limit.
    """

    q: Array
    residual_nmm: Array
    iterations: int
    rows_left: int


def descend(
    constants: Constants,
    q: Array,
    drive: Array,
    *,
    pull_n: Array | None = None,
    tone: Array | None = None,
    wrist_held: bool | NDArray[np.bool_] = False,
    anchor: Array | None = None,
    friction_per_step: float = 0.0,
    most: int = 60,
    done_nmm: float = 1e-3,
) -> Rest:
    """Walk from `q` down to a minimum of the potential, every row on its own.

    Parameters
    ----------
    constants : Constants
    q : ndarray, shape (4, n)
        Where to start [rad].
    drive : ndarray, shape (8, n)
    pull_n : ndarray, shape (8, n), optional
    tone : ndarray, shape (3, n), optional
        As in `energy.energy_of`.
    wrist_held : bool or ndarray of bool, shape (n,)
        Keep the wrist where it starts, in all rows or in these.
    anchor : ndarray, shape (4, n), optional
        Posture one time step ago; `friction_per_step` times the metric holds on to it.
    friction_per_step : float
        Friction time over time step.
    most : int
        Iterations after which the walk gives up; rows left are counted, not hidden.
    done_nmm : float
        A row is done when no free joint has a larger net torque.
    """
    metric = metric_of(constants.model)
    held = np.broadcast_to(np.asarray(wrist_held), q.shape[1:])
    rows = np.arange(q.shape[1])
    found, residual = q.copy(), np.empty(q.shape[1])
    at, here = q.copy(), None
    damping = np.full(q.shape[1], _DAMPING if anchor is None else _DAMPING_LEAST)
    iterations = 0

    def look(at: Array) -> Energy:
        energy = energy_of(constants, at, drive, pull_n, tone)
        if anchor is not None:
            away = at - anchor
            pull = friction_per_step * metric
            energy.hessian[np.arange(4), np.arange(4)] += pull
            energy = Energy(
                energy.value + 0.5 * (pull * away * away).sum(axis=0), energy.gradient + pull * away, energy.hessian
            )
        energy.gradient[0, held] = 0.0
        return energy

    here = look(at)
    while True:
        worst = np.abs(here.gradient).max(axis=0)
        going = worst > done_nmm
        if not going.all() or iterations == most:
            done = ~going if iterations < most else np.ones_like(going)
            found[:, rows[done]], residual[rows[done]] = at[:, done], worst[done]
            if done.all():
                break
            rows, at, damping, drive, held = rows[going], at[:, going], damping[going], drive[:, going], held[going]
            here = Energy(here.value[going], here.gradient[:, going], here.hessian[:, :, going])
            pull_n = None if pull_n is None else pull_n[:, going]
            tone = None if tone is None else tone[:, going]
            anchor = None if anchor is None else anchor[:, going]
        step = _step(here, damping, metric, held)
        trial = at + step
        there = look(trial)
        down = there.value <= here.value + _ROUNDING * (1.0 + np.abs(here.value))
        if down.all():
            at, here = trial, there
        else:
            at = np.where(down, trial, at)
            here = Energy(*(np.where(down, new, old) for new, old in zip(there, here, strict=True)))
        damping = np.where(down, np.maximum(damping * _EASED, _DAMPING_LEAST), np.maximum(damping, 1e-3) * _STIFFENED)
        iterations += 1
    return Rest(found, residual, iterations, int((residual > done_nmm).sum()))


def _step(here: Energy, damping: Array, metric: Array, held: NDArray[np.bool_]) -> Array:
    """Damped Newton step, no joint further than the longest step."""
    root = np.sqrt(metric)
    scaled = here.hessian / (root[:, None] * root[None, :])
    if held.any():
        scaled[0, :, held] = 0.0
        scaled[:, 0, held] = 0.0
        scaled[0, 0, held] = 1.0
    slope = -here.gradient / root
    diagonal = np.arange(4)
    scaled[diagonal, diagonal] += damping
    step, least = _solve(scaled, slope)
    bent = least < _LEAST_CURVATURE
    if bent.any():
        matrix = scaled[:, :, bent]
        lowest = np.linalg.eigvalsh(np.moveaxis(matrix, 2, 0))[:, 0]
        shift = np.where(lowest < _LEAST_CURVATURE, _SHIFT * np.abs(lowest) + _LEAST_CURVATURE, 0.0)
        matrix[diagonal, diagonal] += shift
        step[:, bent], _ = _solve(matrix, slope[:, bent])
    step /= root
    longest = np.abs(step).max(axis=0)
    return np.asarray(step * np.minimum(1.0, _LONGEST_STEP_RAD / np.maximum(longest, 1e-300)))


def _solve(matrix: Array, right: Array) -> tuple[Array, Array]:
    """Solve n symmetric 4 x 4 systems by ``L D L^T``; also the least pivot, negative where not positive definite."""
    a = matrix.copy()
    x = right.copy()
    least = np.full(right.shape[1], np.inf)
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        for j in range(4):
            least = np.fmin(least, a[j, j])
            if j < 3:
                ratio = a[j + 1 :, j] / a[j, j]
                a[j + 1 :, j + 1 :] -= ratio[:, None] * a[j, j + 1 :]
                x[j + 1 :] -= ratio * x[j]
        x[3] /= a[3, 3]
        for j in (2, 1, 0):
            x[j] = (x[j] - (a[j, j + 1 :] * x[j + 1 :]).sum(axis=0)) / a[j, j]
    return x, np.where(np.isfinite(x).all(axis=0), least, -1.0)
