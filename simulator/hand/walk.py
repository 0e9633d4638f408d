"""A damped Newton walk down the potential, and the same walk tied to the posture before: one implicit step of motion.

Stage ``hand``, compiled. The step solves ``(H + mu C) s = -g`` with the metric C, typical stiffness of every joint. With `mu`
small this is Newton's method for the posture; a term ``C / (2 dt)`` about the last posture turns it into an implicit Euler
step of the over-damped motion ``C q' = -g``. Neighbouring fingers couple, fingers further apart do not, and the wrist couples to
all: eliminated from the little finger to the wrist, the matrix stays within that profile.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from graspwave.simulator.compiling import compiled, inlined, uncounted
from graspwave.simulator.hand.layout import Constants
from graspwave.simulator.hand.ray import FIBRE, ZERO, share_of_slips
from graspwave.simulator.hand.whole import ANGLES, FINGERS, PATHS, add_drive, energy, paths

__all__ = ["TONED", "move", "settle", "settle_each", "slip_shares", "toned_lengths"]

# How the walk goes, not what the hand is: first damping, how it falls and grows, longest step, least curvature.
_DAMPING, _DAMPING_LEAST, _EASED, _STIFFENED, _STIFF_FROM = 0.05, 1e-9, 0.15, 6.0, 1e-3
_LONGEST_STEP_RAD = 0.35
_LEAST_CURVATURE, _SHIFT, _SHIFT_MORE = 1e-3, 0.02, 2.0
_ROUNDING = 1e-12
_MOST = 60  # steps of a walk in motion

TONED = 9
"""Muscles with a resting drive: FDP and FDS of each finger, and the wrist flexors."""


@inlined
def _first(j: int) -> int:
    """First finger angle that angle `j` of a finger couples to: the neighbour's MCP on the thumb's side."""
    return max(1, 1 + 3 * ((j - 1) // 3 - 1))


@inlined
def _solve(a: Any, x: Any) -> Any:
    """Solve ``a x = x`` in place for a symmetric matrix of the hand's profile; the least pivot, below 0 if not definite."""
    least = 1e300
    for j in range(ANGLES - 1, 0, -1):
        pivot = a[j, j]
        if not pivot > 0.0:
            return -1.0
        least = min(least, pivot)
        first = _first(j)
        over = 1.0 / pivot
        for i in range(j - 1, first - 1, -1):
            ratio = a[i, j] * over
            if ratio == 0.0:
                continue
            a[0, i] -= ratio * a[0, j]
            for c in range(first, i + 1):
                a[c, i] -= ratio * a[c, j]
            x[i] -= ratio * x[j]
        ratio = a[0, j] * over
        a[0, 0] -= ratio * a[0, j]
        x[0] -= ratio * x[j]
    if not a[0, 0] > 0.0:
        return -1.0
    least = min(least, a[0, 0])
    x[0] /= a[0, 0]
    for j in range(1, ANGLES):
        total = x[j] - a[0, j] * x[0]
        for i in range(_first(j), j):
            total -= a[i, j] * x[i]
        x[j] = total / a[j, j]
    return least


@inlined
def _step(g: Any, h: Any, scale: Any, damping: float, held: bool, a: Any, step: Any) -> None:
    """Damped Newton step, no joint further than the longest; stiffened for as long as the potential curves down."""
    shift = 0.0
    while True:
        step[0] = -g[0] * scale[0]
        a[0, 0] = h[0, 0] * scale[0] * scale[0] + damping + shift
        for j in range(1, ANGLES):
            step[j] = -g[j] * scale[j]
            a[0, j] = h[0, j] * (scale[0] * scale[j])
            for i in range(_first(j), j + 1):
                a[i, j] = h[i, j] * (scale[i] * scale[j])
            a[j, j] += damping + shift
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
        step[i] *= scale[i]
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


@inlined
def _largest(g: Any) -> Any:
    worst = 0.0
    for i in range(ANGLES):
        worst = max(worst, abs(g[i]))
    return worst


@uncounted
def _descend(
    k: Any, q: Any, value: float, now: int, drive: Any, pull: Any, tone: Any, held: bool, hold: float, most: int, done: float,
    room: Any,
) -> Any:
    """Walk from `q` down to a minimum, in place; what was seen there already is `value` and the room's slopes number `now`.

    Gives steps taken, the largest net torque left [N mm], the number of the slopes there, below 0 if paths were last
    looked at elsewhere. The room's first vector is the posture that `hold` ties to.
    """
    wrist, b, a, vectors, matrices, scale = room
    anchor, trial, step = vectors[0], vectors[1], vectors[2]
    damping = _DAMPING if hold == 0.0 else _DAMPING_LEAST
    taken, there_last = 0, True
    while True:
        g, h = vectors[3 + now], matrices[now]
        worst = _largest(g)
        if worst <= done or taken == most:
            return taken, worst, now if there_last else -1
        _step(g, h, scale, damping, held, a, step)
        for i in range(ANGLES):
            trial[i] = q[i] + step[i]
        there = _look(k, trial, drive, pull, tone, held, hold, anchor, wrist, b, vectors[4 - now], matrices[1 - now])
        there_last = there <= value + _ROUNDING * (1.0 + abs(value))
        if there_last:
            for i in range(ANGLES):
                q[i] = trial[i]
            value = there
            now = 1 - now
            damping = max(damping * _EASED, _DAMPING_LEAST)
        else:
            damping = max(damping, _STIFF_FROM) * _STIFFENED
        taken += 1


@uncounted
def _walk(k: Any, q: Any, drive: Any, pull: Any, tone: Any, held: bool, most: int, done: float, room: Any) -> Any:
    """Walk from `q` down to a minimum, in place: steps taken and the largest net torque left [N mm]."""
    wrist, b, _, vectors, matrices, _ = room
    value = _look(k, q, drive, pull, tone, held, 0.0, vectors[0], wrist, b, vectors[3], matrices[0])
    taken, left, _ = _descend(k, q, value, 0, drive, pull, tone, held, 0.0, most, done, room)
    return taken, left


@uncounted
def _follow(
    k: Any, q: Any, used: Any, before: Any, pull: Any, tone: Any, held: bool, hold: float, done: float, known: int, room: Any
) -> int:
    """One implicit step of the motion, `q` in place, under the drive `used`: the number of the room's slopes there.

    The last step ended with the slopes here under the drive `before`, so that those under the new one are a few products more
    (`add_drive`): a hand that stays is not looked at again, and one that moves is looked at once where its step leads.
    """
    wrist, b, a, vectors, matrices, scale = room
    anchor, trial, step, change = vectors[0], vectors[1], vectors[2], before[1]
    value = 0.0
    if known >= 0:
        g, h = vectors[3 + known], matrices[known]
        for i in range(ANGLES):
            g[i] -= hold * k.metric[i] * (q[i] - anchor[i])
        for path in range(PATHS):
            change[path] = used[path] - before[0, path]
        add_drive(k, q, wrist, b, change, g)
        if held:
            g[0] = 0.0
    for path in range(PATHS):
        before[0, path] = used[path]
    for i in range(ANGLES):
        anchor[i] = q[i]
    if known >= 0:
        g, h = vectors[3 + known], matrices[known]
        left = _largest(g)
        if left <= done:
            return known
        _step(g, h, scale, _DAMPING_LEAST, held, a, step)
        for i in range(ANGLES):
            trial[i] = q[i] + step[i]
        other = 1 - known
        value = _look(k, trial, used, pull, tone, held, hold, anchor, wrist, b, vectors[3 + other], matrices[other])
        known = other if _largest(vectors[3 + other]) < left else -1
        if known >= 0:
            for i in range(ANGLES):
                q[i] = trial[i]
    if known < 0:
        known = 0
        value = _look(k, q, used, pull, tone, held, hold, anchor, wrist, b, vectors[3], matrices[0])
    return int(_descend(k, q, value, known, used, pull, tone, held, hold, _MOST, done, room)[2])


@compiled
def _room(k: Any) -> Any:
    return (
        np.empty((7, 3)), np.empty((FINGERS, 8)), np.empty((ANGLES, ANGLES)), np.empty((5, ANGLES)),
        np.empty((2, ANGLES, ANGLES)), 1.0 / np.sqrt(k.metric),
    )  # fmt: skip


@inlined
def _begin(q: Any, i: int, since: Any, held: Any) -> None:
    """Where row `i` starts: where an earlier row of its own has ended, if it has one; a wrist that is held stays."""
    if since[i] < 0:
        return
    for j in range(ANGLES):
        if j > 0 or not held[i]:
            q[i, j] = q[since[i], j]


@compiled
def settle(k: Any, q: Any, since: Any, drive: Any, pull: Any, tone: Any, held: Any, most: int, done: float) -> Any:
    """Walk n hands down, `q` (n, 13) in place: steps taken and torque left, each (n,).

    Each starts from its own `q`, or from where the earlier row ``since[i]`` has ended; -1 is none.
    """
    n = q.shape[0]
    steps, left = np.empty(n, dtype=np.int64), np.empty(n)
    room = _room(k)
    for i in range(n):
        _begin(q, i, since, held)
        steps[i], left[i] = _walk(k, q[i], drive[i], pull[i], tone[i], held[i], most, done, room)
    return steps, left


@compiled
def _one_of(k: Any, j: int) -> Any:
    """Constants of hand `j` of several: each of theirs has the hands along its first axis."""
    return Constants(
        k.ray[j], k.whole[j], k.muscle[j], k.arms[j], k.polynomial[j], k.stop[j], k.tie[j], k.weight[j], k.lever[j], k.metric[j]
    )


@compiled
def settle_each(
    k: Any, which: Any, q: Any, since: Any, drive: Any, pull: Any, tone: Any, held: Any, most: int, done: float
) -> Any:
    """As `settle`, of hands that differ: row `i` is one of hand ``which[i]`` of those stacked in `k` (`layout.stacked`)."""
    n = q.shape[0]
    steps, left = np.empty(n, dtype=np.int64), np.empty(n)
    room = _room(_one_of(k, 0))
    for i in range(n):
        one = _one_of(k, which[i])
        for j in range(ANGLES):
            room[5][j] = 1.0 / np.sqrt(one.metric[j])
        _begin(q, i, since, held)
        steps[i], left[i] = _walk(one, q[i], drive[i], pull[i], tone[i], held[i], most, done, room)
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


@inlined
def _lengths(k: Any, q: Any, x: Any, wrist: Any, b: Any, out: Any) -> None:
    paths(k, q, x, wrist, b)
    for i in range(TONED):
        path = _toned_path(i)
        out[i] = k.muscle[path, ZERO] + x[path] / k.muscle[path, FIBRE]


@compiled
def toned_lengths(k: Any, q: Any) -> Any:
    """Fibre length over optimum of the muscles with tone, (n, 9)."""
    n = q.shape[0]
    x, wrist, b, length = np.empty(PATHS), np.empty((7, 3)), np.empty((FINGERS, 8)), np.empty((n, TONED))
    for row in range(n):
        _lengths(k, q[row], x, wrist, b, length[row])
    return length


@inlined
def _feel(k: Any, row: int, now: Any, gain: float, dt: float, risen: float, length: Any, waiting: Any, felt: Any) -> None:
    """What the reflex makes of fibres that have come to be `now` long: each memory (.., 9, n) at this row."""
    reflex = k.whole[0]
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
    used, before, x, now = np.empty(PATHS), np.empty((2, PATHS)), np.empty(PATHS), np.empty(TONED)
    risen = 1.0 - np.exp(-dt / k.whole[0]["reflex_rise"])
    for row in range(n):
        known = -1
        for s in range(steps):
            for path in range(PATHS):
                used[path] = drive[s, row, path]
            if gain > 0.0:
                for i in range(TONED):
                    path = _toned_path(i)
                    used[path] = min(used[path] + felt[i, row], 1.0)
            known = _follow(k, q[row], used, before, pull[row], tone[row], held, hold, done, known, room)
            for i in range(ANGLES):
                out[s, row, i] = q[row, i]
            if gain > 0.0:
                _lengths(k, q[row], x, room[0], room[1], now)
                _feel(k, row, now, gain, dt, risen, length, waiting, felt)
    return out
