"""Bones of fingers and thumb in space, and what an object meets between them: pot, bean, ball, and free gaps.

Stage ``hand``. Millimetres; the wrist at the origin, the forearm along -x, y towards the back of the hand, z towards the thumb's
side. One set of bones serves the model and the pictures. The heads of the metacarpals are spread and arched, the fingers'
planes converge, the thumb stands aside; all of it turns with the wrist. Angles of the thumb not given are those at rest.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from graspwave.simulator.hand.layout import bone_lengths
from graspwave.simulator.hand.parameters import ANGLES, FINGERS, HandLike, HandModel, standard_hand
from graspwave.simulator.hand.thumb import THUMB_JOINTS, thumb_angles_deg

__all__ = ["OBJECTS", "finger_points_mm", "gaps_mm", "hand_points_mm", "opening", "thumb_points_mm", "widest_mm"]

Array = NDArray[np.float64]

OBJECTS = ("pot", "bean", "ball")
"""What can be asked of an open hand: a long and a short cylinder lying across the palm, and a ball."""

_CYLINDER_MM = {"pot": (40.0, 1000.0), "bean": (10.0, 10.0)}
"""Half a length, and how far the middle may lie from the thumb: a bean is held by its pad, past a pot's end it may reach."""


class Skeleton(NamedTuple):
    """What the loops need of bones and skin, in mm, the hand's own frame."""

    head: Array
    length: Array
    roll: Array
    base: Array
    thumb_length: Array
    aim: Array
    carpus: Array
    finger_half: float
    thumb_half: float
    palm_half: float


@lru_cache(maxsize=64)
def skeleton_of(model: HandModel, hand_length_mm: float) -> Skeleton:
    """Bones of a hand of this length."""
    long, f, thumb = bone_lengths(model) * hand_length_mm, model.fingers, model.thumb
    broad = model.bones.breadth * hand_length_mm
    head = np.stack([
        long[:, 0], -hand_length_mm * np.array(f.head_palmar), broad * np.array(f.head_side)
    ], axis=1)  # fmt: skip
    base = np.array([
        thumb.base_along * hand_length_mm, -thumb.base_palmar * hand_length_mm, thumb.base_side * broad
    ])  # fmt: skip
    aim = hand_length_mm * np.array([thumb.aim_along, -thumb.aim_palmar, thumb.aim_side]) - base
    roll = np.radians(f.roll_deg)
    return Skeleton(
        head=head, length=np.ascontiguousarray(long[:, 1:]), roll=np.stack([np.cos(roll), np.sin(roll)], axis=1), base=base,
        thumb_length=hand_length_mm * np.array([thumb.metacarpal, thumb.proximal, thumb.distal]), aim=aim,
        carpus=np.zeros(3), finger_half=model.skin.finger_half_mm, thumb_half=model.skin.thumb_half_mm,
        palm_half=model.skin.palm_half_mm,
    )  # fmt: skip


def hand_points_mm(
    hand: HandLike, angle_deg: Mapping[str, ArrayLike], *, model: HandModel | None = None
) -> tuple[Array, Array]:
    """Joints and tips of all fingers and of the thumb.

    Parameters
    ----------
    hand : Hand
        Its length scales the bones.
    angle_deg : mapping of str to array, shape (n,)
        By joint, as `equilibrium` gives them. A finger without angles of its own bends as the middle finger does.
    model : HandModel, optional

    Returns
    -------
    fingers : ndarray, shape (n, 4, 4, 3)
        MCP, PIP, DIP and tip of index, middle, ring, little, on the bones' axis [mm].
    thumb : ndarray, shape (n, 4, 3)
        CMC, MCP, IP and tip.
    """
    from graspwave.simulator.hand.space import skeletons

    model = model or standard_hand()
    q, thumb_q = posed(hand, angle_deg, model)
    fingers, thumb = skeletons(skeleton_of(model, float(hand.hand_length_mm)), q, thumb_q)
    return _turned(fingers, q[:, 0]), _turned(thumb, q[:, 0])


def finger_points_mm(
    hand: HandLike, angle_deg: Mapping[str, ArrayLike], finger: str = "middle", *, model: HandModel | None = None
) -> Array:
    """Wrist, MCP, PIP, DIP and tip of a finger seen from the thumb's side, shape (n, 5, 2); as in `hand_points_mm`.

    Raises
    ------
    ValueError
        No such finger.
    """
    if finger not in FINGERS:
        raise ValueError(f"'finger' must be one of {', '.join(FINGERS)} (got '{finger}')")
    fingers, _ = hand_points_mm(hand, angle_deg, model=model)
    own = fingers[:, FINGERS.index(finger), :, :2]
    return np.concatenate([np.zeros_like(own[:, :1]), own], axis=1)


def thumb_points_mm(
    hand: HandLike, angle_deg: Mapping[str, ArrayLike], *, model: HandModel | None = None
) -> Array:
    """CMC, MCP, IP and tip of the thumb seen from its side, shape (n, 4, 2); as in `hand_points_mm`."""
    return hand_points_mm(hand, angle_deg, model=model)[1][..., :2]


def opening(
    hand: HandLike, angle_deg: Mapping[str, ArrayLike], *, model: HandModel | None = None
) -> tuple[Array, Array]:
    """Diameter of the widest pot that the hand is open for.

    Parameters
    ----------
    hand : Hand
    angle_deg : mapping of str to array, shape (n,)
        As in `hand_points_mm`.
    model : HandModel, optional

    Returns
    -------
    opening_mm : ndarray, shape (n,)
        Zero where fingers and thumb meet, and where the fingers have passed the thumb, as in a fist.
    points_mm : ndarray, shape (n, 2, 2)
        Ends of the line between the finger that decides and the thumb, skin to skin, seen from the thumb's side. Seen so it may
        be shorter than the opening, since the thumb stands aside.

    Notes
    -----
    A pot is a cylinder 80 mm long. It lies across the palm, tilted to the thumb by 0, 22.5 or 45 degrees, its middle anywhere
    from the thumb's to that of index and middle finger, as is best; at least two fingers lie on it, and a finger past its end
    is out of the way:
    ``max_(T, c) min_r [gap_r(T) + 4 over_r] - 4 over_(2)``, with over_(2) the second smallest. The gap of a finger is that of
    `gaps_mm` for the tilted axis. Continuous in all angles. A definition of ours: no published one was found.
    """
    found, line, _ = look(hand, *posed(hand, angle_deg, model or standard_hand()), model=model)
    return found, line


def gaps_mm(
    hand: HandLike, angle_deg: Mapping[str, ArrayLike], *, model: HandModel | None = None
) -> dict[str, Array]:
    """Free gap of each finger to the thumb, seen straight across the palm [mm, shape (n,)], by finger.

    The thumb bars all that lies behind the line of its last bone and not beyond its tip; the gap is the distance from the
    finger's last two bones to that quarter of the plane, less half a finger and half a thumb.
    """
    _, _, wide = look(hand, *posed(hand, angle_deg, model or standard_hand()), model=model)
    return {finger: wide[:, r] for r, finger in enumerate(FINGERS)}


def widest_mm(
    hand: HandLike, angle_deg: Mapping[str, ArrayLike], kind: str = "pot", *, model: HandModel | None = None
) -> Array:
    """Diameter of the largest object of a kind that the hand is open for, shape (n,).

    Parameters
    ----------
    hand, angle_deg, model
        As in `opening`.
    kind : {"pot", "bean", "ball"}
        The bean is a cylinder 20 mm long, see `opening`. The ball's middle lies between the pads of thumb, index and middle
        finger or up to 20 mm towards the knuckles, and it is clear of the skin of all bones; a hand near a fist still
        has some room for it, since fingers pass in front of the thumb.

    Raises
    ------
    ValueError
        Another kind.
    """
    from graspwave.simulator.hand.space import grasps, openings

    if kind not in OBJECTS:
        raise ValueError(f"'kind' must be one of {', '.join(OBJECTS)} (got '{kind}')")
    model = model or standard_hand()
    q, thumb_q = posed(hand, angle_deg, model)
    bones = skeleton_of(model, float(hand.hand_length_mm))
    if kind == "ball":
        return np.asarray(grasps(bones, q, thumb_q))
    return np.asarray(openings(bones, q, thumb_q, *_CYLINDER_MM[kind])[0])


def look(hand: HandLike, q: Array, thumb_q: Array, *, model: HandModel | None = None) -> tuple[Array, Array, Array]:
    """Opening, its line and the four gaps of postures (n, 13) and thumbs (n, 4) [rad]."""
    from graspwave.simulator.hand.space import openings

    bones = skeleton_of(model or standard_hand(), float(hand.hand_length_mm))
    found, line, wide = openings(bones, q, thumb_q, *_CYLINDER_MM["pot"])
    return found, _turned(line, q[:, 0])[..., :2], wide


def posed(hand: HandLike, angle_deg: Mapping[str, ArrayLike], model: HandModel) -> tuple[Array, Array]:
    """Angles as rows [rad], (n, 13) and (n, 4): what is not given is the middle finger's, or the thumb's rest."""
    rest = thumb_angles_deg({}, model=model, length_factor=hand.flexor_length_factor)
    given = []
    for name in ANGLES:
        joint = name.rpartition(".")[2]
        given.append(angle_deg[name] if name in angle_deg else angle_deg[joint])
    given += [angle_deg.get(name, rest[name]) for name in THUMB_JOINTS]
    rows = np.broadcast_arrays(*(np.atleast_1d(np.asarray(a, dtype=float)) for a in given))
    q = np.ascontiguousarray(np.radians(np.stack(rows, axis=1)))
    return np.ascontiguousarray(q[:, : len(ANGLES)]), np.ascontiguousarray(q[:, len(ANGLES) :])


def _turned(points: Array, wrist: Array) -> Array:
    """Points of the hand's own frame (n, ..., 3) with the wrist bent: flexion turns down."""
    shape = (-1, *[1] * (points.ndim - 2))
    c, s = np.cos(wrist).reshape(shape), np.sin(wrist).reshape(shape)
    x, y, z = points[..., 0], points[..., 1], points[..., 2]
    return np.stack([x * c + y * s, y * c - x * s, z], axis=-1)
