"""The hand's potential and its walk once more, in numpy over many rows: what the compiled loops are measured against.

Written apart from them, all muscles at once: paths x and their slopes J, then ``g = J' F`` and ``H = J' diag(F') J + sum F x''``.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from scipy.special import erf

ANGLES, PATHS, FINGERS = 13, 24, 4


def wrist_paths(k: Any, w: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Value, slope and curvature of the seven paths at the wrist, each (n, 7)."""
    one = k.whole[0]
    width = one["edc_width"]
    turn = np.tanh(w / width)
    log_cosh = np.logaddexp(w / width, -w / width) - np.log(2.0)
    inside = np.clip(w, -one["edge"], one["edge"])
    power = inside[:, None] ** np.arange(6)
    order = np.arange(6)
    arm = power @ k.polynomial.T
    path = (power * inside[:, None] / (order + 1.0)) @ k.polynomial.T
    bend = (power[:, :-1] * order[1:]) @ k.polynomial[:, 1:].T * (inside == w)[:, None]
    value = -(path + arm * (w - inside)[:, None])
    edc = one["edc_arm"] * w - one["edc_change"] * width * log_cosh
    return (np.column_stack((edc, value)), np.column_stack((one["edc_arm"] - one["edc_change"] * turn, -arm)),
            np.column_stack((-one["edc_change"] / width * (1.0 - turn * turn), -bend)))


def extensor(ray: Any, m: np.ndarray, p: np.ndarray, d: np.ndarray) -> list[Any]:
    """Value, three slopes and the curvatures mm, mp, md, pp of the extensor's finger part."""
    up = 1.0 / (1.0 + np.exp(-(m - ray["flexed_at"]) / ray["flexed_width"]))
    down = 1.0 / (1.0 + np.exp(-(ray["slack_at"] - m) / ray["slack_width"]))
    d_up, d_down = up * (1.0 - up) / ray["flexed_width"], -down * (1.0 - down) / ray["slack_width"]
    dd_up, dd_down = d_up * (1.0 - 2.0 * up) / ray["flexed_width"], -d_down * (1.0 - 2.0 * down) / ray["slack_width"]
    flexed, straight = 1.0 - ray["flexed_loss"] * up, 1.0 - ray["slack"] * down
    df, ds = -ray["flexed_loss"] * d_up, -ray["slack"] * d_down
    s0 = ray["share"] * flexed * straight
    s1 = ray["share"] * (df * straight + flexed * ds)
    s2 = ray["share"] * (-ray["flexed_loss"] * dd_up * straight + 2.0 * df * ds - flexed * ray["slack"] * dd_down)
    bend = -2.0 * (ray["central"] * ray["central_fall"] + ray["lateral"] * ray["lateral_fall"])
    both = ray["central"] + ray["lateral"]
    e, e_p = both * p + 0.5 * bend * p * p + ray["terminal"] * d, both + bend * p
    return [ray["mcp_arm"] * (m - ray["mcp_fall"] * m * m) + s0 * e, ray["mcp_arm"] * (1.0 - 2.0 * ray["mcp_fall"] * m) + s1 * e,
            s0 * e_p, s0 * ray["terminal"], -2.0 * ray["mcp_arm"] * ray["mcp_fall"] + s2 * e, s1 * e_p, s1 * ray["terminal"],
            s0 * bend]


def grown(z: np.ndarray, limit: float) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Integral, value and slope of exp, straight above a limit."""
    over = np.maximum(z - limit, 0.0)
    slope = np.exp(z - over)
    value = slope * (1.0 + over)
    return value + 0.5 * slope * over * over, value, slope


def pulls(k: Any, x: np.ndarray, drive: np.ndarray, tone: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Stored energy, force and its slope of every muscle, each (n, 24)."""
    one = k.whole[0]
    force, fibre, zero, rate, scale, late = k.muscle.T
    strain = zero - 1.0 + x / fibre
    width, root = one["width"], np.sqrt(one["width"])
    bell = drive * np.exp(-strain * strain / width)
    area = drive * root * 0.5 * np.sqrt(np.pi) * erf(strain / root)
    g0, g1, g2 = grown(rate * (strain - late), one["straight_above"])
    safe = np.where(rate == 0.0, 1.0, rate)
    stored = force * fibre * (area + scale * g0 / safe)
    value = force * (bell + scale * g1)
    slope = force / fibre * (rate * scale * g2 - 2.0 / width * strain * bell)
    toned = np.zeros((x.shape[0], PATHS))
    toned[:, [5 * r + i for r in range(FINGERS) for i in (2, 3)]] = one["finger_gain"] * tone[:, :1]
    toned[:, -1] = one["wrist_gain"] * tone[:, 1]
    start = np.full(PATHS, one["finger_from"])
    start[-1] = one["wrist_from"]
    y, wide = zero + x / fibre - start, one["tone_width"]
    ramp = np.sqrt(y * y + wide * wide)
    stored += force * fibre * toned * 0.25 * (y * y + y * ramp + wide * wide * np.arcsinh(y / wide))
    value += force * toned * 0.5 * (y + ramp)
    slope += force / fibre * toned * 0.5 * (1.0 + y / ramp)
    return stored, value, slope


def potential(k: Any, q: np.ndarray, drive: np.ndarray, tone: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Energy (n,), gradient (n, 13) and Hessian (n, 13, 13)."""
    n = q.shape[0]
    w0, w1, w2 = wrist_paths(k, q[:, 0])
    x, j = np.zeros((n, PATHS)), np.zeros((n, PATHS, ANGLES))
    bends, wrist_bend, b = np.zeros((n, PATHS, 4)), np.zeros((n, PATHS)), []
    for r in range(FINGERS):
        ray, at = k.ray[r], 1 + 3 * r
        m, p, d = q[:, at], q[:, at + 1], q[:, at + 2]
        one = extensor(ray, m, p, d)
        b.append(one)
        for i, way in enumerate((ray["slip_at_wrist"], ray["own_at_wrist"])):
            x[:, 5 * r + i], j[:, 5 * r + i, 0] = way * w0[:, 0] + one[0], way * w1[:, 0]
            j[:, 5 * r + i, at : at + 3] = np.column_stack(np.broadcast_arrays(*one[1:4]))
            bends[:, 5 * r + i] = np.column_stack(np.broadcast_arrays(*one[4:]))
            wrist_bend[:, 5 * r + i] = way * w2[:, 0]
        for i in range(2):
            x[:, 5 * r + 2 + i] = w0[:, 1 + i] - q[:, at : at + 3] @ k.arms[r, i]
            j[:, 5 * r + 2 + i, 0], j[:, 5 * r + 2 + i, at : at + 3] = w1[:, 1 + i], -k.arms[r, i]
            wrist_bend[:, 5 * r + 2 + i] = w2[:, 1 + i]
        arm, fall = ray["int_pip"], ray["lateral_fall"]
        x[:, 5 * r + 4] = -ray["int_mcp"] * m + arm * (p - fall * p * p) + ray["int_dip"] * d
        j[:, 5 * r + 4, at], j[:, 5 * r + 4, at + 1], j[:, 5 * r + 4, at + 2] = (
            -ray["int_mcp"], arm * (1.0 - 2.0 * fall * p), ray["int_dip"])
        bends[:, 5 * r + 4, 3] = -2.0 * fall * arm
    x[:, 20:], j[:, 20:, 0], wrist_bend[:, 20:] = w0[:, 3:], w1[:, 3:], w2[:, 3:]
    stored, force, slope = pulls(k, x, drive, tone)
    value = stored.sum(axis=1)
    g = (force[:, None] @ j)[:, 0]
    h = (j * slope[..., None]).transpose(0, 2, 1) @ j
    h[:, 0, 0] += (force * wrist_bend).sum(axis=1)
    bent = (force[:, :20, None] * bends[:, :20]).reshape(n, FINGERS, 5, 4).sum(axis=2)
    for r in range(FINGERS):
        add_bends(h, bent[:, r].T, 1 + 3 * r)
    return rest(k, q, b, value, g, h)


def add_bends(h: np.ndarray, bent: Any, at: int) -> None:
    mm, mp, md, pp = bent
    h[:, at, at] += mm
    h[:, at, at + 1] += mp
    h[:, at + 1, at] += mp
    h[:, at, at + 2] += md
    h[:, at + 2, at] += md
    h[:, at + 1, at + 1] += pp


def rest(k: Any, q: np.ndarray, b: list[Any], value: np.ndarray, g: np.ndarray, h: np.ndarray) -> Any:
    """Ties, stops, the wrist's stiffness, the other hand and weight."""
    one, n = k.whole[0], q.shape[0]
    value += 0.5 * one["stiffness"] * q[:, 0] ** 2
    g[:, 0] += one["stiffness"] * q[:, 0]
    h[:, 0, 0] += one["stiffness"]
    for r in range(FINGERS - 1):
        beside, past, web, web_past = k.tie[r]
        a, c = 1 + 3 * r, 4 + 3 * r
        apart = b[r][0] - b[r + 1][0] - past
        value += 0.5 * beside * apart * apart
        s = np.zeros((n, ANGLES))
        s[:, a : a + 3] = np.column_stack(np.broadcast_arrays(*b[r][1:4]))
        s[:, c : c + 3] = -np.column_stack(np.broadcast_arrays(*b[r + 1][1:4]))
        g += (beside * apart)[:, None] * s
        h += beside * s[:, :, None] * s[:, None]
        add_bends(h, [beside * apart * v for v in b[r][4:]], a)
        add_bends(h, [-beside * apart * v for v in b[r + 1][4:]], c)
        apart = q[:, a] - q[:, c] - web_past
        value += 0.5 * web * apart * apart
        g[:, a] += web * apart
        g[:, c] -= web * apart
        h[:, a, a] += web
        h[:, c, c] += web
        h[:, a, c] -= web
        h[:, c, a] -= web
    sign, scale, where, fold = (k.stop[..., i] for i in range(4))
    fold = np.where(scale == 0.0, 1.0, fold)
    area, push, steep = grown(sign * (q[..., None] - where) / fold, one["straight_above"])
    value += (scale * fold * area).sum(axis=(1, 2))
    g += (sign * scale * push).sum(axis=2)
    diagonal = (scale / fold * steep).sum(axis=2)
    if one["helped"] != 0.0:
        z = (q[:, 1:] - one["help_straight"]) / one["help_width"]
        near = 1.0 / (1.0 + np.exp(-z))
        value += (k.lever[1:] * one["help_width"] * np.logaddexp(0.0, z)).sum(axis=1)
        g[:, 1:] += k.lever[1:] * near
        diagonal[:, 1:] += k.lever[1:] / one["help_width"] * near * (1.0 - near)
    at = np.arange(ANGLES)
    h[:, at, at] += diagonal
    if k.weight[0] != 0.0:
        bent = q[:, :1] + np.cumsum(q[:, 1:].reshape(n, FINGERS, 3), axis=2).reshape(n, 12)
        turned = np.concatenate((q[:, :1], bent), axis=1)
        drop, swing = k.weight * np.sin(turned), k.weight * np.cos(turned)
        value -= drop.sum(axis=1)
        g -= swing @ TURNS
        h += np.einsum("ns,si,sj->nij", drop, TURNS, TURNS, optimize=False)
    return value, g, h


TURNS = np.zeros((ANGLES, ANGLES))
"""Which angles turn a segment: the wrist all of them, a finger's joint those beyond it."""
TURNS[:, 0] = 1.0
for _r in range(FINGERS):
    for _i in range(3):
        TURNS[1 + 3 * _r + _i, 1 + 3 * _r : 2 + 3 * _r + _i] = 1.0


def settle(k: Any, q: np.ndarray, drive: np.ndarray, tone: np.ndarray, held: np.ndarray, most: int, done: float,
           hold: float = 0.0) -> np.ndarray:
    """The damped Newton walk of all rows side by side; with `hold` one implicit step of motion."""
    root, anchor, q = np.sqrt(k.metric), q.copy(), q.copy()
    damping = np.full(q.shape[0], 0.05 if hold == 0.0 else 1e-9)

    def look(at: np.ndarray, rows: np.ndarray) -> Any:
        value, g, h = potential(k, at, drive[rows], tone[rows])
        if hold > 0.0:
            away, pull = at - anchor[rows], hold * k.metric
            value = value + 0.5 * (pull * away * away).sum(axis=1)
            g = g + pull * away
            h[:, np.arange(ANGLES), np.arange(ANGLES)] += pull
        g[held[rows], 0] = 0.0
        return value, g, h

    rows = np.arange(q.shape[0])
    value, g, h = look(q, rows)
    for _ in range(most):
        going = np.abs(g).max(axis=1) > done
        if not going.any():
            break
        if not going.all():
            rows, value, g, h = rows[going], value[going], g[going], h[going]
        step = newton(h, g, root, damping[rows], held[rows])
        trial = q[rows] + step
        new, new_g, new_h = look(trial, rows)
        down = new <= value + 1e-12 * (1.0 + np.abs(value))
        q[rows[down]] = trial[down]
        value, g = np.where(down, new, value), np.where(down[:, None], new_g, g)
        h = np.where(down[:, None, None], new_h, h)
        now = damping[rows]
        damping[rows] = np.where(down, np.maximum(now * 0.15, 1e-9), np.maximum(now, 1e-3) * 6.0)
    return q


def newton(h: np.ndarray, g: np.ndarray, root: np.ndarray, damping: np.ndarray, held: np.ndarray) -> np.ndarray:
    a, right = h / (root[:, None] * root), -g / root
    at = np.arange(ANGLES)
    a[:, at, at] += damping[:, None]
    a[held, 0, :] = 0.0
    a[held, :, 0] = 0.0
    a[held, 0, 0] = 1.0
    try:
        np.linalg.cholesky(a)
    except np.linalg.LinAlgError:
        low = np.linalg.eigvalsh(a)[:, 0]
        a[:, at, at] += np.where(low < 1e-3, 0.02 + np.abs(low), 0.0)[:, None]
    step = np.linalg.solve(a, right[..., None])[..., 0] / root
    return np.asarray(step * np.minimum(1.0, 0.35 / np.maximum(np.abs(step).max(axis=1, keepdims=True), 1e-300)))
