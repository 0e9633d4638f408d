"""What the Explain page and the sheet are told from: a scene and what the chain makes of it. No Panel here."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from graspwave import simulator as sim
from graspwave.apps.told.findings import MOVED_MM
from graspwave.apps.told.scenes import OBJECTS
from graspwave.simulator.answers import CURVE_MA
from graspwave.simulator.facts import number

__all__ = ["Told", "hand_curve", "told"]

_SEEN_MM = number("pages.seen.other_hand_mm")
_SLOW_HZ = number("pages.seen.slow_hz")

_PLAIN = {
    "density": "density", "power": "density", "charge": "density", "contact": "density", "rms": "rms", "energy": "energy",
    "spacing": "spacing", "dc": "one_way", "net": "one_way", "voltage": "voltage",
}
"""Key of a notice, and of the sentence that says it plainly."""


@dataclass(frozen=True, slots=True)
class Told:
    """What is said of a scene. Nothing in it is a current that is set.

    Attributes
    ----------
    object : str
        A thing of our bench (``pot``, ``bulb``, ``bean``), or ``other``: a scene's own words never reach a sheet.
    around : str
        ``back``, ``palm``, ``thumb`` or ``little``: the side of the arm that the pads are on.
    along : str
        ``elbow``, ``third``, ``half``, ``two_thirds`` or ``wrist``.
    gap_mm : float
        Between the edges of the pads.
    pairs : int
        Pairs of pads.
    same_times : bool
        Whether the second pair runs with the first.
    control : str
        ``cycle`` or ``held``.
    up_s, on_s, down_s, off_s : float
        Rise, full current, fall, rest.
    tries : int
        On times in the session's length; 0 where a switch is held.
    minutes : float
        The session's length.
    slow : bool
        Pulses are felt one by one.
    opens, fits : bool
        The model hand opens with this current; the object fits.
    more : str
        What more current does to the opening: ``less``, ``same``, ``wider``, or ``still`` shut.
    more_ma : float
        The current of that comparison: the least that shows it.
    limits, outside : tuple of str
        Limits that are passed and what the model does not cover: keys of plain sentences.
    """

    object: str
    around: str
    along: str
    limb: str
    gap_mm: float
    pairs: int
    same_times: bool
    control: str
    up_s: float
    on_s: float
    down_s: float
    off_s: float
    tries: int
    minutes: float
    slow: bool
    opens: bool
    fits: bool
    more: str
    more_ma: float
    limits: tuple[str, ...]
    outside: tuple[str, ...]

    @property
    def noticed(self) -> bool:
        """Whether a sheet must carry a notice."""
        return bool(self.limits or self.outside)


@lru_cache(maxsize=64)
def hand_curve(scene: sim.Scene) -> sim.Opening:
    """Posture and opening at no current, at the scene's own, and at every one of the curve after that."""
    now = scene.channel[0].pulse.amplitude_ma
    return sim.opening_curve(scene, np.concatenate([[0.0, now], CURVE_MA[now < CURVE_MA]]))


@lru_cache(maxsize=64)
def told(scene: sim.Scene) -> Told:
    """What is said of a scene.

    Parameters
    ----------
    scene : Scene

    Returns
    -------
    Told
    """
    channel, task = scene.channel[0], scene.task
    timing, ramp = channel.timing, channel.ramp
    opening = hand_curve(scene).opening_mm
    opens = bool(opening[1] - opening[0] >= MOVED_MM)
    more, more_ma = _more(scene, opens)
    on_s = timing.on_s - (ramp.up_s + ramp.down_s if timing.ramps_inside and timing.control == "cycle" else 0.0)
    tries = 0
    if timing.control == "cycle":
        tries = max(1, int((60.0 * scene.session.minutes - timing.delay_s) // channel.cycle_s))
    return Told(
        object=task.object if task.diameter_mm == OBJECTS.get(task.object) else "other",
        around=_around(channel.pads.around_deg), along=_along(channel.pads.along_percent), limb=channel.pads.limb,
        gap_mm=channel.pads.spacing_mm, pairs=len(scene.channel),
        same_times=not any(c.timing != timing or c.ramp != ramp for c in scene.channel),
        control=timing.control, up_s=ramp.up_s, on_s=max(0.0, on_s), down_s=ramp.down_s, off_s=timing.off_s,
        tries=tries, minutes=scene.session.minutes, slow=channel.train.frequency_hz < _SLOW_HZ,
        opens=opens, fits=bool(opens and opening[1] >= task.diameter_mm - 0.5), more=more, more_ma=more_ma,
        limits=_limits(scene), outside=_outside(scene, opens),
    )


def _more(scene: sim.Scene, opens: bool) -> tuple[str, float]:
    """What more current does, and the least current that shows most of it."""
    curve = hand_curve(scene)
    now_mm, later, amplitude = curve.opening_mm[1], curve.opening_mm[2:], curve.amplitude_ma[2:]
    if not later.size:
        return ("same" if opens else "still"), float(curve.amplitude_ma[1])
    # first what closes again: where both happen, a wider hand on the way is no reason to go on
    lost, won = now_mm - later, later - now_mm
    if lost.max() >= _SEEN_MM:
        return "less", float(amplitude[int(np.argmax(lost >= 0.8 * lost.max()))])
    if won.max() >= _SEEN_MM:
        return "wider", float(amplitude[int(np.argmax(won >= 0.8 * won.max()))])
    return ("same" if opens else "still"), float(amplitude[min(later.size - 1, max(0, int(later.size // 3)))])


def _around(deg: float) -> str:
    size = abs(deg)
    if size <= 60.0:
        return "back"
    return "palm" if size >= 120.0 else ("little" if deg > 0 else "thumb")


def _along(percent: float) -> str:
    ends = ((25.0, "elbow"), (42.0, "third"), (58.0, "half"), (75.0, "two_thirds"))
    return next((word for end, word in ends if percent < end), "wrist")


def _limits(scene: sim.Scene) -> tuple[str, ...]:
    found = [_PLAIN.get(notice.key, "other") for notice in sim.notices_of(scene) if notice.kind == "over"]
    for i, channel in enumerate(scene.channel):
        limit = sim.sensation_levels(scene, i).discomfort_ma
        if limit is None or channel.pulse.amplitude_ma > limit[1]:
            found.append("hurts")
    return tuple(dict.fromkeys(found))


def _outside(scene: sim.Scene, opens: bool) -> tuple[str, ...]:
    pads = [channel.pads for channel in scene.channel]
    timing = scene.channel[0].timing
    found = (
        ("limb", any(p.limb != "forearm" for p in pads)), ("contact", any(p.contact != "whole" for p in pads)),
        ("without", bool(scene.without_mechanisms)), ("shut", not opens),
        ("tired", timing.control == "cycle" and timing.off_s < 0.5),
    )
    return tuple(key for key, holds in found if holds)
