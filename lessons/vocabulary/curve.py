"""Steady answers of a hand to current: opening, angles, recruitment, and why two openings differ."""

from __future__ import annotations

import dataclasses
import difflib
from collections.abc import Sequence
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

from graspwave import simulator as sim
from graspwave.simulator import Clearing, Opening, Scene, SceneError, Sensation, Why
from graspwave.simulator.answers import ANSWER_SHARE, CURVE_MA, FINE_MA
from graspwave.simulator.hand.readying import Readied, readied_by
from graspwave.simulator.why import PARTS

from .memory import Store, warn, word
from .scenes import base_of, scene_of

__all__ = [
    "A", "PARTS", "advice", "ang", "best", "claws", "cleared", "eased", "fits", "felt", "from_ma", "i10", "i50", "i_at", "least",
    "limit", "mm", "oc", "pad", "pull", "rc", "recruited", "room", "share", "tension", "told_mm", "until_ma",
    "widest", "why", "why_most",
]

Array = NDArray[np.float64]
Value: TypeAlias = Any

A: Array = CURVE_MA
"""Currents of every curve, mA."""

_FINE = FINE_MA
_TOP_SHARE = 0.98
_CURVES, _RECRUITED, _WHY, _CLEARED = Store(256), Store(512), Store(256), Store(128)


@word
def oc(scene: Scene) -> Opening:
    """Opening of the hand at rest over all currents `A`, untired."""
    key = base_of(scene_of(scene))
    return _CURVES.get(key, lambda: sim.opening_curve(key, A))


@word
def widest(scene: Scene) -> float:
    """Widest opening at any current, mm."""
    return float(np.max(oc(scene).opening_mm))


@word
def best(scene: Scene) -> float:
    """Least current whose opening is within 2 % of the widest, mA; warns where that is the last one tried."""
    found = float(A[int(np.argmax(oc(scene).opening_mm >= _TOP_SHARE * widest(scene)))])
    if found >= A[-1]:
        warn(f"best current of '{_named(scene)}' lies at the end of the currents tried ({found:g} mA)")
    return found


@word
def from_ma(scene: Scene, share: float = 0.9) -> float:
    """Least current whose opening is this share of the widest, mA."""
    return float(A[int(np.argmax(oc(scene).opening_mm >= share * widest(scene)))])


@word
def until_ma(scene: Scene, share: float = 0.85, start: float = 0.9) -> float:
    """Last current of the stretch from ``from_ma(scene, start)`` on that keeps this share of the widest opening, mA."""
    opening = oc(scene).opening_mm
    first = int(np.argmax(opening >= start * widest(scene)))
    below = np.flatnonzero(opening[first:] < share * widest(scene))
    return float(A[first + int(below[0]) - 1]) if below.size else float(A[-1])


@word
def room(scene: Scene) -> float:
    """How many times its first good current a hand bears before a seventh of its opening is lost."""
    return until_ma(scene) / from_ma(scene)


@word
def mm(scene: Scene, amp: Any = None) -> Value:
    """Opening at a current, or at the scene's own, mm; an array for an array."""
    return _like(amp, _at(scene, amp).opening_mm)


@word
def ang(scene: Scene, joint: str, amp: Any = None) -> Value:
    """Angle of a joint (wrist, MCP, PIP, DIP, ...) at a current or the scene's own, degrees, bent positive."""
    angles = _at(scene, amp).angle_deg
    return _like(amp, angles[_one_of("joint", joint, angles)])


@word
def pull(scene: Scene, muscle: str, amp: Any = None) -> Value:
    """Steady force that current calls from a whole muscle, newtons, at a current or the scene's own."""
    force = _at(scene, amp).force_n
    return _like(amp, force[_one_of("muscle", muscle, force)])


@word
def tension(scene: Scene, muscle: str, amp: Any = None) -> Value:
    """Active and passive tension of a muscle that moves the hand, newtons, at a current or the scene's own."""
    found = _at(scene, amp).tension_n
    return _like(amp, found[_one_of("muscle", muscle, found)])


@word
def claws(scene: Scene, amp: Any = None) -> Value:
    """Whether the base joint is past straight with the middle joint bent over 20 degrees."""
    return _like(amp, _at(scene, amp).claw)


@word
def rc(scene: Any, amp: Any = None, phase: float | None = None) -> dict[str, Value]:
    """Share of every muscle that a current wakes, by muscle.

    ``rc(t, 20)`` at 20 mA, ``rc(t)`` over all of `A`, ``rc(40, 200)`` for 40 mA and 200 us on the supple hand.
    """
    if not isinstance(scene, Scene):
        from .scenes import lesson_scenes

        scene, amp, phase = lesson_scenes()["s"], scene, amp if phase is None else phase
    scene = scene_of(scene)
    if phase is not None:
        scene = scene(phase=phase)
    at = A if amp is None else amp
    return {name: _like(at, share) for name, share in _curves(scene, at).items()}


@word
def recruited(scene: Scene, muscle: str, amp: Any = None) -> Value:
    """Share of a muscle's axons that a current (or the scene's own) wakes."""
    found = rc(scene, _own(scene) if amp is None else amp)
    return found[_one_of("muscle", muscle, found)]


@word
def i_at(scene: Scene, muscle: str, share: float) -> float:
    """Current at which a muscle's recruited share reaches `share`, mA; 60 and a warning where none does."""
    curves = _curves(scene_of(scene), _FINE)
    curve = curves[_one_of("muscle", muscle, curves)]
    if not 0.0 < share < 1.0:
        raise SceneError("share", "more than 0 and less than 1", share)
    if curve[-1] < share:
        warn(f"{muscle} of '{_named(scene)}' is not recruited to {share:g} by {_FINE[-1]:g} mA")
        return float(_FINE[-1])
    return float(np.interp(share, curve, _FINE))


@word
def i50(scene: Scene, muscle: str) -> float:
    """Current that wakes half of a muscle, mA; 60 and a warning where none does."""
    return i_at(scene, muscle, 0.5)


@word
def i10(scene: Scene, muscle: str) -> float:
    """Current that wakes a tenth of a muscle, mA; 60 and a warning where none does."""
    return i_at(scene, muscle, ANSWER_SHARE)


@word
def why(before: Scene, after: Scene) -> Why:
    """The change of opening between two scenes, each at its own current, shared out among its causes."""
    one, two = scene_of(before), scene_of(after)
    return _WHY.get((one, two), lambda: sim.explain_opening(one, two))


@word
def share(found: Why, cause: str) -> float:
    """What one cause did to the opening, mm; 0 where it has no part. Causes are those of the simulator, tiring and reflex."""
    if not isinstance(found, Why):
        raise SceneError("share", "asked of why(a, b)", type(found).__name__, "write share(why(a, b), 'wrist')")
    _one_of("cause", cause, (*PARTS, "tiring", "reflex"))
    return float(found.shares.get(cause, 0.0))


@word
def told_mm(found: Why, cause: str | None = None) -> int:
    """The change of the opening, or what one cause did to it, as the picture of it tells: whole millimetres that add up."""
    if not isinstance(found, Why):
        raise SceneError("told_mm", "asked of why(a, b)", type(found).__name__, "write told_mm(why(a, b), 'wrist')")
    if cause is None:
        return found.told_total_mm
    _one_of("cause", cause, (*PARTS, "tiring", "reflex"))
    return found.told_mm.get(cause, 0)


@word
def why_most(found: Why) -> str:
    """The cause that did most of the change, in its own direction; empty where nothing changed."""
    if not found.shares:
        return ""
    sign = -1.0 if found.total_mm < 0.0 else 1.0
    return max(found.shares, key=lambda name: sign * found.shares[name])


@word
def cleared(scene: Scene, diameter: float | None = None, spare: float = 0.0) -> Clearing:
    """Currents that open the hand round an object, with room to spare, and what would help where none does."""
    chosen = scene_of(scene)
    return _CLEARED.get((chosen, diameter, spare), lambda: sim.clears(chosen, diameter, clearance_mm=spare))


@word
def least(scene: Scene, diameter: float | None = None, spare: float = 0.0) -> float:
    """Least current that opens the hand round an object, mA; infinite where none does."""
    found = cleared(scene, diameter, spare).least_ma
    return float("inf") if found is None else found


@word
def advice(scene: Scene, diameter: float | None = None, spare: float = 0.0) -> tuple[str, ...]:
    """Sentences on what helped when it was tried, where no current clears the object."""
    return tuple(entry.words for entry in cleared(scene, diameter, spare).advice)


@word
def fits(scene: Scene, diameters: Any, spare: float = 0.0) -> Value:
    """Which of the diameters fit, with room to spare, at the best current: true or false for one, a list for several."""
    width = widest(scene)
    if isinstance(diameters, (int, float)):
        return diameters + spare <= width
    return [size for size in diameters if size + spare <= width]


@word
def felt(scene: Scene) -> tuple[float, float] | None:
    """Band of current in which a pulse is first felt, mA: recalled and unsure; nothing under contacts that are too small."""
    return _sensed(scene).felt_ma


@word
def limit(scene: Scene) -> tuple[float, float] | None:
    """Band of current of most people's limit, mA: recalled and unsure, no advice."""
    return _sensed(scene).discomfort_ma


@word
def eased(stretches: float, after: float = 0.0) -> Readied:
    """What slow stretches do for a while: `tension_fall` and `tone_fall`, shares that are gone, so many minutes after."""
    return readied_by(stretches, after)


@word
def pad(scene: Scene, muscle: str, along: Sequence[float], level: float = ANSWER_SHARE) -> float:
    """Which of these places along the forearm calls a muscle with least current, per cent."""
    chosen = scene_of(scene)
    return float(min(along, key=lambda at: i_at(chosen(along=at), muscle, level)))


def _sensed(scene: Scene) -> Sensation:
    return sim.sensation_levels(scene_of(scene))


def _at(scene: Scene, amp: Any) -> Opening:
    """The hand at one current or several; from the curve where all are on its grid."""
    key = base_of(scene_of(scene))
    at = np.atleast_1d(np.asarray(_own(scene) if amp is None else amp, dtype=np.float64))
    on_grid = np.round(2.0 * at) / 2.0
    if at.ndim == 1 and np.all((at == on_grid) & (at >= 0.0) & (at <= A[-1])):
        return _rows(oc(key), (2.0 * on_grid).astype(np.intp))
    return _CURVES.get((key, at.tobytes()), lambda: sim.opening_curve(key, at))


def _rows(curve: Opening, rows: NDArray[np.intp]) -> Opening:
    def taken(value: Any) -> Any:
        return {name: part[rows] for name, part in value.items()} if isinstance(value, dict) else value[rows]

    return Opening(**{field.name: taken(getattr(curve, field.name)) for field in dataclasses.fields(curve)})


def _curves(scene: Scene, amp: ArrayLike) -> dict[str, Array]:
    key = base_of(scene)
    at = np.atleast_1d(np.asarray(amp, dtype=np.float64))
    return _RECRUITED.get((key, at.tobytes()), lambda: sim.recruitment_curve(key, at))


def _own(scene: Scene) -> float:
    return scene_of(scene).channel[0].pulse.amplitude_ma


def _like(amp: Any, values: NDArray[Any]) -> Value:
    """One plain number where one current was given, else the array."""
    if amp is None or np.ndim(amp) == 0:
        return values[0].item()
    return values


def _named(scene: Scene) -> str:
    return scene.title


def _one_of(what: str, name: object, known: Any) -> str:
    """`name` if it is known, or the error that says what is."""
    if isinstance(name, str) and name in known:
        return name
    near = difflib.get_close_matches(str(name), list(known), 1, 0.5)
    raise SceneError(what, "one of " + ", ".join(known), name, f"did you mean {near[0]}?" if near else "")
