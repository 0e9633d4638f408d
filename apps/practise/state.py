"""What the Practise page knows beside the desk: how the current comes, the person, what helps the arm. No Panel here."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from graspwave import simulator as sim
from graspwave.apps.desk.state import DeskState
from graspwave.apps.told.scenes import object_changes
from graspwave.simulator.facts import number
from graspwave.simulator.hand import readied
from graspwave.simulator.practice import elbow_channel, with_object
from graspwave.simulator.reach import triceps_channel

__all__ = ["ARMS", "CHOICES", "PERSON", "PractiseState", "people_words"]

ALONG = 0.15
"""Own drive of a person who tries along, share of full force: an invented person."""

PERSON: Mapping[str, tuple[str, Mapping[str, object]]] = {
    "rests": ("rests", {"hand.own_opening": 0.0, "task.let_go": "at once"}),
    "tries": ("tries along", {"hand.own_opening": ALONG, "task.let_go": "own try"}),
    "pictures": ("imagines it", {"hand.own_opening": 0.0, "task.let_go": "pictured try"}),
}
"""What the person does: word, and the settings that come with it."""

ARMS: Mapping[str, tuple[str, Mapping[str, object]]] = {
    "usual": ("usual", {"hand.elbow_strength": 0.3}), "weak": ("weak", {"hand.elbow_strength": 0.1}),
}

CHOICES: Mapping[str, tuple[str, Mapping[str, tuple[str, Mapping[str, object]]]]] = {
    "person": ("The person", PERSON),
    "arm": ("The arm", ARMS),
    "slides": ("It moves", {
        "sleeve": ("on its sleeve", {"task.arm": "slides", "task.friction": 0.3}),
        "cloth": ("on a cloth", {"task.arm": "slides", "task.friction": 0.15}),
        "lifted": ("lifted", {"task.arm": "lifted"}),
    }),
    "moves": ("The object is", {"lift": ("lifted", {"task.move": "lift"}), "slide": ("slid", {"task.move": "slide"})}),
    "other": ("The other hand", {
        "rests": ("rests", {"task.other_hand": "rests"}), "lifts": ("lifts the arm", {"task.other_hand": "lifts"}),
    }),
    "before": ("Before the task", {
        "nothing": ("nothing", {"session.warm_up_minutes": 0.0}),
        "gentle": ("5 min gently, wrist hanging", {"session.warm_up_minutes": 5.0}),
    }),
    "lets_go": ("It lets go", {
        "opens": ("as it opens", {"task.side_to_side": False}), "tilts": ("tilted sideways", {"task.side_to_side": True}),
    }),
}
"""Each choice of the page by key: its label, and its options with what each one sets."""


class PractiseState(DeskState):
    """The desk's scene as the task is practised with it; whether the current comes by the switch or the timer is part of it."""

    def __init__(self, scene: sim.Scene | None = None, **params: Any) -> None:
        super().__init__(scene or first_scene(), **params)

    @property
    def control(self) -> str:
        """``"held"``: while the switch is pressed; ``"timed"``: by the timer's cycle."""
        return "held" if self.scene.channel[0].timing.control == "held" else "timed"

    def set_control(self, control: str) -> bool:
        """The switch or the timer; refused where rise and fall do not fit into the timer's on time."""
        return self.change("channel.0.timing.control", "held" if control == "held" else "cycle")

    def choose(self, key: str, option: str) -> bool:
        """Take one option of `CHOICES` as one change that is undone as one."""
        return self.change_all(dict(CHOICES[key][1][option][1]), key)

    def chosen(self, key: str) -> str:
        """The option of `CHOICES` that the scene agrees with; the first where it agrees with none."""
        options = CHOICES[key][1]
        return next((name for name, (_, sets) in options.items() if all(near(self.read(p), v) for p, v in sets.items())),
                    next(iter(options)))

    def read(self, path: str) -> Any:
        """One setting by its path."""
        node: Any = self.scene
        for part in path.split("."):
            node = node[int(part)] if part.isdigit() else getattr(node, part)
        return node

    def set_object(self, key: str) -> bool:
        """One of the objects of the bench."""
        return self.change_all(object_changes(key), "object")

    @property
    def elbow(self) -> sim.Channel | None:
        """The channel over the triceps, where there is one."""
        at = triceps_channel(self.scene)
        return None if at is None else self.scene.channel[at]

    def set_elbow(self, wanted: bool) -> bool:
        """A second channel that straightens the elbow, or none."""
        first = self.scene.channel[0]
        return self.change("channel", (first, elbow_channel(first)) if wanted else (first,))

    @property
    def live_scene(self) -> sim.Scene:
        """The scene that the live hand is run with: after the gentle programme it is a little looser and calmer."""
        minutes = self.scene.session.warm_up_minutes
        if not minutes:
            return self.scene
        ready = readied(self.scene.hand, minutes / number("practice.live.minutes_a_stretch"))
        return self.scene.replace("hand", ready)

    @property
    def half_hour_scene(self) -> sim.Scene:
        """The same scene for the half hour: what the live hand shows is what is worked out."""
        return self.scene.replace("task.current", "as set")


def near(one: object, other: object) -> bool:
    """Whether two settings are the same, numbers to rounding."""
    if isinstance(one, float) and isinstance(other, (int, float)):
        return abs(one - other) < 1e-9
    return one == other


def first_scene() -> sim.Scene:
    """The stiff hand at a current that opens it, and an object that it can open round."""
    return with_object(sim.presets()["stiff"], "bulb").replace("channel.0.timing.control", "held")


def people_words(state: PractiseState) -> str:
    """What the person's own part does here, in one sentence; empty where there is nothing to say."""
    if state.chosen("person") == "pictures":
        return ("Imagining moves nothing in this model. It is practised where nothing moves yet, while the current opens the "
                "hand: common practice.")
    if state.chosen("person") == "tries":
        return "Trying along drives the finger opener and the small muscles of the hand, which no pad on the forearm reaches."
    return ""
