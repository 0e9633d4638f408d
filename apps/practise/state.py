"""What the Practise page knows beside the desk: how the current comes, the person, what helps the arm. No Panel here."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import Any

from graspwave import simulator as sim
from graspwave.apps.desk.state import DeskState
from graspwave.apps.told.scenes import object_changes
from graspwave.simulator.facts import number
from graspwave.simulator.hand import readied
from graspwave.simulator.practice import elbow_channel, objects, with_object
from graspwave.simulator.reach import triceps_channel

__all__ = ["ARMS", "CHOICES", "PERSON", "PractiseState", "people_words"]

ALONG = number("practice.live.tries_along")
"""Own drive of a person who tries along, share of full force."""

PERSON: Mapping[str, tuple[str, Mapping[str, object]]] = {
    "rests": ("rests", {"hand.own_opening": 0.0, "task.let_go": "at once"}),
    "tries": ("tries along", {"hand.own_opening": ALONG, "task.let_go": "own try"}),
    "pictures": ("imagines it", {"hand.own_opening": 0.0, "task.let_go": "pictured try"}),
}
"""What the person does: word, and the settings that come with it."""

ARMS: Mapping[str, tuple[str, Mapping[str, object]]] = {
    "usual": ("usual", {"hand.elbow_strength": number("settings.hand.elbow_strength")}),
    "weak": ("weak", {"hand.elbow_strength": number("practice.live.weak_arm")}),
}

CHOICES: Mapping[str, tuple[str, Mapping[str, tuple[str, Mapping[str, object]]]]] = {
    "person": ("The person", PERSON),
    "arm": ("The arm", ARMS),
    "slides": ("It moves", {
        "sleeve": ("on its sleeve", {"task.arm": "slides", "task.friction": number("settings.task.friction")}),
        "cloth": ("on a cloth", {"task.arm": "slides", "task.friction": number("practice.help.cloth_friction")}),
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
        """The same hand for the half hour: it opens as the live one does, and the current is the one that is set.

        A gentle programme has come before it, as before the live hand. Practice takes own opening by the effort of the task;
        here it is taken as the live hand has it.
        """
        scene, most = self.live_scene.replace("task.current", "as set"), (sim.setting("hand.own_opening").range or (0.0, 1.0))[1]
        if scene.session.warm_up_minutes:
            scene = scene.replace("session.warm_up_minutes", 0.0)
        if scene.hand.own_opening and scene.task.effort:
            scene = scene.replace("hand.own_opening", min(scene.hand.own_opening / scene.task.effort, most))
        return scene


def near(one: object, other: object) -> bool:
    """Whether two settings are the same, numbers to rounding."""
    if isinstance(one, float) and isinstance(other, (int, float)):
        return abs(one - other) < 1e-9
    return one == other


@cache
def first_scene() -> sim.Scene:
    """The supple hand, and the largest object that it opens round with the current and not without: there is a reason to hold."""
    scene = sim.presets()["supple"].replace("channel.0.timing.control", "held")
    rest, open_mm = sim.opening_curve(scene, [0.0, scene.channel[0].pulse.amplitude_ma]).opening_mm
    fits = [name for name, (size, _) in objects().items() if rest < size <= open_mm - number("practice.live.spare_mm")]
    return with_object(scene, fits[0] if fits else "bulb")


def people_words(state: PractiseState) -> str:
    """What the person's own part does here, and what came before; empty where there is nothing to say."""
    told = []
    if state.chosen("before") == "gentle":
        told.append("The gentle programme has come before the task; that it wears off in the half hour is left out.")
    if state.chosen("person") == "pictures":
        told.append("Imagining moves nothing in this model. It is practised where nothing moves yet, while the current opens the "
                    "hand: common practice.")
    if state.chosen("person") == "tries":
        told.append("Trying along drives the finger opener and the small muscles of the hand, which no pad on the forearm "
                    "reaches.")
    return " ".join(told)
