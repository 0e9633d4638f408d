"""Where the opening, or the wrist, changes a great deal within a tenth of a milliampere: steep, or a true fold.

Stage ``folding``, after ``run``. Two postures can rest side by side for one current: then the hand goes over at one current
on the way up and comes back at another on the way down. That is a fold. Elsewhere a steep place becomes flat when looked
at closely enough. Both are told from the postures themselves, by walking from each side.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from graspwave.simulator import hand as mechanics
from graspwave.simulator.rising import risen
from graspwave.simulator.scene import Scene, setting

__all__ = ["STEP_MA", "Fold", "Steep", "folds", "steep_places"]

Array = NDArray[np.float64]

STEP_MA = 0.1
"""Step of current that is looked at."""

_CUT = 8
_CUTS = 3
_APART_MM, _APART_DEG = 1.0, 10.0  # two postures this much apart in opening or at the wrist at one current are two
_WRIST_DEG = 15.0  # turn of the wrist within a step that is looked at, however little the opening changes: a fist goes over too
_BACK_MA = 10.0  # how far down the way back is followed


@dataclass(frozen=True, slots=True)
class Steep:
    """A step of current over which the opening changes a great deal.

    Attributes
    ----------
    from_ma, to_ma : float
    change_mm : float
        Change of the opening over that step.
    finer_mm : tuple of float
        Largest change over a part of the step, when it is cut in 8, 64 and 512.
    apart_mm : float
        Largest difference of opening, at one current inside the step, between the way up and the way down.
    apart_deg : float
        The same of the wrist's angle.
    """

    from_ma: float
    to_ma: float
    change_mm: float
    finer_mm: tuple[float, ...]
    apart_mm: float
    apart_deg: float = 0.0

    @property
    def fold(self) -> bool:
        """Whether two postures rest side by side here."""
        return self.apart_mm > _APART_MM or self.apart_deg > _APART_DEG

    @property
    def shrinks(self) -> bool:
        """Whether the change falls in proportion to the step, at the latest at the finest cut: half as fast is allowed."""
        steps = (abs(self.change_mm), *self.finer_mm)
        return any(after <= 2.0 * before / _CUT for before, after in pairwise(steps))


@dataclass(frozen=True, slots=True)
class Fold:
    """A current at which the hand goes over into another posture.

    Attributes
    ----------
    rising_ma : float
        Where it goes over as current rises.
    before_mm, after_mm : float
        Opening just before and just after.
    wrist_deg : tuple of float
        Wrist just before and just after, bent down positive.
    falling_ma : float
        Where it comes back as current falls; the lowest current looked at if it has not by then.
    back_ma, back_mm : tuple of float
        The way back: currents, falling from `rising_ma` to `falling_ma`, and the opening at each. At the last one the hand
        has come back.
    """

    rising_ma: float
    before_mm: float
    after_mm: float
    falling_ma: float
    back_ma: tuple[float, ...] = ()
    back_mm: tuple[float, ...] = ()
    wrist_deg: tuple[float, float] = (0.0, 0.0)

    @property
    def last_there(self) -> tuple[float, float]:
        """Lowest current at which the hand still stands in its other posture, and the opening there."""
        return (self.back_ma[-2], self.back_mm[-2]) if len(self.back_ma) > 1 else (self.rising_ma, self.after_mm)


def steep_places(scene: Scene, change_mm: float = 3.0) -> tuple[Steep, ...]:
    """Steps of a tenth of a milliampere over which the steady opening changes by more than `change_mm`, and folds of the wrist.

    Parameters
    ----------
    scene : Scene
    change_mm : float
        Above 0.

    Raises
    ------
    ValueError
        A change that is not above 0.
    """
    if not (np.isfinite(change_mm) and change_mm > 0.0):
        raise ValueError(f"'change_mm' must be above 0 (got {change_mm})")
    current = _grid()
    gap, wrist = _risen(scene, current)
    found = []
    steep = np.abs(np.diff(gap)) > change_mm
    for i in (int(at) for at in np.flatnonzero(steep | (np.abs(np.diff(wrist)) > _WRIST_DEG))):
        low, high = float(current[i]), float(current[i + 1])
        finer, a, b = [], low, high
        for _ in range(_CUTS):
            cut = np.linspace(a, b, _CUT + 1)
            parts = np.abs(np.diff(_risen(scene, cut)[0]))
            finer.append(float(parts.max()))
            a, b = float(cut[int(np.argmax(parts))]), float(cut[int(np.argmax(parts)) + 1])
        inside = np.linspace(low, high, _CUT + 1)
        apart = np.abs(_walk(scene, inside) - _walk(scene, inside[::-1])[:, ::-1]).max(axis=1)
        place = Steep(low, high, float(gap[i + 1] - gap[i]), tuple(finer), float(apart[0]), float(apart[1]))
        if steep[i] or place.fold:
            found.append(place)
    return tuple(found)


def folds(scene: Scene, change_mm: float = 3.0, places: tuple[Steep, ...] | None = None) -> tuple[Fold, ...]:
    """Currents at which the hand goes over into another posture, for a page to mark on the curve.

    Parameters
    ----------
    scene : Scene
    change_mm : float
        Least change of the opening that counts.
    places : tuple of Steep, optional
        What `steep_places` found, where that is known already.

    Returns
    -------
    tuple of Fold
        In the order of rising current; empty for most hands.

    Examples
    --------
    >>> from graspwave import simulator as sim
    >>> all(fold.rising_ma >= fold.falling_ma for fold in sim.folds(sim.presets()["supple"]))
    True
    """
    found = []
    for place in steep_places(scene, change_mm) if places is None else places:
        if not place.fold:
            continue
        down = np.arange(place.to_ma, max(place.to_ma - _BACK_MA, 0.0) - 1e-9, -STEP_MA / 2.0)
        back, rest = _walk(scene, down), _risen(scene, down)
        alike = (np.abs(back - rest) < np.array([[_APART_MM], [_APART_DEG]])).all(axis=0)
        same = np.flatnonzero(alike & (down < place.from_ma + 1e-9))
        gap, wrist = _risen(scene, np.array([place.from_ma, place.to_ma]))
        last = int(same[0]) if same.size else down.size - 1
        found.append(Fold(
            rising_ma=place.to_ma, before_mm=float(gap[0]), after_mm=float(gap[1]), falling_ma=float(down[last]),
            back_ma=tuple(map(float, down[: last + 1])), back_mm=tuple(map(float, back[0, : last + 1])),
            wrist_deg=(float(wrist[0]), float(wrist[1])),
        ))
    return tuple(found)


def _grid() -> Array:
    low, high = setting("channel.0.pulse.amplitude_ma").range or (0.0, 60.0)
    return np.linspace(low, high, round((high - low) / STEP_MA) + 1)


def _risen(scene: Scene, current: Array) -> Array:
    """Opening [mm] and wrist [deg] at each current, (2, currents), every one risen to from nothing, as on the curve."""
    return _seen(risen(scene, current).asked)


def _walk(scene: Scene, current: Array) -> Array:
    """The same, every one from the posture before; the first risen to."""
    return _seen(risen(scene, current, onward=True).asked)


def _seen(asked: mechanics.Asked) -> Array:
    (posture,) = mechanics.equilibria([asked])
    return np.array([posture.opening_mm, posture.angle_deg["wrist"]])
