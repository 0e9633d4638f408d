"""Scene and object -> the least current that clears the object, the ranges that do, and what would help if none does.

Stage ``clearing``, after ``run``. Nothing is advised that has not been tried: every piece of advice is the scene with one
thing changed, run through the chain.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from graspwave.simulator import show
from graspwave.simulator.facts import number
from graspwave.simulator.hand import help_force_n, readied
from graspwave.simulator.results import Result
from graspwave.simulator.run import opening_curve, simulate
from graspwave.simulator.scene import Scene, SceneError, setting
from graspwave.simulator.words import Said, said

__all__ = ["HELPS", "Advice", "Clearing", "clearing_ranges", "clears"]

Array = NDArray[np.float64]

AMPLITUDE = "channel.0.pulse.amplitude_ma"

HELPS = ("wrist lower", "pads moved", "gentle start", "ready first", "other hand", "smaller object")
"""What can be tried, in the order in which equals are told."""


@dataclass(frozen=True, slots=True)
class Advice:
    """One change that was tried.

    Attributes
    ----------
    what : str
        One of `HELPS`.
    said : Said
        One sentence for a person, in any language of the catalogue; `words` tells it in English.
    scene : Scene
        The scene with the change; for a smaller object its diameter is changed.
    widest_mm : float
        Widest opening then, at any current; of a gentle start, in motion at the current of the widest opening.
    gain_mm : float
        Against the scene as it was.
    ranges_ma : tuple of (float, float)
        Currents that then clear the object.
    """

    what: str
    said: Said
    scene: Scene
    widest_mm: float
    gain_mm: float
    ranges_ma: tuple[tuple[float, float], ...]

    @property
    def words(self) -> str:
        """The sentence in English."""
        return self.said.told("en")


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class Clearing(Result):
    """Which currents open the hand round an object.

    Attributes
    ----------
    diameter_mm : float
    least_ma : float or None
        Least current that clears it; none where no current does.
    ranges_ma : tuple of (float, float)
        Currents that clear it, from and to, rising; empty where none does.
    widest_mm, widest_at_ma : float
        Widest opening, and where.
    advice : tuple of Advice
        Where no current clears: what helped when it was tried, first what clears the object, then by gain.
    """

    diameter_mm: float
    least_ma: float | None
    ranges_ma: tuple[tuple[float, float], ...]
    widest_mm: float
    widest_at_ma: float
    advice: tuple[Advice, ...]

    def _said(self) -> list[str]:
        ranges = ", ".join(f"{low:.1f} to {high:.1f} mA" for low, high in self.ranges_ma)
        return [
            f"Currents that open the hand round {self.diameter_mm:g} mm: {ranges or 'none'}",
            f"widest {self.widest_mm:.1f} mm at {self.widest_at_ma:.1f} mA",
            "; ".join(advice.words for advice in self.advice[:3]) or "no advice was asked for or needed",
        ]

    def _drawn(self, figure: Any, **look: Any) -> Any:
        rows = [(f"{self.diameter_mm:g} mm", low, high) for low, high in self.ranges_ma]
        rows = rows or [(f"{self.diameter_mm:g} mm", 0.0, 0.0)]
        return show.spans("Currents that clear the object", "Current [mA]", rows, figure, **look)

    def _columns(self) -> Mapping[str, Any]:
        return {"from [mA]": [low for low, _ in self.ranges_ma], "to [mA]": [high for _, high in self.ranges_ma]}


def clears(scene: Scene, diameter_mm: float | None = None, *, clearance_mm: float = 0.0, advise: bool = True) -> Clearing:
    """Currents of the first channel that open the hand wider than an object.

    Parameters
    ----------
    scene : Scene
    diameter_mm : float, optional
        Of a cylinder or ball; the scene's task if not given.
    clearance_mm : float
        Room to spare that is asked for.
    advise : bool
        Try what would help where no current clears.

    Returns
    -------
    Clearing

    Raises
    ------
    SceneError
        A diameter or clearance that cannot be.

    Notes
    -----
    The opening of `opening_curve`: steady and untired, at currents over the setting's whole range in steps of half a
    milliampere, linear between them. So a range narrower than a step may be missed, and a hand that tires loses some.

    Examples
    --------
    >>> from graspwave import simulator as sim
    >>> found = sim.clears(sim.presets()["supple"], 30.0, advise=False)
    >>> found.least_ma is not None and found.widest_mm > 30.0
    True
    """
    size = scene.task.diameter_mm if diameter_mm is None else float(diameter_mm)
    for name, value, rule in (("diameter_mm", size, "more than 0"), ("clearance_mm", clearance_mm, "0 or more")):
        if not (np.isfinite(value) and value >= 0.0) or (name == "diameter_mm" and value == 0.0):
            raise SceneError(name, rule, value)
    need = size + clearance_mm
    current, gap = _curve(scene)
    ranges = clearing_ranges(current, gap, need)
    top = int(np.argmax(gap))
    found = Clearing(
        diameter_mm=size, least_ma=ranges[0][0] if ranges else None, ranges_ma=ranges, widest_mm=float(gap[top]),
        widest_at_ma=float(current[top]), advice=(),
    )
    if ranges or not advise:
        return found
    worth = number("clearing.tried.worth_mm")
    told = [a for a in _tried(scene, found, need, clearance_mm) if a.gain_mm >= worth or a.what == "smaller object"]
    told.sort(key=lambda a: (not a.ranges_ma, a.what == "smaller object", -a.gain_mm, HELPS.index(a.what)))
    return dataclasses.replace(found, advice=tuple(told))


def _curve(scene: Scene) -> tuple[Array, Array]:
    low, high = setting(AMPLITUDE).range or (0.0, 60.0)
    current = np.linspace(low, high, round((high - low) / number("clearing.tried.step_ma")) + 1)
    return current, opening_curve(scene, current).opening_mm


def clearing_ranges(current: Array, gap: Array, need: float) -> tuple[tuple[float, float], ...]:
    """Stretches of current [mA] over which the gap is at least as needed [mm], ends interpolated.

    Parameters
    ----------
    current, gap : ndarray, shape (n,)
        As `opening_curve` gives them, current rising.
    need : float
    """
    enough = np.concatenate([[False], gap >= need, [False]])
    edges = np.flatnonzero(enough[1:] != enough[:-1])

    def crossing(i: int) -> float:
        if i in (0, current.size):
            return float(current[min(i, current.size - 1)])
        part = (need - gap[i - 1]) / (gap[i] - gap[i - 1])
        return float(current[i - 1] + part * (current[i] - current[i - 1]))

    return tuple((crossing(int(a)), crossing(int(b))) for a, b in zip(edges[::2], edges[1::2], strict=True))


def _tried(scene: Scene, found: Clearing, need: float, clearance_mm: float) -> Iterator[Advice]:
    """Every change, tried."""
    down = number("clearing.tried.wrist_down_deg")
    held = scene.hand.wrist_held_deg
    if held is None or held < down:
        lower = scene.replace("hand.wrist_held_deg", down)
        yield _advice("wrist lower", said("clears.wrist", deg=down), lower, found, need)
    moved = max((_advice("pads moved", words, s, found, need) for words, s in _other_pads(scene)),
                key=lambda a: a.widest_mm, default=None)  # fmt: skip
    if moved is not None:
        yield moved
    yield _gentle(scene, found, need)
    times = number("clearing.tried.stretches")
    ready = scene
    hand = readied(scene.hand, times)
    for name in ("flexor_length_factor", "finger_tone", "wrist_tone", "reflex_gain"):
        ready = ready.replace(f"hand.{name}", getattr(hand, name))
    yield _advice("ready first", said("clears.ready", times=times), ready, found, need)
    share = number("clearing.tried.help_share")
    if scene.hand.help_opening < share:
        helped = scene.replace("hand.help_opening", share)
        yield _advice("other hand", said("clears.other_hand", force=help_force_n(helped.hand)), helped, found, need)
    fits = np.floor(found.widest_mm - clearance_mm)
    low = (setting("task.diameter_mm").range or (1.0, 1.0))[0]
    if fits >= low:
        small = scene.replace("task.diameter_mm", float(fits))
        current, gap = _curve(small)
        yield Advice(
            "smaller object", said("clears.smaller", mm=float(fits)), small, found.widest_mm, 0.0,
            clearing_ranges(current, gap, fits + clearance_mm),
        )


def _advice(what: str, change: Said, scene: Scene, found: Clearing, need: float) -> Advice:
    current, gap = _curve(scene)
    ranges, widest = clearing_ranges(current, gap, need), float(np.max(gap))
    return Advice(what, _sentence(change, widest, bool(ranges)), scene, widest, widest - found.widest_mm, ranges)


def _sentence(change: Said, widest: float, clear: bool) -> Said:
    return said("clears.enough" if clear else "clears.not_yet", change=change, widest=widest)


def _other_pads(scene: Scene) -> Iterator[tuple[Said, Scene]]:
    """The scene with its pads moved one step along or round the forearm, as far as settings allow."""
    pads = scene.channel[0].pads
    steps = (
        ("along_percent", -number("clearing.tried.along_percent"), "elbow"),
        ("along_percent", number("clearing.tried.along_percent"), "hand"),
        ("around_deg", -number("clearing.tried.around_deg"), "thumb"),
        ("around_deg", number("clearing.tried.around_deg"), "little"),
    )
    for name, step, where in steps:
        try:
            moved = scene.replace(f"channel.0.pads.{name}", getattr(pads, name) + step)
        except SceneError:
            continue
        yield said(f"clears.{where}", **{"share" if name == "along_percent" else "deg": abs(step)}), moved


def _gentle(scene: Scene, found: Clearing, need: float) -> Advice:
    """A slower rise, tried in motion: it matters only where the stretch reflex answers a fast one."""
    best = scene.replace(AMPLITUDE, found.widest_at_ma).replace("channel.0.timing.control", "cycle")
    best = best.replace("channel.0.timing.delay_s", 0.0)
    up = max(number("clearing.tried.ramp_up_s"), best.channel[0].ramp.up_s)
    on = best.channel[0].on_total_s
    slow = best.replace("channel.0.timing.on_s", max(best.channel[0].timing.on_s, up + best.channel[0].ramp.down_s))
    slow = slow.replace("channel.0.ramp.up_s", up)
    rise = best.channel[0].ramp.up_s
    before, after = (
        float(np.max(simulate(s, on, sample_s=0.02).opening_mm[: round(on / 0.02)])) for s in (best, slow)
    )
    change = said("clears.gentle", slow=up, fast=rise)
    reached = ((found.widest_at_ma, found.widest_at_ma),) if after >= need else ()
    return Advice("gentle start", _sentence(change, after, bool(reached)), slow, after, after - before, reached)
