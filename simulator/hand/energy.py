"""One potential for the whole hand, with its gradient and Hessian worked out by hand.

Stage ``hand``. ``U(q) = 3.2 U_finger(wrist, MCP, PIP, DIP) + U_wrist(wrist)`` in N mm: muscles (active and passive,
rigid tendons), capsules, the wrist's own stops and stiffness, a table below, gravity, the other hand's push. All torques
are its slopes, so the stiffness is symmetric and a posture does not depend on the way it was reached. All functions take
n postures at once.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.special import erf, expit

from graspwave.simulator.hand.parameters import Capsule, HandLike, HandModel
from graspwave.simulator.hand.tendons import PATHS, path_of

__all__ = ["FOREARM_GRAVITY", "TONED", "Constants", "Energy", "constants_of", "energy_of", "metric_of", "table_deg", "tension_n"]

Array = NDArray[np.float64]

TONED = ("FDP", "FDS", "wrist flexors")
"""Paths that have a resting drive."""

_TONED = [PATHS.index(name) for name in TONED]
_STOP_SIGN = np.array([-1.0, 1.0, 1.0, -1.0])[:, None, None]

FOREARM_GRAVITY = {"pronated": 1.0, "neutral": 0.0, "supinated": -1.0}
"""Gravity's part in flexion, by forearm posture: the palm faces down, sideways or up."""


class Energy(NamedTuple):
    """The potential at n postures.

    Attributes
    ----------
    value : ndarray, shape (n,)
        N mm.
    gradient : ndarray, shape (4, n)
        N mm per rad; minus the net flexion torque.
    hessian : ndarray, shape (4, 4, n)
        N mm per rad^2.
    """

    value: Array
    gradient: Array
    hessian: Array


@dataclass(frozen=True, slots=True, eq=False)
class Constants:
    """What of model and hand the potential needs, as columns over the eight paths."""

    model: HandModel
    force_n: Array
    fibre_mm: Array
    length_at_zero: Array
    rate: Array
    passive_on: Array
    passive_shift: Array
    rays: Array
    weight_nmm: Array
    stop_sign: Array
    stop_scale: Array
    stop_at: Array
    stop_fold: Array
    help_nmm: Array


@lru_cache(maxsize=64)
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
    long = (model.edc, model.fdp, model.fds, model.intrinsics)
    short = (model.ecrl, model.ecrb, model.ecu)
    flexors = model.wrist_flexors
    lump = model.fcr.force_n + model.fcu.force_n + model.pl.force_n
    shortened = 1.0 - length_factor
    at_zero = [m.length_at_zero for m in (*long, *short)]
    at_zero[1] += shortened * model.fdp.unit_mm / model.fdp.fibre_mm
    at_zero[2] += shortened * model.fds.unit_mm / model.fds.fibre_mm
    late = flexors.passive_late - shortened * flexors.unit_mm / flexors.fibre_mm
    weight = gravity * _levers(model, hand_length_mm)
    stops = _stops(model)
    sign = _STOP_SIGN[: len(stops[0])]
    if rests and gravity != 0.0:
        stops = _with_table(stops, model, gravity, float(weight.sum()))
        sign = np.concatenate([sign, np.full((1, 1, 1), gravity)])
    return Constants(
        model=model,
        force_n=_column([m.force_n for m in (*long, *short)] + [lump]),
        fibre_mm=_column([m.fibre_mm for m in (*long, *short)] + [flexors.fibre_mm]),
        length_at_zero=_column([*at_zero, flexors.length_at_zero]),
        rate=_column([m.passive_rate for m in long] + [1.0] * 3 + [flexors.passive_rate]),
        passive_on=_column([1.0] * 4 + [0.0] * 3 + [1.0]) / np.expm1(model.muscle_curve.passive_shape),
        passive_shift=_column([0.0] * 7 + [late]),
        rays=_column([model.rays.share] * 4 + [1.0] * 4),
        weight_nmm=weight,
        stop_sign=sign,
        stop_scale=stops[0],
        stop_at=stops[1],
        stop_fold=stops[2],
        help_nmm=help_share * model.helping.ceiling_n * _fingertip_levers(model, hand_length_mm),
    )


def energy_of(
    constants: Constants, q: Array, drive: Array, pull_n: Array | None = None, tone: Array | None = None
) -> Energy:
    """The potential, its gradient and its Hessian.

    Parameters
    ----------
    constants : Constants
    q : ndarray, shape (4, n)
        Wrist, MCP, PIP, DIP [rad].
    drive : ndarray, shape (8, n) or (8, 1)
        Active fraction of full force of each path, 0 to 1.
    pull_n : ndarray, shape (8, n) or (8, 1), optional
        Constant force added to each tendon [N per ray, or whole at the wrist], as when a tendon is pulled by hand.
    tone : ndarray, shape (3, n) or (3, 1), optional
        Resting drive of the rows `TONED`, of which the growth with stretch is taken; the drive itself holds the rest.

    Notes
    -----
    Muscle, with ``l`` fibre length over optimum: ``F = F0 [a exp(-(l - 1)^2 / 0.45) + exp(k (l - 1)) / (e^4 - 1)]``.
    Capsule: ``M = 100 [exp(-(th - E) / tE) - exp((th - F) / tF)]`` N mm. Exponents above 5.5 go on as a straight
    line in force, so value and slope stay continuous far outside the range.
    Tone that grows with stretch: ``F0 tone gain s(l - l0)``, ``s(x) = (x + sqrt(x^2 + c^2)) / 2``. The bell of the active
    force is left out of this small term, which makes it 9 % too large at ``l`` 1.2 and keeps its integral closed. Gain and
    ``l0`` of the wrist flexors are their own: a tonic stretch reflex with a threshold, silent while the wrist hangs.
    Help: ``M = -help F r_j / (1 + exp(-(th - straight) / width))`` at MCP, PIP and DIP, with r_j the length of straight
    finger beyond the joint; it is the slope of a soft ramp, so it lifts bent fingers and leaves straight ones alone.
    """
    k, curve = constants, constants.model.muscle_curve
    path = path_of(k.model, q)

    strain = k.length_at_zero - 1.0 + path.stretch_mm / k.fibre_mm
    root = np.sqrt(curve.width)
    bell = drive * np.exp(-strain * strain / curve.width)
    passive_0, passive_1, passive_2 = _exponential(k.rate * (strain - k.passive_shift), curve.straight_above)
    force = k.force_n * (bell + k.passive_on * passive_1)
    slope = k.force_n / k.fibre_mm * (-2.0 / curve.width * strain * bell + k.rate * k.passive_on * passive_2)
    stored = k.force_n * k.fibre_mm * (
        drive * (root * np.sqrt(np.pi) / 2.0) * erf(strain / root) + k.passive_on * passive_0 / k.rate
    )  # fmt: skip
    if tone is not None:
        grown, grow_0, grow_1, grow_2 = _grown(k, strain, tone)
        force[_TONED] += grown * grow_1
        slope[_TONED] += grown / k.fibre_mm[_TONED] * grow_2
        stored[_TONED] += grown * k.fibre_mm[_TONED] * grow_0
    if pull_n is not None:
        force = force + pull_n
        stored = stored + pull_n * path.stretch_mm
    value = (k.rays * stored).sum(axis=0)
    gradient = np.einsum("in,ijn->jn", k.rays * force, path.slope_mm)
    steep = path.slope_mm * (k.rays * slope)[:, None, :]
    hessian = np.einsum("ijn,ikn->jkn", steep, path.slope_mm)
    hessian += (path.bend_mm * (k.rays * force)).sum(axis=2)

    # Stops push back exponentially: extension, flexion, flesh against flesh in a fist, and the wrist's hard end.
    sign = k.stop_sign
    stop_0, stop_1, stop_2 = _exponential(sign * (q - k.stop_at) / k.stop_fold, curve.straight_above)
    value += (k.stop_scale * k.stop_fold * stop_0).sum(axis=(0, 1))
    gradient += (sign * k.stop_scale * stop_1).sum(axis=0)
    diagonal = np.arange(4)
    hessian[diagonal, diagonal] += (k.stop_scale / k.stop_fold * stop_2).sum(axis=0)

    stiffness = k.model.wrist.stiffness_nmm_rad
    value += 0.5 * stiffness * q[0] * q[0]
    gradient[0] += stiffness * q[0]
    hessian[0, 0] += stiffness

    if k.help_nmm.any():
        width = np.radians(k.model.helping.width_deg)
        z = (q[1:] - np.radians(k.model.helping.straight_deg)) / width
        near = expit(z)
        value += (k.help_nmm * width * np.logaddexp(0.0, z)).sum(axis=0)
        gradient[1:] += k.help_nmm * near
        hessian[diagonal[1:], diagonal[1:]] += k.help_nmm / width * near * (1.0 - near)

    if k.weight_nmm.any():
        bent = np.cumsum(q, axis=0)
        drop, swing = k.weight_nmm * np.sin(bent), k.weight_nmm * np.cos(bent)
        value -= drop.sum(axis=0)
        gradient -= np.cumsum(swing[::-1], axis=0)[::-1]
        below = np.cumsum(drop[::-1], axis=0)[::-1]
        hessian += below[np.maximum.outer(diagonal, diagonal)]
    return Energy(value, gradient, hessian)


def tension_n(
    constants: Constants, q: Array, drive: Array, tone: Array | None = None
) -> tuple[Array, Array, Array]:
    """Tension of each path [N; per ray for finger muscles], its passive part, and the slips' share of EDC's force."""
    k, curve = constants, constants.model.muscle_curve
    path = path_of(k.model, q)
    strain = k.length_at_zero - 1.0 + path.stretch_mm / k.fibre_mm
    _, passive, _ = _exponential(k.rate * (strain - k.passive_shift), curve.straight_above)
    passive = k.force_n * k.passive_on * passive
    total = k.force_n * drive * np.exp(-strain * strain / curve.width) + passive
    if tone is not None:
        force, _, ramp, _ = _grown(k, strain, tone)
        total[_TONED] += force * ramp
    return total, passive, path.share


def metric_of(model: HandModel) -> Array:
    """Typical stiffness of the four joints of the whole hand [N mm per rad], shape (4, 1)."""
    m = model.metric
    return model.rays.share * _column([m.wrist_nmm_rad, m.mcp_nmm_rad, m.pip_nmm_rad, m.dip_nmm_rad])


def gravity_of(hand: HandLike) -> float:
    """Gravity's sign for the forearm's posture."""
    if hand.forearm not in FOREARM_GRAVITY:
        raise ValueError(f"'forearm' must be one of {', '.join(FOREARM_GRAVITY)} (got {hand.forearm!r})")
    return FOREARM_GRAVITY[hand.forearm]


def _grown(k: Constants, strain: Array, tone: Array) -> tuple[Array, Array, Array, Array]:
    """Force a unit of stretch [N], and integral, value and slope of the stretch that counts, by row of `TONED`."""
    law = k.model.tone
    gain = np.array([law.stretch_gain, law.stretch_gain, law.wrist_gain])[:, None]
    begins = np.array([law.stretch_from, law.stretch_from, law.wrist_from])[:, None]
    return gain * k.force_n[_TONED] * tone, *_soft_ramp(strain[_TONED] + 1.0 - begins, law.stretch_width)


def _soft_ramp(x: Array, width: float) -> tuple[Array, Array, Array]:
    """Integral, value and slope of ``(x + sqrt(x^2 + width^2)) / 2``, a ramp with a round corner."""
    root = np.sqrt(x * x + width * width)
    return 0.25 * (x * x + x * root + width * width * np.arcsinh(x / width)), 0.5 * (x + root), 0.5 * (1.0 + x / root)


def _exponential(z: Array, straight_above: float) -> tuple[Array, Array, Array]:
    """Integral, value and slope of ``exp(z)``, continued as a straight line above a limit."""
    over = np.maximum(z - straight_above, 0.0)
    grown = np.exp(z - over)
    value = grown * (1.0 + over)
    return value + 0.5 * grown * over * over, value, grown


def _stops(model: HandModel) -> tuple[Array, Array, Array]:
    """Torque [N mm], angle and e-fold [rad] of the stops by joint: extension, flexion, contact, and the wrist's hard end.

    Shape (3, 4, 1); (4, 4, 1) with the hard end on: its flexion side shares the row of contact, its extension side is the last.
    """
    wrist, contact = model.wrist, model.contact
    fingers: tuple[Capsule, ...] = (model.mcp, model.pip, model.dip)
    torque = model.rays.share * model.capsule.torque_nmm
    hard = wrist.hard_end * wrist.hard_end_nmm
    scale = [[wrist.extension_stop_nmm, *[torque] * 3], [wrist.flexion_stop_nmm, *[torque] * 3], [hard, *[torque] * 3]]
    at = [
        [-wrist.stop_deg, *(c.extension_deg for c in fingers)],
        [wrist.stop_deg, *(c.flexion_deg for c in fingers)],
        [wrist.hard_flexion_deg, contact.mcp_deg, contact.pip_deg, contact.dip_deg],
    ]
    fold = [
        [wrist.stop_fold_deg, *(c.extension_fold_deg for c in fingers)],
        [wrist.stop_fold_deg, *(c.flexion_fold_deg for c in fingers)],
        [wrist.hard_fold_deg, *[contact.fold_deg] * 3],
    ]
    if hard > 0.0:
        scale.append([hard, 0.0, 0.0, 0.0])
        at.append([-wrist.hard_extension_deg, 0.0, 0.0, 0.0])
        fold.append([wrist.hard_fold_deg, 1.0, 1.0, 1.0])
    return np.array(scale)[:, :, None], np.radians(at)[:, :, None], np.radians(fold)[:, :, None]


def table_deg(model: HandModel) -> float:
    """How far the wrist bends until the palm lies on the table [deg], or its back with the palm up.

    The palm's skin meets the table at the heads of the metacarpals; hand and wrist grow alike, so size plays no part.
    """
    bones = model.bones
    lower_mm = model.table.wrist_half_mm - model.skin.palm_half_mm
    return float(np.degrees(np.arcsin(lower_mm / (bones.metacarpal * bones.reference_length_mm))))


def _with_table(
    stops: tuple[Array, Array, Array], model: HandModel, gravity: float, weight_nmm: float
) -> tuple[Array, Array, Array]:
    """The stops, and the table as a row more: it bears the hand's weight at the angle where the palm touches."""
    scale, at, fold = stops
    rows = []
    for part, wrist, other in (
        (scale, abs(weight_nmm), 0.0),
        (at, np.radians(gravity * table_deg(model)), 0.0),
        (fold, np.radians(model.table.fold_deg), 1.0),
    ):
        rows.append(np.concatenate([part, np.array([wrist, other, other, other])[None, :, None]]))
    return rows[0], rows[1], rows[2]


def _levers(model: HandModel, hand_length_mm: float) -> Array:
    """Weight times lever [N mm] of each segment, counted from its own joint, shape (4, 1)."""
    bones, mass = model.bones, model.mass
    proximal, middle = bones.proximal * hand_length_mm, bones.middle * hand_length_mm
    ray = mass.proximal_kg + mass.middle_kg + mass.distal_kg
    palm_at = mass.palm_at_mm * hand_length_mm / bones.reference_length_mm
    share = model.rays.share
    return mass.gravity_m_s2 * _column([
        mass.palm_kg * palm_at + share * ray * bones.metacarpal * hand_length_mm,
        share * (mass.proximal_kg * proximal / 2.0 + (mass.middle_kg + mass.distal_kg) * proximal),
        share * (mass.middle_kg * middle / 2.0 + mass.distal_kg * middle),
        share * mass.distal_kg * bones.distal * hand_length_mm / 2.0,
    ])  # fmt: skip


def _fingertip_levers(model: HandModel, hand_length_mm: float) -> Array:
    """Length of straight finger [mm] from MCP, PIP and DIP to the middle of the last pad, shape (3, 1)."""
    bones = model.bones
    tip = bones.distal / 2.0
    return hand_length_mm * _column([bones.proximal + bones.middle + tip, bones.middle + tip, tip])


def _column(values: list[float]) -> Array:
    return np.array(values, dtype=float)[:, None]
