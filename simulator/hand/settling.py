"""Walks downhill to where a hand rests: many at once, and the one without any drive.

Stage ``hand``, before ``posture``. What is asked of the loops and what comes back, in arrays; nothing here has a muscle's name.
"""

from __future__ import annotations

from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from graspwave.simulator.hand.drives import tone_drive
from graspwave.simulator.hand.layout import PATHS, Constants, constants_of, gravity_of
from graspwave.simulator.hand.parameters import FINGERS, HandLike, HandModel, changed, standard_hand

__all__ = ["MOST_STEPS", "Rest", "descend", "first_guess", "model_for", "rest_from", "rest_of", "walked"]

Array = NDArray[np.float64]

_FIRST_GUESS_DEG = (0.0, *(45.0, 45.0, 22.0) * len(FINGERS))  # near the published relaxed hand
MOST_STEPS = 100
"""Steps after which a walk gives up; rows left are counted, not hidden."""
_DONE_NMM = 1e-3


class Rest(NamedTuple):
    """Where a walk downhill ended.

    Attributes
    ----------
    q : ndarray, shape (n, 13)
        Angles [rad].
    residual_nmm : ndarray, shape (n,)
        Largest net torque left at a free joint.
    iterations : int
        Steps taken by the slowest row.
    rows_left : int
        Rows whose residual is still above the limit.
    """

    q: Array
    residual_nmm: Array
    iterations: int
    rows_left: int


def model_for(model: HandModel | None, slips_slack: bool) -> HandModel:
    """The standard model where none is given; without slack where that is switched off."""
    model = model or standard_hand()
    return model if slips_slack else changed(model, hood__slack=0.0)


def descend(
    constants: Constants,
    q: Array,
    drive: Array,
    *,
    pull_n: Array | None = None,
    tone: Array | None = None,
    wrist_held: bool | NDArray[np.bool_] = False,
    most: int | None = None,
) -> Rest:
    """Walk from `q` (n, 13) [rad] down to a minimum under drive (n, 24), every row on its own; held wrists stay."""
    n = q.shape[0]
    held = np.array(np.broadcast_to(np.asarray(wrist_held, dtype=np.bool_), (n,)))
    toned = np.zeros((n, 2)) if tone is None else np.ascontiguousarray(tone)
    return rest_from(*walked(constants, q, drive, pull_n, toned, held, most or MOST_STEPS))


def walked(
    constants: Constants, q: Array, drive: Array, pull_n: Array | None, tone: Array, held: NDArray[np.bool_], most: int,
    which: NDArray[np.int_] | None = None, since: NDArray[np.int_] | None = None,
) -> tuple[Array, Array, NDArray[np.int_]]:
    """Angles, torque left and steps of each row; with `which`, rows are those of several hands, their constants stacked."""
    from graspwave.simulator.hand import walk

    found = np.array(q, dtype=np.float64, order="C")
    pull = np.zeros((q.shape[0], len(PATHS))) if pull_n is None else np.ascontiguousarray(pull_n)
    since = np.full(q.shape[0], -1) if since is None else since
    rest = (found, since, np.ascontiguousarray(drive), pull, tone, held, most, _DONE_NMM)
    steps, left = walk.settle(constants, *rest) if which is None else walk.settle_each(constants, which, *rest)
    return found, left, steps


def rest_from(q: Array, left: Array, steps: NDArray[np.int_]) -> Rest:
    """What `walked` gave, and how far it came."""
    return Rest(q, left, int(steps.max(initial=0)), int((left > _DONE_NMM).sum()))


def rest_of(hand: HandLike, model: HandModel) -> Rest:
    """The hand with tone and weight and nothing else; one row, remembered."""
    held = hand.wrist_held_deg
    return _rest(
        model,
        float(hand.flexor_length_factor),
        float(hand.hand_length_mm),
        gravity_of(hand),
        float(hand.finger_tone),
        float(hand.wrist_tone),
        None if held is None else float(held),
        float(hand.help_opening),
        bool(hand.wrist_rests),
    )


@lru_cache(maxsize=64)
def _rest(
    model: HandModel, factor: float, length_mm: float, gravity: float, finger: float, wrist: float, held: float | None,
    helped: float, rests: bool,
) -> Rest:
    toned = np.array([[finger, wrist]])
    start = first_guess(1)
    if held is not None:
        start[:, 0] = np.radians(held)
    constants = constants_of(model, factor, length_mm, gravity, helped, rests)
    return descend(constants, start, tone_drive(model, toned), tone=toned, wrist_held=held is not None)


def first_guess(n: int) -> Array:
    """A posture near that of a relaxed hand, n times."""
    return np.repeat(np.radians([_FIRST_GUESS_DEG]), n, axis=0)
