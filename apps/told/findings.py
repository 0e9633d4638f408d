"""What a curve of opening against current says, in words; computed from the curve and nothing else."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from graspwave.simulator.clearing import clearing_ranges
from graspwave.simulator.facts import number
from graspwave.simulator.hand import claw_grades
from graspwave.simulator.run import Opening
from graspwave.simulator.words import Said, said

__all__ = [
    "Stretch", "bend_words", "claw_words", "finding", "fits_words", "least_words", "stretches", "tired_words", "wrist_words",
]

Array = NDArray[np.float64]

MOVED_MM = number("pages.seen.moved_mm")
"""Less than this is not told as a change of the opening."""


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


def finding(
    amplitude_ma: Array, opening_mm: Array, now_ma: float, object_name: str, object_mm: float, language: str = "en",
) -> str:
    """The title of the curve: what it shows at the present current; `object_name` is in the language too."""
    return _found(amplitude_ma, opening_mm, now_ma, object_name, object_mm).told(language)


def _found(amplitude_ma: Array, opening_mm: Array, now_ma: float, object_name: str, object_mm: float) -> Said:
    parts = stretches(amplitude_ma, opening_mm)
    widest = float(opening_mm.max())
    closing = next((p for p in parts if p.kind == "closes"), None)
    opens = next((p for p in parts if p.kind == "opens"), None)
    if opens is None:
        return said("curve.less" if closing else "curve.none")
    if closing and now_ma > closing.from_ma:
        return said("curve.closes", ma=closing.from_ma)
    if now_ma < opens.from_ma:
        return said("curve.starts", ma=opens.from_ma)
    fits = clearing_ranges(amplitude_ma, opening_mm, object_mm)
    if not fits:
        return said("curve.narrow", mm=_decimal(widest, 0 if round(widest) < round(object_mm) else 1), object=object_name)
    return said("curve.fits", ma=_decimal(math.ceil(10.0 * fits[0][0] - 1e-9) / 10.0, 1), object=object_name)


def _decimal(value: float, digits: int) -> Said:
    """A number with so many digits behind the language's own point."""
    return said(f"number.digits_{digits}", n=value)


def tired_words(fresh_mm: float, tired_mm: float) -> str:
    """What tiring does to the opening at one current; a wider one is told as what it is."""
    change = tired_mm - fresh_mm
    if abs(change) < MOVED_MM:
        return f"Tiring hardly changes the opening at this current: {fresh_mm:.0f} mm, at the end {tired_mm:.0f} mm."
    if change < 0.0:
        return f"At this current the hand opens {fresh_mm:.0f} mm fresh and {tired_mm:.0f} mm at the end."
    return (
        f"At this current the hand opens {fresh_mm:.0f} mm fresh and {tired_mm:.0f} mm at the end. That is no gain: the current "
        "is more than this hand wants, and as the muscles tire they pull less. Less current opens it as wide from the start."
    )


def least_words(from_ma: float) -> str:
    """Least current that clears, to a tenth, never less than it is."""
    return f"{math.ceil(10.0 * from_ma - 1e-9) / 10.0:.1f}"


def fits_words(ranges_ma: tuple[tuple[float, float], ...]) -> str:
    """Which currents clear the object, for its line on the curve; never more than it is."""
    if not ranges_ma:
        return "fits at no current"
    parts = [f"{least_words(low)} to {math.floor(10.0 * high + 1e-9) / 10.0:.1f}" for low, high in ranges_ma]
    return f"fits from {' and from '.join(parts)} mA"


def wrist_words(deg: float, language: str = "en") -> str:
    """Wrist angle as a person says it."""
    return _turned(deg, "back", "down").told(language)


def bend_words(deg: float, language: str = "en") -> str:
    """Angle of a finger joint as a person says it."""
    return _turned(deg, "past", "bent").told(language)


def _turned(deg: float, below: str, above: str) -> Said:
    if abs(deg) < 0.5:
        return said("curve.straight")
    return said(f"curve.{below if deg < 0 else above}", deg=abs(deg))


def claw_words(opening: Opening, i: int = 0) -> str:
    """Which fingers claw or begin to at one sample, and what that is; empty where none does."""
    grades = {finger: int(seen[i]) for finger, seen in claw_grades(opening.angle_deg).items()}
    plain, begins = ([finger for finger, grade in grades.items() if grade == n] for n in (2, 1))
    if plain:
        also = f", begins in {_fingers(begins, len(grades))}" if begins else ""
        return f"claw ({_fingers(plain, len(grades))}){also}: base joints past straight, middle joints bent"
    if not begins:
        return ""
    return f"begins to claw ({_fingers(begins, len(grades))}): base joints straight, middle joints start to bend"


def _fingers(names: list[str], of: int) -> str:
    return "all fingers" if len(names) == of else " and ".join(part for part in (", ".join(names[:-1]), names[-1]) if part)
