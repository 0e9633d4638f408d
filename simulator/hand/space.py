"""Fingers and thumb as bones in space, and what an object meets between them.

Stage ``hand``, compiled. The frame turns with the hand: wrist at the origin, x along the third metacarpal, y to the back, z to
the thumb's side, mm. The wrist's own angle plays no part.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from graspwave.simulator.compiling import compiled, inlined, uncounted

__all__ = ["bones", "grasps", "openings", "skeletons"]

_TILTS = (0.0, math.pi / 8.0, math.pi / 4.0)
_WAYS = (0.0, 0.25, 0.5, 0.75, 1.0)
_PAST = 4.0  # what a millimetre past the object's end is worth in gap: a finger that passes it is soon out of the way


@uncounted
def bones(k: Any, q: Any, thumb_q: Any, fingers: Any, thumb: Any) -> None:
    """Joints and tips: `fingers` (4, 4, 3) from MCP to tip, `thumb` (4, 3) from CMC to tip.

    A finger's bone points along ``(cos t, -sin t cos R, sin t sin R)``, t the summed flexion, R the turn of its plane. The
    thumb's metacarpal points along ``d = (cos b cos g, -sin b, cos b sin g)``, b palmar and g radial abduction; its other bones
    turn in the plane of d and a point in the palm.
    """
    for r in range(4):
        turned = 0.0
        for i in range(3):
            fingers[r, 0, i] = k.head[r, i]
        for j in range(3):
            turned += q[1 + 3 * r + j]
            c, s = k.length[r, j] * math.cos(turned), k.length[r, j] * math.sin(turned)
            fingers[r, j + 1, 0] = fingers[r, j, 0] + c
            fingers[r, j + 1, 1] = fingers[r, j, 1] - s * k.roll[r, 0]
            fingers[r, j + 1, 2] = fingers[r, j, 2] + s * k.roll[r, 1]
    cb, sb = math.cos(thumb_q[0]), math.sin(thumb_q[0])
    cg, sg = math.cos(thumb_q[1]), math.sin(thumb_q[1])
    d0, d1, d2 = cb * cg, -sb, cb * sg
    ahead = k.aim[0] * d0 + k.aim[1] * d1 + k.aim[2] * d2
    e0, e1, e2 = k.aim[0] - ahead * d0, k.aim[1] - ahead * d1, k.aim[2] - ahead * d2
    size = math.sqrt(e0 * e0 + e1 * e1 + e2 * e2)
    e0, e1, e2 = e0 / size, e1 / size, e2 / size
    turned = 0.0
    for i in range(3):
        thumb[0, i] = k.base[i]
    for j in range(3):
        if j > 0:
            turned += thumb_q[1 + j]
        c, s = k.thumb_length[j] * math.cos(turned), k.thumb_length[j] * math.sin(turned)
        thumb[j + 1, 0] = thumb[j, 0] + c * d0 + s * e0
        thumb[j + 1, 1] = thumb[j, 1] + c * d1 + s * e1
        thumb[j + 1, 2] = thumb[j, 2] + c * d2 + s * e2


@inlined
def gap(k: Any, finger: Any, thumb: Any, c: float, s: float) -> Any:
    """Gap [mm] between a finger's last two bones and the thumb's last, for an axis ``(s, 0, c)``, and where it is.

    Seen along that axis the thumb bars all that lies behind the line of its last bone and not beyond its tip; the gap is the
    distance to that quarter of the plane, less half a finger and half a thumb. Continuous in all angles. Also which bone of the
    finger, the part of its length, and the way from the thumb's tip along its bone.
    """
    tip_a, tip_y = thumb[3, 0] * c - thumb[3, 2] * s, thumb[3, 1]
    along_a, along_y = tip_a - (thumb[2, 0] * c - thumb[2, 2] * s), tip_y - thumb[2, 1]
    size = max(math.sqrt(along_a * along_a + along_y * along_y), 1e-9)
    along_a, along_y = along_a / size, along_y / size
    least, bone, at, beyond = 1e300, 1, 0.0, 0.0
    for j in range(1, 3):
        a0, y0 = finger[j, 0] * c - finger[j, 2] * s - tip_a, finger[j, 1] - tip_y
        a1, y1 = finger[j + 1, 0] * c - finger[j + 1, 2] * s - tip_a, finger[j + 1, 1] - tip_y
        s0, v0 = a0 * along_a + y0 * along_y, y0 * along_a - a0 * along_y
        ds, dv = a1 * along_a + y1 * along_y - s0, y1 * along_a - a1 * along_y - v0
        # the distance to a convex region is convex along a bone: its least value is at one of these places
        for i in range(5):
            t = 0.0
            if i == 1:
                t = 1.0
            elif i == 2 and ds != 0.0:
                t = -s0 / ds
            elif i == 3 and dv != 0.0:
                t = -v0 / dv
            elif i == 4 and ds * ds + dv * dv > 0.0:
                t = -(s0 * ds + v0 * dv) / (ds * ds + dv * dv)
            t = min(max(t, 0.0), 1.0)
            way, side = s0 + t * ds, v0 + t * dv
            apart = max(way, 0.0) ** 2 + max(side, 0.0) ** 2
            if apart < least:
                least, bone, at, beyond = apart, j, t, way
    return max(math.sqrt(least) - k.finger_half - k.thumb_half, 0.0), bone, at, min(beyond, 0.0) / size


@inlined
def off_palm(k: Any, finger: Any) -> Any:
    """Room [mm] between a finger's tip and the palm's skin over its own metacarpal: a fist leaves none."""
    x, y = finger[3, 0], finger[3, 1]
    hx, hy = finger[0, 0], finger[0, 1]
    size = math.sqrt(hx * hx + hy * hy)
    along, off = (x * hx + y * hy) / size, (y * hx - x * hy) / size
    beyond = _PAST * (max(along - size, 0.0) + max(-along, 0.0))
    return max(math.sqrt(beyond * beyond + off * off) - k.palm_half - k.finger_half, 0.0)


@uncounted
def _cylinder(k: Any, fingers: Any, thumb: Any, half_length: float, reach: float, seen: Any, room: Any) -> float:
    """Diameter of the widest cylinder of this length that passes the hand's mouth; `seen` takes the deciding finger and tilt.

    Laid across the palm, tilted and shifted as is best: its middle from the thumb to that of index and middle finger, no further
    from the thumb than `reach`. At least two fingers lie on it, one past its end is out of the way.
    """
    best = -1e300
    over, wide, palm = room[0], room[1], room[2]
    for r in range(4):
        palm[r] = off_palm(k, fingers[r])
    for tilt in _TILTS:
        c, s = math.cos(tilt), math.sin(tilt)
        at_thumb = 0.5 * (thumb[2, 0] + thumb[3, 0]) * s + 0.5 * (thumb[2, 2] + thumb[3, 2]) * c
        for r in range(4):
            wide[r] = min(gap(k, fingers[r], thumb, c, s)[0], palm[r])
        to_fingers = -at_thumb
        for r in range(2):
            to_fingers += 0.25 * ((fingers[r, 2, 0] + fingers[r, 3, 0]) * s + (fingers[r, 2, 2] + fingers[r, 3, 2]) * c)
        for way in _WAYS:
            middle = at_thumb + min(max(way * to_fingers, -reach), reach)
            low, second, least, which = 1e300, 1e300, 1e300, 0
            for r in range(4):
                x = 0.5 * (fingers[r, 2, 0] + fingers[r, 3, 0])
                z = 0.5 * (fingers[r, 2, 2] + fingers[r, 3, 2])
                over[r] = max(0.0, abs(x * s + z * c - middle) - half_length - k.finger_half)
                if over[r] < low:
                    low, second = over[r], low
                elif over[r] < second:
                    second = over[r]
                room = wide[r] + _PAST * over[r]
                if room < least:
                    least, which = room, r
            found = least - _PAST * second
            if found > best + 1e-12:
                best = found
                seen[0], seen[1] = which, tilt
    return max(best, 0.0)


@compiled
def _ball(k: Any, fingers: Any, thumb: Any) -> float:
    """Diameter of the largest ball clear of all bones' skin, its middle between the pads of thumb, index and middle finger."""
    pad, knuckle = np.zeros(3), np.zeros(3)
    for i in range(3):
        for r in range(2):
            pad[i] += 0.25 * (fingers[r, 2, i] + fingers[r, 3, i])
            knuckle[i] += 0.5 * fingers[r, 0, i]
    best = 0.0
    for part in range(9):
        u = 0.3 + 0.05 * part
        for back in range(5):
            x = 0.5 * (1.0 - u) * (thumb[2, 0] + thumb[3, 0]) + u * pad[0]
            y = 0.5 * (1.0 - u) * (thumb[2, 1] + thumb[3, 1]) + u * pad[1]
            z = 0.5 * (1.0 - u) * (thumb[2, 2] + thumb[3, 2]) + u * pad[2]
            a, b, c = knuckle[0] - x, knuckle[1] - y, knuckle[2] - z
            size = max(math.sqrt(a * a + b * b + c * c), 1e-9)
            x, y, z = x + 5.0 * back * a / size, y + 5.0 * back * b / size, z + 5.0 * back * c / size
            room = 1e300
            for j in range(3):
                room = min(room, _away(thumb[j], thumb[j + 1], x, y, z) - k.thumb_half)
                for r in range(4):
                    room = min(room, _away(fingers[r, j], fingers[r, j + 1], x, y, z) - k.finger_half)
            for r in range(4):
                room = min(room, _away(k.carpus, fingers[r, 0], x, y, z) - k.palm_half)
            best = max(best, 2.0 * room)
    return best


@inlined
def _away(one: Any, two: Any, x: float, y: float, z: float) -> float:
    """Distance of a point from a bone."""
    a, b, c = two[0] - one[0], two[1] - one[1], two[2] - one[2]
    p, q, r = x - one[0], y - one[1], z - one[2]
    t = min(max((a * p + b * q + c * r) / (a * a + b * b + c * c), 0.0), 1.0)
    return math.sqrt((p - t * a) ** 2 + (q - t * b) ** 2 + (r - t * c) ** 2)


@uncounted
def _ends(k: Any, finger: Any, thumb: Any, tilt: float, out: Any) -> None:
    """Ends in space of the line from a finger's skin to the thumb's where the gap is least, into (2, 3)."""
    _, bone, at, way = gap(k, finger, thumb, math.cos(tilt), math.sin(tilt))
    apart = 0.0
    for i in range(3):
        out[0, i] = (1.0 - at) * finger[bone, i] + at * finger[bone + 1, i]
        out[1, i] = thumb[3, i] + max(way, -1.0) * (thumb[3, i] - thumb[2, i])
        apart += (out[1, i] - out[0, i]) ** 2
    apart = max(math.sqrt(apart), 1e-9)
    near = min(k.finger_half, 0.5 * apart) / apart
    far = min(k.thumb_half, 0.5 * apart) / apart
    for i in range(3):
        towards = out[1, i] - out[0, i]
        out[0, i] += near * towards
        out[1, i] -= far * towards


@compiled
def skeletons(k: Any, q: Any, thumb_q: Any) -> Any:
    """Joints and tips of n hands: (n, 4, 4, 3) and (n, 4, 3)."""
    n = q.shape[0]
    fingers, thumb = np.empty((n, 4, 4, 3)), np.empty((n, 4, 3))
    for i in range(n):
        bones(k, q[i], thumb_q[i], fingers[i], thumb[i])
    return fingers, thumb


@compiled
def openings(k: Any, q: Any, thumb_q: Any, half_length: float, reach: float) -> Any:
    """Widest cylinder (n,), the line it turns on (n, 2, 3), and each finger's gap with the axis straight across (n, 4)."""
    n = q.shape[0]
    widest, line, wide = np.empty(n), np.empty((n, 2, 3)), np.empty((n, 4))
    fingers, thumb, seen, room = np.empty((4, 4, 3)), np.empty((4, 3)), np.zeros(2), np.empty((3, 4))
    for i in range(n):
        bones(k, q[i], thumb_q[i], fingers, thumb)
        widest[i] = _cylinder(k, fingers, thumb, half_length, reach, seen, room)
        _ends(k, fingers[int(seen[0])], thumb, seen[1], line[i])
        for r in range(4):
            wide[i, r] = gap(k, fingers[r], thumb, 1.0, 0.0)[0]
    return widest, line, wide


@compiled
def grasps(k: Any, q: Any, thumb_q: Any) -> Any:
    """Widest ball of n hands, (n,)."""
    n = q.shape[0]
    out = np.empty(n)
    fingers, thumb = np.empty((4, 4, 3)), np.empty((4, 3))
    for i in range(n):
        bones(k, q[i], thumb_q[i], fingers, thumb)
        out[i] = _ball(k, fingers, thumb)
    return out
