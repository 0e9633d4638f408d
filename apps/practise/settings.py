"""The settings of the Practise page: how the current comes, hand, object, person, what helps the arm, second channel."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import panel as pn

from graspwave import simulator as sim
from graspwave.apps.controls import Choice, Finding, NumberRow, Slider
from graspwave.apps.desk.beside import beside
from graspwave.apps.practise.state import CHOICES, PractiseState
from graspwave.apps.told.scenes import HANDS, OBJECTS, hand_changes
from graspwave.simulator.reach import triceps_channel

__all__ = ["controls"]


def controls(state: PractiseState) -> list[Any]:
    """All settings of the page, in the order of the task; each follows the scene, so that Undo moves it back.

    Parameters
    ----------
    state : PractiseState
        Its scene is changed by them.
    """
    by = Choice({"held": "switch", "timed": "timer"}, label="Current comes by", value=state.control)

    def choose(event: Any) -> None:
        if event.new != state.control and not state.set_control(event.new):
            by.value = state.control

    by.param.watch(choose, "value")
    beside(state, by, "channel.0.timing.control")
    _follow(state, lambda: {"value": state.control}, by)
    return [
        by, _current(state), _hand(state), _object(state), _choice(state, "person"),
        _times(state, "Rise and fall", "ramp", (("up_s", "Rise"), ("down_s", "Fall"))),
        _times(state, "On and off, for the timer", "timing", (("on_s", "On"), ("off_s", "Off"))),
        _choice(state, "before"), _choice(state, "lets_go"), Finding(text="The reach"), _choice(state, "arm"), _effort(state),
        _choice(state, "slides"), _choice(state, "moves"), _choice(state, "other"), _distance(state), *_elbow(state),
    ]


def _follow(state: PractiseState, read: Callable[[], dict[str, Any]], control: Any) -> None:
    """Have a control show what the scene says whenever it changes."""
    state.param.watch(lambda *_: control.param.update(**read()), ["scene"])


def _current(state: PractiseState) -> Slider:
    slider = Slider(label="Current", unit="mA", value=state.amplitude_ma, start=0, end=60, step=0.5, quantity="current")
    slider.param.watch(lambda event: state.change("channel.0.pulse.amplitude_ma", event.new), "value")
    beside(state, slider, "channel.0.pulse.amplitude_ma")
    _follow(state, lambda: {"value": state.amplitude_ma}, slider)
    return slider


def _hand(state: PractiseState) -> Choice:
    choice = Choice({key: key for key in HANDS}, label="Hand", value=state.hand_key or HANDS[0])

    def take(event: Any) -> None:
        if event.new != state.hand_key:
            state.change_all(hand_changes(event.new), "hand")

    choice.param.watch(take, "value")
    beside(state, choice, "hand.flexor_length_factor", "hand.finger_tone")
    _follow(state, lambda: {"value": state.hand_key or HANDS[0]}, choice)
    return choice


def _object(state: PractiseState) -> Choice:
    def key() -> str:
        return next((k for k, mm in OBJECTS.items() if mm == state.scene.task.diameter_mm), "pot")

    choice = Choice({name: f"{name} {mm:.0f}" for name, mm in OBJECTS.items()}, label="Object, mm", value=key())
    choice.param.watch(lambda event: event.new != key() and state.set_object(event.new), "value")
    beside(state, choice, "task.diameter_mm", "task.object", "task.mass_kg")
    _follow(state, lambda: {"value": key()}, choice)
    return choice


def _choice(state: PractiseState, key: str) -> Choice:
    label, options = CHOICES[key]
    choice = Choice({name: word for name, (word, _) in options.items()}, label=label, value=state.chosen(key))
    choice.param.watch(lambda event: event.new != state.chosen(key) and state.choose(key, event.new), "value")
    beside(state, choice, *{path for _, sets in options.values() for path in sets})
    _follow(state, lambda: {"value": state.chosen(key)}, choice)
    return choice


def _times(
    state: PractiseState, label: str, section: str, fields: tuple[tuple[str, str], ...], channel: int = 0,
    most: float | None = None,
) -> NumberRow:
    """A row of times of one channel; what the scene refuses is put back, and why is said on the page."""
    def read() -> dict[str, float]:
        part = getattr(state.scene.channel[min(channel, len(state.scene.channel) - 1)], section)
        return {key: getattr(part, key) for key, _ in fields}

    rows = []
    for key, word in fields:
        low, high = sim.setting(f"channel.0.{section}.{key}").range or (0.0, 60.0)
        rows.append({"key": key, "label": word, "unit": "s", "start": low, "end": min(high, most or high), "step": 0.5})
    row = NumberRow(rows, label=label, value=read())

    def write(event: Any) -> None:
        wanted = {f"channel.{channel}.{section}.{key}": value for key, value in event.new.items() if value != read()[key]}
        if wanted and not state.change_all(wanted, f"{label} {channel}"):
            row.value = read()

    row.param.watch(write, "value")
    beside(state, row, *(f"channel.{channel}.{section}.{key}" for key, _ in fields))
    _follow(state, lambda: {"value": read()}, row)
    return row


def _effort(state: PractiseState) -> Slider:
    low, high = sim.setting("task.effort").range or (0.0, 1.0)
    now = 100.0 * state.scene.task.effort
    slider = Slider(label="How hard the person tries to reach", unit="%", value=now, start=100.0 * low,
                    end=100.0 * high, step=5, quantity="force")
    slider.param.watch(lambda event: state.change("task.effort", event.new / 100.0), "value")
    beside(state, slider, "task.effort")
    _follow(state, lambda: {"value": round(100.0 * state.scene.task.effort, 6)}, slider)
    return slider


def _distance(state: PractiseState) -> Slider:
    low, high = sim.setting("task.distance_mm").range or (50.0, 600.0)
    slider = Slider(label="Way to the object", unit="mm", value=state.scene.task.distance_mm, start=low, end=high, step=10,
                    quantity="ink")
    slider.param.watch(
        lambda event: state.change_all({"task.distance_mm": event.new, "task.carry_mm": event.new}, "distance"), "value")
    beside(state, slider, "task.distance_mm", "task.carry_mm")
    _follow(state, lambda: {"value": state.scene.task.distance_mm}, slider)
    return slider


def _elbow(state: PractiseState) -> list[Any]:
    """Whether a second channel straightens the elbow, and its current, start and ramps where it does."""
    def on() -> str:
        return "no" if state.elbow is None else "yes"

    choice = Choice({"no": "none", "yes": "pads over the upper arm"}, label="Second channel, elbow", value=on())
    choice.param.watch(lambda event: event.new != on() and state.set_elbow(event.new == "yes"), "value")
    beside(state, choice, "channel")
    _follow(state, lambda: {"value": on()}, choice)

    def ma() -> float:
        return 24.0 if state.elbow is None else state.elbow.pulse.amplitude_ma

    current = Slider(label="Current, elbow", unit="mA", value=ma(), start=0, end=60, step=0.5, quantity="current", big=False)

    def write(event: Any) -> None:
        at = triceps_channel(state.scene)
        if at is not None and event.new != ma():
            state.change(f"channel.{at}.pulse.amplitude_ma", event.new)

    current.param.watch(write, "value")
    beside(state, current, "channel.1.pulse.amplitude_ma")
    _follow(state, lambda: {"value": ma()}, current)
    times = _times(state, "Elbow: start after, rise, fall", "ramp", (("up_s", "Rise"), ("down_s", "Fall")), channel=1, most=5.0)
    starts = _times(state, "Elbow: start after", "timing", (("delay_s", "After"),), channel=1, most=10.0)
    box = pn.Column(current, starts, times, sizing_mode="stretch_width", margin=0, styles={"gap": "14px"}, visible=on() == "yes")
    state.param.watch(lambda *_: box.param.update(visible=on() == "yes"), ["scene"])
    return [choice, box]
