"""What drives the muscles of a scene's hand: the part that a current wakes, steady, and the person's own effort.

Stage ``driving``, after ``recruitment``. Untired and without time: ``drive = recruited share x fused pull``, of full force.
"""

from __future__ import annotations

import dataclasses

import numpy as np
from numpy.typing import NDArray

from graspwave.simulator import hand as mechanics
from graspwave.simulator import muscle
from graspwave.simulator.facts import number
from graspwave.simulator.field import finger_slips
from graspwave.simulator.recruitment import recruitment_curve
from graspwave.simulator.scene import Hand, Scene

__all__ = ["HAND_MUSCLES", "drive_of_hand", "effective_hand", "full_force_n", "hand_pools", "stimulated"]

Array = NDArray[np.float64]

HAND_MUSCLES = (
    "EDC", *mechanics.FREE_MUSCLES, "INT", "FDP", "FDS", "ECRL", "ECRB", "ECU", "FCR", "FCU", "PL", *mechanics.THUMB_MUSCLES
)
"""Muscles that move the hand of the model; the rest are recruited and pull, but have no joint here."""


def effective_hand(scene: Scene) -> Hand:
    """The hand of a scene less the mechanisms that the scene does without."""
    off, hand = scene.without_mechanisms, scene.hand
    if "tone" in off:
        hand = dataclasses.replace(hand, finger_tone=0.0, wrist_tone=0.0)
    if "length" in off:
        hand = dataclasses.replace(hand, flexor_length_factor=1.0)
    if "own_effort" in off:
        hand = dataclasses.replace(hand, own_opening=0.0, own_grip=0.0)
    if "reflex" in off:
        hand = dataclasses.replace(hand, reflex_gain=0.0)
    return hand


def stimulated(scene: Scene, amplitude_ma: Array) -> tuple[dict[str, Array], dict[str, Array]]:
    """Share recruited and steady drive of every muscle and of the finger extensor's slips, each (n,), for each current of the
    first channel."""
    recruited: dict[str, Array] = {}
    drive: dict[str, Array] = {}
    none = np.zeros_like(amplitude_ma)
    for index, channel in enumerate(scene.channel):
        at = amplitude_ma if index == 0 else np.full_like(amplitude_ma, channel.pulse.amplitude_ma)
        fused = muscle.steady_force_fraction(channel.train.frequency_hz)
        for name, share in recruitment_curve(scene, at, index, slips=True).items():
            fresh = share * (1.0 - recruited.get(name, none))
            recruited[name] = recruited.get(name, none) + fresh
            drive[name] = drive.get(name, none) + fresh * fused
    return recruited, drive


def hand_pools() -> tuple[str, ...]:
    """`HAND_MUSCLES` and the slips of the finger extensor."""
    return (*HAND_MUSCLES, *finger_slips())


def full_force_n(name: str) -> float:
    """Largest pull of a healthy adult's whole muscle, or of a slip of the finger extensor."""
    if name in finger_slips():
        whole = sum(number(f"recruitment.slip.{slip.lower()}.share") for slip in finger_slips())
        return number("architecture.edc.force_n") * number(f"recruitment.slip.{name.lower()}.share") / whole
    return number(f"architecture.{name.lower()}.force_n")


def drive_of_hand(
    drive: dict[str, Array], hand: Hand, n: int, *, time_s: Array | None = None
) -> dict[str, Array]:
    """Drives of the hand's muscles, the person's own effort added; no muscle pulls more than all of itself.

    Effort to open calls the extensors of all fingers alike, and with them the small muscles of the hand.

    With the times of the `n` drives, the own grip dies away once the person wants to let go.
    """
    grip: Array | float = hand.own_grip
    if time_s is not None and hand.own_grip_until_s is not None:
        grip = mechanics.grip_after_release(
            time_s, hand.own_grip_until_s, hand.own_grip, switch_off_s=hand.switch_off_s
        )
    along = number("hand.effort.intrinsics_share") * hand.own_opening
    slips = tuple(name for name in finger_slips() if name in drive)
    own = {"INT": along, "FDP": grip, "FDS": grip}
    own |= dict.fromkeys(("EDC", *mechanics.FREE_MUSCLES, *slips), hand.own_opening)
    called = {
        name: np.minimum(drive.get(name, np.zeros(n)) + own.get(name, 0.0), 1.0) for name in (*HAND_MUSCLES, *slips)
    }
    return {name: np.minimum(hand.strength * share, 1.0) for name, share in called.items()}
