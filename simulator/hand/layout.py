"""The hand's parameters as the compiled loops read them: one record a finger, one for the whole hand, and plain arrays.

Stage ``hand``. Built once for a hand and kept. Order of fingers: index, middle, ring, little; of muscles: `PATHS`.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from graspwave.simulator.hand.parameters import FINGERS, Capsule, HandLike, HandModel

__all__ = ["FOREARM_GRAVITY", "PATHS", "Constants", "constants_of", "gravity_of", "hand_constants", "stacked", "table_deg"]

Array = NDArray[np.float64]

PATHS = (
    *(f"{finger}.{muscle}" for finger in FINGERS for muscle in ("EDC", "OWN", "FDP", "FDS", "INT")),
    "ECRL", "ECRB", "ECU", "wrist flexors",
)  # fmt: skip
"""Muscles of the loops: five a finger, OWN being EIP at the index and EDM at the little finger; then those of the wrist."""

FOREARM_GRAVITY = {"pronated": 1.0, "neutral": 0.0, "supinated": -1.0}
"""Gravity's part in flexion, by forearm posture: the palm faces down, sideways or up."""

_RAY = (
    "mcp_arm", "mcp_fall", "central", "central_fall", "lateral", "lateral_fall", "terminal", "share", "flexed_loss",
    "flexed_at", "flexed_width", "slack", "slack_at", "slack_width", "slip_at_wrist", "own_at_wrist", "int_mcp",
    "int_pip", "int_dip",
)  # fmt: skip
_WHOLE = (
    "edc_arm", "edc_change", "edc_width", "edge", "stiffness", "width", "straight_above", "finger_gain", "finger_from",
    "wrist_gain", "wrist_from", "tone_width", "helped", "help_straight", "help_width", "reflex_drive", "reflex_from",
    "reflex_rise", "reflex_most", "reflex_delay",
)  # fmt: skip
_STOPS = 5
_MM_PER_CM = 10.0
_ANGLES = 13


class Constants(NamedTuple):
    """What of model and hand the loops need.

    Attributes
    ----------
    ray, whole : structured arrays of 4 and of 1 records
    muscle : ndarray, shape (24, 6)
        By `PATHS`: force [N], fibre [mm], length at zero, passive rate, passive scale, how late.
    arms : ndarray, shape (4, 2, 3)
        FDP and FDS at MCP, PIP, DIP [mm].
    polynomial : ndarray, shape (6, 6)
        Arms at the wrist [mm] of FDP, FDS, ECRL, ECRB, ECU and the wrist flexors, low order first.
    stop : ndarray, shape (13, 5, 4)
        Sign, torque [N mm], angle and e-fold [rad].
    tie : ndarray, shape (3, 4)
        Juncture [N/mm] and what it lets pass [mm], web [N mm/rad] and what it lets pass [rad].
    weight, lever : ndarray, shape (13,)
        Weight times lever, and reach of the other hand's push [N mm].
    metric : ndarray, shape (13,)
        Typical stiffness of each joint [N mm/rad].
    """

    ray: NDArray[np.void]
    whole: NDArray[np.void]
    muscle: Array
    arms: Array
    polynomial: Array
    stop: Array
    tie: Array
    weight: Array
    lever: Array
    metric: Array


def hand_constants(hand: HandLike, model: HandModel) -> Constants:
    """Constants of a hand with its weight."""
    return constants_of(
        model, float(hand.flexor_length_factor), float(hand.hand_length_mm), gravity_of(hand), float(hand.help_opening),
        bool(hand.wrist_rests),
    )


def stacked(hands: Sequence[Constants]) -> Constants:
    """Constants of several hands for `walk.settle_each`: the hands along the first axis of each."""
    return Constants(*(np.stack(values) for values in zip(*hands, strict=True)))


def gravity_of(hand: HandLike) -> float:
    """Gravity's sign for the forearm's posture."""
    if hand.forearm not in FOREARM_GRAVITY:
        raise ValueError(f"'forearm' must be one of {', '.join(FOREARM_GRAVITY)} (got {hand.forearm!r})")
    return FOREARM_GRAVITY[hand.forearm]


@lru_cache(maxsize=128)
def constants_of(
    model: HandModel, length_factor: float, hand_length_mm: float, gravity: float, help_share: float = 0.0,
    rests: bool = False,
) -> Constants:
    """Constants of a hand.

    Parameters
    ----------
    model : HandModel
    length_factor : float
        Length of the flexors' fibre and tendon over normal; below 1 the flexors are tight.
    hand_length_mm : float
        Scales the levers of the weight; the masses stay.
    gravity : float
        1 pronated, 0 neutral or left out, -1 supinated.
    help_share : float
        The other hand's push under the fingers, share of its ceiling.
    rests : bool
        Forearm and palm lie on a table; it stops the wrist on the side that gravity draws to.
    """
    free = _without_ties(model, length_factor, hand_length_mm, gravity, help_share, rests)
    return free._replace(tie=_ties(model))


def _without_ties(
    model: HandModel, length_factor: float, hand_length_mm: float, gravity: float, help_share: float, rests: bool
) -> Constants:
    weight = gravity * _levers(model, hand_length_mm)
    wrist, tone, helping, reflex = model.wrist, model.tone, model.helping, model.reflex
    edc = model.edc
    whole = _record(_WHOLE, [(
        edc.wrist_arm_scale * edc.wrist_arm_mm,
        edc.wrist_arm_scale * edc.wrist_change_scale * edc.wrist_arm_change_mm,
        edc.wrist_arm_width_rad, np.radians(model.wrist_arm.constant_beyond_deg), wrist.stiffness_nmm_rad,
        model.muscle_curve.width, model.muscle_curve.straight_above, tone.stretch_gain, tone.stretch_from,
        tone.wrist_gain, tone.wrist_from, tone.stretch_width, float(help_share > 0.0), np.radians(helping.straight_deg),
        np.radians(helping.width_deg), reflex.drive_s, reflex.from_per_s, reflex.rise_s, reflex.most, reflex.delay_s,
    )])  # fmt: skip
    lever = np.zeros(_ANGLES)
    lever[1:] = help_share * helping.ceiling_n * _fingertip_levers(model, hand_length_mm) / len(FINGERS)
    return Constants(
        ray=_rays(model), whole=whole, muscle=_muscles(model, 1.0 - length_factor), arms=_flexor_arms(model),
        polynomial=_polynomials(model), stop=_stops(model, gravity, float(abs(weight.sum())) if rests else 0.0),
        tie=np.zeros((len(FINGERS) - 1, 4)), weight=weight, lever=lever, metric=metric_of(model),
    )  # fmt: skip


def metric_of(model: HandModel) -> Array:
    """Typical stiffness of the 13 joints [N mm per rad]: scale of the steps, shape of the friction."""
    m = model.metric
    finger = np.outer(model.fingers.capsule, [m.mcp_nmm_rad, m.pip_nmm_rad, m.dip_nmm_rad])
    return np.concatenate([[m.wrist_nmm_rad], finger.ravel()])


def table_deg(model: HandModel) -> float:
    """How far the wrist bends until the palm lies on the table [deg], or its back with the palm up.

    The palm's skin meets the table at the heads of the metacarpals; hand and wrist grow alike, so size plays no part.
    """
    bones = model.bones
    lower_mm = model.table.wrist_half_mm - model.skin.palm_half_mm
    return float(np.degrees(np.arcsin(lower_mm / (bones.metacarpal * bones.reference_length_mm))))


def bone_lengths(model: HandModel) -> Array:
    """Metacarpal (along the hand), proximal, middle and distal bone of each finger over hand length, (4, 4)."""
    bones, f = model.bones, model.fingers
    middle = np.array([bones.metacarpal, bones.proximal, bones.middle, bones.distal])
    return np.asarray(middle * np.array([f.metacarpal, f.proximal, f.middle, f.distal]).T)


@lru_cache(maxsize=64)
def _ties(model: HandModel) -> Array:
    """Springs between neighbours, slack by as much as the relaxed supple hand's fingers differ with its wrist straight."""
    from graspwave.simulator.hand.walk import settle
    from graspwave.simulator.hand.whole import paths

    tie = np.zeros((len(FINGERS) - 1, 4))
    tie[:, 0], tie[:, 2] = model.neighbours.juncture_n_mm, model.neighbours.web_nmm_rad
    free = _without_ties(model, 1.0, model.bones.reference_length_mm, 0.0, 0.0, False)
    q = np.radians([[0.0, *[45.0, 45.0, 22.0] * len(FINGERS)]])
    none = np.zeros((1, len(PATHS)))
    settle(free, q, np.array([-1]), none, none, np.zeros((1, 2)), np.ones(1, dtype=np.bool_), 100, 1e-6)
    b = np.empty((len(FINGERS), 8))
    paths(free, q[0], np.empty(len(PATHS)), np.empty((7, 3)), b)
    tie[:, 1] = b[:-1, 0] - b[1:, 0]
    tie[:, 3] = q[0, 1:-3:3] - q[0, 4::3]
    return tie


def _record(names: tuple[str, ...], rows: list[tuple[float, ...]]) -> NDArray[np.void]:
    return np.array(rows, dtype=np.dtype([(name, np.float64) for name in names]))


def _rays(model: HandModel) -> NDArray[np.void]:
    edc, hood, ins, f = model.edc, model.hood, model.intrinsics, model.fingers
    terminal = hood.terminal_to_central / (1.0 + hood.terminal_to_central)
    return _record(_RAY, [(
        f.edc_mcp_arm[r] * edc.mcp_arm_mm, edc.mcp_arm_fall,
        f.hood_arm[r] * (1.0 - terminal) * hood.central_arm_mm, hood.central_arm_fall,
        f.hood_arm[r] * terminal * hood.lateral_arm_mm, hood.lateral_arm_fall,
        f.hood_arm[r] * terminal * hood.terminal_arm_mm, hood.share, hood.flexed_loss, hood.flexed_at_rad,
        hood.flexed_width_rad, hood.slack, hood.slack_at_rad, hood.slack_width_rad, f.slip_at_wrist[r],
        f.own_at_wrist[r], ins.mcp_arm_mm, ins.pip_arm_mm, ins.dip_arm_mm,
    ) for r in range(len(FINGERS))])  # fmt: skip


def _muscles(model: HandModel, shortened: float) -> Array:
    """Force, fibre, length at zero, passive rate, passive scale and lateness of each path."""
    f, on = model.fingers, 1.0 / np.expm1(model.muscle_curve.passive_shape)
    rows = []
    for r in range(len(FINGERS)):
        edc, ins = model.edc, model.intrinsics
        rows.append([f.edc_force[r] * edc.force_n, f.edc_fibre[r] * edc.fibre_mm, edc.length_at_zero, edc.passive_rate, on, 0.0])
        rows.append([f.own_force_n[r], f.own_fibre_mm[r], edc.length_at_zero, edc.passive_rate, on, 0.0])
        for muscle, force, fibre, unit in (
            (model.fdp, f.fdp_force[r], f.fdp_fibre[r], f.fdp_unit[r]),
            (model.fds, f.fds_force[r], f.fds_fibre[r], f.fds_unit[r]),
        ):
            fibre_mm = fibre * muscle.fibre_mm
            at_zero = muscle.length_at_zero + f.flexor_rest[r] + shortened * unit * muscle.unit_mm / fibre_mm
            rows.append([force * muscle.force_n, fibre_mm, at_zero, muscle.passive_rate, on, 0.0])
        rows.append([f.int_force[r] * ins.force_n, ins.fibre_mm, ins.length_at_zero, ins.passive_rate, on, 0.0])
    for short in (model.ecrl, model.ecrb, model.ecu):
        rows.append([short.force_n, short.fibre_mm, short.length_at_zero, 1.0, 0.0, 0.0])
    flexors = model.wrist_flexors
    late = flexors.passive_late - shortened * flexors.unit_mm / flexors.fibre_mm
    lump = model.fcr.force_n + model.fcu.force_n + model.pl.force_n
    rows.append([lump, flexors.fibre_mm, flexors.length_at_zero, flexors.passive_rate, on, late])
    return np.array(rows)


def _flexor_arms(model: HandModel) -> Array:
    f, fdp, fds = model.fingers, model.fdp, model.fds
    return np.array([[
        [f.fdp_mcp_arm[r] * fdp.mcp_arm_mm, f.fdp_pip_arm[r] * fdp.pip_arm_mm, f.fdp_dip_arm[r] * fdp.dip_arm_mm],
        [f.fds_mcp_arm[r] * fds.mcp_arm_mm, f.fds_pip_arm[r] * fds.pip_arm_mm, fds.dip_arm_mm],
    ] for r in range(len(FINGERS))])  # fmt: skip


def _polynomials(model: HandModel) -> Array:
    arm = model.wrist_arm
    ecu = tuple(arm.ecu_lifts * c for c in arm.ecu_cm)
    return _MM_PER_CM * np.array([arm.fdp_cm, arm.fds_cm, arm.ecrl_cm, arm.ecrb_cm, ecu, arm.fcr_cm])


def _stops(model: HandModel, gravity: float, table_nmm: float) -> Array:
    """Stops by joint; the table bears the hand's weight at the angle where the palm touches it."""
    wrist, contact = model.wrist, model.contact
    stop = np.zeros((_ANGLES, _STOPS, 4))
    hard = wrist.hard_end * wrist.hard_end_nmm
    at_wrist = [
        (-1.0, wrist.extension_stop_nmm, -wrist.stop_deg, wrist.stop_fold_deg),
        (1.0, wrist.flexion_stop_nmm, wrist.stop_deg, wrist.stop_fold_deg),
        (1.0, hard, wrist.hard_flexion_deg, wrist.hard_fold_deg),
        (-1.0, hard, -wrist.hard_extension_deg, wrist.hard_fold_deg),
        (gravity, table_nmm if gravity != 0.0 else 0.0, gravity * table_deg(model), model.table.fold_deg),
    ]
    stop[0] = at_wrist
    fingers: tuple[tuple[Capsule, float], ...] = (
        (model.mcp, contact.mcp_deg), (model.pip, contact.pip_deg), (model.dip, contact.dip_deg)
    )
    for r in range(len(FINGERS)):
        torque = model.fingers.capsule[r] * model.capsule.torque_nmm
        for j, (capsule, flesh_deg) in enumerate(fingers):
            back_deg = model.fingers.mcp_back_deg[r] if j == 0 else 0.0
            stop[1 + 3 * r + j, :3] = [
                (-1.0, torque, capsule.extension_deg - back_deg, capsule.extension_fold_deg),
                (1.0, torque, capsule.flexion_deg, capsule.flexion_fold_deg),
                (1.0, torque, flesh_deg, contact.fold_deg),
            ]
    stop[:, :, 2:] = np.radians(stop[:, :, 2:])
    return stop


def _levers(model: HandModel, hand_length_mm: float) -> Array:
    """Weight times lever [N mm] of each segment, counted from its own joint, shape (13,)."""
    bones, mass = model.bones, model.mass
    length = bone_lengths(model) * hand_length_mm
    # a finger's phalanges weigh as the square of their length, as thickness goes with length
    size = length[:, 1:].sum(axis=1)
    share = (size / size[FINGERS.index("middle")]) ** 2
    palm_at = mass.palm_at_mm * hand_length_mm / bones.reference_length_mm
    lever = np.empty(_ANGLES)
    ray = mass.proximal_kg + mass.middle_kg + mass.distal_kg
    lever[0] = mass.palm_kg * palm_at + (share * ray * length[:, 0]).sum()
    lever[1::3] = share * (mass.proximal_kg / 2.0 + mass.middle_kg + mass.distal_kg) * length[:, 1]
    lever[2::3] = share * (mass.middle_kg / 2.0 + mass.distal_kg) * length[:, 2]
    lever[3::3] = share * mass.distal_kg * length[:, 3] / 2.0
    return np.asarray(mass.gravity_m_s2 * lever)


def _fingertip_levers(model: HandModel, hand_length_mm: float) -> Array:
    """Length of straight finger [mm] from each MCP, PIP and DIP to the middle of the last pad, shape (12,)."""
    length = bone_lengths(model) * hand_length_mm
    tip = length[:, 3] / 2.0
    return np.stack([length[:, 1] + length[:, 2] + tip, length[:, 2] + tip, tip], axis=1).ravel()
