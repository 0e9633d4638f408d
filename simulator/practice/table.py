"""Change one thing: what it does to half an hour, over several seeds."""

from __future__ import annotations

import statistics
from collections.abc import Sequence
from dataclasses import dataclass

from graspwave.simulator.facts import number
from graspwave.simulator.scene import Channel, Pads, Scene

from .log import Practice
from .opening import current_found_ma
from .phases import Session

__all__ = ["Change", "change_one_thing", "elbow_channel", "objects", "with_object"]


@dataclass(frozen=True, slots=True)
class Change:
    """One row: medians over the seeds, and the lowest and highest number of repetitions.

    Attributes
    ----------
    name : str
        What was changed; "as it is" for the scene itself.
    control : str
    repetitions, drops, waiting_s, opening_left_mm, limit_mm : float
        Medians; `limit_mm` is how far the elbow reaches.
    spread : tuple of float
        Least and most repetitions.
    effect : float
        Median repetitions less those of the scene as it is.
    """

    name: str
    control: str
    repetitions: float
    drops: float
    waiting_s: float
    opening_left_mm: float
    limit_mm: float
    spread: tuple[float, float]
    effect: float


def change_one_thing(
    scene: Scene, control: str = "timed", seeds: Sequence[int] = (1, 2, 3, 4, 5), minutes: float | None = None
) -> tuple[Change, ...]:
    """The scene as it is, then with one thing changed at a time.

    Parameters
    ----------
    scene : Scene
    control : {"timed", "held"}
    seeds : sequence of int, optional
    minutes : float, optional
        The session's if not given.

    Returns
    -------
    tuple of Change
        As it is; the other things of the bench; cloth; nearer; second channel (or without it); other hand; trying along;
        shorter and longer off time; the other control; current two steps of 2 mA up and down, as set. What the scene has
        already is left out.

    Examples
    --------
    >>> from graspwave import simulator as sim
    >>> changes = sim.change_one_thing(sim.presets()["supple"], "held", seeds=(1,), minutes=1)
    >>> changes[0].name
    'as it is'
    """
    lasts = scene.session.minutes if minutes is None else minutes
    rows: list[Change] = []
    for name, changed, how in _changes(scene, control):
        runs = [Session(changed, how, seed, lasts, True).run() for seed in seeds]
        rows.append(_row(name, how, runs, rows[0].repetitions if rows else None))
    return tuple(rows)


def elbow_channel(first: Channel) -> Channel:
    """A second channel that runs as the first does, over the triceps, at a current that wakes half of it in the model.

    Large pads 50 mm apart, the one nearer to the shoulder over the motor points.
    """
    current = number("practice.elbow.current_ma")
    pulse = Scene(channel=(first,)).replace("channel.0.pulse.amplitude_ma", current).channel[0].pulse
    pads = Pads(
        limb="upper arm", along_percent=number("practice.elbow.along_percent"), spacing_mm=number("practice.elbow.spacing_mm"),
        size_cm2=number("practice.elbow.size_cm2"),
    )
    return Channel(pads=pads, pulse=pulse, train=first.train, ramp=first.ramp, timing=first.timing)


def _changes(scene: Scene, control: str) -> list[tuple[str, Scene, str]]:
    off, found = scene.channel[0].timing.off_s, current_found_ma(scene)
    if len(scene.channel) == 1:
        helped = scene.replace("channel", (scene.channel[0], elbow_channel(scene.channel[0])))
        second = ("second channel on the elbow", helped, control)
    else:
        second = ("without the second channel", scene.replace("channel", scene.channel[:1]), control)
    as_set = scene.replace("task.current", "as set")
    near, along = number("practice.help.nearer_mm"), number("practice.live.tries_along")
    changes = [
        ("as it is", scene, control),
        *((f"{name}, {size:g} mm", with_object(scene, name), control) for name, (size, _) in objects().items()),
        ("low-friction cloth", scene.replace("task.friction", number("practice.help.cloth_friction")), control),
        (f"nearer, {near:g} mm", _nearer(scene, near), control),
        second,
        ("other hand lifts", scene.replace("task.other_hand", "lifts"), control),
        ("tries along", scene.replace("hand.own_opening", max(scene.hand.own_opening, along)), control),
        ("off time halved", _off(scene, 0.5 * off), control),
        ("off time doubled", _off(scene, min(2.0 * off, 300.0)), control),
        ("held" if control == "timed" else "timed", scene, "held" if control == "timed" else "timed"),
        ("2 mA less", as_set.replace("channel.0.pulse.amplitude_ma", max(found - 2.0, 0.0)), control),
        ("2 mA more", as_set.replace("channel.0.pulse.amplitude_ma", min(found + 2.0, 60.0)), control),
    ]
    return [change for i, change in enumerate(changes) if i == 0 or (change[1], change[2]) != (scene, control)]


def _nearer(scene: Scene, most_mm: float) -> Scene:
    for path in ("task.distance_mm", "task.carry_mm"):
        scene = scene.replace(path, min(getattr(scene.task, path.split(".")[1]), most_mm))
    return scene


def objects() -> dict[str, tuple[float, float]]:
    """Things of the bench, the largest first: diameter in mm and weight in kg."""
    return {
        name: (number(f"practice.object.{name}_mm"), number(f"practice.object.{name}_kg")) for name in ("pot", "bulb", "bean")
    }


def with_object(scene: Scene, name: str) -> Scene:
    """The scene with another thing of the bench, its size and its weight."""
    size, mass = objects()[name]
    return scene.replace("task.object", name).replace("task.diameter_mm", size).replace("task.mass_kg", mass)


def _off(scene: Scene, off_s: float) -> Scene:
    for index in range(len(scene.channel)):
        scene = scene.replace(f"channel.{index}.timing.off_s", off_s)
    return scene


def _row(name: str, control: str, runs: list[Practice], before: float | None) -> Change:
    repetitions = [float(run.repetitions) for run in runs]
    middle = statistics.median(repetitions)
    return Change(
        name=name, control=control, repetitions=middle, drops=statistics.median(float(run.drops) for run in runs),
        waiting_s=statistics.median(run.waiting_s for run in runs),
        opening_left_mm=statistics.median(run.opening_left_mm for run in runs), limit_mm=runs[0].reach.limit_mm,
        spread=(min(repetitions), max(repetitions)), effect=middle - (middle if before is None else before),
    )
