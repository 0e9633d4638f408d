"""What is marked on the opening curve after a second look: where the hand goes over, and what would help. No Panel here.

It takes seconds, so a page has it done in a process of its own: ``python -m graspwave.apps.told.marks`` reads a scene
as TOML and writes what it found as JSON.
"""

from __future__ import annotations

import dataclasses
import json
import os
import sys
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from graspwave import simulator as sim
from graspwave.simulator.folding import STEP_MA, Fold, Steep, folds, steep_places

__all__ = ["Help", "Marks", "Turn", "find_marks", "marks_from", "marks_text", "turn_words", "with_folds"]

Array = NDArray[np.float64]

_WRIST_DEG = 20.0
"""Turn of the wrist from which a fold is told by it too."""

_WIDE_MA = 1.0
"""Width from which it is told that both of its postures are there for a whole stretch of currents."""


@dataclass(frozen=True, slots=True)
class Turn:
    """A stretch of steep steps that is no fold: one posture that turns fast.

    Attributes
    ----------
    from_ma, to_ma : float
    change_mm : float
        Change of the opening over it.
    """

    from_ma: float
    to_ma: float
    change_mm: float


@dataclass(frozen=True, slots=True)
class Help:
    """One change that was tried because no current clears the object.

    Attributes
    ----------
    words : str
        What it does, with the opening that was worked out.
    settings : dict of str to object
        By path: what it changes in the scene.
    fits_ma : tuple of (float, float)
        Currents that then clear the object.
    """

    words: str
    settings: dict[str, Any]
    fits_ma: tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class Marks:
    """What a second look at a curve found."""

    folds: tuple[Fold, ...]
    turns: tuple[Turn, ...]
    helps: tuple[Help, ...]


def find_marks(scene: sim.Scene) -> Marks:
    """Look closer at the curve of a scene; up to some seconds.

    Parameters
    ----------
    scene : Scene
    """
    places = steep_places(scene)
    helps = tuple(
        Help(advice.words, _changed(scene, advice.scene), advice.ranges_ma) for advice in sim.clears(scene).advice
    )
    return Marks(folds(scene, places=places), _turns(places), helps)


def _turns(places: tuple[Steep, ...]) -> tuple[Turn, ...]:
    """Steep steps that are no folds, neighbours taken together."""
    found: list[Turn] = []
    for place in places:
        if place.fold:
            continue
        last = found[-1] if found else None
        if last and abs(last.to_ma - place.from_ma) < 1e-6 and last.change_mm * place.change_mm > 0.0:
            found[-1] = Turn(last.from_ma, place.to_ma, last.change_mm + place.change_mm)
        else:
            found.append(Turn(place.from_ma, place.to_ma, place.change_mm))
    return tuple(found)


def _changed(before: object, after: object, path: str = "") -> dict[str, Any]:
    """Settings that differ between two scenes, by path."""
    if isinstance(before, tuple) and isinstance(after, tuple) and len(before) == len(after):
        pairs = [(str(i), a, b) for i, (a, b) in enumerate(zip(before, after, strict=True))]
    elif dataclasses.is_dataclass(before):
        pairs = [(f.name, getattr(before, f.name), getattr(after, f.name)) for f in dataclasses.fields(before)]
    else:
        return {} if before == after else {path: after}
    found: dict[str, Any] = {}
    for name, a, b in pairs:
        found.update(_changed(a, b, f"{path}.{name}" if path else name))
    return found


def with_folds(current_ma: Array, opening_mm: Array, found: Iterable[Fold]) -> tuple[Array, Array]:
    """The curve with every fold where it is, upright, not aslant between two points of the curve.

    Parameters
    ----------
    current_ma, opening_mm : ndarray, shape (n,)
    found : iterable of Fold
    """
    x, y = current_ma, opening_mm
    for fold in found:
        i = int(np.searchsorted(x, fold.rising_ma - 0.5 * STEP_MA))
        x = np.insert(x, i, [fold.rising_ma - STEP_MA, fold.rising_ma])
        y = np.insert(y, i, [fold.before_mm, fold.after_mm])
    order = np.argsort(x, kind="stable")
    return x[order], y[order]


def _bent(wrist_deg: float) -> str:
    return f"{abs(wrist_deg):.0f} degrees {'bent down' if wrist_deg > 0.0 else 'back'}"


def _between(fold: Fold) -> str:
    if fold.rising_ma - fold.falling_ma < _WIDE_MA:
        return ""
    return (" In between it can rest in either; shown is where a current leads that rises from nothing, in half a second or "
            "more. One that is there at once may lead to the other.")


def turn_words(marks: Marks) -> list[str]:
    """Folds and steep places as sentences, in the order of rising current; one sentence where there are none."""
    said = []
    for fold in marks.folds:
        way = "closes" if fold.after_mm < fold.before_mm else "opens"
        how = f"and {way} at once, from {fold.before_mm:.0f} to {fold.after_mm:.0f} mm"
        if abs(fold.wrist_deg[1] - fold.wrist_deg[0]) > _WRIST_DEG:
            how += f"; its wrist turns from {_bent(fold.wrist_deg[0])} to {_bent(fold.wrist_deg[1])}"
        said.append((fold.rising_ma, (
            f"At {fold.rising_ma:.1f} mA the hand goes over into another posture {how}. As current falls it comes back at "
            f"{fold.falling_ma:.1f} mA.{_between(fold)}")))
    said += [(turn.from_ma, (
        f"From {turn.from_ma:.1f} to {turn.to_ma:.1f} mA the opening {'falls' if turn.change_mm < 0 else 'grows'} by "
        f"{abs(turn.change_mm):.0f} mm: steep, but one posture.")) for turn in marks.turns]
    if not said:
        return ["The opening changes little by little: this hand goes over into no other posture."]
    return [words for _, words in sorted(said)]


def marks_text(marks: Marks) -> str:
    """Marks as JSON."""
    return json.dumps(dataclasses.asdict(marks))


def _fold(read: dict[str, Any]) -> dict[str, Any]:
    return {key: tuple(value) if isinstance(value, list) else value for key, value in read.items()}


def marks_from(text: str) -> Marks:
    """Marks from JSON, as `marks_text` writes it."""
    read = json.loads(text)
    return Marks(
        folds=tuple(Fold(**_fold(f)) for f in read["folds"]),
        turns=tuple(Turn(**t) for t in read["turns"]),
        helps=tuple(Help(h["words"], h["settings"], tuple((a, b) for a, b in h["fits_ma"])) for h in read["helps"]),
    )


if __name__ == "__main__":
    if hasattr(os, "nice"):
        os.nice(10)  # the page's own work comes first
    sys.stdout.write(marks_text(find_marks(sim.Scene.loads(sys.stdin.read()))))
