"""A damped Newton walk down the potential, and the same walk tied to the posture before: one implicit step of motion.

Stage ``hand``, compiled. The step solves ``(H + mu C) s = -g`` with the metric C, typical stiffness of every joint. With `mu`
small this is Newton's method for the posture; a term ``C / (2 dt)`` about the last posture turns it into an implicit Euler
step of the over-damped motion ``C q' = -g``. Neighbouring fingers couple, fingers further apart do not, and the wrist couples to
all: eliminated from the little finger to the wrist, the matrix stays within that profile.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from graspwave.simulator.compiling import compiled, inlined
from graspwave.simulator.hand.layout import Constants
from graspwave.simulator.hand.ray import FIBRE, ZERO, share_of_slips
from graspwave.simulator.hand.whole import ANGLES, FINGERS, PATHS, energy, paths

__all__ = ["TONED", "move", "settle", "settle_each", "slip_shares", "toned_lengths"]

# How the walk goes, not what the hand is: first damping, how it falls and grows, longest step, least curvature.
_DAMPING, _DAMPING_LEAST, _EASED, _STIFFENED, _STIFF_FROM = 0.05, 1e-9, 0.15, 6.0, 1e-3
_LONGEST_STEP_RAD = 0.35
_LEAST_CURVATURE, _SHIFT, _SHIFT_MORE = 1e-3, 0.02, 2.0
_ROUNDING = 1e-12

TONED = 9
"""Muscles with a resting drive: FDP and FDS of each finger, and the wrist flexors."""


@inlined
def _solve(a: Any, x: Any) -> float:
    """Solve ``a x = x`` in place for a symmetric matrix of the hand's profile; the least pivot, below 0 if not definite."""
    least = 1e300
    for j in range(ANGLES - 1, -1, -1):
        pivot = a[j, j]
        if not pivot > 0.0:
            return -1.0
        least = min(least, pivot)
        if j == 0:
            break
        first = max(1, 1 + 3 * ((j - 1) // 3 - 1))
        for i in range(j - 1, -1, -1):
            if 0 < i < first:
                continue
            ratio = a[i, j] / pivot
            if ratio == 0.0:
                continue
            a[0, i] -= ratio * a[0, j]
            for c in range(first, i + 1):
                a[c, i] -= ratio * a[c, j]
            x[i] -= ratio * x[j]
    x[0] /= a[0, 0]
    for j in range(1, ANGLES):
        total = x[j] - a[0, j] * x[0]
        for i in range(max(1, 1 + 3 * ((j - 1) // 3 - 1)), j):
            total -= a[i, j] * x[i]
        x[j] = total / a[j, j]
    return least


@inlined
def _step(g: Any, h: Any, root: Any, damping: float, held: bool, a: Any, step: Any) -> None:
    """Damped Newton step, no joint further than the longest; stiffened for as long as the potential curves down."""
    shift = 0.0
    while True:
        for i in range(ANGLES):
            step[i] = -g[i] / root[i]
            for j in range(i, ANGLES):
                a[i, j] = h[i, j] / (root[i] * root[j])
            a[i, i] += damping + shift
        if held:
            step[0] = 0.0
            for j in range(1, ANGLES):
                a[0, j] = 0.0
            a[0, 0] = 1.0
        if _solve(a, step) >= _LEAST_CURVATURE:
            break
        shift = _SHIFT if shift == 0.0 else _SHIFT_MORE * shift
    longest = 0.0
    for i in range(ANGLES):
        step[i] /= root[i]
        longest = max(longest, abs(step[i]))
    if longest > _LONGEST_STEP_RAD:
        for i in range(ANGLES):
            step[i] *= _LONGEST_STEP_RAD / longest


@inlined
def _look(
    k: Any, q: Any, drive: Any, pull: Any, tone: Any, held: bool, hold: float, anchor: Any, wrist: Any, b: Any, g: Any, h: Any
) -> Any:
    """The potential with what ties it to the posture before; no torque at a wrist that is held."""
    value = energy(k, q, drive, pull, tone, wrist, b, g, h)
    if hold > 0.0:
        for i in range(ANGLES):
            away = q[i] - anchor[i]
            pulls = hold * k.metric[i]
            value += 0.5 * pulls * away * away
            g[i] += pulls * away
            h[i, i] += pulls
    if held:
        g[0] = 0.0
    return value


@compiled
def _walk(
    k: Any, q: Any, drive: Any, pull: Any, tone: Any, held: bool, hold: float, most: int, done: float, room: Any
) -> Any:
    """Walk from `q` down to a minimum, in place: steps taken and the largest net torque left [N mm]."""
    wrist, b, a, vectors, matrices, root = room
    anchor, trial, step = vectors[0], vectors[1], vectors[2]
    for i in range(ANGLES):
        anchor[i] = q[i]
    now = 0
    damping = _DAMPING if hold == 0.0 else _DAMPING_LEAST
    value = _look(k, q, drive, pull, tone, held, hold, anchor, wrist, b, vectors[3], matrices[0])
    taken = 0
    while True:
        g, h = vectors[3 + now], matrices[now]
        worst = 0.0
        for i in range(ANGLES):
            worst = max(worst, abs(g[i]))
        if worst <= done or taken == most:
            return taken, worst
        _step(g, h, root, damping, held, a, step)
        for i in range(ANGLES):
            trial[i] = q[i] + step[i]
        there = _look(k, trial, drive, pull, tone, held, hold, anchor, wrist, b, vectors[4 - now], matrices[1 - now])
        if there <= value + _ROUNDING * (1.0 + abs(value)):
            for i in range(ANGLES):
                q[i] = trial[i]
            value = there
            now = 1 - now
            damping = max(damping * _EASED, _DAMPING_LEAST)
        else:
            damping = max(damping, _STIFF_FROM) * _STIFFENED
        taken += 1


@compiled
def _room(k: Any) -> Any:
    root = np.sqrt(k.metric)
    return (
        np.empty((7, 3)), np.empty((FINGERS, 8)), np.empty((ANGLES, ANGLES)), np.empty((5, ANGLES)),
        np.empty((2, ANGLES, ANGLES)), root,
    )  # fmt: skip


@compiled
def settle(k: Any, q: Any, drive: Any, pull: Any, tone: Any, held: Any, most: int, done: float) -> Any:
    """Walk n hands down, `q` (n, 13) in place, each on its own: steps taken and torque left, each (n,)."""
    n = q.shape[0]
    steps, left = np.empty(n, dtype=np.int64), np.empty(n)
    room = _room(k)
    for i in range(n):
        steps[i], left[i] = _walk(k, q[i], drive[i], pull[i], tone[i], held[i], 0.0, most, done, room)
    return steps, left


@inlined
def _one_of(k: Any, j: int) -> Any:
    """Constants of hand `j` of several: each of theirs has the hands along its first axis."""
    return Constants(
        k.ray[j], k.whole[j], k.muscle[j], k.arms[j], k.polynomial[j], k.stop[j], k.tie[j], k.weight[j], k.lever[j], k.metric[j]
    )


@compiled
def settle_each(k: Any, which: Any, q: Any, drive: Any, pull: Any, tone: Any, held: Any, most: int, done: float) -> Any:
    """As `settle`, of hands that differ: row `i` is one of hand ``which[i]`` of those stacked in `k` (`layout.stacked`)."""
    n = q.shape[0]
    steps, left = np.empty(n, dtype=np.int64), np.empty(n)
    room = _room(_one_of(k, 0))
    for i in range(n):
        one = _one_of(k, which[i])
        for j in range(ANGLES):
            room[5][j] = np.sqrt(one.metric[j])
        steps[i], left[i] = _walk(one, q[i], drive[i], pull[i], tone[i], held[i], 0.0, most, done, room)
    return steps, left


@compiled
def slip_shares(k: Any, q: Any) -> Any:
    """Share of each finger's extensor force that reaches its slips, (n, 4)."""
    out = np.empty((q.shape[0], FINGERS))
    for i in range(q.shape[0]):
        for r in range(FINGERS):
            out[i, r] = share_of_slips(k.ray[r], q[i, 1 + 3 * r])[0]
    return out


@inlined
def _toned_path(i: int) -> int:
    return PATHS - 1 if i == TONED - 1 else 5 * (i // 2) + 2 + i % 2


@compiled
def toned_lengths(k: Any, q: Any) -> Any:
    """Fibre length over optimum of the muscles with tone, (n, 9)."""
    n = q.shape[0]
    x, wrist, b, length = np.empty(PATHS), np.empty((7, 3)), np.empty((FINGERS, 8)), np.empty((n, TONED))
    for row in range(n):
        paths(k, q[row], x, wrist, b)
        for i in range(TONED):
            muscle = k.muscle[_toned_path(i)]
            length[row, i] = muscle[ZERO] + x[_toned_path(i)] / muscle[FIBRE]
    return length


@compiled
def move(
    k: Any, q: Any, drive: Any, pull: Any, tone: Any, held: bool, hold: float, done: float, gain: float, dt: float,
    length: Any, waiting: Any, felt: Any,
) -> Any:
    """Over-damped motion of n hands, (steps, n, 13); `q` and the reflex's memory end where the motion ends.

    `drive` is (steps, n, 24); `hold` friction time over time step. With a reflex gain the flexors' drive also answers how
    fast their fibres lengthened: ``r' = (gain a max(v - v0, 0) - r) / rise``, felt a delay ago, see `simulator.hand.reflex`.
    """
    steps, n = drive.shape[0], drive.shape[1]
    out = np.empty((steps, n, ANGLES))
    room = _room(k)
    used = np.empty(PATHS)
    reflex = k.whole[0]
    risen = 1.0 - np.exp(-dt / reflex["reflex_rise"])
    for row in range(n):
        for s in range(steps):
            for path in range(PATHS):
                used[path] = drive[s, row, path]
            if gain > 0.0:
                for i in range(TONED):
                    path = _toned_path(i)
                    used[path] = min(used[path] + felt[i, row], 1.0)
            _walk(k, q[row], used, pull[row], tone[row], held, hold, 60, done, room)
            for i in range(ANGLES):
                out[s, row, i] = q[row, i]
            if gain > 0.0:
                now = toned_lengths(k, q[row : row + 1])[0]
                for i in range(TONED):
                    speed = (now[i] - length[i, row]) / dt
                    answer = min(gain * reflex["reflex_drive"] * max(speed - reflex["reflex_from"], 0.0), reflex["reflex_most"])
                    length[i, row] = now[i]
                    due = answer
                    if waiting.shape[0] > 0:
                        due = waiting[0, i, row]
                        for j in range(waiting.shape[0] - 1):
                            waiting[j, i, row] = waiting[j + 1, i, row]
                        waiting[waiting.shape[0] - 1, i, row] = answer
                    felt[i, row] += risen * (due - felt[i, row])
    return out
