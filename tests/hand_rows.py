"""What every practitioner knows of stimulated hands, and what is published of fingers, as functions that tell whether it holds.

Angles in degrees, flexion positive: a wrist below zero is back. The tests run them at the numbers as they are, with twins that
must fail; `tests/bench/sensitivity.py` runs them over the range of each number of the hand that is not published.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from contextlib import AbstractContextManager, contextmanager
from functools import cache
from itertools import pairwise

import numpy as np
from changed_numbers import changed_number

from graspwave import simulator as sim
from graspwave.simulator.facts import Fact, all_facts, facts_under
from graspwave.simulator.hand import readied, scene_hand, standard_hand

CURRENT_MA = np.arange(0.0, 40.01, 0.5)
UP_TO_CLOSERS = CURRENT_MA[1:] <= 24.0
HALF_MA_TURN_DEG, TIGHT_TURN_DEG = 15.0, 25.0
"""Most that a joint of index, middle or ring turns with half a milliampere more: up to 24 mA; in a tight hand, up to 40 mA."""

SUPPLE_TIMES, STRONG_TIMES = 1.7, 1.3
"""How far the current may rise past the one that opens a supple hand, of half and of full strength, times that current."""

SETTINGS: dict[tuple[str, str], tuple[float, float]] = {
    ("", "strength"): (0.4, 0.75),
    ("", "wrist_tone"): (0.01, 0.03),
    ("supple", "finger_tone"): (0.0, 0.004),
    ("stiff", "finger_tone"): (0.003, 0.006),
    ("tight", "finger_tone"): (0.004, 0.02),
    ("stiff", "flexor_length_factor"): (0.99, 0.998),
}
"""Invented settings of the presets, by preset (empty: all three and the recipe) and name, with the range they are tried over."""

_others: dict[tuple[str, str], float] = {}  # settings of presets that `with_setting` has changed


def presets() -> dict[str, sim.Scene]:
    """The presets, with the settings that stand changed for a while."""
    found = sim.presets()
    for (key, name), value in _others.items():
        for each in found if not key else (key,):
            found[each] = found[each].replace(f"hand.{name}", value)
    return found


def hand(key: str, **settings: object) -> sim.Scene:
    """A preset with some settings of the hand changed."""
    scene = presets()[key]
    for name, value in settings.items():
        scene = scene.replace(f"hand.{name}", value)
    return scene


@cache
def curve(scene: sim.Scene) -> sim.Opening:
    return sim.opening_curve(scene, CURRENT_MA)


def widest_mm(scene: sim.Scene) -> float:
    return float(curve(scene).opening_mm.max())


def span(found: sim.Opening) -> tuple[float, float]:
    """From the current of 90 % with the wrist level or back, to the last one of a useful opening; (0, 0) if there is none."""
    wrist, pip, mm = found.angle_deg["wrist"], found.angle_deg["PIP"], found.opening_mm
    begins = np.flatnonzero((mm >= 0.9 * mm.max()) & (wrist <= 0.0))
    if not begins.size:
        return 0.0, 0.0
    last = first = int(begins[0])
    useful = (mm >= 0.85 * mm.max()) & (wrist >= -50.0) & (pip <= 45.0)
    while last + 1 < useful.size and useful[last + 1]:
        last += 1
    return float(found.amplitude_ma[first]), float(found.amplitude_ma[last])


def opens_over_a_broad_range(scene: sim.Scene, times: float) -> bool:
    """The fingers open and stay open, the wrist goes back, from a current to `times` times it."""
    begins, ends = span(curve(scene))
    return begins > 0.0 and ends >= times * begins


def turn_deg(scene: sim.Scene, where: np.ndarray | slice = UP_TO_CLOSERS) -> float:
    """Largest turn of the wrist, of an MCP or a PIP of index, middle or ring with half a milliampere more."""
    angle = curve(scene).angle_deg
    joints = ("wrist", *(finger + joint for finger in ("", "index.", "ring.") for joint in ("MCP", "PIP")))
    return max(float(np.abs(np.diff(angle[joint]))[where].max()) for joint in joints)


def wrist_at_90_deg(scene: sim.Scene) -> float:
    """Wrist angle where nine tenths of the widest opening are reached."""
    found = curve(scene)
    return float(found.angle_deg["wrist"][np.argmax(found.opening_mm >= 0.9 * found.opening_mm.max())])


def recipe_share(scene: sim.Scene) -> float:
    """Part of the published recipe's 17 to 28 mA (PMC6465149: 50 Hz, 200 us) at which the hand is usefully open."""
    found = curve(scene)
    inside = (found.amplitude_ma >= 17.0) & (found.amplitude_ma <= 28.0)
    return float(np.mean((found.opening_mm[inside] >= 60.0) & (found.angle_deg["PIP"][inside] <= 60.0)))


def one_posture_at_each_current(scene: sim.Scene, up_to_ma: float = 28.0) -> bool:
    """No fold until the closers join, and the wrist goes only further back."""
    back = np.diff(curve(scene).angle_deg["wrist"][up_to_ma >= CURRENT_MA])
    return bool(np.all(back < 1e-6)) and not [fold for fold in sim.folds(scene) if fold.rising_ma < up_to_ma]


def rests_open_mm(scene: sim.Scene, wrist_deg: float) -> float:
    return float(sim.opening_curve(scene.replace("hand.wrist_held_deg", wrist_deg), [0.0]).opening_mm[0])


def rest_wrist_deg(scene: sim.Scene, forearm: str) -> float:
    return float(sim.opening_curve(scene.replace("hand.forearm", forearm), [0.0]).angle_deg["wrist"][0])


def rests_as_relaxed_hands_do(scene: sim.Scene) -> bool:
    """Hangs palm down, near level thumb up, falls back palm up (published in words, ASME SBC2007; angles common practice)."""
    down, side, up = (rest_wrist_deg(scene, turned) for turned in ("pronated", "neutral", "supinated"))
    return 30.0 <= down <= 70.0 and abs(side) <= 15.0 and up <= -25.0


# ---- the tight and the stiff hand


def opens_less(scene: sim.Scene, supple_mm: float) -> bool:
    """Rests nearly shut; widest 0.4 to 0.75 of the supple hand, with the wrist still bent down."""
    found = curve(scene)
    best = int(found.opening_mm.argmax())
    share = float(found.opening_mm[best]) / supple_mm
    return bool(0.4 <= share <= 0.75 and found.angle_deg["wrist"][best] > 0.0 and found.opening_mm[0] < 5.0)


def claws_then_shuts(scene: sim.Scene) -> bool:
    """Past its widest the hand claws, then has less than half as the wrist comes up."""
    found = curve(scene)
    best = int(found.opening_mm.argmax())
    top, after = float(found.opening_mm[best]), slice(best, None)
    wrist, mcp, pip = (found.angle_deg[joint][after] for joint in ("wrist", "MCP", "PIP"))
    claws = np.flatnonzero((mcp <= 0.0) & (pip > 60.0))
    falls = np.flatnonzero(found.opening_mm[after] < 0.5 * top)
    return bool(claws.size and falls.size and claws[0] <= falls[0] and wrist[falls[0]] < wrist[0])


def is_between(supple: sim.Scene, stiff: sim.Scene, tight: sim.Scene, at_ma: float = 20.0) -> bool:
    """The stiff hand lies between: at rest, at its widest, and at one current, not next to either."""
    low, mid, high = (curve(scene) for scene in (tight, stiff, supple))
    at = int(np.argmax(at_ma == CURRENT_MA))
    a, b, c = (float(found.opening_mm[at]) for found in (low, mid, high))
    pip = [float(found.angle_deg["PIP"][at]) for found in (high, mid, low)]
    return bool(
        low.opening_mm.max() < mid.opening_mm.max() < high.opening_mm.max()
        and low.opening_mm[0] < mid.opening_mm[0] < high.opening_mm[0]
        and a + 0.2 * (c - a) < b < c - 0.1 * (c - a) and pip[0] < pip[1] < pip[2]
    )  # fmt: skip


def held_mm(factor: float = 0.95) -> list[float]:
    """Opening of the tight hand's arm with the wrist held from 60 bent to 40 back, at a drive of 0.3 (current of about 12 mA)."""
    scene = hand("tight", flexor_length_factor=factor)
    return [
        float(sim.opening_curve(scene.replace("hand.wrist_held_deg", deg), [12.0]).opening_mm[0])
        for deg in (60.0, 40.0, 20.0, 0.0, -20.0, -40.0)
    ]


def falls_to_nothing(opening_mm: list[float]) -> bool:
    """Published: electrically evoked hand opening in spastic hemiplegia against wrist angle; none at 40 degrees back."""
    steadily = all(a >= b for a, b in pairwise(opening_mm))
    return steadily and opening_mm[0] > 30.0 and opening_mm[-1] < 0.1 * opening_mm[0]


# ---- pads

PLACES = tuple((float(along), float(around)) for along in range(15, 61, 5) for around in range(-60, 61, 15))


def placed(along: float, around: float, **settings: object) -> sim.Scene:
    scene = hand("supple", **settings).replace("channel.0.pads.along_percent", along)
    return scene.replace("channel.0.pads.around_deg", around)


def useful_ma(found: sim.Opening) -> float:
    """Milliamperes over which the hand is usefully open: 60 mm, wrist 5 to 55 back, PIP under 50."""
    wrist, pip = found.angle_deg["wrist"], found.angle_deg["PIP"]
    return 0.5 * float(((found.opening_mm >= 60.0) & (wrist <= -5.0) & (wrist >= -55.0) & (pip < 50.0)).sum())


def useful_places(places: tuple[tuple[float, float], ...] = PLACES, **settings: object) -> float:
    """Share of places on the back of the forearm that open a supple hand over 2 mA or more."""
    return float(np.mean([useful_ma(curve(placed(*place, **settings))) >= 2.0 for place in places]))


def half_way_ma(found: sim.Opening, joint: str) -> float:
    """Current at which a joint has gone half of its way to its least angle."""
    angle = found.angle_deg[joint]
    return float(found.amplitude_ma[np.argmax(angle <= 0.5 * (angle[0] + angle.min()))])


def wrist_first(around_deg: float) -> bool:
    found = curve(placed(30.0, around_deg))
    return half_way_ma(found, "wrist") < half_way_ma(found, "MCP")


def wrist_first_and_fingers_curl(around_deg: float) -> bool:
    found = curve(placed(30.0, around_deg))
    curled = int(np.argmax(found.angle_deg["wrist"] < -20.0))
    return wrist_first(around_deg) and bool(found.angle_deg["PIP"][curled] > 40.0)


# ---- the person's own part


def claws_from_ma(scene: sim.Scene) -> float:
    """Current from which the middle joint is bent more than 55 degrees."""
    found = curve(scene)
    return float(found.amplitude_ma[np.argmax(found.angle_deg["PIP"] > 55.0)])


def trying_straightens(scene: sim.Scene, tries: sim.Scene) -> bool:
    """Where the middle joints give way trying along straightens them; two milliamperes on it holds the hand open."""
    at = claws_from_ma(scene) + np.array([0.0, 2.0])
    alone, along = sim.opening_curve(scene, at), sim.opening_curve(tries, at)
    return bool(along.angle_deg["PIP"][0] < alone.angle_deg["PIP"][0] - 20.0 and along.opening_mm[1] > alone.opening_mm[1] + 2.0)


def trying_helps_at_low_current_only(rests: sim.Scene, tries: sim.Scene) -> bool:
    found = curve(rests)
    best = int(found.opening_mm.argmax())
    low = int(np.argmax(found.opening_mm > 0.5 * found.opening_mm.max()))
    gain = curve(tries).opening_mm - found.opening_mm
    return bool(gain[low] > 5.0 and gain[best + 6] < 2.0)  # three milliamperes past its best


def gained_mm(minutes_after: float) -> float:
    """What ten gentle openings give the tight hand's widest opening, so many minutes later."""
    scene = hand("tight")
    ready = readied(scene.hand, 10, minutes_after)
    after = hand("tight", flexor_length_factor=ready.flexor_length_factor, finger_tone=ready.finger_tone)
    return widest_mm(after) - widest_mm(scene)


def small_and_short_lived(at_once: float, later: float) -> bool:
    return 1.0 <= at_once <= 15.0 and later < 0.5 * at_once


ROWS: Mapping[str, Callable[[], bool]] = {
    "supple opens over 1.7 x": lambda: opens_over_a_broad_range(hand("supple"), SUPPLE_TIMES),
    "supple turns smoothly": lambda: turn_deg(hand("supple")) <= HALF_MA_TURN_DEG,
    "stiff turns smoothly": lambda: turn_deg(hand("stiff")) <= HALF_MA_TURN_DEG,
    "tight turns smoothly": lambda: turn_deg(hand("tight"), slice(None)) <= TIGHT_TURN_DEG,
    "supple's wrist at 90 %": lambda: wrist_at_90_deg(hand("supple")) <= 30.0,  # level or back is better: fingers open first
    "strong opens over 1.3 x": lambda: opens_over_a_broad_range(hand("supple", strength=1.0), STRONG_TIMES),
    "recipe": lambda: recipe_share(presets()["trial"]) >= 0.7,
    "one posture": lambda: one_posture_at_each_current(hand("supple")),
    "gap at rest": lambda: all(20.0 <= rests_open_mm(hand("supple"), deg) <= 50.0 for deg in (0.0, -15.0, -30.0)),
    "wrist at rest": lambda: rests_as_relaxed_hands_do(hand("supple")),
    "tight opens less": lambda: opens_less(hand("tight"), widest_mm(hand("supple"))),
    "tight claws, then shuts": lambda: claws_then_shuts(hand("tight")),
    "stiff is between": lambda: is_between(hand("supple"), hand("stiff"), hand("tight")),
    "tight, wrist held": lambda: falls_to_nothing(held_mm()),
    "places of pads": lambda: useful_places() >= 0.4,
    "thumb side: wrist first": lambda: wrist_first_and_fingers_curl(-45.0) and not wrist_first(10.0),
    "trying, supple": lambda: trying_straightens(hand("supple"), hand("supple", own_opening=0.3)),
    "trying, tight": lambda: trying_helps_at_low_current_only(hand("tight"), hand("tight", own_opening=0.1)),
    "gentle first": lambda: small_and_short_lived(gained_mm(0.0), gained_mm(60.0)),
}
"""Common practice, by a name short enough for a table."""


# ---- numbers changed for a while

Number = float | tuple[float, ...]
STEP_SHARE, STEP_LENGTH, STEP_DEG = 0.2, 0.02, 5.0
_NUMBER = r"-?\d+(?:\.\d+)?"


def ends(record: Fact) -> tuple[Number, Number]:
    """Range of a number: its own, else its fitted spread, else a step: 0.02 of a length, 5 degrees, 20 % of others.

    Numbers by finger are changed together, by 20 %.
    """
    if isinstance(record.value, tuple):
        return tuple(v - STEP_SHARE * abs(v) for v in record.value), tuple(v + STEP_SHARE * abs(v) for v in record.value)
    value = float(record.value)
    if record.range is not None:
        return record.range
    spread = re.match(rf"({_NUMBER}) to ({_NUMBER})", record.spread)
    if spread:
        return float(spread[1]), float(spread[2])
    if record.name.endswith(("length_at_zero", "stretch_from")):
        return value - STEP_LENGTH, value + STEP_LENGTH
    step = STEP_DEG if record.unit == "deg" and "fold" not in record.name else STEP_SHARE * abs(value)
    return value - step, value + step


LEFT_OUT = ("metric", "reflex", "claw", "friction", "helping", "table", "contact")
"""Sections with no part in a steady opening without help."""


def unpublished() -> dict[str, Fact]:
    """Numbers of the hand that are not published, by name without its table's; polynomials and plain zeros left out."""
    return {
        name.removeprefix("hand."): record for name, record in all_facts().items()
        if name.startswith("hand.") and record.mark != "published" and not isinstance(record.value, str)
        and not name.endswith("_cm") and name.split(".")[1] not in LEFT_OUT and (np.any(record.value) or record.range)
    }  # fmt: skip


def with_number(name: str, value: Number) -> AbstractContextManager[None]:
    """A number of the table ``hand`` changed for a while."""
    return changed_number(f"hand.{name}", value, forget)


@contextmanager
def with_setting(key: str, name: str, value: float) -> Iterator[None]:
    """A setting of one preset, or of all, changed for a while."""
    _others[key, name] = value
    try:
        yield
    finally:
        del _others[key, name]


def forget() -> None:
    """Forget what was worked out with other numbers."""
    for kept in (facts_under, standard_hand, scene_hand, curve):
        getattr(kept, "cache_clear", lambda: None)()
