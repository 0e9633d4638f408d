"""How far each row of the hand is from breaking, as signed numbers that move smoothly with the model's.

A row says yes or no; here they are those of `sensitivity.ALL` and the published ones of single fingers. A search needs to know
by how much: each row has one margin or more, named ``row`` or ``row: part``, positive where it holds, 1 for a step that matters.
Where a row counts on a grid of currents the margin lies between the grid's points, so the two may differ near nought: whoever
searches asks the row in the end.
"""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise

import hand_rows as rows
import numpy as np
import sensitivity
import test_claw_binder_markey_2019 as claw
import test_hand_published as published
import test_joint_stiffness as stiffness
import test_single_tendons_nimbarte_2008 as tendons
import test_tenodesis_su_2005 as tenodesis
import test_wrist_passive_torque_delp_1996 as wrist
import test_wrist_torque_single_muscle_2010 as single
from hand_rows import CURRENT_MA, curve, hand

from graspwave import simulator as sim
from graspwave.simulator.hand import FINGERS, equilibrium, posture_under, standard_hand
from graspwave.simulator.scene import Hand

Margins = dict[str, float]

CLAWS = tuple((finger, factor) for finger in FINGERS for factor in claw.BY_LENGTH if (finger, factor) != ("index", 0.98))
"""Every finger at every published length, but the known miss."""

ROWS: dict[str, Callable[[], bool]] = {
    **sensitivity.ALL,
    "tenodesis, each finger": lambda: tenodesis.fingers_are_met(standard_hand()),
    "single tendons, index": lambda: tendons.index_is_met(standard_hand()),
    "claw, each finger": lambda: all(claw.answer(standard_hand(), x, finger) == claw.BY_LENGTH[x] for finger, x in CLAWS),
}
TWO = (("MCP", "healthy"), ("MCP", "ashworth 2 to 3"), ("PIP", "89 adults"))
NEVER_MA = 45.0
"""Stands for a current past the end of the grid."""


def rises_ma(found: sim.Opening, over: np.ndarray) -> float:
    """First current at which `over` is nought or more, between the points of the grid."""
    at = np.flatnonzero(over >= 0.0)
    if not at.size:
        return NEVER_MA
    i = int(at[0])
    if i == 0:
        return float(found.amplitude_ma[0])
    low, high = found.amplitude_ma[i - 1 : i + 1]
    return float(low + (high - low) * over[i - 1] / (over[i - 1] - over[i]))


def at_ma(found: sim.Opening, value: np.ndarray, current_ma: float) -> float:
    return float(np.interp(current_ma, found.amplitude_ma, value))


def times_open(found: sim.Opening) -> float:
    """`hand_rows.span`, the last current over the first."""
    back, pip, mm = found.angle_deg["wrist"], found.angle_deg["PIP"], found.opening_mm
    begins = rises_ma(found, np.minimum((mm - 0.9 * mm.max()) / 5.0, -back / 5.0))
    spoils = np.maximum.reduce([(0.85 * mm.max() - mm) / 5.0, (-50.0 - back) / 5.0, (pip - 45.0) / 5.0])
    ends = rises_ma(found, np.where(found.amplitude_ma > begins, spoils, -1.0))
    return min(ends, 40.0) / begins


def turns(key: str, most_deg: float, where: np.ndarray | slice) -> Margins:
    """Of each joint its own: which of them turns most changes on the way."""
    angle = curve(hand(key)).angle_deg
    joints = ("wrist", *(finger + joint for finger in ("", "index.", "ring.") for joint in ("MCP", "PIP")))
    return {f"{key} turns smoothly: {j}": (most_deg - float(np.abs(np.diff(angle[j]))[where].max())) / 4.0 for j in joints}


def of_curves() -> Margins:
    """Rows of one curve each."""
    supple, strong, trial = curve(hand("supple")), curve(hand("supple", strength=1.0)), curve(rows.presets()["trial"])
    opens = rises_ma(supple, supple.opening_mm - 0.9 * supple.opening_mm.max())
    inside = (trial.amplitude_ma >= 17.0) & (trial.amplitude_ma <= 28.0)
    usable = np.minimum((trial.opening_mm[inside] - 60.0) / 4.0, (60.0 - trial.angle_deg["PIP"][inside]) / 4.0)
    back = np.diff(supple.angle_deg["wrist"][supple.amplitude_ma <= 28.0])
    rest_mm = [rows.rests_open_mm(hand("supple"), deg) for deg in (0.0, -15.0, -30.0)]
    down, side, up = (rows.rest_wrist_deg(hand("supple"), turned) for turned in ("pronated", "neutral", "supinated"))
    return {
        "supple opens over 1.7 x": (times_open(supple) - rows.SUPPLE_TIMES) / 0.3,
        "strong opens over 1.3 x": (times_open(strong) - rows.STRONG_TIMES) / 0.3,
        **turns("supple", rows.HALF_MA_TURN_DEG, rows.UP_TO_CLOSERS),
        **turns("stiff", rows.HALF_MA_TURN_DEG, rows.UP_TO_CLOSERS),
        **turns("tight", rows.TIGHT_TURN_DEG, slice(None)),
        "supple's wrist at 90 %": (30.0 - at_ma(supple, supple.angle_deg["wrist"], opens)) / 6.0,
        "recipe": (float(np.mean(np.clip(usable + 0.5, 0.0, 1.0))) - 0.7) / 0.15,
        "one posture": (0.01 - float(back.max())) / 0.05,  # flat where no fibre wakes
        "gap at rest: least": (min(rest_mm) - 20.0) / 4.0,
        "gap at rest: most": (50.0 - max(rest_mm)) / 4.0,
        "wrist at rest: down": min(down - 30.0, 70.0 - down) / 5.0,
        "wrist at rest: side": (15.0 - abs(side)) / 5.0,
        "wrist at rest: up": (-25.0 - up) / 2.0,
    }


def of_tight() -> Margins:
    """The tight hand beside the supple one, and as its wrist comes up."""
    supple, tight = curve(hand("supple")), curve(hand("tight"))
    best = int(tight.opening_mm.argmax())
    top = float(tight.opening_mm[best])
    share = top / float(supple.opening_mm.max())
    mm, mcp, pip = tight.opening_mm[best:], tight.angle_deg["MCP"][best:], tight.angle_deg["PIP"][best:]
    shuts = bool(mm.min() < 0.5 * top)
    falls = int(np.argmax(mm < 0.5 * top)) if shuts else mm.size - 1
    falls_ma = float(tight.amplitude_ma[best + falls]) if shuts else NEVER_MA
    held = rows.held_mm()
    return {
        "tight opens less: at least": (share - 0.4) / 0.04,
        "tight opens less: at most": (0.75 - share) / 0.04,
        "tight opens less: wrist": float(tight.angle_deg["wrist"][best]) / 4.0,
        "tight opens less: at rest": (5.0 - float(tight.opening_mm[0])) / 2.0,
        "tight claws, then shuts: shuts": (CURRENT_MA[-1] - falls_ma) / 3.0,
        "tight claws, then shuts: claws": float(np.minimum(-mcp, pip - 60.0)[: falls + 1].max()) / 1.5,
        "tight, wrist held: first": (held[0] - 30.0) / 5.0,
        "tight, wrist held: last": (0.1 * held[0] - held[-1]) / 2.0,
        "tight, wrist held: falls": min((a - b) / 2.0 for a, b in pairwise(held) if max(a, b) > 0.0),
    }


def of_stiff(current_ma: float = 20.0) -> Margins:
    """The stiff hand between the two others."""
    three = [curve(hand(key)) for key in ("tight", "stiff", "supple")]
    widest, rest = [float(found.opening_mm.max()) for found in three], [float(found.opening_mm[0]) for found in three]
    low, mid, high = (at_ma(found, found.opening_mm, current_ma) for found in three)
    pip = [at_ma(found, found.angle_deg["PIP"], current_ma) for found in three]
    way = (mid - low) / (high - low)
    return {
        "stiff is between: past tight": (widest[1] - widest[0]) / 4.0,
        "stiff is between: under supple": (widest[2] - widest[1]) / 2.0,
        "stiff is between: at rest": min(rest[1] - rest[0], rest[2] - rest[1]) / 4.0,
        "stiff is between: at least": (way - 0.2) / 0.05,
        "stiff is between: at most": (0.9 - way) / 0.05,
        "stiff is between: PIP": min(pip[1] - pip[2], pip[0] - pip[1]) / 8.0,
    }


def half_way_ma(found: sim.Opening, joint: str) -> float:
    angle = found.angle_deg[joint]
    return rises_ma(found, 0.5 * (angle[0] + angle.min()) - angle)


def of_places_and_effort() -> Margins:
    """Pads to the thumb's side, trying along, a gentle programme first."""
    side, over = curve(rows.placed(30.0, -45.0)), curve(rows.placed(30.0, 10.0))
    curls = at_ma(side, side.angle_deg["PIP"], rises_ma(side, -20.0 - side.angle_deg["wrist"]))
    supple, tight = curve(hand("supple")), curve(hand("tight"))
    gives = rises_ma(supple, supple.angle_deg["PIP"] - 55.0) + 0.25 + np.array([0.0, 2.0])  # the grid's mean step past it
    alone, along = sim.opening_curve(hand("supple"), gives), sim.opening_curve(hand("supple", own_opening=0.3), gives)
    gain = curve(hand("tight", own_opening=0.1)).opening_mm - tight.opening_mm
    half = rises_ma(tight, tight.opening_mm - 0.5 * tight.opening_mm.max()) + 0.25
    past = float(tight.amplitude_ma[int(tight.opening_mm.argmax())]) + 3.0
    at_once, later = rows.gained_mm(0.0), rows.gained_mm(60.0)
    return {
        "thumb side: wrist first: wrist": half_way_ma(side, "MCP") - half_way_ma(side, "wrist"),
        "thumb side: wrist first: curls": (curls - 40.0) / 8.0,
        "thumb side: wrist first: not over the fingers": half_way_ma(over, "wrist") - half_way_ma(over, "MCP"),
        "trying, supple: PIP": (alone.angle_deg["PIP"][0] - along.angle_deg["PIP"][0] - 20.0) / 6.0,
        "trying, supple: opening": (along.opening_mm[1] - alone.opening_mm[1] - 2.0) / 2.5,
        "trying, tight: low": (at_ma(tight, gain, half) - 5.0) / 3.0,
        "trying, tight: high": 2.0 - at_ma(tight, gain, min(past, 40.0)),
        "gentle first: at least": at_once - 1.0,
        "gentle first: at most": (15.0 - at_once) / 2.0,
        "gentle first: later": 0.5 * at_once - later,
    }


def of_claws() -> Margins:
    """The published finger by length, arm and stop; a yes is a margin past the line, a no one before it."""
    found = {}
    for printed in claw.ROWS:
        finger, factor = printed["finger"], float(printed["flexor_length_factor"])
        resting = Hand(flexor_length_factor=factor, finger_tone=0.0, wrist_tone=0.0, forearm="neutral", wrist_held_deg=0.0)
        angle = equilibrium(resting, {"EDC": claw.DRIVE}, model=claw.fingers(standard_hand())[finger]).angle_deg
        past = np.minimum(-angle["MCP"], angle["PIP"] - claw.STRAIGHT_DEG) - claw.LINE_DEG
        for part, value in (("claws_at_some_drive", past.max()), ("claws_at_full_drive", past[-1]),
                            ("straight_at_full_drive", (claw.STRAIGHT_DEG - angle["PIP"][-1]) / 3.0)):
            found[f"claw: {finger}: {part.replace('_', ' ')}"] = float(value if printed[part] == "yes" else -value)
    return found


def of_single_rows() -> Margins:
    """Published rows that are a number each."""
    model = standard_hand()
    missed, held = tendons.misses_deg(model), {"EDC": 6.0, "INT": 0.0}
    healthy, grades, adults = (stiffness.ROWS[two] for two in TWO)
    supple, pip = (stiffness.of(printed, hand("supple").hand) for printed in (healthy, adults))
    tight = stiffness.of(grades, hand("tight").hand)
    off, worst = tenodesis.misses_deg(Hand(), model), tendons.WORST_DEG - np.abs(missed)
    qin = published.mid_range_nm(model, "MCP")
    low, high = (float(published.ROWS["finger torque in mid range"][end]) for end in ("low", "high"))
    most = float(published.ROWS["share of muscle in passive MCP work"]["high"])
    lags = [published.pip_where_mcp_is_straight_deg(factor) for factor in (0.98, 0.95)]

    def ahead_deg(intrinsic_n: float) -> float:
        rest, bent = (posture_under(Hand(), {**held, "INT": intrinsic_n, "FDP": n}, 0.0, model=model) for n in (0.0, 2.0))
        return float((bent["PIP"] - rest["PIP"]) - (bent["MCP"] - rest["MCP"]))

    return {
        **{f"tenodesis (Su): {joint} {name}": (tenodesis.WITHIN_DEG - float((side * off[:, i]).max())) / 0.8
           for i, joint in enumerate(tenodesis.JOINTS) for name, side in (("over", 1.0), ("under", -1.0))},
        "single tendons (Nimbarte): mean": (tendons.RMS_DEG - float(np.sqrt(np.mean(missed**2)))) / 0.4,
        **{f"single tendons (Nimbarte): {printed['tendon']} at {joint}": float(worst[i, j]) / 0.8
           for i, printed in enumerate(tendons.ROWS) for j, joint in enumerate(tendons.JOINTS)},
        "MCP stiffness: supple": (stiffness.SUPPLE_TIMES * float(healthy["high_nm_rad"]) - supple) / 0.006,
        "MCP stiffness: tight, least": (tight - float(grades["low_nm_rad"])) / 0.025,
        "MCP stiffness: tight, most": (float(grades["high_nm_rad"]) - tight) / 0.025,
        "PIP stiffness": min(pip - 0.5 * float(adults["low_nm_rad"]), 2.0 * float(adults["low_nm_rad"]) - pip) / 0.004,
        "MCP torque (Qin)": min(qin - low, high - qin) / 0.004,
        "muscle's share at the MCP": min(most - published.muscle_share(model), published.extrinsic_share(model) - 0.8) / 0.05,
        "PIP lags without intrinsics": (min(lags) - 20.0) / 5.0,
        "load on the intrinsics": min(ahead_deg(0.0), -ahead_deg(0.5 * 9.81)) / 2.0,
    }


def of_wrist() -> Margins:
    """Published torques at the wrist."""
    model, ours = standard_hand(), {muscle: single.ours_nm(muscle) for muscle in single.ROWS}
    passive = [(wrist.passive_torque_nm(model, float(one["wrist_deg"])), float(one["torque_nm"])) for one in wrist.PASSIVE]
    active = [(wrist.most_nm(model, name), float(one["torque_nm"]), float(one["sd_nm"])) for name, one in wrist.ACTIVE.items()]
    off = abs(ours["ECU"] - single.published_nm("ECU"))
    return {
        "wrist, passive (Delp)": (wrist.WITHIN - max(abs(found / wanted - 1.0) for found, wanted in passive)) / 0.04,
        "wrist, at most (Delp)": min(sd - abs(found - abs(wanted)) for found, wanted, sd in active) / 0.1,
        "one muscle at the wrist": (0.5 * abs(single.published_nm("ECU")) - off) / 0.01,
    }


def of_fingers() -> Margins:
    """Published rows of single fingers; the index's claw at 0.98 is a known miss and left out."""
    model = standard_hand()
    off, missed = np.abs(tenodesis.by_finger_deg(model)).max(axis=(1, 2)), tendons.misses_deg(model, "index.")
    found = {f"tenodesis, each finger: {finger}": tenodesis.OF_ONE_DEG - float(off[i]) for i, finger in enumerate(FINGERS)}
    found["single tendons, index: mean"] = (tendons.RMS_DEG - float(np.sqrt(np.mean(missed**2)))) / 0.4
    found["single tendons, index: worst"] = (tendons.OF_INDEX_DEG - float(np.abs(missed).max())) / 0.8
    for finger, factor in CLAWS:
        past, pip = claw.past_line_deg(model, factor, finger)
        straight = (claw.STRAIGHT_DEG - float(pip[-1])) / 3.0
        parts = {1.00: {"none": -past.max(), "straight": straight}, 0.98: {"claws": past.max(), "straight": straight},
                 0.95: {"lasts": past[-1], "never straight": (pip.min() - claw.STRAIGHT_DEG) / 3.0}}[factor]  # fmt: skip
        found |= {f"claw, each finger: {finger} at {factor:g} {part}": float(value) for part, value in parts.items()}
    return found


def margins() -> Margins:
    """All of them, in a fixed order; without the places of pads, which take as long as the rest together."""
    found: Margins = {}
    for part in (of_curves, of_tight, of_stiff, of_places_and_effort, of_claws, of_single_rows, of_wrist, of_fingers):
        found |= part()
    return {name: float(value) for name, value in found.items()}


def row_of(margin: str) -> str:
    """The row that a margin belongs to."""
    return max((name for name in ROWS if margin == name or margin.startswith(f"{name}: ")), key=len)


def broken() -> list[str]:
    """Rows that do not hold now, asked themselves."""
    return [name for name, holds in ROWS.items() if not holds()]
