"""One finger: its five muscles, its stops, the other hand's push; energy, gradient and Hessian in four angles.

Stage ``hand``, compiled. A finger's muscles are its slip of EDC, its own extensor (EIP at the index, EDM at the little finger),
FDP, FDS, and the interossei with the lumbrical as one. A path ``x`` [mm] is how far a muscle is stretched; its moment arm is
``-dx/dq``. Every path is a part of the wrist's angle and a part of the finger's, so no path has a mixed derivative of both.
"""

from __future__ import annotations

import math
from typing import Any

from graspwave.simulator.compiling import inlined

__all__ = [
    "FIBRE", "FORCE", "LATE", "PASSIVE", "RATE", "ZERO", "active", "exponential", "extensor", "extensor_way", "flexor_way",
    "intrinsic_way", "pull_of", "ray_energy", "share_of_slips", "soft_ramp", "toned_pull",
]  # fmt: skip

_HALF_ROOT_PI = 0.5 * math.sqrt(math.pi)

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
def active(strain: float, width: float) -> float:
    """Active force of a fully driven fibre over its largest: a bell about its optimal length."""
    return math.exp(-strain * strain / width)


@inlined
def pull_of(k: Any, at: int, stretch: float, drive: float, curve: Any) -> Any:
    """Stored energy [N mm], force [N] and its slope [N/mm] of muscle `at` of all, stretched by a path [mm].

    ``F = F0 [a exp(-(l - 1)^2 / width) + exp(k (l - 1 - late)) / (e^4 - 1)]``, rigid tendon.
    """
    strain = k.muscle[at, ZERO] - 1.0 + stretch / k.muscle[at, FIBRE]
    width = curve["width"]
    bell = 0.0
    bell_area = 0.0
    if drive != 0.0:
        bell = drive * active(strain, width)
        root = math.sqrt(width)
        bell_area = drive * root * _HALF_ROOT_PI * math.erf(strain / root)
    passive = 0.0
    passive_slope = 0.0
    passive_area = 0.0
    if k.muscle[at, PASSIVE] != 0.0:
        rate = k.muscle[at, RATE]
        area, value, slope = exponential(rate * (strain - k.muscle[at, LATE]), curve["straight_above"])
        passive = k.muscle[at, PASSIVE] * value
        passive_slope = rate * k.muscle[at, PASSIVE] * slope
        passive_area = k.muscle[at, PASSIVE] * area / rate
    return (
        k.muscle[at, FORCE] * k.muscle[at, FIBRE] * (bell_area + passive_area),
        k.muscle[at, FORCE] * (bell + passive),
        k.muscle[at, FORCE] / k.muscle[at, FIBRE] * (passive_slope - 2.0 / width * strain * bell),
    )


@inlined
def toned_pull(
    k: Any, at: int, stretch: float, drive: float, grown: float, start: float, tone_width: float, curve: Any
) -> Any:
    """As `pull_of`, with tone that grows by ``grown s(l - start)`` of full force; the bell is left out of that small term."""
    stored, force, slope = pull_of(k, at, stretch, drive, curve)
    if grown != 0.0:
        length = k.muscle[at, ZERO] + stretch / k.muscle[at, FIBRE]
        area, value, steep = soft_ramp(length - start, tone_width)
        stored += k.muscle[at, FORCE] * k.muscle[at, FIBRE] * grown * area
        force += k.muscle[at, FORCE] * grown * value
        slope += k.muscle[at, FORCE] / k.muscle[at, FIBRE] * grown * steep
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
def extensor(ray: Any, m: float, p: float, d: float) -> Any:
    """Finger part of the extensor's path: value, slopes by MCP, PIP, DIP, curvatures mm, mp, md, pp.

    ``b = r (m - f m^2) + h(m) [c (p - fc p^2) + l (p - fl p^2) + t d]``, ``h`` as in `share_of_slips`. That the share depends on
    the MCP brings the term ``h'(m) e`` at the MCP: no work is made or lost.
    """
    share, share_1, share_2 = share_of_slips(ray, m)
    central, lateral, terminal = ray["central"], ray["lateral"], ray["terminal"]
    bend = -2.0 * (central * ray["central_fall"] + lateral * ray["lateral_fall"])
    e = (central + lateral) * p + 0.5 * bend * p * p + terminal * d
    e_p = central + lateral + bend * p
    arm, fall = ray["mcp_arm"], ray["mcp_fall"]
    return (
        arm * (m - fall * m * m) + share * e,
        arm * (1.0 - 2.0 * fall * m) + share_1 * e,
        share * e_p,
        share * terminal,
        -2.0 * arm * fall + share_2 * e,
        share_1 * e_p,
        share_1 * terminal,
        share * bend,
    )


# ---- ways: how far a muscle is stretched [mm], and its slopes by wrist, MCP, PIP and DIP


@inlined
def extensor_way(at_wrist: float, wrist: Any, b: Any, r: int) -> Any:
    """Way of the slip of EDC, or of the finger's own extensor, on the same tendon over the knuckle."""
    return at_wrist * wrist[0, 0] + b[r, 0], at_wrist * wrist[0, 1], b[r, 1], b[r, 2], b[r, 3]


@inlined
def flexor_way(k: Any, r: int, i: int, m: float, p: float, d: float, wrist: Any) -> Any:
    """Way of a long flexor, FDP or FDS as `i` is 0 or 1: constant arms round the finger's pulleys."""
    at_m, at_p, at_d = k.arms[r, i, 0], k.arms[r, i, 1], k.arms[r, i, 2]
    return wrist[1 + i, 0] - at_m * m - at_p * p - at_d * d, wrist[1 + i, 1], -at_m, -at_p, -at_d


@inlined
def intrinsic_way(ray: Any, m: float, p: float, d: float) -> Any:
    """Way of interossei and lumbrical: they bend the MCP and straighten PIP and DIP; they do not cross the wrist."""
    arm, fall = ray["int_pip"], ray["lateral_fall"]
    at_m, at_d = -ray["int_mcp"], ray["int_dip"]
    return at_m * m + arm * (p - fall * p * p) + at_d * d, 0.0, at_m, arm * (1.0 - 2.0 * fall * p), at_d


@inlined
def _with(total: Any, force: float, steep: float, way: Any) -> Any:
    """Slopes by wrist, MCP, PIP, DIP, and the ten curvatures row by row, with those of a force along a way added."""
    _, w, m, p, d = way
    sw, sm, sp = steep * w, steep * m, steep * p
    return (
        total[0] + force * w, total[1] + force * m, total[2] + force * p, total[3] + force * d,
        total[4] + sw * w, total[5] + sw * m, total[6] + sw * p, total[7] + sw * d,
        total[8] + sm * m, total[9] + sm * p, total[10] + sm * d,
        total[11] + sp * p, total[12] + sp * d,
        total[13] + steep * d * d,
    )  # fmt: skip


@inlined
def ray_energy(k: Any, r: int, q: Any, wrist: Any, drive: Any, pull: Any, tone: Any, b: Any, g: Any, h: Any) -> Any:
    """Energy of finger `r` at the whole hand's angles `q`, and what it adds to slope and curvature by the wrist's angle.

    Slopes and curvatures of the finger's own angles are set in gradient and Hessian of the whole hand, at and above its diagonal.
    `wrist` holds path, slope and curvature at the wrist of EDC, FDP and FDS; row `r` of `b` takes what `extensor` gives.
    """
    ray, curve = k.ray[r], k.whole[0]
    at, path = 1 + 3 * r, 5 * r
    m, p, d = q[at], q[at + 1], q[at + 2]
    b[r, 0], b[r, 1], b[r, 2], b[r, 3], b[r, 4], b[r, 5], b[r, 6], b[r, 7] = extensor(ray, m, p, d)
    value, along, bent = 0.0, 0.0, 0.0
    total = (0.0,) * 14
    for i in range(2):
        if k.muscle[path + i, FORCE] == 0.0 and pull[path + i] == 0.0:
            continue
        at_wrist = ray["slip_at_wrist"] if i == 0 else ray["own_at_wrist"]
        way = extensor_way(at_wrist, wrist, b, r)
        stored, force, steep = pull_of(k, path + i, way[0], drive[path + i], curve)
        value += stored + pull[path + i] * way[0]
        force += pull[path + i]
        along += force
        bent += force * at_wrist * wrist[0, 2]
        total = _with(total, force, steep, way)
    grown = curve["finger_gain"] * tone[0]
    for i in range(2):
        way = flexor_way(k, r, i, m, p, d, wrist)
        stored, force, steep = toned_pull(
            k, path + 2 + i, way[0], drive[path + 2 + i], grown, curve["finger_from"], curve["tone_width"], curve
        )
        value += stored + pull[path + 2 + i] * way[0]
        force += pull[path + 2 + i]
        bent += force * wrist[1 + i, 2]
        total = _with(total, force, steep, way)
    way = intrinsic_way(ray, m, p, d)
    stored, force, steep = pull_of(k, path + 4, way[0], drive[path + 4], curve)
    value += stored + pull[path + 4] * way[0]
    force += pull[path + 4]
    total = _with(total, force, steep, way)
    g[at], g[at + 1], g[at + 2] = total[1], total[2], total[3]
    h[0, at], h[0, at + 1], h[0, at + 2] = total[5], total[6], total[7]
    h[at, at], h[at, at + 1], h[at, at + 2] = total[8] + along * b[r, 4], total[9] + along * b[r, 5], total[10] + along * b[r, 6]
    h[at + 1, at + 1] = total[11] + along * b[r, 7] - 2.0 * ray["lateral_fall"] * ray["int_pip"] * force
    h[at + 1, at + 2], h[at + 2, at + 2] = total[12], total[13]
    return value, total[0], total[4] + bent
