"""The whole hand as one potential of 13 angles: wrist, then MCP, PIP, DIP of index, middle, ring and little finger.

Stage ``hand``, compiled. ``U = U_wrist(w) + sum_r U_r(w, m_r, p_r, d_r) + U_neighbours``, N mm. All torques are its slopes, so
the stiffness is symmetric and a posture does not depend on the way it was reached. Fingers are coupled by the wrist, by the web
(``k (m_r - m_s - E)^2 / 2``) and by the junctures between the extensor's tendons (``k (b_r - b_s - D)^2 / 2``); D and E are the
differences in the relaxed supple hand, so that the springs do not load the hand at rest.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from graspwave.simulator.compiling import compiled, inlined, uncounted
from graspwave.simulator.hand.ray import (
    FIBRE,
    FORCE,
    ZERO,
    active,
    exponential,
    extensor,
    extensor_way,
    flexor_way,
    intrinsic_way,
    pull_of,
    ray_energy,
    toned_pull,
)

__all__ = ["ANGLES", "AT_WRIST", "FINGERS", "PATHS", "add_drive", "energies", "energy", "paths", "tensions", "wrist_paths"]

FINGERS, ANGLES, PATHS = 4, 13, 24
"""Rays, angles, and muscles: five a ray (slip of EDC, own extensor, FDP, FDS, INT), then ECRL, ECRB, ECU, wrist flexors."""

AT_WRIST = 20
"""First path that only crosses the wrist."""

_BESIDE, _APART, _WEB, _WEB_APART = range(4)  # columns of a tie between neighbours
_SIGN, _SCALE, _ANGLE, _FOLD = range(4)  # columns of a stop


@inlined
def wrist_paths(k: Any, w: float, out: Any) -> None:
    """Path [mm], slope and curvature at the wrist of EDC, FDP, FDS, ECRL, ECRB, ECU and the wrist flexors, shape (7, 3).

    EDC: ``s (a w - c W ln cosh(w / W))``. The others by published polynomials of the arm, held constant beyond an edge.
    """
    whole = k.whole[0]
    width = whole["edc_width"]
    y = w / width
    turn = math.tanh(y)
    size = abs(y)
    out[0, 0] = whole["edc_arm"] * w - whole["edc_change"] * width * (size + math.log1p(math.exp(-2.0 * size)) - math.log(2.0))
    out[0, 1] = whole["edc_arm"] - whole["edc_change"] * turn
    out[0, 2] = -whole["edc_change"] / width * (1.0 - turn * turn)
    edge = whole["edge"]
    inside = min(max(w, -edge), edge)
    for i in range(k.polynomial.shape[0]):
        arm, path, slope = 0.0, 0.0, 0.0
        power = 1.0
        for j in range(k.polynomial.shape[1]):
            c = k.polynomial[i, j]
            arm += c * power
            path += c / (j + 1.0) * power * inside
            if j + 1 < k.polynomial.shape[1]:
                slope += k.polynomial[i, j + 1] * (j + 1.0) * power
            power *= inside
        out[1 + i, 0] = -(path + arm * (w - inside))
        out[1 + i, 1] = -arm
        out[1 + i, 2] = -slope if inside == w else 0.0


@inlined
def _pulled_aside(b: Any, r: int, force: float, steep: float, g: Any, h: Any) -> None:
    """Add what a force along the finger part of finger `r`'s extensor, rising by `steep` a mm, does at the finger."""
    at = 1 + 3 * r
    for i in range(3):
        g[at + i] += force * b[r, 1 + i]
        for j in range(i, 3):
            h[at + i, at + j] += steep * b[r, 1 + i] * b[r, 1 + j]
    h[at, at] += force * b[r, 4]
    h[at, at + 1] += force * b[r, 5]
    h[at, at + 2] += force * b[r, 6]
    h[at + 1, at + 1] += force * b[r, 7]


@inlined
def _neighbours(k: Any, q: Any, b: Any, g: Any, h: Any) -> Any:
    """Energy of web and junctures between neighbouring fingers."""
    value = 0.0
    for r in range(FINGERS - 1):
        one, two = 1 + 3 * r, 4 + 3 * r
        beside, web = k.tie[r, _BESIDE], k.tie[r, _WEB]
        if beside != 0.0:
            apart = b[r, 0] - b[r + 1, 0] - k.tie[r, _APART]
            force = beside * apart
            value += 0.5 * force * apart
            _pulled_aside(b, r, force, beside, g, h)
            _pulled_aside(b, r + 1, -force, beside, g, h)
            for i in range(3):
                for j in range(3):
                    h[one + i, two + j] -= beside * b[r, 1 + i] * b[r + 1, 1 + j]
        if web != 0.0:
            apart = q[one] - q[two] - k.tie[r, _WEB_APART]
            value += 0.5 * web * apart * apart
            g[one] += web * apart
            g[two] -= web * apart
            h[one, one] += web
            h[two, two] += web
            h[one, two] -= web
    return value


@inlined
def _at_wrist(k: Any, w: float, wrist: Any, drive: Any, pull: Any, tone: Any, g: Any, h: Any) -> Any:
    """Energy of the wrist's own muscles and of its stiffness."""
    whole = k.whole[0]
    value = 0.5 * whole["stiffness"] * w * w
    g[0] += whole["stiffness"] * w
    h[0, 0] += whole["stiffness"]
    for i in range(4):
        path = AT_WRIST + i
        x, slope, curve = wrist[3 + i, 0], wrist[3 + i, 1], wrist[3 + i, 2]
        grown = whole["wrist_gain"] * tone[1] if i == 3 else 0.0
        stored, force, steep = toned_pull(
            k, path, x, drive[path], grown, whole["wrist_from"], whole["tone_width"], whole
        )
        force += pull[path]
        value += stored + pull[path] * x
        g[0] += force * slope
        h[0, 0] += steep * slope * slope + force * curve
    return value


@inlined
def _stops(k: Any, q: Any, g: Any, h: Any) -> Any:
    """Energy of stops that push back exponentially: ends of the joints, flesh in a fist, the wrist's hard end, a table."""
    value = 0.0
    limit = k.whole[0]["straight_above"]
    for i in range(ANGLES):
        for j in range(k.stop.shape[1]):
            scale, sign, fold = k.stop[i, j, _SCALE], k.stop[i, j, _SIGN], k.stop[i, j, _FOLD]
            if scale == 0.0:
                continue
            z = sign * (q[i] - k.stop[i, j, _ANGLE]) / fold
            if z < -40.0:  # less than 1e-17 of its scale
                continue
            area, push, slope = exponential(z, limit)
            value += scale * fold * area
            g[i] += sign * scale * push
            h[i, i] += scale / fold * slope
    return value


@inlined
def _help(k: Any, q: Any, g: Any, h: Any) -> Any:
    """Energy of the other hand's push: ``M = -F r / (1 + exp(-(th - straight) / width))``; it leaves straight joints alone."""
    whole = k.whole[0]
    value = 0.0
    if whole["helped"] == 0.0:
        return value
    width = whole["help_width"]
    for i in range(1, ANGLES):
        z = (q[i] - whole["help_straight"]) / width
        size = abs(z)
        near = 1.0 / (1.0 + math.exp(-size))
        if z < 0.0:
            near = 1.0 - near
        value += k.lever[i] * width * (max(z, 0.0) + math.log1p(math.exp(-size)))
        g[i] += k.lever[i] * near
        h[i, i] += k.lever[i] / width * near * (1.0 - near)
    return value


@inlined
def _weight(k: Any, q: Any, g: Any, h: Any) -> Any:
    """Energy of the hand's weight, forearm level: each segment's drop is the sine of the summed flexion."""
    if k.weight[0] == 0.0:
        return 0.0
    value = -k.weight[0] * math.sin(q[0])
    g[0] -= k.weight[0] * math.cos(q[0])
    h[0, 0] += k.weight[0] * math.sin(q[0])
    for r in range(FINGERS):
        at = 1 + 3 * r
        bent = q[0]
        for i in range(3):
            bent += q[at + i]
            drop, swing = k.weight[at + i] * math.sin(bent), k.weight[at + i] * math.cos(bent)
            value -= drop
            g[0] -= swing
            h[0, 0] += drop
            for a in range(i + 1):
                g[at + a] -= swing
                h[0, at + a] += drop
                for c in range(a, i + 1):
                    h[at + a, at + c] += drop
    return value


@uncounted
def energy(k: Any, q: Any, drive: Any, pull: Any, tone: Any, wrist: Any, b: Any, g: Any, h: Any) -> Any:
    """The potential at one posture; gradient `g` and Hessian `h`, at and above its diagonal, are filled.

    `wrist` and `b` take paths, slopes and curvatures at wrist and fingers.
    """
    for i in range(ANGLES):
        g[i] = 0.0
        for j in range(ANGLES):
            h[i, j] = 0.0
    wrist_paths(k, q[0], wrist)
    value = _at_wrist(k, q[0], wrist, drive, pull, tone, g, h)
    for r in range(FINGERS):
        stored, slope, curve = ray_energy(k, r, q, wrist, drive, pull, tone, b, g, h)
        value += stored
        g[0] += slope
        h[0, 0] += curve
    value += _neighbours(k, q, b, g, h)
    value += _stops(k, q, g, h)
    value += _help(k, q, g, h)
    return value + _weight(k, q, g, h)


@inlined
def _drawn(k: Any, path: int, more: float, way: Any, at: int, g: Any) -> None:
    """Add what `more` drive of one muscle, stretched along `way`, does at the wrist and at a finger from angle `at` on."""
    if more != 0.0:
        strain = k.muscle[path, ZERO] - 1.0 + way[0] / k.muscle[path, FIBRE]
        force = more * k.muscle[path, FORCE] * active(strain, k.whole[0]["width"])
        g[0] += force * way[1]
        g[at] += force * way[2]
        g[at + 1] += force * way[3]
        g[at + 2] += force * way[4]


@inlined
def add_drive(k: Any, q: Any, wrist: Any, b: Any, more: Any, g: Any) -> None:
    """Add to the gradient what `more` drive (24,) does at the same posture, whose `wrist` and `b` `energy` left: it is linear."""
    for r in range(FINGERS):
        ray, at, path = k.ray[r], 1 + 3 * r, 5 * r
        m, p, d = q[at], q[at + 1], q[at + 2]
        _drawn(k, path, more[path], extensor_way(ray["slip_at_wrist"], wrist, b, r), at, g)
        _drawn(k, path + 1, more[path + 1], extensor_way(ray["own_at_wrist"], wrist, b, r), at, g)
        for i in range(2):
            _drawn(k, path + 2 + i, more[path + 2 + i], flexor_way(k, r, i, m, p, d, wrist), at, g)
        _drawn(k, path + 4, more[path + 4], intrinsic_way(ray, m, p, d), at, g)
    for i in range(4):
        _drawn(k, AT_WRIST + i, more[AT_WRIST + i], (wrist[3 + i, 0], wrist[3 + i, 1], 0.0, 0.0, 0.0), 1, g)


@compiled
def energies(k: Any, q: Any, drive: Any, pull: Any, tone: Any) -> Any:
    """Potential, gradient and Hessian at n postures: (n,), (n, 13), (n, 13, 13)."""
    n = q.shape[0]
    value, g, h = np.empty(n), np.empty((n, ANGLES)), np.empty((n, ANGLES, ANGLES))
    wrist, b = np.empty((7, 3)), np.empty((FINGERS, 8))
    for row in range(n):
        value[row] = energy(k, q[row], drive[row], pull[row], tone[row], wrist, b, g[row], h[row])
        for i in range(ANGLES):
            for j in range(i):
                h[row, i, j] = h[row, j, i]
    return value, g, h


@inlined
def paths(k: Any, q: Any, x: Any, wrist: Any, b: Any) -> None:
    """Path of every muscle at one posture, into `x` of 24 [mm]."""
    wrist_paths(k, q[0], wrist)
    for r in range(FINGERS):
        ray, at, path = k.ray[r], 1 + 3 * r, 5 * r
        m, p, d = q[at], q[at + 1], q[at + 2]
        b[r, 0], b[r, 1], b[r, 2], b[r, 3], b[r, 4], b[r, 5], b[r, 6], b[r, 7] = extensor(ray, m, p, d)
        x[path] = extensor_way(ray["slip_at_wrist"], wrist, b, r)[0]
        x[path + 1] = extensor_way(ray["own_at_wrist"], wrist, b, r)[0]
        for i in range(2):
            x[path + 2 + i] = flexor_way(k, r, i, m, p, d, wrist)[0]
        x[path + 4] = intrinsic_way(ray, m, p, d)[0]
    for i in range(4):
        x[AT_WRIST + i] = wrist[3 + i, 0]


@compiled
def tensions(k: Any, q: Any, drive: Any, tone: Any) -> Any:
    """Tension of every muscle and its passive part [N], and the path [mm], each (n, 24)."""
    n = q.shape[0]
    whole = k.whole[0]
    total, passive, x = np.empty((n, PATHS)), np.empty((n, PATHS)), np.empty((n, PATHS))
    wrist, b = np.empty((7, 3)), np.empty((FINGERS, 8))
    for i in range(n):
        paths(k, q[i], x[i], wrist, b)
        for path in range(PATHS):
            grown, start = 0.0, whole["finger_from"]
            if path < AT_WRIST and path % 5 in (2, 3):
                grown = whole["finger_gain"] * tone[i, 0]
            elif path == PATHS - 1:
                grown, start = whole["wrist_gain"] * tone[i, 1], whole["wrist_from"]
            _, force, _ = toned_pull(k, path, x[i, path], drive[i, path], grown, start, whole["tone_width"], whole)
            _, alone, _ = pull_of(k, path, x[i, path], 0.0, whole)
            total[i, path], passive[i, path] = force, alone
    return total, passive, x
