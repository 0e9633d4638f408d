"""One scene -> which finger holds the opening back because its own opener is less reached than another's, in millimetres.

Stage ``why``. Pads off a slip's place leave its finger bent while the others open, and a pot is barred by the least open
finger. A finger's share is the Shapley value of raising its slip of the finger extensor, and its own extensor, to what the best
reached finger has, with the wrist held where it is: the shares of four fingers add up to what reaching all alike would give.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from graspwave.simulator import hand as mechanics
from graspwave.simulator.hand import FINGERS, scene_hand
from graspwave.simulator.run import drive_of_hand, effective_hand, stimulated
from graspwave.simulator.scene import Scene
from graspwave.simulator.shapley import shapley

__all__ = ["Lagging", "lagging_fingers"]

Array = NDArray[np.float64]

_OWN = {"index": "EIP", "little": "EDM"}
_ALIKE = 1e-6
"""Openers reached alike within so much of full pull leave nobody behind."""


@dataclass(frozen=True, slots=True)
class Lagging:
    """What each finger takes from the opening by being reached less than the best reached one.

    Attributes
    ----------
    lost_mm : dict of str to float
        By finger, 0 or more where it holds the opening back; they add up to what all reached alike would give.
    reached : dict of str to float
        Pull of each finger's openers over what it would be were they reached as the best finger's, 0 to 1.
    """

    lost_mm: dict[str, float] = field(default_factory=dict)
    reached: dict[str, float] = field(default_factory=dict)


def lagging_fingers(scene: Scene) -> Lagging:
    """Share out among the fingers what the opening lacks because their slips are not reached alike.

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
    hand, model = effective_hand(scene), scene_hand()
    _, drive = stimulated(scene, np.array([scene.channel[0].pulse.amplitude_ma]))
    used = drive_of_hand(drive, hand, 1)
    full, pull = _openers(used)
    share = np.array([pull[r] @ full[r] / full[r].sum() for r in range(len(FINGERS))])
    best = float(share.max())
    reached = {finger: float(share[r] / best) if best > 0.0 else 1.0 for r, finger in enumerate(FINGERS)}
    if best - share.min() <= _ALIKE:
        return Lagging(dict.fromkeys(FINGERS, 0.0), reached)
    slack = "slips" not in scene.without_mechanisms
    now = mechanics.equilibrium(hand, used, slips_slack=slack, model=model)
    sets = np.arange(2 ** len(FINGERS))
    raised = {name: value.repeat(sets.size) for name, value in used.items()}
    for r, finger in enumerate(FINGERS):
        passed = (sets >> r) & 1 == 1
        for name, own in zip(_names(finger), pull[r], strict=True):
            raised[name] = np.where(passed, max(float(own), best), float(own))
    there = mechanics.equilibrium(
        hand, raised, slips_slack=slack, model=model, start=now, wrist_held_deg=now.angle_deg["wrist"].repeat(sets.size)
    )
    opening = there.opening_mm.copy()
    opening[0] = now.opening_mm[0]
    return Lagging(shapley(FINGERS, opening), reached)


def _names(finger: str) -> tuple[str, ...]:
    slip = f"EDC_{finger.upper()}"
    return (slip, _OWN[finger]) if finger in _OWN else (slip,)


def _openers(drive: dict[str, Array]) -> tuple[list[Array], list[Array]]:
    """Full force [N] and drive of each finger's slip and own extensor."""
    part = scene_hand().fingers
    full, pull = [], []
    for r, finger in enumerate(FINGERS):
        force = (part.edc_force[r] * scene_hand().edc.force_n, part.own_force_n[r])
        names = _names(finger)
        full.append(np.array(force[: len(names)]))
        pull.append(np.array([float(drive[name if name in drive else "EDC"][0]) for name in names]))
    return full, pull
