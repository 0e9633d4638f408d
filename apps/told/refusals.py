"""What was not taken, in people's words: which setting, what it may be, and what to do. No Panel here."""

from __future__ import annotations

import re
from collections.abc import Mapping

from graspwave import simulator as sim
from graspwave.apps.told.settings import CHOICES, NUMBERS, short_path

__all__ = ["LABELS", "label_of", "refusal_words"]

LABELS: Mapping[str, str] = {
    "timing.control": "How the current comes", "timing.ramps_inside": "Whether rise and fall count",
    "train.leading_interval_ms": "Time between the first pulses", "pads.limb": "Limb under the pads",
    "channel": "Number of channels",
    "task.object": "Object", "task.mass_kg": "Weight of the object", "task.carry_mm": "Way to the object's place",
    "task.effort": "How hard the person tries to reach", "task.arm": "How the arm moves", "task.move": "How the object is moved",
    "task.to": "Where the object goes", "task.other_hand": "The other hand", "task.let_go": "How the person lets go",
    "task.side_to_side": "Whether the hand tilts to let go", "task.current": "How much current practice takes",
    "task.filled": "Whether the object is full", "task.lean": "Whether the trunk leans",
    "task.shoulder_above_mm": "Height of the shoulder", "hand.elbow_strength": "Strength of the elbow",
    "hand.hand_length_mm": "Length of the hand", "hand.wrist_rests": "Whether the wrist rests on the table",
    "hand.grip_left": "Grip that is left", "hand.switch_on_s": "Time until the grip comes",
    "hand.switch_off_s": "Time until it lets go",
    "session.minutes": "Length of the session", "session.warm_up_minutes": "Minutes of the gentle programme",
    "session.seed": "Number of the chance", "title": "Name of the scene", "story": "Story of the scene",
    "without_mechanisms": "What is left out of the model", "scene": "The scene", "hand": "The hand", "task": "The task",
    "session": "The session", "pulse": "The pulse", "train": "The train of pulses", "ramp": "Rise and fall",
    "timing": "On and off", "pads": "The pads",
}
"""What settings without a label of their own on a page are called."""

_UNITS = {"deg": "°", "us": "µs", "cm2": "cm²", "percent": "%", "min": "min", "1": ""}
_RANGE = re.compile(r"^(\S+) to (\S+)$")
_RAMPS = re.compile(r"both ramps together \((\S+) s\)")
_NEXT = re.compile(r"before the next pulse \((\S+) us\)")


def label_of(path: str) -> str:
    """What a setting is called on the pages; of the second channel, that too."""
    short = short_path(path)
    label = NUMBERS[short][0] if short in NUMBERS else CHOICES[short][0] if short in CHOICES else LABELS.get(short, "")
    if not label:
        label = re.sub(r"\s+", " ", re.sub(r"[._]|\d", " ", short)).strip().capitalize() or "The scene"
    return f"{label}, second channel" if path.startswith("channel.1.") else label


def _amount(value: object) -> str:
    """A number as a person writes it; words as they are."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, (int, float)):
        return f"{value:g}".replace("-", "\N{MINUS SIGN}")
    return str(value).replace("_", " ")


def _unit(path: str) -> str:
    try:
        unit = sim.setting(path).unit
    except sim.SceneError:
        return ""
    unit = _UNITS.get(unit, unit)
    return f"{'' if unit in ('°', '') else chr(160)}{unit}"


def refusal_words(error: sim.SceneError) -> str:
    """Why a setting was not taken, without a word of code: what it is called, what it may be, and the repair.

    Parameters
    ----------
    error : simulator.SceneError

    Returns
    -------
    str
        One or two sentences.
    """
    label, rule, got = label_of(error.name), error.rule, error.got
    if found := _RAMPS.search(rule):
        return (f"Rise and fall last {_amount(float(found[1]))} s together, longer than the {_amount(got)} s on. "
                "Lengthen the on time or shorten them.")
    if found := _NEXT.search(rule):
        return (f"A pulse of {_amount(got)} µs does not end before the next one, {_amount(float(found[1]))} µs later. "
                "Shorten phase or gap, or lower the frequency.")
    if found := _RANGE.match(rule):
        low, high = (_amount(float(end)) if _number(end) else end for end in found.groups())
        unit = _unit(error.name)
        asked = f" {_amount(got)}{unit} was asked for." if isinstance(got, (int, float)) and not isinstance(got, bool) else ""
        return f"{label} goes from {low} to {high}{unit}.{asked}"
    if rule.startswith("one of "):
        return f"{label} cannot be \u201c{_amount(got)}\u201d. Choose one of those shown."
    if rule == "a whole number":
        return f"{label} is a whole number; {_amount(got)} was asked for."
    if rule.startswith("a number"):
        return f"{label} is a number; it was given as something else."
    if rule == "true or false":
        return f"{label} is either yes or no."
    return f"{label} cannot be set so. Everything stays as it was."


def _number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True
