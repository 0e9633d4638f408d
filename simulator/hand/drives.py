"""Names of muscles -> the paths of the loops that they drive.

Stage ``hand``. A muscle with a part for each finger drives all of them alike, unless a part is given by itself. The wrist flexors
share one path; their drive there is their mean weighted by force.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import ArrayLike, NDArray

from graspwave.simulator.hand.layout import PATHS
from graspwave.simulator.hand.parameters import FINGERS, MUSCLES, WRIST_FLEXORS, HandLike, HandModel
from graspwave.simulator.hand.thumb import THUMB_MUSCLES

__all__ = ["FREE_MUSCLES", "columns_of", "drive_rows", "share_of_lump", "tone_drive"]

Array = NDArray[np.float64]

FREE_MUSCLES = ("EIP", "EDM")
"""Extensors of one finger only."""

_ROUNDING = 1e-9  # allowed past 0 and 1
_IN_RAY = {"EDC": 0, "FDP": 2, "FDS": 3, "INT": 4}
_OWN = {"EIP": 5 * FINGERS.index("index") + 1, "EDM": 5 * FINGERS.index("little") + 1}
_PARTS = {
    **{f"{finger}.{muscle}": 5 * r + at for r, finger in enumerate(FINGERS) for muscle, at in _IN_RAY.items()},
    **{f"EDC_{finger.upper()}": 5 * r for r, finger in enumerate(FINGERS)},
}
"""Parts of a muscle by finger; the slips of EDC also as recruitment names them."""


def columns_of(name: str, muscle: str, more: tuple[str, ...] = ()) -> list[int]:
    """Paths of a muscle or of a finger's part of it; none for muscles of `more`. `name` is the argument told in an error."""
    if muscle in _IN_RAY:
        return [5 * r + _IN_RAY[muscle] for r in range(len(FINGERS))]
    if muscle in _OWN:
        return [_OWN[muscle]]
    if muscle in _PARTS:
        return [_PARTS[muscle]]
    if muscle in WRIST_FLEXORS:
        return [PATHS.index("wrist flexors")]
    if muscle in MUSCLES:
        return [PATHS.index(muscle)]
    if muscle in more:
        return []
    known = ", ".join((*MUSCLES, *FREE_MUSCLES, *more))
    raise ValueError(f"'{name}' must name muscles among {known} (got '{muscle}'); one finger's part is index.EDC")


def drive_rows(
    hand: HandLike, drive: Mapping[str, ArrayLike], model: HandModel, tone: Mapping[str, ArrayLike] | None = None
) -> tuple[Array, Array]:
    """Drive with tone, one column a path, shape (n, 24), and the tone of fingers and wrist in it, shape (n, 2).

    `tone` ("finger", "wrist") replaces the hand's own.
    """
    own = {"finger": hand.finger_tone, "wrist": hand.wrist_tone, **(tone or {})}
    given = {muscle: _checked(f"drive[{muscle}]", value) for muscle, value in drive.items()}
    resting = {name: _checked(f"tone[{name}]", own[name]) for name in ("finger", "wrist")}
    try:
        (n,) = np.broadcast_shapes((1,), *(v.shape for v in (*given.values(), *resting.values())))
    except ValueError:
        lengths = ", ".join(f"{m} {v.size}" for m, v in given.items())
        problem = f"'drive' must hold arrays of one length (got {lengths}); give every muscle as many values"
        raise ValueError(problem) from None
    rows = np.zeros((n, len(PATHS)))
    # a part of a muscle by itself goes before the whole
    for muscle, value in sorted(given.items(), key=lambda item: item[0] in _PARTS):
        columns = columns_of("drive", muscle, THUMB_MUSCLES)
        if muscle in WRIST_FLEXORS:
            rows[:, columns[0]] += value * share_of_lump(model, muscle)
        elif columns:
            rows[:, columns] = value[:, None]
    toned = np.stack([np.broadcast_to(resting[name], (n,)) for name in ("finger", "wrist")], axis=1)
    return np.clip(rows + tone_drive(model, toned), 0.0, 1.0), np.ascontiguousarray(toned)


def tone_drive(model: HandModel, toned: Array) -> Array:
    """Resting drive of every path (n, 24) under tone of fingers and wrist (n, 2); the loops add its growth."""
    rows = np.zeros((toned.shape[0], len(PATHS)))
    for muscle in ("FDP", "FDS"):
        rows[:, columns_of("tone", muscle)] = toned[:, :1]
    rows[:, columns_of("tone", "INT")] = model.tone.intrinsics
    rows[:, PATHS.index("wrist flexors")] = model.tone.wrist_base * toned[:, 1]
    return rows


def share_of_lump(model: HandModel, muscle: str) -> float:
    """Force of a wrist flexor over that of all three."""
    force = {name: float(getattr(model, name.lower()).force_n) for name in WRIST_FLEXORS}
    return force[muscle] / sum(force.values())


def _checked(name: str, value: ArrayLike) -> Array:
    array = np.asarray(value, dtype=float)
    if array.ndim > 1:
        raise ValueError(f"'{name}' must be a number or a row of numbers (got shape {array.shape})")
    good = (array >= -_ROUNDING) & (array <= 1.0 + _ROUNDING)
    if not good.all():
        raise ValueError(f"'{name}' must be 0 to 1 (got {array[~good].flat[0]}); it is a fraction of full force")
    return np.atleast_1d(array)
