"""Getting a tight hand ready: slow, gentle, repeated opening loosens passive tissue and calms tone, for a while.

Stage ``hand``. Nothing in here is lasting: high-certainty evidence finds no worthwhile lasting range from stretch.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache
from typing import TYPE_CHECKING

import numpy as np

from graspwave.simulator.facts import number
from graspwave.simulator.hand.parameters import HandModel, scene_hand

if TYPE_CHECKING:
    from graspwave.simulator.scene import Hand

__all__ = ["FACT_NAMES", "Readied", "readied", "readied_by"]

FACT_NAMES = (
    "readying.stretch.tension_fall", "readying.stretch.counted", "readying.stretch.early",
    "readying.stretch.early_share", "readying.stretch.half_time_min", "readying.calming.tone_fall",
    "readying.calming.stretches", "readying.calming.half_time_min",
)  # fmt: skip
"""Records that stand behind `readied`, for a page that shows them."""


@dataclass(frozen=True, slots=True)
class Readied:
    """What readying has changed.

    Attributes
    ----------
    tension_fall : float
        Share of the flexors' passive tension, at the same length, that is gone.
    tone_fall : float
        Share of resting tone and reflex that is gone.
    """

    tension_fall: float
    tone_fall: float


def readied_by(stretches: float, minutes_after: float = 0.0) -> Readied:
    """How much is loosened and calmed.

    Parameters
    ----------
    stretches : float
        Slow openings to the end of what is easy, each some 15 to 30 s; 0 or more.
    minutes_after : float
        Since the last one; 0 or more.

    Raises
    ------
    ValueError
        A number below zero.

    Notes
    -----
    Tension: ``1 - (1 - f)^(s(n) 2^(-t / T))``, ``s(n) = (1 - r^n) / (1 - r^10)``, with r such that four of ten stretches
    give 80 % (taylor-1990). Calm: ``c (1 - exp(-n / n_c)) 2^(-t / T_c)``. All of it recalled or chosen; see `FACT_NAMES`.
    A fast stretch does the opposite (it wakes the reflex) and is not in here.
    """
    for name, value in (("stretches", stretches), ("minutes_after", minutes_after)):
        if not (np.isfinite(value) and value >= 0.0):
            raise ValueError(f"'{name}' must be 0 or more (got {value})")
    kept = 0.5 ** (minutes_after / number("readying.stretch.half_time_min"))
    calm = 0.5 ** (minutes_after / number("readying.calming.half_time_min"))
    r = _ratio()
    share = (1.0 - r**stretches) / (1.0 - r ** number("readying.stretch.counted"))
    left = (1.0 - number("readying.stretch.tension_fall")) ** (share * kept)
    fall = number("readying.calming.tone_fall") * -np.expm1(-stretches / number("readying.calming.stretches"))
    return Readied(tension_fall=1.0 - left, tone_fall=float(fall * calm))


def readied(hand: Hand, stretches: float, minutes_after: float = 0.0, *, model: HandModel | None = None) -> Hand:
    """The hand after slow, gentle, repeated opening.

    Parameters
    ----------
    hand : Hand
    stretches, minutes_after : float
        As in `readied_by`.
    model : HandModel, optional

    Returns
    -------
    Hand
        Flexor length factor raised, tone and reflex gain lowered; all else as it was.

    Notes
    -----
    The passive curve is ``exp(k l)``, so a fall of tension by f at every length is the same as fibres longer by
    ``-ln(1 - f) / k``: the length factor grows by that times fibre over whole length, as FDP has them. A hand whose
    flexors have normal length gets no longer ones.

    Examples
    --------
    >>> from graspwave import simulator as sim
    >>> tight = sim.presets()["tight"].hand
    >>> sim.readied(tight, stretches=10).flexor_length_factor > tight.flexor_length_factor
    True
    """
    change = readied_by(stretches, minutes_after)
    fdp = (model or scene_hand()).fdp
    longer = -np.log1p(-change.tension_fall) / fdp.passive_rate * fdp.fibre_mm / fdp.unit_mm
    factor = max(hand.flexor_length_factor, min(1.0, hand.flexor_length_factor + float(longer)))
    calm = 1.0 - change.tone_fall
    return replace(
        hand, flexor_length_factor=factor, finger_tone=calm * hand.finger_tone, wrist_tone=calm * hand.wrist_tone,
        reflex_gain=calm * hand.reflex_gain,
    )  # fmt: skip


@cache
def _ratio() -> float:
    """What each stretch leaves of what is still to gain."""
    early, counted = number("readying.stretch.early"), number("readying.stretch.counted")
    share = number("readying.stretch.early_share")
    from scipy.optimize import brentq  # loads long, and is wanted once

    return float(brentq(lambda r: (1.0 - r**early) - share * (1.0 - r**counted), 1e-3, 0.999))
