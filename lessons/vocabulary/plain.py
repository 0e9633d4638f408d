"""Dose, grades, facts, choosing between choices, and plain arithmetic."""

from __future__ import annotations

import difflib
from collections.abc import Callable, Iterable, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from graspwave import simulator as sim
from graspwave.simulator import Dose, Scene, SceneError

from .memory import warn, word
from .scenes import scene_of, short_names

__all__ = [
    "charge", "density", "dose", "each", "fact", "grade", "largest", "mean", "most_at", "pulses", "rank", "rms", "smallest",
    "span", "steps",
]

Array = NDArray[np.float64]

_MOST = 1000


@word
def dose(scene: Scene, channel: int = 0) -> Dose:
    """Dose of one channel at full amplitude, and of its session."""
    chosen = scene_of(scene)
    held = [(0.0, 60.0 * chosen.session.minutes)] if chosen.channel[channel].timing.control == "held" else None
    return sim.dose_of(chosen, channel, held=held)


@word
def charge(scene: Scene) -> float:
    """Charge of the first phase, uC."""
    return dose(scene).charge_uc


@word
def rms(scene: Scene) -> float:
    """Root mean square of the current during steady stimulation, mA."""
    return dose(scene).rms_ma


@word
def density(scene: Scene) -> float:
    """Root mean square of the current over the area of contact of one pad, mA/cm2."""
    return dose(scene).rms_density_ma_cm2


@word
def pulses(scene: Scene) -> int:
    """Pulses of the session, all channels."""
    chosen = scene_of(scene)
    return sum(dose(chosen, channel).session_pulses for channel in range(len(chosen.channel)))


@word
def grade(text: str) -> float:
    """School grade of an English text; it counts length, not sense."""
    from graspwave.lessons.readability import grade as grade_of

    return grade_of(text)


@word
def fact(name: str) -> Any:
    """Value of a record of the simulator by its dotted name: a number, or several, or text."""
    found = sim.all_facts()
    if name not in found:
        near = difflib.get_close_matches(name, found, 1, 0.5)
        raise SceneError("fact", "the name of a record of the simulator", name, f"did you mean {near[0]}?" if near else "")
    return found[name].value


@word
def largest(**values: Any) -> str:
    """Key of the largest value: ``largest(A=1, B=2)`` is "B". Warns where the first two are alike."""
    return _ends(values, -1.0)


@word
def smallest(**values: Any) -> str:
    """Key of the smallest value. Warns where the first two are alike."""
    return _ends(values, 1.0)


@word
def rank(**values: Any) -> tuple[str, ...]:
    """Keys by rising value."""
    return tuple(sorted(values, key=lambda key: float(values[key])))


@word
def mean(values: Iterable[Any]) -> float:
    """Arithmetic mean."""
    return float(np.mean([float(value) for value in values]))


@word
def span(low: float, high: float, count: int = 61) -> Array:
    """So many evenly spaced numbers from `low` to `high`."""
    if not 1 <= count <= _MOST:
        raise SceneError("count", f"1 to {_MOST}", count)
    return np.linspace(low, high, int(count))


@word
def steps(low: float, high: float, step: float) -> Array:
    """Numbers from `low` to `high`, both included, `step` apart."""
    count = round((high - low) / step) + 1 if step else 0
    if not 1 <= count <= _MOST:
        raise SceneError("step", f"one that gives 1 to {_MOST} numbers", step)
    return np.asarray(low + step * np.arange(count), dtype=np.float64)


@word
def each(what: Callable[..., Any], scene: Scene, *rest: Any, **setting: Any) -> Array:
    """One word of the vocabulary for each value of one setting: ``each(mm, t(amp=20), wrist=span(60, -60, 13))``.

    What follows the scene is handed on: ``each(i10, s, 'EDC', along=(20, 30, 40))``.
    """
    if len(setting) != 1:
        raise SceneError("each", "given one setting and its values", f"{len(setting)} settings", "write wrist=(0, 20, 40)")
    name, values = next(iter(setting.items()))
    if name not in short_names():
        raise SceneError(name, "a short name of a setting", "unknown name")
    if isinstance(values, str) or not isinstance(values, (Sequence, np.ndarray)) or len(values) > _MOST:
        raise SceneError(name, "a list of values", values)
    chosen = scene_of(scene)
    plain = [value.item() if isinstance(value, np.generic) else value for value in values]
    return np.array([float(what(chosen(**{name: value}), *rest)) for value in plain])


@word
def most_at(what: Callable[..., Any], scene: Scene, *rest: Any, **setting: Any) -> Any:
    """Value of a setting at which a word of the vocabulary is largest: ``most_at(mm, t(amp=20), along=(40, 50, 60))``."""
    found = each(what, scene, *rest, **setting)
    values = next(iter(setting.values()))
    value = values[int(np.argmax(found))]
    return value.item() if isinstance(value, np.generic) else value


def _ends(values: dict[str, Any], sign: float) -> str:
    if not values:
        raise SceneError("values", "at least one", "none", "write largest(A=1, B=2)")
    order = sorted(values, key=lambda key: sign * float(values[key]))
    if len(order) > 1 and abs(float(values[order[0]]) - float(values[order[1]])) < 1e-9:
        warn(f"{order[0]} and {order[1]} are alike ({float(values[order[0]]):g})")
    return order[0]
