"""Bones of finger and thumb seen from the side, and the free gap between them.

Stage ``hand``. Millimetres in the plane of flexion: the wrist at the origin, the forearm along -x, y towards the back
of the hand. One set of bones serves the model and the picture. The thumb turns with the wrist; its own angles are those
given under `thumb.THUMB_JOINTS`, or its rest.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import ArrayLike, NDArray

from graspwave.simulator.hand.parameters import JOINTS, HandLike, HandModel, standard_hand
from graspwave.simulator.hand.thumb import THUMB_JOINTS, thumb_angles_deg

__all__ = ["finger_points_mm", "opening", "thumb_points_mm", "widest_cylinder_mm"]

Array = NDArray[np.float64]

_RUNGS, _REFINED = 13, 3  # how finely the widest cylinder is looked for


def finger_points_mm(
    hand: HandLike, angle_deg: Mapping[str, ArrayLike], *, model: HandModel | None = None
) -> Array:
    """Wrist, MCP, PIP, DIP and tip of the middle finger.

    Parameters
    ----------
    hand : Hand
        Its length scales the bones.
    angle_deg : mapping of str to array, shape (n,)
        wrist, MCP, PIP, DIP.
    model : HandModel, optional

    Returns
    -------
    ndarray, shape (n, 5, 2)
        Points on the bones' axis [mm].
    """
    bones = (model or standard_hand()).bones
    lengths = hand.hand_length_mm * np.array([bones.metacarpal, bones.proximal, bones.middle, bones.distal])
    return _chain(np.zeros(2), lengths, np.cumsum(_angles(angle_deg), axis=0))


def thumb_points_mm(
    hand: HandLike, angle_deg: Mapping[str, ArrayLike], *, model: HandModel | None = None
) -> Array:
    """CMC, MCP, IP and tip of the thumb; parameters and frame as in `finger_points_mm`.

    Returns
    -------
    ndarray, shape (n, 4, 2)
        Points on the bones' axis [mm].
    """
    model = model or standard_hand()
    thumb = model.thumb
    scale = hand.hand_length_mm / model.bones.reference_length_mm
    wrist = _angles(angle_deg)[0]
    along = np.stack([np.cos(wrist), -np.sin(wrist)], axis=-1)
    back = np.stack([np.sin(wrist), np.cos(wrist)], axis=-1)
    base = scale * (thumb.base_along_mm * along - thumb.base_palmar_mm * back)
    rest = thumb_angles_deg({}, model=model)
    given = (np.atleast_1d(np.asarray(angle_deg.get(joint, rest[joint]), dtype=float)) for joint in THUMB_JOINTS)
    cmc, mcp, ip = np.radians(np.stack(np.broadcast_arrays(wrist, *given)[1:]))
    lengths = hand.hand_length_mm * np.array([thumb.metacarpal, thumb.proximal, thumb.distal])
    return _chain(base, lengths, wrist + np.stack([cmc, cmc - mcp, cmc - mcp - ip]))


def opening(
    hand: HandLike, angle_deg: Mapping[str, ArrayLike], *, model: HandModel | None = None
) -> tuple[Array, Array]:
    """Free gap between the thumb's last pad and the last two phalanges of the finger, skin to skin.

    Parameters
    ----------
    hand : Hand
    angle_deg : mapping of str to array, shape (n,)
        wrist, MCP, PIP, DIP, and where known the joints of the thumb.
    model : HandModel, optional

    Returns
    -------
    opening_mm : ndarray, shape (n,)
        Zero where finger and thumb meet, and where the finger has passed the thumb, as in a fist.
    points_mm : ndarray, shape (n, 2, 2)
        The gap's ends on the finger's and on the thumb's skin as seen from the side; where the thumb stands aside they are
        less far apart than `opening_mm`.

    Notes
    -----
    The thumb bars all that lies behind the line of its last bone and not beyond its tip; the gap is the distance from
    the finger's segments to that quarter of the plane, less half a finger and half a thumb. It is continuous in all
    angles, also where a finger passes in front of the thumb's tip. The thumb lies beside the finger's plane by ``b``:
    ``opening = hypot(gap seen from the side, min(b, room between fingertip and palm))``.
    """
    model = model or standard_hand()
    finger = finger_points_mm(hand, angle_deg, model=model)
    thumb = thumb_points_mm(hand, angle_deg, model=model)
    tip = thumb[:, 3]
    along = tip - thumb[:, 2]
    along /= np.linalg.norm(along, axis=-1, keepdims=True)
    back = np.stack([-along[:, 1], along[:, 0]], axis=-1)

    # Distance to a convex region is convex along a segment, so its least value is at one of these points.
    start, end = finger[:, 2:4], finger[:, 3:5]
    span = end - start
    from_tip = start - tip[:, None]
    s0, v0 = (from_tip * along[:, None]).sum(-1), (from_tip * back[:, None]).sum(-1)
    ds, dv = (span * along[:, None]).sum(-1), (span * back[:, None]).sum(-1)
    zero = np.zeros_like(s0)
    nearest = _ratio(-(s0 * ds + v0 * dv), ds * ds + dv * dv)
    near = np.clip([zero, zero + 1.0, _ratio(-s0, ds), _ratio(-v0, dv), nearest], 0.0, 1.0)
    s, v = s0 + near * ds, v0 + near * dv
    s, v = (np.moveaxis(c, 1, 0).reshape(len(tip), -1) for c in (s, v))
    distance = np.hypot(np.maximum(s, 0.0), np.maximum(v, 0.0))
    least = np.arange(len(tip)), distance.argmin(axis=1)
    s, v, apart = s[least], v[least], distance[least]
    on_finger = tip + s[:, None] * along + v[:, None] * back
    on_thumb = tip + np.minimum(s, 0.0)[:, None] * along + np.minimum(v, 0.0)[:, None] * back
    skin = model.skin
    gap = np.maximum(apart - skin.finger_half_mm - skin.thumb_half_mm, 0.0)
    beside = np.minimum(_beside_mm(hand, model), _off_the_palm_mm(finger, skin.palm_half_mm + skin.finger_half_mm))
    wide = np.hypot(gap, beside)
    towards = (on_thumb - on_finger) / np.maximum(apart, 1e-9)[:, None]
    first = on_finger + towards * np.minimum(skin.finger_half_mm, apart)[:, None]
    return wide, np.stack([first, first + towards * gap[:, None]], axis=1)


def _beside_mm(hand: HandLike, model: HandModel) -> float:
    """How far the thumb's pad lies to the side of the finger's plane; less where the web is short as the closers are."""
    thumb = model.thumb
    loose = np.clip((hand.flexor_length_factor - thumb.web_shut_at) / (1.0 - thumb.web_shut_at), 0.0, 1.0)
    return float(thumb.beside_mm * loose * hand.hand_length_mm / model.bones.reference_length_mm)


def _off_the_palm_mm(finger: Array, halves_mm: float) -> Array:
    """Room between the finger's tip and the palm: a fist leaves none, however far the thumb stands aside."""
    palm = finger[:, 1] - finger[:, 0]
    from_wrist = finger[:, 4] - finger[:, 0]
    part = np.clip((from_wrist * palm).sum(-1) / (palm * palm).sum(-1), 0.0, 1.0)[:, None]
    return np.asarray(np.maximum(np.linalg.norm(from_wrist - part * palm, axis=-1) - halves_mm, 0.0))


def widest_cylinder_mm(
    hand: HandLike, angle_deg: Mapping[str, ArrayLike], *, model: HandModel | None = None
) -> Array:
    """Diameter of the largest cylinder, lying across the palm, that passes the mouth of the hand and has room in its hollow.

    Parameters
    ----------
    hand : Hand
    angle_deg : mapping of str to array, shape (n,)
        wrist, MCP, PIP, DIP.
    model : HandModel, optional

    Returns
    -------
    ndarray, shape (n,)
        Millimetres; 0 for a shut hand. Never more than the opening.

    Notes
    -----
    The smaller of the opening, which is the mouth, and the largest circle clear of the skin of palm, finger and thumb
    whose middle lies between thumb and finger. That circle is found on a ladder of lines from thumb to finger, from base
    to tips, three times refined: within 0.5 mm. In 2000
    random postures the mouth always decided. Side view: fingers that spread or an object held askew are not in it.
    """
    model = model or standard_hand()
    gap, _ = opening(hand, angle_deg, model=model)
    finger = finger_points_mm(hand, angle_deg, model=model)
    thumb = thumb_points_mm(hand, angle_deg, model=model)
    skin = model.skin
    start = np.concatenate([finger[:, :-1], thumb[:, :-1]], axis=1)
    span = np.concatenate([np.diff(finger, axis=1), np.diff(thumb, axis=1)], axis=1)
    half = np.array([skin.palm_half_mm, *[skin.finger_half_mm] * 3, *[skin.thumb_half_mm] * 3])

    rung, across = (c.ravel() for c in np.meshgrid(np.linspace(0.0, 1.0, _RUNGS), np.linspace(0.0, 1.0, _RUNGS)))
    middle, reach = np.full((len(gap), 2), 0.5), 0.5
    best = np.zeros(len(gap))
    for _ in range(_REFINED + 1):
        u = np.clip(middle[:, :1] + reach * (2.0 * rung - 1.0), 0.0, 1.0)
        w = np.clip(middle[:, 1:] + reach * (2.0 * across - 1.0), 0.0, 1.0)[..., None]
        centre = (1.0 - w) * _along(thumb, u) + w * _along(finger, u)
        away = centre[:, :, None] - start[:, None]
        length = (span * span).sum(-1)[:, None]
        part = np.clip((away * span[:, None]).sum(-1) / length, 0.0, 1.0)
        room = (np.linalg.norm(away - part[..., None] * span[:, None], axis=-1) - half).min(axis=-1)
        top = np.arange(len(gap)), room.argmax(axis=1)
        best = np.maximum(best, room[top])
        middle = np.stack([u[top], w[..., 0][top]], axis=1)
        reach *= 3.0 / _RUNGS
    return np.asarray(np.minimum(gap, np.maximum(2.0 * best, 0.0)))


def _along(chain: Array, part: Array) -> Array:
    """Points at parts 0 to 1 of the length of each chain (n, points, 2), shape (n, parts, 2)."""
    length = np.linalg.norm(np.diff(chain, axis=1), axis=-1)[0]
    at = np.concatenate([[0.0], np.cumsum(length)]) / length.sum()
    bone = np.clip(np.searchsorted(at, part, side="right") - 1, 0, len(length) - 1)
    rest = ((part - at[bone]) / (at[bone + 1] - at[bone]))[..., None]
    row = np.arange(len(chain))[:, None]
    return np.asarray((1.0 - rest) * chain[row, bone] + rest * chain[row, bone + 1])


def _angles(angle_deg: Mapping[str, ArrayLike]) -> Array:
    given = (np.atleast_1d(np.asarray(angle_deg[joint], dtype=float)) for joint in JOINTS)
    return np.asarray(np.radians(np.stack(np.broadcast_arrays(*given))))


def _chain(base: Array, lengths: Array, turned: Array) -> Array:
    """Points of a chain from its base, bones turned by absolute angles (bones, n); flexion turns down."""
    steps = lengths[:, None, None] * np.stack([np.cos(turned), -np.sin(turned)], axis=-1)
    points = np.concatenate([np.zeros_like(steps[:1]), np.cumsum(steps, axis=0)]) + base
    return np.asarray(np.moveaxis(points, 0, 1))


def _ratio(over: Array, under: Array) -> Array:
    return np.asarray(np.divide(over, under, out=np.zeros_like(over), where=under != 0.0))
