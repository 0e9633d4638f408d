"""Help from outside and from within: the other hand under the fingers, and a grip that is slow to let go.

Stage ``hand``. The push itself is part of the potential (`graspwave.simulator.hand.energy`); here is what to say about it.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from graspwave.simulator.facts import number
from graspwave.simulator.hand.parameters import HandLike, HandModel, scene_hand
from graspwave.simulator.hand.posture import Posture, equilibrium
from graspwave.simulator.words import said

__all__ = ["LETTING_GO", "grip_after_release", "help_force_n", "help_notices"]

Array = NDArray[np.float64]

LETTING_GO = ("paretic", "other hand", "healthy")
"""Whose grip lets go: the affected hand, the same person's other hand, a healthy person's."""


def help_force_n(hand: HandLike, *, model: HandModel | None = None) -> float:
    """Push of the other hand under the four fingertips [N] while they are bent."""
    return float(hand.help_opening) * (model or scene_hand()).helping.ceiling_n


def help_notices(
    hand: HandLike, posture: Posture | None = None, *, model: HandModel | None = None, language: str = "en"
) -> tuple[str, ...]:
    """What a person who helps with the other hand should be told.

    Parameters
    ----------
    hand : Hand
    posture : Posture, optional
        Where the hand is under that help, one row; by default at rest.
    model : HandModel, optional
    language : str, optional
        One of `graspwave.simulator.words.LANGUAGES`.

    Returns
    -------
    tuple of str
        Empty without help, or where little help is enough.
    """
    if hand.help_opening <= 0.0:
        return ()
    model = model or scene_hand()
    force, ceiling = help_force_n(hand, model=model), model.helping.ceiling_n
    found = []
    if hand.help_opening >= model.helping.notice_share:
        found.append(said("help.near_ceiling", force=force, ceiling=ceiling))
    posture = equilibrium(hand, {}, model=model) if posture is None else posture
    pip = float(posture.angle_deg["PIP"][0])
    if pip > model.helping.notice_pip_deg:
        found.append(said("help.stays_bent", pip=pip))
    return tuple(one.told(language) for one in found)


def grip_after_release(
    time_s: ArrayLike, released_s: float, own_grip: float, *, who: str = "paretic", switch_off_s: float | None = None
) -> Array:
    """Own drive of the flexors after the wish to let go.

    Parameters
    ----------
    time_s : array, shape (n,)
    released_s : float
        When the person wants to let go.
    own_grip : float
        Drive until then, share of full force.
    who : {"paretic", "other hand", "healthy"}
        Whose hand: published mean delays of 5.0, 1.6 and 0.4 s (seo-2009).
    switch_off_s : float, optional
        A delay in place of the published one, 0 or more.

    Returns
    -------
    ndarray, shape (n,)

    Raises
    ------
    ValueError
        Another name, or a delay below zero.

    Notes
    -----
    The grip stays, then falls along half a cosine whose middle is the published delay; how it falls is not published.
    """
    if who not in LETTING_GO:
        raise ValueError(f"'who' must be one of {', '.join(LETTING_GO)} (got '{who}')")
    if switch_off_s is not None and not (np.isfinite(switch_off_s) and switch_off_s >= 0.0):
        raise ValueError(f"'switch_off_s' must be 0 or more (got {switch_off_s})")
    delay = number(f"effort.letting_go.{who.replace(' ', '_')}_s") if switch_off_s is None else switch_off_s
    after = np.asarray(time_s, dtype=float) - released_s - delay
    fall = delay * number("effort.letting_go.fall_share")
    along = np.clip(after / fall + 0.5, 0.0, 1.0) if fall > 0.0 else np.where(after < 0.0, 0.0, 1.0)
    return np.asarray(own_grip * 0.5 * (1.0 + np.cos(np.pi * along)))
