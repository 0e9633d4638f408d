"""What other arms say of a curve of opening: where eight in ten of them lie, in how many the hand opens wide enough or claws.

The arms are those of `lessons.arms`, invented within the stated ranges of the model's numbers. They are no patients, and a
count of them is nobody's chance.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from graspwave import simulator as sim
from graspwave.apps.told.scenes import without_amplitude
from graspwave.lessons.arm_curves import ARMS, arm_curves
from graspwave.lessons.spread import inside
from graspwave.simulator.answers import CURVE_MA
from graspwave.simulator.words import Said, has, said

__all__ = [
    "ARMS", "Arms", "arm_curves", "arms_of", "at_words", "curve_key", "drawn_words", "ever_words", "joined", "spoken_words",
]

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Arms:
    """Curves of other arms about one scene, at the currents of every curve.

    Attributes
    ----------
    opening_mm, claw : ndarray, shape (arms, currents)
    low_mm, high_mm : ndarray, shape (currents,)
        Between them eight in ten lie.
    """

    opening_mm: NDArray[np.float32]
    claw: NDArray[np.bool_]
    low_mm: Array
    high_mm: Array

    @property
    def of(self) -> int:
        """How many."""
        return len(self.opening_mm)

    def at(self, ma: float) -> tuple[Array, NDArray[np.bool_]]:
        """Opening of each at a current, straight between the points of its curve, and whether it claws at the nearest point."""
        k = int(np.clip(np.searchsorted(CURVE_MA, ma, side="right") - 1, 0, CURVE_MA.size - 2))
        share = float(np.clip((ma - CURVE_MA[k]) / (CURVE_MA[k + 1] - CURVE_MA[k]), 0.0, 1.0))
        opening = (1.0 - share) * self.opening_mm[:, k].astype(np.float64) + share * self.opening_mm[:, k + 1]
        return opening, self.claw[:, k + round(share)]

    def band_at(self, ma: float) -> tuple[float, float]:
        """Between what openings eight in ten lie at a current, on the drawn edges."""
        return float(np.interp(ma, CURVE_MA, self.low_mm)), float(np.interp(ma, CURVE_MA, self.high_mm))

    def first_ma(self, mm: float) -> Array:
        """The least current of the curve at which each that ever opens so wide does, (arms that do,)."""
        wide = self.opening_mm >= mm
        return np.asarray(CURVE_MA[np.argmax(wide, axis=1)[wide.any(axis=1)]])


def joined(pieces: Sequence[tuple[NDArray[np.float32], NDArray[np.bool_]]]) -> Arms:
    """All that was found piece by piece."""
    opening, claw = (np.concatenate(parts) for parts in zip(*pieces, strict=True))
    low, high = inside(opening.astype(np.float64))
    return Arms(opening, claw, low, high)


def arms_of(scene: sim.Scene, arms: int = ARMS) -> Arms:
    """The arms about a scene, all at once: for a process that does nothing else meanwhile."""
    return joined([arm_curves(curve_key(scene), range(1, arms + 1))])


def curve_key(scene: sim.Scene) -> sim.Scene:
    """The scene less all that no curve of opening depends on: another current, task or timing leaves the arms as they are."""
    plain = sim.Scene(hand=scene.hand, channel=without_amplitude(scene).channel)
    channels = tuple(replace(one, ramp=sim.Ramp(), timing=sim.Timing()) for one in plain.channel)
    return replace(plain, channel=channels, without_mechanisms=scene.without_mechanisms)


# ---- words

def at_words(arms: Arms, scene: sim.Scene, language: str = "en") -> list[str]:
    """At the scene's current: in how many arms there is room for its object, in how many it claws, where eight in ten lie; last
    that they are invented."""
    ma, mm = scene.channel[0].pulse.amplitude_ma, scene.task.diameter_mm
    opening, claw = arms.at(ma)
    low, high = arms.band_at(ma)
    own = f"object.{scene.task.object}"
    thing: Any = said(own) if has(own) else scene.task.object
    told = [
        said("arms.opens", ma=_ma(ma), mm=mm, object=thing, kept=_count(int(np.sum(opening >= mm)), arms.of),
             claws=_clawed(int(np.sum(claw)), arms.of)),
        said("arms.here" if round(high) > round(low) else "arms.alike", low=low, high=high),
        said("arms.invented"),
    ]
    return [one.told(language) for one in told]


def ever_words(arms: Arms, scene: sim.Scene, language: str = "en") -> list[str]:
    """In how many arms any current makes room for the object, and from what currents on."""
    mm = scene.task.diameter_mm
    first = arms.first_ma(mm)
    if not first.size:
        return [said("arms.never", of=arms.of, mm=mm).told(language)]
    low, high = (_half(float(edge)) for edge in inside(first))
    told = [said("arms.ever", mm=mm, kept=_count(first.size, arms.of))]
    if first.size > 1:
        told.append(said("arms.first", low=_ma(low), high=_ma(high)) if high else said("arms.rest"))
    return [one.told(language) for one in told]


def drawn_words(language: str = "en") -> str:
    """What the arms are drawn from, and what their number is not."""
    return said("arms.drawn").told(language)


def spoken_words(arms: Arms, ma: float) -> str:
    """Where eight in ten lie, for whoever does not see the band."""
    low, high = arms.band_at(ma)
    return said("arms.spoken", of=arms.of, low=low, high=high, ma=_ma(ma)).told("en")


def _count(n: int, of: int) -> Said:
    return said("arms.none" if n == 0 else "arms.all" if n == of else "arms.some", n=n, of=of)


def _clawed(n: int, of: int) -> Said:
    return said("arms.no_claw" if n == 0 else "arms.all_claw" if n == of else "arms.some_claw", n=n)


def _ma(ma: float) -> Said:
    """A current: whole, or with a tenth where it is set so."""
    return said("number.digits_1" if abs(ma - round(ma)) > 0.05 else "number.digits_0", n=float(ma))


def _half(ma: float) -> float:
    return round(2.0 * ma) / 2.0
