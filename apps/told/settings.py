"""What every setting is called: label, unit, step, everyday range, words of its choices. Pages and benches read it here."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

__all__ = ["CHOICES", "EXPLAINED", "NUMBERS", "short_path"]

NUMBERS: Mapping[str, tuple[str, str, float, tuple[float, float] | None]] = {
    "pulse.amplitude_ma": ("Current", "mA", 0.5, (0.0, 60.0)),
    "pulse.phase_us": ("Phase duration", "µs", 10.0, (50.0, 600.0)),
    "pulse.gap_us": ("Gap between phases", "µs", 10.0, (0.0, 300.0)),
    "pulse.phase_ratio": ("Second phase, lengths of the first", "", 0.5, None),
    "train.frequency_hz": ("Frequency", "Hz", 1.0, (1.0, 80.0)),
    "ramp.up_s": ("Rise", "s", 0.5, (0.0, 5.0)),
    "ramp.down_s": ("Fall", "s", 0.5, (0.0, 5.0)),
    "timing.on_s": ("On", "s", 0.5, (1.0, 20.0)),
    "timing.off_s": ("Off", "s", 0.5, (1.0, 40.0)),
    "timing.delay_s": ("Start after", "s", 0.5, None),
    "pads.along_percent": ("Pads along, elbow to wrist", "%", 1.0, (10.0, 80.0)),
    "pads.around_deg": ("Pads round, to the little finger", "°", 5.0, (-90.0, 90.0)),
    "pads.size_cm2": ("Size of each pad", "cm²", 1.0, (4.0, 36.0)),
    "pads.spacing_mm": ("Gap between pads", "mm", 5.0, None),
    "hand.flexor_length_factor": ("Length of closers", "of usual", 0.005, (0.92, 1.02)),
    "hand.finger_tone": ("Tone of closers at rest", "", 0.001, (0.0, 0.03)),
    "hand.wrist_tone": ("Tone of wrist benders", "", 0.001, (0.0, 0.03)),
    "hand.wrist_held_deg": ("Wrist held at, down is positive", "°", 5.0, (-60.0, 60.0)),
    "hand.own_opening": ("Own effort that opens", "", 0.01, (0.0, 0.3)),
    "hand.own_grip": ("Own effort that closes", "", 0.01, (0.0, 0.4)),
    "hand.reflex_gain": ("Stretch reflex of closers", "", 0.1, None),
    "hand.strength": ("Strength, share of a healthy arm's", "", 0.05, None),
    "hand.fat_mm": ("Fat over the muscle", "mm", 0.5, None),
    "hand.help_opening": ("Help from the other hand", "", 0.05, None),
    "task.diameter_mm": ("Width of the object", "mm", 1.0, (10.0, 90.0)),
    "task.distance_mm": ("Distance of the object", "mm", 10.0, None),
    "task.friction": ("Friction on the table", "", 0.05, None),
}
"""Label, unit, step and the part of the range in everyday use, by the path without its channel."""

CHOICES: Mapping[str, tuple[str, Mapping[Any, str]]] = {
    "pulse.shape": ("Pulse shape", {"symmetric": "mirrored", "asymmetric": "uneven", "monophasic": "one way"}),
    "pads.swap": ("Leads", {False: "as set", True: "swapped"}),
    "pads.contact": ("One pad is", {"whole": "sound", "halved": "half off", "lifted": "lifted", "dried": "dry"}),
    "pads.shape": ("Shape of pads", {"square": "square", "round": "round"}),
    "hand.forearm": ("Palm faces", {"pronated": "down", "neutral": "in", "supinated": "up"}),
    "train.start": ("Start of a train", {"plain": "plain", "doublet": "two close pulses", "triplet": "three close pulses"}),
    "ramp.of": ("A ramp changes", {"amplitude": "height", "phase": "length"}),
    "timing.control": ("Current runs", {"cycle": "by a timer", "held": "while a switch is held"}),
    "timing.ramps_inside": ("Rise and fall count", {True: "inside on time", False: "on top"}),
}
"""Label, and the word of every choice."""


EXPLAINED: Mapping[str, str] = {
    "pulse.shape": "Mirrored: the second phase is the first, the other way round. Uneven: it is lower and longer. Both bring the "
    "charge back. One way: nothing brings it back, which harms the skin.",
    "hand.finger_tone": "Tone: the pull that closers keep up without being asked, a share of their full force.",
    "hand.reflex_gain": "Stretch reflex: a quick stretch makes the closers answer; a slow one does not.",
    "pads.swap": "Leads swapped: the pad that was first negative is first positive, so other nerve fibres under it are woken.",
}
"""What the words of a setting mean, said where it stands when its label is tapped."""


def short_path(path: str) -> str:
    """A path without its channel: the key of both tables.

    >>> short_path("channel.1.pulse.phase_us"), short_path("hand.fat_mm")
    ('pulse.phase_us', 'hand.fat_mm')
    """
    return path.split(".", 2)[2] if path.startswith("channel.") else path
