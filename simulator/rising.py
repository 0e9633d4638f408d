"""A current that rises from nothing -> where the hand stands at the end of it.

Stage ``rising``, after ``driving``. Every train begins with a rise, and a hand in which two postures can rest side by side at
one current comes to the one that the rise leads to. A posture is therefore asked for together with its way: the current
raised in steps from the hand at rest, each posture found from the one before.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from graspwave.simulator import hand as mechanics
from graspwave.simulator.driving import drive_of_hand, effective_hand, stimulated
from graspwave.simulator.scene import Scene, setting

__all__ = ["STEP_MA", "Risen", "risen"]

Array = NDArray[np.float64]

STEP_MA = 1.0
"""Step of the way up. Steps of 0.05 to 4 mA lead the hands of the presets to the same postures."""


class Risen(NamedTuple):
    """What is asked of the mechanics, and what it came from.

    Attributes
    ----------
    asked : Asked
        For `graspwave.simulator.hand.equilibria`; its postures are those at the currents.
    recruited, drive : dict of str to ndarray, shape (n,)
        As `driving.stimulated` gives them at the currents, before effort and tiring.
    """

    asked: mechanics.Asked
    recruited: dict[str, Array]
    drive: dict[str, Array]


def risen(scene: Scene, current_ma: Array, *, left: Mapping[str, float] | float = 1.0, onward: bool = False) -> Risen:
    """A scene's hand at each of n currents of the first channel, each risen to from nothing.

    Parameters
    ----------
    scene : Scene
        Checked. A second channel is there from the start, at its own current.
    current_ma : ndarray, shape (n,)
    left : float or mapping of str to float
        Share of the stimulated pull that tiring has left, of all muscles or by muscle.
    onward : bool
        The first current is risen to; every other posture starts from the one before, whichever way the current goes.

    Returns
    -------
    Risen

    Notes
    -----
    A rise is slow where the hand keeps up with it: in the tight hand a rise of half a second or more ends there, a current that
    comes within a fifth of a second may not (`tests/test_rising.py`).
    """
    top = current_ma[:1] if onward else current_ma
    way = _way(float(top.max(initial=0.0)))
    recruited, drive = stimulated(scene, np.concatenate([way, current_ma]))
    pulled = {m: pull * (left if isinstance(left, (int, float)) else left.get(m, 1.0)) for m, pull in drive.items()}
    hand, n = effective_hand(scene), way.size + current_ma.size
    since = np.arange(n) - 1
    if not onward:
        since[way.size :] = np.searchsorted(way, current_ma, side="right") - 1
    asked = mechanics.Asked(
        hand, drive_of_hand(pulled, hand, n), "slips" not in scene.without_mechanisms, mechanics.scene_hand(),
        since=since, way=way.size,
    )  # fmt: skip
    return Risen(
        asked, {m: share[way.size :] for m, share in recruited.items()}, {m: pull[way.size :] for m, pull in drive.items()}
    )


def _way(top_ma: float) -> Array:
    """Currents of the way up, 0 and on, none above the highest asked for nor above what can be set."""
    most = (setting("channel.0.pulse.amplitude_ma").range or (0.0, 60.0))[1]
    return STEP_MA * np.arange(int(min(top_ma, most) / STEP_MA) + 1, dtype=np.float64)
