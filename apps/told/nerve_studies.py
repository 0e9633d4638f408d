"""What the nerve views and the pad map show, worked out from a scene. No Panel here."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from graspwave import simulator as sim
from graspwave.simulator.answers import ANSWER_SHARE, CURVE_MA, reached_ma
from graspwave.simulator.axon import Firing, axon_threshold, fire, velocity_m_s
from graspwave.simulator.facts import facts_under, number
from graspwave.simulator.field import muscles_under
from graspwave.simulator.recruitment import CLOSERS
from graspwave.simulator.sensation import Sensation, sensation_levels

__all__ = [
    "ABOVE", "BELOW", "NAMED", "NAMES", "AxonStudy", "ShareStudy", "StrengthStudy", "answer_words",
    "axon_study", "felt_words", "first_to_answer", "limit_words", "muscle_places", "share_finding", "share_study",
    "strength_study", "weiss_line",
]

Array = NDArray[np.float64]

NAMES = {
    "EDC": "finger opener", "ECRB": "wrist lifter", "ECRL": "long wrist lifter", "ECU": "wrist lifter, little-finger side",
    "EDM": "little-finger opener", "EIP": "index opener", "EPL": "thumb opener", "EPB": "short thumb opener",
    "APL": "thumb spreader", "BR": "elbow bender", "TRI": "elbow straightener", "FDS": "finger closer",
    "FDP": "deep finger closer", "FPL": "thumb closer", "FCR": "wrist bender", "FCU": "wrist bender, little-finger side",
    "PL": "palm tightener",
}
"""Plain words for the muscles."""

NAMED = ("EDC", "ECRB", "ECU", "EPL", "EIP", "FDS", "FDP")
"""Muscles whose short name stands on the pad map; the others are drawn without."""

SHOWN = ("EDC", "ECRB", "ECU", "EPL", "FDS")
"""Muscles of the recruitment curves."""

_HALF = 0.5
_OFF_LINE = 0.05
_PHASES_US = np.unique(np.concatenate([np.linspace(20.0, 100.0, 17), np.linspace(100.0, 1000.0, 37)]))
_SEARCH_MA = np.geomspace(0.5, 2000.0, 600)
ABOVE, BELOW = 1.1, 0.98
"""The two pulses of the picture of one axon, in thresholds."""

_NODES = 31
_LONGEST_US = 8000.0


# ---- who answers first

def first_to_answer(scene: sim.Scene) -> list[tuple[str, float]]:
    """Muscles whose share reaches a tenth within the range of the current, and that current [mA], lowest first."""
    curve = sim.recruitment_curve(scene, CURVE_MA)
    found = [(name, at) for name, share in curve.items() if (at := reached_ma(CURVE_MA, share, ANSWER_SHARE)) is not None]
    return sorted(found, key=lambda pair: pair[1])


def answer_words(scene: sim.Scene) -> str:
    """Which muscles answer at this place and from which current, as one or two sentences."""
    found = first_to_answer(scene)
    most = f"{CURVE_MA[-1]:.0f} mA"
    if not found:
        return f"Nothing answers at this place up to {most}."
    closer = next((pair for pair in found if pair[0] in CLOSERS), None)
    openers = [pair for pair in found if pair[0] not in CLOSERS][:3]
    first = found[0]
    if first[0] in CLOSERS:
        opens = f", openers follow at {_ma(openers[0][1])} ({NAMES[openers[0][0]]})" if openers else f", no opener up to {most}"
        return f"First to answer at this place: a closer, {NAMES[first[0]]} from {_ma(first[1])}{opens}."
    then = "".join(f", then {NAMES[name]} from {_ma(at)}" for name, at in openers[1:])
    late = f"closers join at {_ma(closer[1])} ({NAMES[closer[0]]})" if closer else f"no closer joins up to {most}"
    return f"First to answer at this place: {NAMES[first[0]]} from {_ma(first[1])}{then}; {late}."


def muscle_places(scene: sim.Scene) -> list[dict[str, object]]:
    """Every muscle the pads can reach: where its axons end, whether it closes, and its share at the present current."""
    channel = scene.channel[0]
    share = sim.recruitment_curve(scene, [channel.pulse.amplitude_ma])
    place = facts_under("recruitment.place")
    return [
        {
            "name": name, "words": NAMES.get(name, name), "named": name in NAMED, "closer": name in CLOSERS,
            "share": round(float(share[name][0]), 3),
            **{key: float(place[f"{name.lower()}.{key}"].value) for key in ("along_percent", "around_deg", "depth_mm")},
        }
        for name in muscles_under(channel.pads)
    ]


# ---- share against current

@dataclass(frozen=True, slots=True)
class ShareStudy:
    """Share of each muscle at `CURVE_MA`, and at the present current; and what is felt of it."""

    share: dict[str, Array]
    now_ma: float
    now: dict[str, float]
    levels: Sensation


def share_study(scene: sim.Scene) -> ShareStudy:
    """Recruitment curves of the muscles shown."""
    now = scene.channel[0].pulse.amplitude_ma
    curve = sim.recruitment_curve(scene, np.append(CURVE_MA, now))
    shown = [name for name in SHOWN if name in curve] or list(curve)
    return ShareStudy(
        {n: curve[n][:-1] for n in shown}, now, {n: float(curve[n][-1]) for n in shown}, sensation_levels(scene)
    )


def felt_words(levels: Sensation) -> str:
    """The band in which a pulse is first felt, in words."""
    if levels.felt_ma is None:
        return "when it is felt, nobody can say under so small a pad"
    return f"felt from about {_band(levels.felt_ma)}"


def limit_words(levels: Sensation) -> str:
    """The band of most people's limit, and what it is not."""
    if levels.discomfort_ma is None:
        return "no limit is given: it may prick or burn before anything moves"
    return f"most people's limit {_band(levels.discomfort_ma)}: recalled, unsure, not advice"


def share_finding(study: ShareStudy) -> str:
    """What the curves say at the present current."""
    opener = next(iter(study.share))
    closers = [name for name in study.share if name in CLOSERS]
    title = f"{study.now_ma:.0f} mA wakes {100 * study.now[opener]:.0f} % of the {NAMES[opener]}"
    if not closers:
        return title
    closer = closers[0]
    join = reached_ma(CURVE_MA, study.share[closer], ANSWER_SHARE)
    if study.now[closer] >= ANSWER_SHARE:
        return f"{title} and {100 * study.now[closer]:.0f} % of the {NAMES[closer]}"
    return f"{title}; the {NAMES[closer]} joins " + ("past 60 mA" if join is None else f"at {_ma(join)}")


# ---- strength and duration

@dataclass(frozen=True, slots=True)
class StrengthStudy:
    """Current for half of a muscle against phase duration.

    Attributes
    ----------
    muscle : str
    phase_us, current_ma, charge_uc : ndarray, shape (n,)
    rheobase_ma, constant_us : float
        Of the straight line of charge against duration (Weiss) through the points.
    now_us, now_ma, needs_ma : float
        The present pulse, and what half of the muscle asks for at its phase.
    """

    muscle: str
    phase_us: Array
    current_ma: Array
    charge_uc: Array
    rheobase_ma: float
    constant_us: float
    now_us: float
    now_ma: float
    needs_ma: float

    @property
    def finding(self) -> str:
        """Title of the current."""
        short = float(np.interp(100.0, self.phase_us, self.current_ma))
        name = NAMES[self.muscle]
        if abs(self.now_us - 100.0) < 1.0:
            return f"Half of the {name} takes {_ma(self.needs_ma)} at 100 µs"
        return f"Half of the {name} takes {_ma(self.needs_ma)} at {self.now_us:.0f} µs, {_ma(short)} at 100 µs"

    @property
    def line_words(self) -> str:
        """The straight line, and where the points leave it."""
        line = f"Dotted: a straight line (Weiss), {self.rheobase_ma:.1f} mA × (duration + {self.constant_us:.0f} µs)"
        off = self.charge_uc / (1e-3 * self.rheobase_ma * (self.phase_us + self.constant_us)) - 1.0
        if off[0] < _OFF_LINE:
            return f"{line}."
        return f"{line}. The shortest pulse takes {100 * off[0]:.0f} % more: its second phase undoes part of its first."

    @property
    def charge_finding(self) -> str:
        """Title of the charge."""
        here = 1e-3 * self.needs_ma * self.now_us
        other_us = 100.0 if self.now_us >= 150.0 else 300.0
        there = float(np.interp(other_us, self.phase_us, self.charge_uc))
        change = 100.0 * (there / here - 1.0)
        more = "less" if change < 0 else "more"
        return f"The same answer takes {abs(change):.0f} % {more} charge at {other_us:.0f} µs than at {self.now_us:.0f} µs"


def strength_study(scene: sim.Scene) -> StrengthStudy | None:
    """Strength against duration for the first muscle shown; None where no current in reason wakes half of it."""
    pulse = scene.channel[0].pulse
    found = _strength(scene.replace("channel.0.pulse.amplitude_ma", 0.0))
    if found is None:
        return None
    muscle, phases, strength = found
    charge = 1e-3 * strength * phases
    slope, start = np.polyfit(phases, charge, 1)
    return StrengthStudy(
        muscle, phases, strength, charge, float(1e3 * slope), float(start / slope), pulse.phase_us, pulse.amplitude_ma,
        float(np.interp(pulse.phase_us, phases, strength)),
    )


@lru_cache(maxsize=16)
def _strength(scene: sim.Scene) -> tuple[str, Array, Array] | None:
    """Muscle, phase durations and the current for half of it; the present current must not split the cache."""
    reach = muscles_under(scene.channel[0].pads)
    muscle = "EDC" if "EDC" in reach else reach[0]
    phases = np.unique(np.append(_PHASES_US, scene.channel[0].pulse.phase_us))
    current = []
    for phase_us in phases:
        share = sim.recruitment_curve(scene.replace("channel.0.pulse.phase_us", float(phase_us)), _SEARCH_MA)[muscle]
        at = reached_ma(_SEARCH_MA, share, _HALF)
        if at is None:
            return None
        current.append(at)
    return muscle, phases, np.array(current)


def weiss_line(study: StrengthStudy) -> str:
    """The constant of the curve, where it comes from, and what sources disagree about."""
    return (
        f"Weiss' constant of this line is {study.constant_us:.0f} µs (derived from the published cable, a frog's at 20 °C). "
        "Sources disagree: 459 µs at the wrist's nerve (published), 50 to 500 µs over muscles (memory mid)."
    )


# ---- one axon

@dataclass(frozen=True, slots=True)
class AxonStudy:
    """One motor axon that ends in a uniform field, a little above and a little below its threshold.

    Attributes
    ----------
    threshold_v_m, speed_m_s : float
    above, below : Firing
    phase_us : float
    """

    threshold_v_m: float
    speed_m_s: float
    above: Firing
    below: Firing
    phase_us: float

    @property
    def height_mv(self) -> float:
        """Highest voltage half-way along the fibre, where the pulse itself does not reach."""
        return float(self.above.voltage_mv[:, self.above.place_mm.size // 2].max())

    @property
    def reach_mm(self) -> float:
        """How far from the end the voltage below threshold stays above a tenth of its highest."""
        highest = self.below.voltage_mv.max(axis=0)
        return float(self.below.place_mm[highest > 0.1 * highest.max()].max())

    @property
    def finding(self) -> str:
        """Title of the picture."""
        if not self.above.fired or self.below.fired:
            return f"This pulse sits on the edge of the axon's threshold, {self.threshold_v_m:.1f} V/m"
        return (f"{ABOVE:g} times the threshold sends a spike of {self.height_mv:.0f} mV along at {self.speed_m_s:.0f} m/s; "
                f"{BELOW:g} times dies within {self.reach_mm:.0f} mm")


def axon_study(scene: sim.Scene) -> AxonStudy:
    """Fire one axon with the pulse of the scene."""
    pulse = scene.channel[0].pulse
    return _axon(pulse.phase_us, pulse.shape, pulse.gap_us, pulse.phase_ratio)


@lru_cache(maxsize=16)
def _axon(phase_us: float, shape: str, gap_us: float, ratio: float) -> AxonStudy:
    diameter = number("recruitment.axon.diameter_um")
    given: dict[str, Any] = {"shape": shape, "gap_us": gap_us, "ends": True, "uniform": True, "phase_ratio": ratio}
    threshold = float(axon_threshold(phase_us, diameter, **given))
    until_us = min(phase_us + gap_us + 2200.0, _LONGEST_US)
    above, below = (
        fire(k * threshold, phase_us, diameter, until_us=until_us, nodes=_NODES, every_us=20.0, **given)
        for k in (ABOVE, BELOW)
    )
    return AxonStudy(threshold, float(velocity_m_s(diameter)), above, below, phase_us)


def _band(ends_ma: tuple[float, float]) -> str:
    low, high = (f"{end:.1f}" if end < 0.95 else f"{end:.0f}" for end in ends_ma)
    return f"{low}-{high} mA"


def _ma(value: float) -> str:
    return f"{value:.0f} mA"
