"""One scene -> which finger holds the opening back because its own opener is less reached than another's, in millimetres.

Stage ``why``. Pads off a slip's place leave its finger bent while the others open, and a pot is barred by the least open
finger. A finger's share is the Shapley value of raising its slip of the finger extensor to the best reached slip, less what its
own extensor does in its place, with the wrist held where it is: the shares of four fingers add up to what reaching all slips
alike would give.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from graspwave.simulator import hand as mechanics
from graspwave.simulator.driving import drive_of_hand, effective_hand
from graspwave.simulator.hand import FINGERS, scene_hand
from graspwave.simulator.hand.parameters import HandLike
from graspwave.simulator.hand.posture import openings_mm
from graspwave.simulator.rising import risen
from graspwave.simulator.scene import Scene
from graspwave.simulator.shapley import shapley

__all__ = ["Lagging", "lagging_fingers", "lagging_of"]

Array = NDArray[np.float64]

_OWN = {"index": "EIP", "little": "EDM"}
_ALIKE = 1e-6
"""Fingers reached alike within so much of full pull leave nobody behind."""


@dataclass(frozen=True, slots=True)
class Lagging:
    """What each finger takes from the opening by being reached less than the best reached one.

    Attributes
    ----------
    lost_mm : dict of str to float
        By finger, above 0 where it holds the opening back; they add up to what all slips reached alike would give.
    reached : dict of str to float
        Pull of each finger's slip over that of the best reached slip, 0 to 1; an own extensor counts with its finger's slip.
    """

    lost_mm: dict[str, float] = field(default_factory=dict)
    reached: dict[str, float] = field(default_factory=dict)


def lagging_fingers(scene: Scene) -> Lagging:
    """Share out among the fingers what the opening lacks because slips of the finger extensor are not reached alike.

    Parameters
    ----------
    scene : Scene
        Looked at with its own amplitude, at rest and untired.

    Returns
    -------
    Lagging

    Notes
    -----
    All sixteen sets of fingers are one call of the equilibrium. Holding the wrist leaves out that a slip which is reached lifts
    the wrist too.

    Examples
    --------
    >>> from graspwave import simulator as sim
    >>> aside = sim.presets()["supple"].replace("channel.0.pads.along_percent", 35).replace("channel.0.pads.around_deg", 40)
    >>> found = sim.lagging_fingers(aside.replace("channel.0.pulse.amplitude_ma", 22))
    >>> max(found.lost_mm, key=found.lost_mm.get)
    'index'
    """
    way = risen(scene, np.array([scene.channel[0].pulse.amplitude_ma]))
    (now,) = mechanics.equilibria([way.asked])
    hand = effective_hand(scene)
    return lagging_of(hand, drive_of_hand(way.drive, hand, 1), "slips" not in scene.without_mechanisms, now)


def lagging_of(hand: HandLike, used: Mapping[str, Array], slack: bool, now: mechanics.Posture) -> Lagging:
    """As `lagging_fingers`, of a hand under a drive of one row; `now` is its posture."""
    model = scene_hand()
    slip, own = _pulls(used)
    best = float(slip.max())
    share = np.minimum(slip + own, best)
    reached = {finger: float(share[r] / best) if best > 0.0 else 1.0 for r, finger in enumerate(FINGERS)}
    if best - share.min() <= _ALIKE:
        return Lagging(dict.fromkeys(FINGERS, 0.0), reached)
    sets = np.arange(2 ** len(FINGERS))
    raised = {name: value.repeat(sets.size) for name, value in used.items()}
    for r, finger in enumerate(FINGERS):
        raised[_slip(finger)] = np.where((sets >> r) & 1 == 1, max(slip[r], best - own[r]), slip[r])
    (opening,) = openings_mm([mechanics.Asked(
        hand, raised, slack, model, now, wrist_held_deg=now.angle_deg["wrist"].repeat(sets.size)
    )])  # fmt: skip
    opening[0] = now.opening_mm[0]
    return Lagging(shapley(FINGERS, opening), reached)


def _slip(finger: str) -> str:
    return f"EDC_{finger.upper()}"


def _pulls(drive: Mapping[str, Array]) -> tuple[Array, Array]:
    """Pull of each finger's slip and of its own extensor, over the slip's full pull."""
    part, model = scene_hand().fingers, scene_hand()
    slip = np.array([float(drive[_slip(finger) if _slip(finger) in drive else "EDC"][0]) for finger in FINGERS])
    own = np.array([
        part.own_force_n[r] / (part.edc_force[r] * model.edc.force_n) * float(drive[_OWN[finger]][0]) if finger in _OWN else 0.0
        for r, finger in enumerate(FINGERS)
    ])
    return slip, own
