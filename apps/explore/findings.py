"""What a curve of opening against current says, in words; computed from the curve and nothing else."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["Stretch", "bend_words", "finding", "stretches", "wrist_words"]

Array = NDArray[np.float64]

MOVED_MM = 2.0
"""Less than this is not told as a change of the opening: about what a viewer can see on a projector."""


@dataclass(frozen=True, slots=True)
class Stretch:
    """A part of the curve: ``shut``, ``opens``, ``steady`` or ``closes``, from one current to another [mA]."""

    kind: str
    from_ma: float
    to_ma: float

    @property
    def words(self) -> str:
        """Label on the line."""
        return {"shut": "not yet", "opens": "opens", "steady": "stays open", "closes": "closes again"}[self.kind]


def stretches(amplitude_ma: Array, opening_mm: Array) -> tuple[Stretch, ...]:
    """Parts of the curve in order: as it rests, rising to the widest, and what comes after.

    Parameters
    ----------
    amplitude_ma, opening_mm : ndarray, shape (n,)
    """
    widest = int(np.argmax(opening_mm))
    rest, top, last = opening_mm[0], opening_mm[widest], opening_mm[-1]
    if np.ptp(opening_mm) < MOVED_MM:
        return (Stretch("shut", float(amplitude_ma[0]), float(amplitude_ma[-1])),)
    parts = []
    if top - rest >= MOVED_MM:
        start = int(np.argmax(opening_mm >= rest + MOVED_MM))
        near = int(np.argmax(opening_mm >= top - MOVED_MM))
        parts += [("shut", 0, start), ("opens", start, max(near, start + 1))]
    after = parts[-1][2] if parts else 0
    if top - last < MOVED_MM:
        parts.append(("steady", after, len(amplitude_ma) - 1))
    else:
        below = np.nonzero(opening_mm[widest:] < top - MOVED_MM)[0]
        turn = widest + int(below[0]) if below.size else len(amplitude_ma) - 1
        parts += [("steady", after, turn), ("closes", turn, len(amplitude_ma) - 1)]
    return tuple(
        Stretch(kind, float(amplitude_ma[a]), float(amplitude_ma[b])) for kind, a, b in parts if b > a
    )


def finding(amplitude_ma: Array, opening_mm: Array, now_ma: float, object_name: str, object_mm: float) -> str:
    """The title of the curve: what it shows at the present current."""
    parts = stretches(amplitude_ma, opening_mm)
    widest = float(opening_mm.max())
    closing = next((p for p in parts if p.kind == "closes"), None)
    kinds = {p.kind for p in parts}
    if "opens" not in kinds:
        if closing:
            return "More current, less opening"
        return "No current here opens this hand"
    if closing and now_ma > closing.from_ma:
        return f"Past {closing.from_ma:.0f} mA the hand closes again"
    opens = next(p for p in parts if p.kind == "opens")
    if now_ma < opens.from_ma:
        return f"The hand starts to open at {opens.from_ma:.0f} mA"
    if widest < object_mm - 0.5:  # what a whole millimetre shows as narrower
        return f"At its widest, {widest:.0f} mm: too narrow for the {object_name}"
    clears = float(amplitude_ma[int(np.argmax(opening_mm >= object_mm - 0.5))])
    return f"The {object_name} fits from {clears:.0f} mA"


def wrist_words(deg: float) -> str:
    """Wrist angle as a person says it."""
    if abs(deg) < 0.5:
        return "0° straight"
    return f"{abs(deg):.0f}° {'back' if deg < 0 else 'down'}"


def bend_words(deg: float) -> str:
    """Angle of a finger joint as a person says it."""
    if abs(deg) < 0.5:
        return "0° straight"
    return f"{abs(deg):.0f}° {'past straight' if deg < 0 else 'bent'}"
