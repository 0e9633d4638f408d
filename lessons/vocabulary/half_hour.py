"""Practice by timer and by switch: means over five seeds, where the minutes went, why objects were dropped."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass

from graspwave import simulator as sim
from graspwave.simulator import Practice, Scene, SceneError
from graspwave.simulator.practice import CAUSES, PHASES

from .memory import Store, warn, word
from .scenes import scene_of

__all__ = [
    "DOING", "SEEDS", "Half", "commonest_drop", "drops_by", "left", "minutes_by", "minutes_in", "minutes_on", "pr", "practice",
    "reps", "success",
]

SEEDS = (1, 2, 3, 4, 5)

DOING = {
    "setting up": ("set up", "warm up"),
    "waiting": ("wait", "react"),
    "reaching": ("reach", "open", "return"),
    "holding": ("close", "lift", "slide", "carry", "set down", "try", "release"),
    "picking up again": ("drop", "failed"),
    "resting": ("rest",),
}
"""What a person is doing in each phase of the log; every phase is in one of these."""

_PRACTICE = Store(96)


@dataclass(frozen=True, slots=True)
class Half:
    """Means over the seeds of what `sim.Practice` counts, `phase_s` and `drop_causes` summed over them and divided."""

    control: str
    repetitions: float
    attempts: float
    drops: float
    spills: float
    waiting_s: float
    on_s: float
    pulses: float
    charge_mc: float
    missed_cycles: float
    current_ma: float
    last_current_ma: float
    opening_first_mm: float
    opening_left_mm: float
    force_left: float
    phase_s: dict[str, float]
    drop_causes: dict[str, float]


@word
def practice(scene: Scene, control: str = "held", seed: int = 1) -> Practice:
    """One session by timer ("timed") or switch ("held"), for a picture of it."""
    chosen = scene_of(scene)
    return _PRACTICE.get((chosen, control, seed), lambda: sim.run_practice(chosen, control=control, seed=seed))


@word
def pr(scene: Scene, control: str = "held") -> Half:
    """Mean of five sessions with seeds 1 to 5."""
    runs = [practice(scene, control, seed) for seed in SEEDS]
    plain = [f.name for f in dataclasses.fields(Half) if f.name not in ("control", "phase_s", "drop_causes")]
    return Half(
        control=control, **{name: sum(getattr(one, name) for one in runs) / len(runs) for name in plain},
        phase_s={name: sum(one.phase_s.get(name, 0.0) for one in runs) / len(runs) for name in PHASES},
        drop_causes={name: sum(one.drop_causes.get(name, 0) for one in runs) / len(runs) for name in CAUSES},
    )


@word
def reps(scene: Scene, control: str = "held") -> float:
    """Repetitions of a session, mean of five."""
    return pr(scene, control).repetitions


@word
def success(scene: Scene, control: str = "held") -> float:
    """Repetitions as share of repetitions and drops."""
    found = pr(scene, control)
    if found.repetitions + found.drops == 0.0:
        warn(f"no repetition and no drop in the practice of '{scene_of(scene).title}'")
        return 0.0
    return found.repetitions / (found.repetitions + found.drops)


@word
def minutes_in(scene: Scene, control: str, doing: str) -> float:
    """Minutes of a session spent so; `doing` is one of `DOING`."""
    if doing not in DOING:
        raise SceneError("doing", "one of " + ", ".join(DOING), doing)
    return sum(pr(scene, control).phase_s[phase] for phase in DOING[doing]) / 60.0


@word
def minutes_by(scene: Scene, control: str) -> dict[str, float]:
    """Minutes of a session in every kind of `DOING`; they add up to the session."""
    return {doing: minutes_in(scene, control, doing) for doing in DOING}


@word
def minutes_on(scene: Scene, control: str = "timed") -> float:
    """Minutes in which the first channel ran, ramps included, mean of five sessions."""
    return pr(scene, control).on_s / 60.0


@word
def drops_by(scene: Scene, control: str, cause: str) -> float:
    """Drops of a session for one cause, mean of five."""
    if cause not in CAUSES:
        raise SceneError("cause", "one of " + ", ".join(CAUSES), cause)
    return pr(scene, control).drop_causes[cause]


@word
def commonest_drop(scene: Scene, control: str = "timed") -> str:
    """Commonest cause of a drop; empty, and a warning, where nothing was dropped."""
    found = pr(scene, control).drop_causes
    if not any(found.values()):
        warn(f"nothing was dropped in the practice of '{scene_of(scene).title}'")
        return ""
    return max(found, key=lambda cause: found[cause])


@word
def left(scene: Scene, control: str = "held") -> float:
    """Opening at the end of a session as share of that at its start, at the current found at set-up: how tired it ends."""
    found = pr(scene, control)
    return found.opening_left_mm / found.opening_first_mm if found.opening_first_mm > 0.0 else 0.0
