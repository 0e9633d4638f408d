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

from graspwave.simulator.compiling import compiled, inlined
from graspwave.simulator.hand.ray import (
    add_extensor_force,
    exponential,
    extensor,
    pull_of,
    ray_energy,
    toned_pull,
)

__all__ = ["ANGLES", "AT_WRIST", "FINGERS", "PATHS", "energies", "energy", "paths", "tensions", "wrist_paths"]

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
def _neighbours(k: Any, q: Any, b: Any, g: Any, h: Any) -> Any:
    """Energy of web and junctures between neighbouring fingers."""
    value = 0.0
    for r in range(FINGERS - 1):
        tie = k.tie[r]
        one, two = 1 + 3 * r, 4 + 3 * r
        if tie[_BESIDE] != 0.0:
            apart = b[r, 0] - b[r + 1, 0] - tie[_APART]
            force = tie[_BESIDE] * apart
            value += 0.5 * force * apart
            add_extensor_force(b[r], force, tie[_BESIDE], one, g, h)
            add_extensor_force(b[r + 1], -force, 0.0, two, g, h)
            for i in range(3):
                for j in range(3):
                    h[two + i, two + j] += tie[_BESIDE] * b[r + 1, 1 + i] * b[r + 1, 1 + j]
                    across = tie[_BESIDE] * b[r, 1 + i] * b[r + 1, 1 + j]
                    h[one + i, two + j] -= across
                    h[two + j, one + i] -= across
        if tie[_WEB] != 0.0:
            apart = q[one] - q[two] - tie[_WEB_APART]
            value += 0.5 * tie[_WEB] * apart * apart
            g[one] += tie[_WEB] * apart
            g[two] -= tie[_WEB] * apart
            h[one, one] += tie[_WEB]
            h[two, two] += tie[_WEB]
            h[one, two] -= tie[_WEB]
            h[two, one] -= tie[_WEB]
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
            k.muscle, path, x, drive[path], grown, whole["wrist_from"], whole["tone_width"], whole
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
                h[at + a, 0] += drop
                for c in range(i + 1):
                    h[at + a, at + c] += drop
    return value


@compiled
def energy(k: Any, q: Any, drive: Any, pull: Any, tone: Any, wrist: Any, b: Any, g: Any, h: Any) -> Any:
    """The potential at one posture; gradient `g` and Hessian `h` are filled, `wrist` and `b` are room to work in."""
    for i in range(ANGLES):
        g[i] = 0.0
        for j in range(ANGLES):
            h[i, j] = 0.0
    wrist_paths(k, q[0], wrist)
    value = _at_wrist(k, q[0], wrist, drive, pull, tone, g, h)
    for r in range(FINGERS):
        value += ray_energy(k, r, q, wrist, drive, pull, tone, b[r], g, h)
    value += _neighbours(k, q, b, g, h)
    value += _stops(k, q, g, h)
    value += _help(k, q, g, h)
    return value + _weight(k, q, g, h)


@compiled
def energies(k: Any, q: Any, drive: Any, pull: Any, tone: Any) -> Any:
    """Potential, gradient and Hessian at n postures: (n,), (n, 13), (n, 13, 13)."""
    n = q.shape[0]
    value, g, h = np.empty(n), np.empty((n, ANGLES)), np.empty((n, ANGLES, ANGLES))
    wrist, b = np.empty((7, 3)), np.empty((FINGERS, 8))
    for i in range(n):
        value[i] = energy(k, q[i], drive[i], pull[i], tone[i], wrist, b, g[i], h[i])
    return value, g, h


@inlined
def paths(k: Any, q: Any, x: Any, wrist: Any, b: Any) -> None:
    """Path of every muscle at one posture, into `x` of 24 [mm]."""
    wrist_paths(k, q[0], wrist)
    for r in range(FINGERS):
        ray = k.ray[r]
        m, p, d = q[1 + 3 * r], q[2 + 3 * r], q[3 + 3 * r]
        extensor(ray, m, p, d, b[r])
        x[5 * r] = ray["slip_at_wrist"] * wrist[0, 0] + b[r, 0]
        x[5 * r + 1] = ray["own_at_wrist"] * wrist[0, 0] + b[r, 0]
        for i in range(2):
            arms = k.arms[r, i]
            x[5 * r + 2 + i] = wrist[1 + i, 0] - arms[0] * m - arms[1] * p - arms[2] * d
        x[5 * r + 4] = -ray["int_mcp"] * m + ray["int_pip"] * (p - ray["lateral_fall"] * p * p) + ray["int_dip"] * d
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
            _, force, _ = toned_pull(k.muscle, path, x[i, path], drive[i, path], grown, start, whole["tone_width"], whole)
            _, alone, _ = pull_of(k.muscle, path, x[i, path], 0.0, whole)
            total[i, path], passive[i, path] = force, alone
    return total, passive, x
