"""What a practitioner shows, each by one press: the settings that it needs, the rest as usual, and what to do and see."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, ClassVar

import param

from graspwave import simulator as sim
from graspwave.apps.controls.base import Control
from graspwave.apps.practise.state import CHOICES, PractiseState, near
from graspwave.apps.told.scenes import hand_changes, object_changes
from graspwave.apps.web.source import component, sheet
from graspwave.simulator.facts import number
from graspwave.simulator.hand import readied
from graspwave.simulator.practice import elbow_channel

__all__ = ["DEMONSTRATIONS", "Demonstration", "DemonstrationList", "demonstrate", "shown_now", "told_of"]


@dataclass(frozen=True, slots=True)
class Demonstration:
    """One thing to show.

    Attributes
    ----------
    label : str
    sets : mapping
        Options of `CHOICES` by key; those not named go back to their first.
    also : mapping
        Settings by path.
    elbow : bool
        With a second channel over the upper arm.
    words : str
        What to do and what is seen; a number in braces is the model's.
    """

    label: str
    words: str
    sets: Mapping[str, str]
    also: Mapping[str, object]
    elbow: bool = False


def _one(label: str, words: str, *, elbow: bool = False, also: Mapping[str, object] | None = None, **sets: str) -> Demonstration:
    return Demonstration(label, words, sets, also or {}, elbow)


_TIMED = {"channel.0.timing.control": "cycle"}
_HELD = {"channel.0.timing.control": "held"}
_TIGHT = hand_changes("tight")

DEMONSTRATIONS: Mapping[str, Demonstration] = {
    "timer": _one("Timer", "Wait for the timer, be at the object while the hand is wide; its next time lets go.", also=_TIMED),
    "switch": _one("Switch", "Hold to open, let go to grip, hold again to let go.", also=_HELD),
    "smaller": _one("Smaller object", "It takes less opening, but is harder to take: it is pushed away more often.",
                    also=object_changes("bean")),
    "larger": _one("Larger object", "It takes the widest hand, and some hands do not go round it.", also=object_changes("pot")),
    "tries": _one("Tries along", "Own effort adds {tries} mm to the opening of this hand.", person="tries"),
    "pictures": _one("Imagines it", "The current opens the hand; imagining adds nothing in this model.", person="pictures"),
    "weak": _one("Weak arm", "Move the arm: the elbow ends at {weak} mm of the way, and the trunk leans.", arm="weak"),
    "other": _one("Other hand lifts", "The same weak arm, its weight taken: the elbow goes {other} mm.",
                  arm="weak", other="lifts"),
    "sliding": _one("Sliding on a cloth", "The same weak arm on less friction: the elbow goes {sliding} mm; the object is slid.",
                    arm="weak", slides="cloth", moves="slide"),
    "elbow": _one("Elbow channel", "Pads on the upper arm straighten the same weak arm while they are on: {elbow} mm.",
                  arm="weak", elbow=True),
    "gentle": _one("Gently first, tight hand", "Five minutes gently, the wrist hanging: this hand then opens to {after} mm in "
                   "place of {before}.", before="gentle", also={**_TIGHT, **object_changes("bean")}),
    "tilt": _one("Let go sideways",
                 "Hold to open: the hand tilts to the little finger's side, and the object slides free.", lets_go="tilts"),
}
"""What can be shown, in the order in which it is taught."""


def _changes(state: PractiseState, shown: Demonstration) -> dict[str, object]:
    """All settings of a demonstration, those of the other ones put back."""
    found: dict[str, object] = {}
    for key, (_, options) in CHOICES.items():
        found |= options[shown.sets.get(key, next(iter(options)))][1]
    found |= shown.also
    first = state.scene.channel[0]
    wanted = (first, elbow_channel(first)) if shown.elbow else (first,)
    if (len(state.scene.channel) > 1) != shown.elbow:
        found["channel"] = wanted
    # a whole channel that is put in place comes before the settings inside it
    return dict(sorted(found.items(), key=lambda item: item[0] != "channel"))


def demonstrate(state: PractiseState, key: str) -> bool:
    """Set the scene of one demonstration, as one change that is undone as one."""
    return state.change_all(_changes(state, DEMONSTRATIONS[key]), f"shown {key}")


def shown_now(state: PractiseState, key: str) -> bool:
    """Whether the scene still is as a demonstration set it."""
    wanted = _changes(state, DEMONSTRATIONS[key])
    return "channel" not in wanted and all(near(state.read(path), value) for path, value in wanted.items())


def told_of(state: PractiseState, key: str) -> str:
    """What to do and what is seen, with the model's own numbers for this scene."""
    words = DEMONSTRATIONS[key].words
    return words.format_map(_Numbers(state.scene)) if "{" in words else words


class _Numbers(dict[str, str]):
    """The numbers that the words ask for, worked out when they are asked for."""

    def __init__(self, scene: sim.Scene) -> None:
        super().__init__()
        self._scene = scene

    def __missing__(self, name: str) -> str:
        return f"{_NUMBERS[name](self._scene):.0f}"


def _open_mm(scene: sim.Scene) -> float:
    return float(sim.opening_curve(scene, [scene.channel[0].pulse.amplitude_ma]).opening_mm[0])


@lru_cache(maxsize=32)
def _added_mm(scene: sim.Scene) -> float:
    return _open_mm(scene) - _open_mm(scene.replace("hand.own_opening", 0.0))


@lru_cache(maxsize=32)
def _readied_mm(scene: sim.Scene) -> float:
    minutes = scene.session.warm_up_minutes
    return _open_mm(scene.replace("hand", readied(scene.hand, minutes / number("practice.live.minutes_a_stretch"))))


def _elbow_mm(scene: sim.Scene) -> float:
    return sim.reach_of(scene).limit_mm


_NUMBERS: Mapping[str, Callable[[sim.Scene], float]] = {
    "tries": _added_mm, "weak": _elbow_mm, "other": _elbow_mm, "sliding": _elbow_mm, "elbow": _elbow_mm, "before": _open_mm,
    "after": _readied_mm,
}


class DemonstrationList(Control):
    """Buttons for what can be shown, the present one pressed in, and what to do and see.

    Parameters
    ----------
    items : list
        Key, label and whether the scene is that of the demonstration.
    words : str
    asked : dict
        Key of the last one pressed, and a count that makes each press a change.
    """

    items = param.List(default=[])
    words = param.String(default="")
    asked = param.Dict(default={})

    _esm: ClassVar[str] = component("practise/showing.js")
    _stylesheets: ClassVar[list[str]] = [*Control._stylesheets, sheet("practise/showing.css")]

    def follow(self, state: PractiseState) -> None:
        """Show what the scene is."""
        last = str(self.asked.get("key", ""))
        self.items = [[key, one.label, key == last and shown_now(state, key)] for key, one in DEMONSTRATIONS.items()]
        self.words = told_of(state, last) if any(item[2] for item in self.items) else ""

    def on_ask(self, state: PractiseState) -> None:
        """Set the scene of what is pressed."""
        def take(event: Any) -> None:
            key = event.new.get("key")
            if key in DEMONSTRATIONS:
                demonstrate(state, key)
                self.follow(state)

        self.param.watch(take, "asked")
        self.follow(state)
