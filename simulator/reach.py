"""Reach: the elbow straightened against table, weight and its own bending synergy; what it costs in time and effort.

Stage ``reach``, after ``run`` and before ``practice``. An arm of two links: straightening the elbow moves the hand away from
the body. The person's own pull E of the elbow straighteners brings back bending k g E^2 (flexor synergy, growing with effort
and with the stretch g of the flexors), so hard effort can bring less than part effort; a second channel over the triceps adds
torque without it. What the elbow cannot do, the trunk does by leaning, which is shown.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from graspwave.simulator import muscle
from graspwave.simulator.facts import number
from graspwave.simulator.recruitment import recruitment_curve
from graspwave.simulator.scene import Scene

__all__ = [
    "Reach", "co_contraction", "elbow_balance_nm", "fitts_s", "index_bits", "least_effort", "reach_of", "reach_s",
    "required_torque_nm", "triceps_channel", "triceps_torque_nm",
]

Array = NDArray[np.float64]

_ANGLES = 101


@dataclass(frozen=True, slots=True)
class Reach:
    """One reach to a distance.

    Attributes
    ----------
    distance_mm : float
    limit_mm : float
        How far the elbow alone takes the hand.
    lean_mm : float
        Trunk lean that makes up for the rest: a compensation.
    effort : float
        Share of all the person can give, 0 to 1: the least that holds the arm there, or what the person chose to give.
    co_contraction : float
        Drive of the finger flexors that comes with this effort, share of full force.
    elbow_deg : float
        Elbow at the end, 0 straight.
    seconds : float
        Time of the movement to a target of the given width, without chance.
    within : bool
        Whether elbow and lean together get there.
    """

    distance_mm: float
    limit_mm: float
    lean_mm: float
    effort: float
    co_contraction: float
    elbow_deg: float
    seconds: float
    within: bool


def index_bits(distance_mm: float, width_mm: float) -> float:
    """Fitts' index of difficulty, log2(2A/W) bits, never below 0."""
    return max(0.0, math.log2(2.0 * distance_mm / width_mm))


def fitts_s(distance_mm: float, width_mm: float) -> float:
    """Time of an aimed movement after stroke: pace x (a + b log2(2A/W)), s (Fitts 1954; a, b, pace in the tables)."""
    a, b = number("reach.fitts.a_s"), number("reach.fitts.b_s_per_bit")
    return number("reach.fitts.pace") * (a + b * index_bits(distance_mm, width_mm))


def co_contraction(effort: float) -> float:
    """Drive of the finger flexors that an effort brings with it: grows with its square."""
    return number("reach.spill_over.flexor_drive") * effort * effort


def triceps_channel(scene: Scene) -> int | None:
    """Which channel lies over the triceps; none if no pads are on the upper arm."""
    found = [i for i, channel in enumerate(scene.channel) if channel.pads.limb == "upper arm"]
    return found[0] if found else None


def triceps_torque_nm(scene: Scene, elbow_deg: Array, kept: float = 1.0) -> Array:
    """Torque of the stimulated triceps at each elbow angle, newton-metres, extension positive.

    Parameters
    ----------
    scene : Scene
    elbow_deg : ndarray, shape (n,)
    kept : float, optional
        Share of its force that tiring has left.

    Notes
    -----
    Recruited share x fused pull x full force x `hand.strength` x moment arm; the arm is linear between the two published
    angles (Sugisaki 2010) and held beyond them. Torque of a stimulated triceps after stroke: no published value.
    """
    which = triceps_channel(scene)
    if which is None:
        return np.zeros_like(elbow_deg)
    channel = scene.channel[which]
    share = recruitment_curve(scene, [channel.pulse.amplitude_ma], which)["TRI"][0]
    pull = share * muscle.steady_force_fraction(channel.train.frequency_hz) * number("architecture.tri.force_n")
    bend = (number("reach.elbow.arm_straight_deg"), number("reach.elbow.arm_flexed_deg"))
    arm = np.interp(elbow_deg, bend, (number("reach.elbow.arm_straight_mm"), number("reach.elbow.arm_flexed_mm")))
    torque: Array = 1e-3 * arm * pull * kept * scene.hand.strength
    return torque


def required_torque_nm(scene: Scene, elbow_deg: Array, *, lifted: bool | None = None, load_kg: float = 0.0) -> Array:
    """Torque that the reach asks of the elbow, newton-metres.

    On the table: friction mu N at the forearm's middle, N the weight of the arm less what the other hand takes. Lifted:
    the weight of forearm, hand and load about the elbow, the forearm held level.
    """
    lifted = scene.task.arm == "lifted" if lifted is None else lifted
    weight = number("reach.arm.body_kg") * number("reach.arm.gravity_m_s2")
    forearm = number("recruitment.limb.forearm_mm") * 1e-3
    help_n = number("reach.help.force_n") if scene.task.other_hand == "lifts" else 0.0
    centre = number("reach.arm.centre_share") * forearm
    if lifted:
        held = max(number("reach.arm.forearm_share") * weight - help_n, 0.0) * centre
        hand = forearm + _palm_mm(scene) * 1e-3
        return np.full_like(elbow_deg, held + load_kg * number("reach.arm.gravity_m_s2") * hand)
    rests = max(number("reach.arm.weight_share") * weight - help_n, 0.0)
    return np.full_like(elbow_deg, scene.task.friction * rests * centre)


def elbow_balance_nm(scene: Scene, elbow_deg: Array, effort: float) -> Array:
    """Own net torque at an effort: T (E - k g E^2), bending synergy included, newton-metres."""
    own = number("reach.elbow.torque_nm") * scene.hand.elbow_strength
    net: Array = own * (effort - _synergy(scene, elbow_deg) * effort * effort)
    return net


def least_effort(scene: Scene, elbow_deg: Array, asked_nm: Array) -> Array:
    """Smallest effort whose net torque meets what is asked; infinite where none does.

    Root of T (E - k g E^2) = asked; beyond E = 1 / (2 k g) trying harder straightens less.
    """
    own = number("reach.elbow.torque_nm") * scene.hand.elbow_strength
    bend = _synergy(scene, elbow_deg)
    asked = np.maximum(asked_nm, 0.0) / own
    inside = 1.0 - 4.0 * bend * asked
    root = 2.0 * asked / (1.0 + np.sqrt(np.maximum(inside, 0.0)))
    effort: Array = np.where((inside >= 0.0) & (root <= number("reach.elbow.hardest")), root, np.inf)
    return effort


def reach_of(
    scene: Scene, distance_mm: float | None = None, width_mm: float | None = None, *, kept: float = 1.0, stimulated: bool = True
) -> Reach:
    """Reach to a distance: how far the elbow goes, the lean that makes up the rest, effort and time.

    Parameters
    ----------
    scene : Scene
    distance_mm, width_mm : float, optional
        The task's distance and diameter if not given.
    kept : float, optional
        Share of the triceps' stimulated force that tiring has left.
    stimulated : bool, optional
        Whether the second channel runs.

    Returns
    -------
    Reach

    Notes
    -----
    Limits: one plane; the shoulder is free and strong enough; no speed-dependent reflex at the elbow.

    Examples
    --------
    >>> from graspwave import simulator as sim
    >>> near, far = (sim.reach_of(sim.presets()["tight"], distance_mm=mm) for mm in (150, 350))
    >>> near.effort <= far.effort
    True
    """
    distance = scene.task.distance_mm if distance_mm is None else distance_mm
    width = scene.task.diameter_mm if width_mm is None else width_mm
    elbow = np.linspace(number("reach.arm.start_deg"), number("reach.arm.end_deg"), _ANGLES)
    out = _hand_mm(scene, elbow)
    out -= out[0]
    helped = triceps_torque_nm(scene, elbow, kept) if stimulated else np.zeros_like(elbow)
    effort = least_effort(scene, elbow, required_torque_nm(scene, elbow) - helped)
    able = np.isfinite(effort)
    last = int(np.argmin(able)) if not able.all() else elbow.size  # the first angle that cannot be passed
    limit = float(out[last - 1]) if last else 0.0
    lean = max(0.0, distance - limit)
    most = number("reach.lean.most_mm") if scene.task.lean else 0.0
    at = min(int(np.searchsorted(out, min(distance, limit) - 1e-9)), max(last - 1, 0))
    asked = float(np.max(effort[: at + 1])) if last else 1.0
    given = max(scene.task.effort, asked)
    return Reach(
        distance_mm=distance, limit_mm=round(limit, 2), lean_mm=round(min(lean, most), 2), effort=round(given, 6),
        co_contraction=round(co_contraction(given), 6), elbow_deg=float(elbow[at]),
        seconds=round(reach_s(distance, width, asked, min(lean, most)), 4), within=lean <= most + 1e-9,
    )


def reach_s(distance_mm: float, width_mm: float, effort: float, lean_mm: float = 0.0) -> float:
    """Fitts' time, longer under load and with a lean, s."""
    load = 1.0 + number("reach.fitts.load") * effort
    return fitts_s(distance_mm, width_mm) * load + number("reach.fitts.lean_s_per_mm") * lean_mm


def _synergy(scene: Scene, elbow_deg: Array) -> Array:
    start = number("reach.arm.start_deg")
    stretched = 1.0 + number("reach.elbow.synergy_grows") * (start - elbow_deg) / start
    bend: Array = scene.hand.synergy * stretched
    return bend


def _palm_mm(scene: Scene) -> float:
    """Wrist to the base of the fingers: where the hand holds."""
    return number("hand.bones.metacarpal") * scene.hand.hand_length_mm


def _hand_mm(scene: Scene, elbow_deg: Array) -> Array:
    """Shoulder to hand over the table, level distance, mm: law of cosines, less the shoulder's height."""
    upper, fore = number("recruitment.limb.upper_arm_mm"), number("recruitment.limb.forearm_mm") + _palm_mm(scene)
    square = upper**2 + fore**2 + 2.0 * upper * fore * np.cos(np.radians(elbow_deg))
    level: Array = np.sqrt(np.maximum(square - scene.task.shoulder_above_mm**2, 0.0))
    return level
