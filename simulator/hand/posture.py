"""Postures: the hand at rest under tone and weight, under drive, and under pulled tendons.

Stage ``hand``. A posture is a minimum of the potential. Claw and tenodesis are not in here: they come out.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from graspwave.simulator.hand.energy import TONED, Constants, constants_of, gravity_of, tension_n
from graspwave.simulator.hand.geometry import opening
from graspwave.simulator.hand.newton import Rest, descend
from graspwave.simulator.hand.parameters import JOINTS, MUSCLES, WRIST_FLEXORS, HandLike, HandModel, changed, standard_hand
from graspwave.simulator.hand.tendons import PATHS
from graspwave.simulator.hand.thumb import THUMB_MUSCLES, thumb_angles_deg

__all__ = ["Posture", "equilibrium", "is_claw", "posture_under", "relaxed_posture"]

Array = NDArray[np.float64]

_FIRST_GUESS_DEG = (0.0, 45.0, 45.0, 22.0)  # near the published relaxed hand
_SLACK_DRIVE = 1e-9  # rounding allowed past 0 and 1


@dataclass(frozen=True, slots=True, eq=False)
class Posture:
    """n hands in equilibrium.

    Attributes
    ----------
    angle_deg : dict of str to ndarray, shape (n,)
        wrist, MCP, PIP, DIP; flexion positive; and the thumb's CMC (abduction), THUMB_MCP and IP.
    tension_n : dict of str to ndarray, shape (n,)
        Active and passive tension of the whole muscle [N]; one ray has 1 / `rays.share` of EDC, FDP, FDS and INT.
    central_slip_per_ray_n, terminal_slip_per_ray_n : ndarray, shape (n,)
        Tension of the slips of the middle finger.
    slip_share : ndarray, shape (n,)
        Share of EDC's force that reaches the slips; falls as they go slack.
    opening_mm : ndarray, shape (n,)
        Free gap between thumb and fingers.
    opening_points_mm : ndarray, shape (n, 2, 2)
        Ends of that gap on the finger's and the thumb's skin, see `geometry.opening`.
    claw : ndarray of bool, shape (n,)
        MCP past straight while the PIP is bent more than 20 degrees.
    residual_nmm : ndarray, shape (n,)
        Net torque left, whole hand.
    iterations : int
    rows_left : int
        Rows that did not settle; their posture is the lowest found.
    """

    angle_deg: dict[str, Array]
    tension_n: dict[str, Array]
    central_slip_per_ray_n: Array
    terminal_slip_per_ray_n: Array
    slip_share: Array
    opening_mm: Array
    opening_points_mm: Array
    claw: NDArray[np.bool_]
    residual_nmm: Array
    iterations: int
    rows_left: int


def relaxed_posture(hand: HandLike, wrist_deg: ArrayLike, *, model: HandModel | None = None) -> dict[str, Any]:
    """Fingers of a relaxed hand with the wrist held.

    No drive, no tone and no weight: as in the published measurement, of which the model's rest lengths are fitted.

    Parameters
    ----------
    hand : Hand
        Only its flexor length factor matters.
    wrist_deg : float or array
    model : HandModel, optional

    Returns
    -------
    dict of str to float or ndarray
        wrist, MCP, PIP, DIP [deg], in the shape of `wrist_deg`.

    Examples
    --------
    >>> from graspwave import simulator as sim
    >>> back, bent = (sim.relaxed_posture(sim.Hand(), deg) for deg in (-40.0, 40.0))
    >>> bool(back["MCP"] > bent["MCP"])  # a wrist drawn back closes the fingers
    True
    """
    wrist = np.asarray(wrist_deg, dtype=float)
    constants = constants_of(model or standard_hand(), hand.flexor_length_factor, hand.hand_length_mm, 0.0)
    start = _guess(wrist.size)
    start[0] = np.radians(wrist.ravel())
    rest = descend(constants, start, np.zeros((len(PATHS), wrist.size)), wrist_held=True)
    return {joint: angle[()] for joint, angle in _shaped(np.degrees(rest.q), wrist.shape).items()}


def posture_under(
    hand: HandLike,
    tendon_force_n: Mapping[str, float],
    wrist_deg: float | None = None,
    *,
    model: HandModel | None = None,
) -> dict[str, float]:
    """Posture of a relaxed hand with tendons pulled by a constant force.

    The force adds to what the stretched muscles hold passively; no tone, no weight.

    Parameters
    ----------
    hand : Hand
    tendon_force_n : mapping of str to float
        Newtons by muscle: of one ray for EDC, FDP, FDS and INT, of the whole muscle at the wrist.
    wrist_deg : float, optional
        Where the wrist is held; left out, it is held where the hand says, or free.
    model : HandModel, optional

    Returns
    -------
    dict of str to float
        wrist, MCP, PIP, DIP [deg].

    Raises
    ------
    ValueError
        Unknown muscle, or a force below zero.

    Examples
    --------
    >>> from graspwave import simulator as sim
    >>> pulled = sim.posture_under(sim.Hand(), {"FDP": 20.0}, wrist_deg=0.0)
    >>> bool(pulled["DIP"] > sim.relaxed_posture(sim.Hand(), 0.0)["DIP"])
    True
    """
    pull = np.zeros((len(PATHS), 1))
    for muscle, force in tendon_force_n.items():
        _must_be_muscle("tendon_force_n", muscle)
        if not (np.isfinite(force) and force >= 0.0):
            raise ValueError(f"'tendon_force_n[{muscle}]' must be 0 or more (got {force}); tendons cannot push")
        pull[_row(muscle)] += force
    held = hand.wrist_held_deg if wrist_deg is None else wrist_deg
    constants = constants_of(model or standard_hand(), hand.flexor_length_factor, hand.hand_length_mm, 0.0)
    start = _guess(1)
    start[0] = np.radians(0.0 if held is None else held)
    rest = descend(constants, start, np.zeros_like(pull), pull_n=pull, wrist_held=held is not None)
    return {joint: float(np.degrees(angle[0])) for joint, angle in zip(JOINTS, rest.q, strict=True)}


def equilibrium(
    hand: HandLike,
    drive: Mapping[str, ArrayLike],
    *,
    slips_slack: bool = True,
    model: HandModel | None = None,
    start: Posture | None = None,
    tone: Mapping[str, ArrayLike] | None = None,
    wrist_held_deg: ArrayLike | None = None,
) -> Posture:
    """Postures of the hand under n settings of its muscles' drive.

    Parameters
    ----------
    hand : Hand
        Tone, weight, length factor, and whether the wrist is held. Effort of the person's own is the caller's to add.
    drive : mapping of str to array, shape (n,)
        Active fraction of full force by muscle, 0 to 1, all of one length (or scalars); a muscle left out has none.
        Tone is added here.
    slips_slack : bool
        False keeps the slips' share as the MCP passes straight, for demonstrations.
    model : HandModel, optional
    start : Posture, optional
        Where to start, one row or n; near it fewer steps are needed. By default from the hand at rest.
    tone : mapping of str to array, shape (n,), optional
        Resting drive ``finger`` and ``wrist`` in place of the hand's own, so that hands that differ in it are one call.
    wrist_held_deg : array, shape (n,), optional
        Where each row's wrist is held, not a number where it is free, in place of the hand's own.

    Returns
    -------
    Posture

    Raises
    ------
    ValueError
        Unknown muscle, drive outside 0 to 1, or lengths that differ.

    Notes
    -----
    With the wrist free and its extensors weaker than EDC, the wrist lifts steeply past level and two postures can
    exist over up to 0.05 of drive; a row started from rest takes the one a slow rise from rest leads to.
    With full drive the wrist ends near 90 degrees of extension, past the common range of 70: the published passive
    torques are all that stops it; the model that scenes are run with
    (`parameters.scene_hand`) ends hard at 70 to 75. Every ray moves alike, in one plane; nothing is touched or held.
    """
    model = model_for(model, slips_slack)
    constants = hand_constants(hand, model)
    given = {} if tone is None else {f"tone {name}": value for name, value in tone.items()}
    rows, toned = drive_rows(hand, drive, model, given)
    n = rows.shape[1]
    q = rest_of(hand, model).q if start is None else angles_rad(start)
    if q.shape[1] not in (1, n):
        raise ValueError(f"'start' must have 1 or {n} rows (got {q.shape[1]}); use one posture for each drive")
    q = np.repeat(q, n, axis=1) if q.shape[1] == 1 else q.copy()
    own = np.nan if hand.wrist_held_deg is None else hand.wrist_held_deg
    at = np.broadcast_to(np.asarray(own if wrist_held_deg is None else wrist_held_deg, dtype=float), (n,))
    held = np.isfinite(at)
    q[0, held] = np.radians(at[held])
    rest = descend(constants, q, rows, tone=toned, wrist_held=held)
    return _posture(hand, constants, drive, rows, toned, rest)


def is_claw(model: HandModel, mcp_deg: Array, pip_deg: Array) -> NDArray[np.bool_]:
    """Claw as published: MCP past straight while the PIP is bent more than 20 degrees."""
    claw = (mcp_deg < model.claw.mcp_below_deg) & (pip_deg > model.claw.pip_above_deg)
    return np.asarray(claw, dtype=np.bool_)


def hand_constants(hand: HandLike, model: HandModel) -> Constants:
    """Constants of a hand with its weight."""
    return constants_of(
        model, float(hand.flexor_length_factor), float(hand.hand_length_mm), gravity_of(hand), float(hand.help_opening),
        bool(hand.wrist_rests),
    )


def model_for(model: HandModel | None, slips_slack: bool) -> HandModel:
    """The standard model where none is given; without slack where that is switched off."""
    model = model or standard_hand()
    return model if slips_slack else changed(model, hood__slack=0.0)


def drive_rows(
    hand: HandLike, drive: Mapping[str, ArrayLike], model: HandModel, tone: Mapping[str, ArrayLike] | None = None
) -> tuple[Array, Array]:
    """Drive with tone, one row a path, shape (8, n), and the tone in it, one row each of `TONED`, shape (3, n).

    The wrist flexors' drive is their mean weighted by force. `tone` ("tone finger", "tone wrist") replaces the hand's.
    """
    given = {}
    own = {"tone finger": hand.finger_tone, "tone wrist": hand.wrist_tone, **(tone or {})}
    for muscle, value in {**drive, **own}.items():
        if muscle not in own:
            _must_be_muscle("drive", muscle, (*MUSCLES, *THUMB_MUSCLES))
        array = np.asarray(value, dtype=float)
        if array.ndim > 1:
            raise ValueError(f"'drive[{muscle}]' must be a number or a row of numbers (got shape {array.shape})")
        if not ((array >= -_SLACK_DRIVE) & (array <= 1.0 + _SLACK_DRIVE)).all():
            bad = array[~((array >= -_SLACK_DRIVE) & (array <= 1.0 + _SLACK_DRIVE))].flat[0]
            raise ValueError(f"'drive[{muscle}]' must be 0 to 1 (got {bad}); it is a fraction of full force")
        given[muscle] = np.atleast_1d(array)
    try:
        (n,) = np.broadcast_shapes((1,), *(v.shape for v in given.values()))
    except ValueError:
        lengths = ", ".join(f"{m} {v.size}" for m, v in given.items() if m in drive)
        problem = f"'drive' must hold arrays of one length (got {lengths}); give every muscle as many values"
        raise ValueError(problem) from None
    total = sum(_force(model, m) for m in WRIST_FLEXORS)
    rows = np.zeros((len(PATHS), n))
    for muscle, value in given.items():
        if muscle in drive and muscle not in THUMB_MUSCLES:
            rows[_row(muscle)] += value * (_force(model, muscle) / total if muscle in WRIST_FLEXORS else 1.0)
    toned = np.empty((len(TONED), n))
    toned[:2], toned[2] = given["tone finger"], given["tone wrist"]
    rows += _resting(model, toned)
    return np.asarray(np.clip(rows, 0.0, 1.0)), toned


def rest_of(hand: HandLike, model: HandModel) -> Rest:
    """The hand with tone and weight and nothing else; one row, remembered."""
    held = hand.wrist_held_deg
    return _rest(
        model,
        float(hand.flexor_length_factor),
        float(hand.hand_length_mm),
        gravity_of(hand),
        float(hand.finger_tone),
        float(hand.wrist_tone),
        None if held is None else float(held),
        float(hand.help_opening),
        bool(hand.wrist_rests),
    )


def angles_rad(posture: Posture) -> Array:
    """Angles of a posture as rows of joints [rad], shape (4, n)."""
    return np.radians(np.stack([posture.angle_deg[joint] for joint in JOINTS]))


@lru_cache(maxsize=64)
def _rest(
    model: HandModel, factor: float, length_mm: float, gravity: float, finger: float, wrist: float, held: float | None,
    helped: float, rests: bool,
) -> Rest:
    toned = np.array([[finger], [finger], [wrist]])
    rows = _resting(model, toned)
    start = _guess(1)
    if held is not None:
        start[0] = np.radians(held)
    constants = constants_of(model, factor, length_mm, gravity, helped, rests)
    return descend(constants, start, rows, tone=toned, wrist_held=held is not None)


def _resting(model: HandModel, toned: Array) -> Array:
    """Drive that is there unstretched, shape (8, n): tone of the closers, its base at the wrist, and the small muscles'."""
    rows = np.zeros((len(PATHS), toned.shape[1]))
    rows[[PATHS.index(name) for name in TONED]] = toned * np.array([[1.0], [1.0], [model.tone.wrist_base]])
    rows[PATHS.index("INT")] = model.tone.intrinsics
    return rows


def _posture(
    hand: HandLike, constants: Constants, drive: Mapping[str, ArrayLike], rows: Array, toned: Array, rest: Rest
) -> Posture:
    model = constants.model
    angle = _shaped(np.degrees(rest.q), (rest.q.shape[1],))
    tension, passive, share = tension_n(constants, rest.q, rows, toned)
    whole = {m: constants.rays[_row(m), 0] * tension[_row(m)] for m in MUSCLES if m not in WRIST_FLEXORS}
    common = PATHS.index("wrist flexors")
    unstretched, _, _ = tension_n(constants, rest.q, rows)
    shared, driven = tension[common] - unstretched[common] + passive[common], unstretched[common] - passive[common]
    for muscle in WRIST_FLEXORS:
        part = _force(model, muscle) / constants.force_n[common, 0]
        own = np.clip(np.asarray(drive.get(muscle, 0.0), dtype=float) + model.tone.wrist_base * toned[2], 0.0, 1.0)
        active = np.divide(driven * own, rows[common], out=np.zeros_like(driven), where=rows[common] > 0.0)
        whole[muscle] = part * (active + shared)
    ratio = model.hood.terminal_to_central
    central = share * tension[PATHS.index("EDC")] / (1.0 + ratio)
    thumb = thumb_angles_deg(drive, model=model)
    angle |= {joint: np.broadcast_to(value, rest.q.shape[1:]).copy() for joint, value in thumb.items()}
    gap, points = opening(hand, angle, model=model)
    return Posture(
        angle_deg=angle,
        tension_n={muscle: whole[muscle] for muscle in MUSCLES},
        central_slip_per_ray_n=central,
        terminal_slip_per_ray_n=ratio * central,
        slip_share=share,
        opening_mm=gap,
        opening_points_mm=points,
        claw=is_claw(model, angle["MCP"], angle["PIP"]),
        residual_nmm=rest.residual_nmm,
        iterations=rest.iterations,
        rows_left=rest.rows_left,
    )


def _guess(n: int) -> Array:
    return np.repeat(np.radians(_FIRST_GUESS_DEG)[:, None], n, axis=1)


def _shaped(angles: Array, shape: tuple[int, ...]) -> dict[str, Array]:
    return {joint: a.reshape(shape) for joint, a in zip(JOINTS, angles, strict=True)}


def _row(muscle: str) -> int:
    return PATHS.index("wrist flexors" if muscle in WRIST_FLEXORS else muscle)


def _force(model: HandModel, muscle: str) -> float:
    return float(getattr(model, muscle.lower()).force_n)


def _must_be_muscle(name: str, muscle: str, known: tuple[str, ...] = MUSCLES) -> None:
    if muscle not in known:
        raise ValueError(f"'{name}' must name muscles among {', '.join(known)} (got '{muscle}')")
