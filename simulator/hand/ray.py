"""One finger: its five muscles, its stops, the other hand's push; energy, gradient and Hessian in four angles.

Stage ``hand``, compiled. A finger's muscles are its slip of EDC, its own extensor (EIP at the index, EDM at the little finger),
FDP, FDS, and the interossei with the lumbrical as one. A path ``x`` [mm] is how far a muscle is stretched; its moment arm is
``-dx/dq``. Every path is a part of the wrist's angle and a part of the finger's, so no path has a mixed derivative of both.
"""

from __future__ import annotations

import math
from typing import Any

from graspwave.simulator.compiling import inlined

__all__ = ["FIBRE", "FORCE", "LATE", "PASSIVE", "RATE", "ZERO", "exponential", "extensor", "pull_of", "ray_energy", "soft_ramp"]

FORCE, FIBRE, ZERO, RATE, PASSIVE, LATE = range(6)
"""Columns of a muscle: full force [N], optimal fibre [mm], fibre length at zero over optimum, rate and scale of its
passive curve (scale 0: none), how much later than the textbook curve it sets in."""


@inlined
def exponential(z: float, straight_above: float) -> Any:
    """Integral, value and slope of ``exp(z)``, continued as a straight line above a limit."""
    over = max(z - straight_above, 0.0)
    grown = math.exp(z - over)
    value = grown * (1.0 + over)
    return value + 0.5 * grown * over * over, value, grown


@inlined
def soft_ramp(x: float, width: float) -> Any:
    """Integral, value and slope of ``(x + sqrt(x^2 + width^2)) / 2``, a ramp with a round corner."""
    root = math.sqrt(x * x + width * width)
    return (
        0.25 * (x * x + x * root + width * width * math.asinh(x / width)),
        0.5 * (x + root),
        0.5 * (1.0 + x / root),
    )


@inlined
def _logistic(x: float) -> float:
    if x >= 0.0:
        return 1.0 / (1.0 + math.exp(-x))
    grown = math.exp(x)
    return grown / (1.0 + grown)


@inlined
def pull_of(muscle: Any, at: int, stretch: float, drive: float, curve: Any) -> Any:
    """Stored energy [N mm], force [N] and its slope [N/mm] of muscle `at` of all, stretched by a path [mm].

    ``F = F0 [a exp(-(l - 1)^2 / width) + exp(k (l - 1 - late)) / (e^4 - 1)]``, rigid tendon.
    """
    strain = muscle[at, ZERO] - 1.0 + stretch / muscle[at, FIBRE]
    width = curve["width"]
    bell = 0.0
    bell_area = 0.0
    if drive != 0.0:
        bell = drive * math.exp(-strain * strain / width)
        root = math.sqrt(width)
        bell_area = drive * root * 0.5 * math.sqrt(math.pi) * math.erf(strain / root)
    passive = 0.0
    passive_slope = 0.0
    passive_area = 0.0
    if muscle[at, PASSIVE] != 0.0:
        rate = muscle[at, RATE]
        area, value, slope = exponential(rate * (strain - muscle[at, LATE]), curve["straight_above"])
        passive = muscle[at, PASSIVE] * value
        passive_slope = rate * muscle[at, PASSIVE] * slope
        passive_area = muscle[at, PASSIVE] * area / rate
    return (
        muscle[at, FORCE] * muscle[at, FIBRE] * (bell_area + passive_area),
        muscle[at, FORCE] * (bell + passive),
        muscle[at, FORCE] / muscle[at, FIBRE] * (passive_slope - 2.0 / width * strain * bell),
    )


@inlined
def toned_pull(
    muscle: Any, at: int, stretch: float, drive: float, grown: float, start: float, tone_width: float, curve: Any
) -> Any:
    """As `pull_of`, with tone that grows by ``grown s(l - start)`` of full force; the bell is left out of that small term."""
    stored, force, slope = pull_of(muscle, at, stretch, drive, curve)
    if grown != 0.0:
        length = muscle[at, ZERO] + stretch / muscle[at, FIBRE]
        area, value, steep = soft_ramp(length - start, tone_width)
        stored += muscle[at, FORCE] * muscle[at, FIBRE] * grown * area
        force += muscle[at, FORCE] * grown * value
        slope += muscle[at, FORCE] / muscle[at, FIBRE] * grown * steep
    return stored, force, slope


@inlined
def share_of_slips(ray: Any, mcp: float) -> Any:
    """Share of the extensor's force that reaches the slips, with two derivatives by MCP angle.

    Falls as the MCP flexes (published) and again as it passes straight: the tendon's force then ends at that joint.
    """
    up = _logistic((mcp - ray["flexed_at"]) / ray["flexed_width"])
    down = _logistic((ray["slack_at"] - mcp) / ray["slack_width"])
    d_up = up * (1.0 - up) / ray["flexed_width"]
    d_down = -down * (1.0 - down) / ray["slack_width"]
    dd_up = d_up * (1.0 - 2.0 * up) / ray["flexed_width"]
    dd_down = -d_down * (1.0 - 2.0 * down) / ray["slack_width"]
    flexed = 1.0 - ray["flexed_loss"] * up
    straight = 1.0 - ray["slack"] * down
    d_flexed = -ray["flexed_loss"] * d_up
    d_straight = -ray["slack"] * d_down
    return (
        ray["share"] * flexed * straight,
        ray["share"] * (d_flexed * straight + flexed * d_straight),
        ray["share"]
        * (-ray["flexed_loss"] * dd_up * straight + 2.0 * d_flexed * d_straight - flexed * ray["slack"] * dd_down),
    )


@inlined
def extensor(ray: Any, m: float, p: float, d: float, b: Any) -> None:
    """Finger part of the extensor's path, into `b`: value, slopes by MCP, PIP, DIP, curvatures mm, mp, md, pp.

    ``b = r (m - f m^2) + h(m) [c (p - fc p^2) + l (p - fl p^2) + t d]``, ``h`` as in `share_of_slips`. That the share depends on
    the MCP brings the term ``h'(m) e`` at the MCP: no work is made or lost.
    """
    share, share_1, share_2 = share_of_slips(ray, m)
    central, lateral, terminal = ray["central"], ray["lateral"], ray["terminal"]
    bend = -2.0 * (central * ray["central_fall"] + lateral * ray["lateral_fall"])
    e = (central + lateral) * p + 0.5 * bend * p * p + terminal * d
    e_p = central + lateral + bend * p
    b[0] = ray["mcp_arm"] * (m - ray["mcp_fall"] * m * m) + share * e
    b[1] = ray["mcp_arm"] * (1.0 - 2.0 * ray["mcp_fall"] * m) + share_1 * e
    b[2] = share * e_p
    b[3] = share * terminal
    b[4] = -2.0 * ray["mcp_arm"] * ray["mcp_fall"] + share_2 * e
    b[5] = share_1 * e_p
    b[6] = share_1 * terminal
    b[7] = share * bend


@inlined
def add_extensor_force(b: Any, force: float, steep: float, at: int, g: Any, h: Any) -> None:
    """Add what a force along the finger part of the extensor's path, rising by `steep` a mm, does at the finger."""
    for i in range(3):
        g[at + i] += force * b[1 + i]
        for j in range(3):
            h[at + i, at + j] += steep * b[1 + i] * b[1 + j]
    h[at, at] += force * b[4]
    h[at, at + 1] += force * b[5]
    h[at + 1, at] += force * b[5]
    h[at, at + 2] += force * b[6]
    h[at + 2, at] += force * b[6]
    h[at + 1, at + 1] += force * b[7]


@inlined
def _flexor(
    k: Any, r: int, i: int, m: float, p: float, d: float, wrist: Any, drive: float, pull: float, grown: float, g: Any, h: Any
) -> Any:
    """Energy of a long flexor, FDP or FDS as `i` is 0 or 1: constant arms round the finger's pulleys; its way at the wrist."""
    curve, arms, at, row = k.whole[0], k.arms, 1 + 3 * r, 1 + i
    x = wrist[row, 0] - arms[r, i, 0] * m - arms[r, i, 1] * p - arms[r, i, 2] * d
    stored, force, steep = toned_pull(
        k.muscle, 5 * r + 2 + i, x, drive, grown, curve["finger_from"], curve["tone_width"], curve
    )
    stored += pull * x
    force += pull
    turn = wrist[row, 1]
    g[0] += force * turn
    h[0, 0] += steep * turn * turn + force * wrist[row, 2]
    for a in range(3):
        arm = arms[r, i, a]
        g[at + a] -= force * arm
        h[0, at + a] -= steep * turn * arm
        h[at + a, 0] -= steep * turn * arm
        for c in range(3):
            h[at + a, at + c] += steep * arm * arms[r, i, c]
    return stored


@inlined
def _intrinsics(
    muscle: Any, path: int, ray: Any, m: float, p: float, d: float, drive: float, pull: float, curve: Any, at: int, g: Any, h: Any
) -> Any:
    """Energy of interossei and lumbrical: they bend the MCP and straighten PIP and DIP; they do not cross the wrist."""
    arm, fall = ray["int_pip"], ray["lateral_fall"]
    s0, s1, s2 = -ray["int_mcp"], arm * (1.0 - 2.0 * fall * p), ray["int_dip"]
    x = s0 * m + arm * (p - fall * p * p) + s2 * d
    stored, force, steep = pull_of(muscle, path, x, drive, curve)
    stored += pull * x
    force += pull
    slope = (s0, s1, s2)
    for i in range(3):
        g[at + i] += force * slope[i]
        for j in range(3):
            h[at + i, at + j] += steep * slope[i] * slope[j]
    h[at + 1, at + 1] -= 2.0 * fall * arm * force
    return stored


@inlined
def ray_energy(k: Any, r: int, q: Any, wrist: Any, drive: Any, pull: Any, tone: Any, b: Any, g: Any, h: Any) -> Any:
    """Energy of finger `r` at the whole hand's angles `q`, added into gradient and Hessian of the whole hand.

    `wrist` holds path, slope and curvature at the wrist of EDC, FDP and FDS; `b` takes what `extensor` gives.
    """
    ray, curve = k.ray[r], k.whole[0]
    at, path = 1 + 3 * r, 5 * r
    m, p, d = q[at], q[at + 1], q[at + 2]
    extensor(ray, m, p, d, b)
    value = 0.0
    for i in range(2):  # the slip of EDC, and the finger's own extensor on the same tendon over the knuckle
        if k.muscle[path + i, FORCE] == 0.0 and pull[path + i] == 0.0:
            continue
        way = ray["slip_at_wrist"] if i == 0 else ray["own_at_wrist"]
        x = way * wrist[0, 0] + b[0]
        stored, force, steep = pull_of(k.muscle, path + i, x, drive[path + i], curve)
        value += stored + pull[path + i] * x
        force += pull[path + i]
        slope = way * wrist[0, 1]
        g[0] += force * slope
        h[0, 0] += steep * slope * slope + force * way * wrist[0, 2]
        for j in range(3):
            h[0, at + j] += steep * slope * b[1 + j]
            h[at + j, 0] += steep * slope * b[1 + j]
        add_extensor_force(b, force, steep, at, g, h)
    grown = curve["finger_gain"] * tone[0]
    for i in range(2):
        value += _flexor(k, r, i, m, p, d, wrist, drive[path + 2 + i], pull[path + 2 + i], grown, g, h)
    return value + _intrinsics(k.muscle, path + 4, ray, m, p, d, drive[path + 4], pull[path + 4], curve, at, g, h)
