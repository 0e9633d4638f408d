"""Scenes of the lessons: one invented arm as a supple, a stiff and a tight hand, changed by short names, ``t(amp=20)``."""

from __future__ import annotations

import dataclasses
import difflib
import tomllib
from functools import cache
from importlib.resources import files
from typing import Any, cast

from graspwave import simulator as sim
from graspwave.simulator import Channel, Scene, SceneError
from graspwave.simulator.practice import elbow_channel

__all__ = ["EXTRA", "LessonScene", "base_of", "lesson_scenes", "scene_of", "short_names"]

EXTRA = {
    "held": "true: current runs while a switch is held, from a timer if false",
    "stretches": "slow openings before, which make the hand ready",
    "after": "minutes since the last of those, 0 if not given",
    "elbow": "a second channel over the triceps: true, or its current, mA; false takes it away",
    "extend": "the same as elbow",
    "without": "mechanisms switched off, for example 'spread' or ('spread', 'slips')",
}
"""Short names that are no single setting of a scene."""


_MOST = 1000.0


class LessonScene(Scene):
    """A scene that can be called with short names for what is to change; it is a `Scene` in all else.

    Examples
    --------
    >>> lesson_scenes()["t"](amp=20, wrist=0).hand.wrist_held_deg
    0.0
    """

    def __call__(self, **changes: Any) -> LessonScene:
        """The scene with these settings changed, all at once.

        Parameters
        ----------
        **changes
            Short names of ``settings.toml`` and of `EXTRA`.

        Raises
        ------
        SceneError
            A name that is not known, or a value that cannot be.
        """
        unknown = next((name for name in changes if name not in short_names()), None)
        if unknown is not None:
            near = difflib.get_close_matches(unknown, short_names(), 1, 0.5)
            repair = f"did you mean {near[0]}?" if near else "known: " + ", ".join(short_names())
            raise SceneError(unknown, "a short name of a setting", "unknown name", repair)
        plain = {name: value for name, value in changes.items() if name not in EXTRA}
        if "held" in changes:
            plain["held"] = _flag("held", changes["held"])
        made = cast("LessonScene", _changed(self, _tree(plain)))
        return _extras(made, changes)


@cache
def lesson_scenes() -> dict[str, LessonScene]:
    """``s``, ``f`` and ``t``: the supple, stiff and tight hand of the presets, alike but for the flexor length factor."""
    keys = {"s": "supple", "f": "stiff", "t": "tight"}
    return {short: callable_scene(sim.presets()[key]) for short, key in keys.items()}


def callable_scene(scene: Scene) -> LessonScene:
    """The same scene, to be called with short names."""
    if isinstance(scene, LessonScene):
        return scene
    return LessonScene(**{field.name: getattr(scene, field.name) for field in dataclasses.fields(scene)})


def scene_of(value: object) -> LessonScene:
    """A scene as an argument of the vocabulary; `SceneError` for anything else."""
    if not isinstance(value, Scene):
        raise SceneError("scene", "a scene: s, f or t, or one of them changed", value, "write for example t(amp=20)")
    return callable_scene(value)


def base_of(scene: Scene) -> Scene:
    """The scene less what no result of a curve depends on: its names and the first channel's current. A key to remember by."""
    first = scene.channel[0]
    first = dataclasses.replace(first, pulse=dataclasses.replace(first.pulse, amplitude_ma=0.0))
    return dataclasses.replace(scene, title="", story="", channel=(first, *scene.channel[1:]))


@cache
def short_names() -> dict[str, str]:
    """Every short name and what it means."""
    return {**{name: str(entry["what"]) for name, entry in _table().items()}, **EXTRA}


@cache
def _table() -> dict[str, dict[str, str]]:
    return tomllib.loads((files(__package__) / "settings.toml").read_text("utf-8"))


def _flag(name: str, value: object) -> str:
    if not isinstance(value, bool):
        raise SceneError(name, "true or false", value)
    return "held" if value else "cycle"


def _tree(changes: dict[str, Any]) -> dict[str, Any]:
    """Changes as a tree of the scene's own names."""
    tree: dict[str, Any] = {}
    for name, value in changes.items():
        *way, last = ("channel.*.timing.control" if name == "held" else _table()[name]["path"]).split(".")
        node = tree
        for part in way:
            node = node.setdefault(part, {})
        node[last] = value
    return tree


def _changed(node: Any, tree: dict[str, Any], path: str = "") -> Any:
    """A record with all changes below it made before it is checked, so that their order does not matter."""
    new = {}
    for key, below in tree.items():
        here = f"{path}.{key}" if path else key
        if key == "channel":
            new[key] = tuple(
                _changed(channel, _merged(below.get("*", {}), below.get(str(i), {})), f"channel.{i}")
                for i, channel in enumerate(node.channel)
            )
        elif isinstance(below, dict):
            new[key] = _changed(getattr(node, key), below, here)
        else:
            new[key] = below
    try:
        return dataclasses.replace(node, **new)
    except SceneError as error:
        raise (error.under(path) if path else error) from None


def _merged(one: dict[str, Any], two: dict[str, Any]) -> dict[str, Any]:
    return {key: {**one.get(key, {}), **two.get(key, {})} for key in (*one, *(k for k in two if k not in one))}


def _extras(scene: LessonScene, changes: dict[str, Any]) -> LessonScene:
    if "stretches" in changes:
        times, after = (_count(name, changes.get(name, 0.0)) for name in ("stretches", "after"))
        hand = sim.readied(scene.hand, times, after)
        scene = dataclasses.replace(scene, hand=hand)
    elif "after" in changes:
        raise SceneError("after", "given with stretches", changes["after"], "write t(stretches=10, after=40)")
    for name in ("elbow", "extend"):
        if name in changes:
            scene = dataclasses.replace(scene, channel=_channels(scene, name, changes[name]))
    if "without" in changes:
        off = changes["without"]
        names = (off,) if isinstance(off, str) else tuple(off) if isinstance(off, (tuple, list)) else ()
        if not names or not all(isinstance(name, str) for name in names):
            raise SceneError("without", "the name of a mechanism, or several", off, "write without='spread'")
        scene = scene.without(*names)
    return scene


def _count(name: str, value: object) -> float:
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not 0.0 <= value <= _MOST:
        raise SceneError(name, f"0 to {_MOST:g}", value)
    return float(value)


def _channels(scene: Scene, name: str, value: object) -> tuple[Channel, ...]:
    """Channels with the second one over the triceps, or without."""
    if value is False:
        return scene.channel[:1]
    second = elbow_channel(scene.channel[0])
    if value is not True:
        if not isinstance(value, (int, float)):
            raise SceneError(name, "true, false or a current in mA", value)
        second = cast("Channel", _changed(second, {"pulse": {"amplitude_ma": value}}, "channel.1"))
    return (scene.channel[0], second)
