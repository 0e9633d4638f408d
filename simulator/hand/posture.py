"""Postures: the hand at rest under tone and weight, under drive, and under pulled tendons.

Stage ``hand``. A posture is a minimum of the potential. Claw and tenodesis are not in here: they come out.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from graspwave.simulator.hand.claws import claws_of
from graspwave.simulator.hand.drives import columns_of, drive_rows
from graspwave.simulator.hand.geometry import look
from graspwave.simulator.hand.layout import PATHS, Constants, constants_of, hand_constants, stacked
from graspwave.simulator.hand.parameters import ANGLES, FINGERS, HandLike, HandModel, standard_hand
from graspwave.simulator.hand.settling import MOST_STEPS, Rest, descend, first_guess, model_for, rest_from, rest_of, walked
from graspwave.simulator.hand.slack import with_slack_of
from graspwave.simulator.hand.tensions import tension_by_muscle
from graspwave.simulator.hand.thumb import THUMB_JOINTS, thumb_angles_deg

__all__ = ["Asked", "Posture", "angles_rad", "equilibria", "equilibrium", "openings_mm", "posture_under", "relaxed_posture"]

Array = NDArray[np.float64]

@dataclass(frozen=True, slots=True, eq=False)
class Posture:
    """n hands in equilibrium.

    Attributes
    ----------
    angle_deg : dict of str to ndarray, shape (n,)
        wrist; MCP, PIP, DIP of the middle finger and ``index.MCP`` and so on of the others, flexion positive; and the thumb's CMC
        (palmar abduction), CMC_RADIAL, THUMB_MCP and IP.
    tension_n : dict of str to ndarray, shape (n,)
        Active and passive tension of the whole muscle [N]; also of each finger's part, as ``index.EDC``.
    central_slip_per_ray_n, terminal_slip_per_ray_n : ndarray, shape (n,)
        Tension of the slips of the middle finger.
    slip_share : ndarray, shape (n,)
        Share of the middle finger's extensor force that reaches its slips; falls as they go slack.
    opening_mm : ndarray, shape (n,)
        Widest pot, see `geometry.opening`.
    opening_points_mm : ndarray, shape (n, 2, 2)
        Ends of the line that decides it, see `geometry.opening`.
    gap_mm : dict of str to ndarray, shape (n,)
        Free gap to the thumb by finger.
    claw : ndarray of bool, shape (n,)
        The middle finger's MCP past straight while its PIP is bent more than 20 degrees.
    claw_by_finger : dict of str to ndarray of bool, shape (n,)
    residual_nmm : ndarray, shape (n,)
        Net torque left.
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
    gap_mm: dict[str, Array]
    claw: NDArray[np.bool_]
    claw_by_finger: dict[str, NDArray[np.bool_]]
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
        wrist, MCP, PIP, DIP, ``index.MCP`` and so on [deg], in the shape of `wrist_deg`.

    Examples
    --------
    >>> from graspwave import simulator as sim
    >>> back, bent = (sim.relaxed_posture(sim.Hand(), deg) for deg in (-40.0, 40.0))
    >>> bool(back["MCP"] > bent["MCP"])  # a wrist drawn back closes the fingers
    True
    """
    wrist = np.asarray(wrist_deg, dtype=float)
    constants = constants_of(model or standard_hand(), hand.flexor_length_factor, hand.hand_length_mm, 0.0)
    start = first_guess(wrist.size)
    start[:, 0] = np.radians(wrist.ravel())
    rest = descend(constants, start, np.zeros((wrist.size, len(PATHS))), wrist_held=True)
    return {joint: a.reshape(wrist.shape)[()] for joint, a in zip(ANGLES, np.degrees(rest.q).T, strict=True)}


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
        Newtons by muscle: for EDC, FDP, FDS and INT so much in every finger, or in one by its name (``index.EDC``); EIP and EDM
        are those fingers' own; of the whole muscle at the wrist.
    wrist_deg : float, optional
        Where the wrist is held; left out, it is held where the hand says, or free.
    model : HandModel, optional

    Returns
    -------
    dict of str to float
        wrist, MCP, PIP, DIP, ``index.MCP`` and so on [deg].

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
    pull = np.zeros((1, len(PATHS)))
    for muscle, force in tendon_force_n.items():
        columns = columns_of("tendon_force_n", muscle)
        if not (np.isfinite(force) and force >= 0.0):
            raise ValueError(f"'tendon_force_n[{muscle}]' must be 0 or more (got {force}); tendons cannot push")
        pull[0, columns] += force
    held = hand.wrist_held_deg if wrist_deg is None else wrist_deg
    constants = constants_of(model or standard_hand(), hand.flexor_length_factor, hand.hand_length_mm, 0.0)
    start = first_guess(1)
    start[:, 0] = np.radians(0.0 if held is None else held)
    rest = descend(constants, start, np.zeros_like(pull), pull_n=pull, wrist_held=held is not None)
    return {joint: float(angle) for joint, angle in zip(ANGLES, np.degrees(rest.q[0]), strict=True)}


def equilibrium(
    hand: HandLike,
    drive: Mapping[str, ArrayLike],
    *,
    slips_slack: bool = True,
    model: HandModel | None = None,
    start: Posture | None = None,
    tone: Mapping[str, ArrayLike] | None = None,
    wrist_held_deg: ArrayLike | None = None,
    slips_as_in: Posture | None = None,
) -> Posture:
    """Postures of the hand under n settings of its muscles' drive.

    Parameters
    ----------
    hand : Hand
        Tone, weight, length factor, and whether the wrist is held. Effort of the person's own is the caller's to add.
    drive : mapping of str to array, shape (n,)
        Active fraction of full force by muscle, 0 to 1, all of one length (or scalars); a muscle left out has none. EDC drives
        all its slips alike unless a slip is given by itself (``EDC_INDEX`` or ``index.EDC``). Tone is added here.
    slips_slack : bool
        False keeps the slips' share as the MCP passes straight, for demonstrations.
    model : HandModel, optional
    start : Posture, optional
        Where to start, one row or n; near it fewer steps are needed. By default from the hand at rest.
    tone : mapping of str to array, shape (n,), optional
        Resting drive ``finger`` and ``wrist`` in place of the hand's own, so that hands that differ in it are one call.
    wrist_held_deg : array, shape (n,), optional
        Where each row's wrist is held, not a number where it is free, in place of the hand's own.
    slips_as_in : Posture, optional
        One row: the slips of every finger keep the part of the extensor's force that slack leaves them there, wherever the MCP
        goes; see `slack.with_slack_of`.

    Returns
    -------
    Posture

    Raises
    ------
    ValueError
        Unknown muscle, drive outside 0 to 1, or lengths that differ.

    Notes
    -----
    Where two postures rest side by side for one drive, a row takes the one that its walk from `start` comes to; from rest that is
    where a drive that comes at once would mostly leave the hand. Where a current that rises leaves it is another question, for
    muscles answer one after the other as it rises: `Asked.since` leads a row up from earlier ones, as `run.opening_curve` does.
    With full drive the wrist of the plain model ends near 90 degrees of extension, past the common range: the published passive
    torques are all that stops it; the model that scenes are run with (`parameters.scene_hand`) ends earlier. Nothing is
    touched or held; the wrist bends and straightens, it does not turn sideways.
    """
    return equilibria([Asked(hand, drive, slips_slack, model, start, tone, wrist_held_deg, slips_as_in)])[0]


class Asked(NamedTuple):
    """What `equilibrium` takes, for `equilibria`."""

    hand: HandLike
    drive: Mapping[str, ArrayLike]
    slips_slack: bool = True
    model: HandModel | None = None
    start: Posture | None = None
    tone: Mapping[str, ArrayLike] | None = None
    wrist_held_deg: ArrayLike | None = None
    slips_as_in: Posture | None = None
    rows: tuple[Array, Array] | None = None
    """The drive as `drives.drive_rows` gives it, tone in it, where it is there already."""
    since: NDArray[np.int_] | None = None
    """The earlier row from whose posture each row starts, -1 from `start`: rows that lead to others, as drives that rise do."""
    way: int = 0
    """So many of the first rows are only the way to the others: walked, not told."""


def equilibria(asked: Sequence[Asked]) -> list[Posture]:
    """Postures of several hands that may differ in all, each as `equilibrium` has them, walked in one call of the loops.

    Parameters
    ----------
    asked : sequence of Asked
        The rows of each are its own; at least one.

    Returns
    -------
    list of Posture
        In the order asked.

    Raises
    ------
    ValueError
        As `equilibrium`.
    """
    made = [_made_ready(one) for one in asked]
    return [_posture(one, each, rest) for one, each, rest in zip(asked, made, _settled(made), strict=True)]


def openings_mm(asked: Sequence[Asked]) -> list[Array]:
    """Opening of each row of each hand, as `equilibria` finds it, without all that is not asked for."""
    made = [_made_ready(one) for one in asked]
    return [
        look(one.hand, rest.q, _thumb_rad(one, each.model, rest.q.shape[0])[1], model=each.model)[0]
        for one, each, rest in zip(asked, made, _settled(made), strict=True)
    ]


def _settled(made: Sequence[_Ready]) -> list[Rest]:
    """Every hand's rows walked down, in one call of the loops; the rows that only lead to others are left out."""
    ends = np.cumsum([0, *(each.rows.shape[0] for each in made)])
    which = np.repeat(np.arange(len(made)), np.diff(ends))
    q, rows, toned, held = (np.concatenate([each[at] for each in made]) for at in range(4))
    since = np.concatenate([np.where(each.since < 0, -1, each.since + a) for each, a in zip(made, ends, strict=False)])
    constants = made[0].constants if len(made) == 1 else stacked([each.constants for each in made])
    found, left, steps = walked(constants, q, rows, None, toned, held, MOST_STEPS, None if len(made) == 1 else which, since)
    told = [slice(a + each.way, b) for each, (a, b) in zip(made, pairwise(ends), strict=True)]
    return [rest_from(found[at], left[at], steps[at]) for at in told]


class _Ready(NamedTuple):
    """Rows of one hand, ready for the walk."""

    q: Array
    rows: Array
    tone: Array
    held: NDArray[np.bool_]
    since: NDArray[np.int_]
    way: int
    constants: Constants
    model: HandModel


def _made_ready(one: Asked) -> _Ready:
    hand = one.hand
    model = model_for(one.model, one.slips_slack)
    constants = hand_constants(hand, model)
    if one.slips_as_in is not None:
        constants = with_slack_of(constants, angles_rad(one.slips_as_in))
    rows, toned = drive_rows(hand, one.drive, model, one.tone) if one.rows is None else one.rows
    n = rows.shape[0]
    q = rest_of(hand, model).q if one.start is None else angles_rad(one.start)
    if q.shape[0] not in (1, n):
        raise ValueError(f"'start' must have 1 or {n} rows (got {q.shape[0]}); use one posture for each drive")
    q = np.repeat(q, n, axis=0) if q.shape[0] == 1 else q.copy()
    own = np.nan if hand.wrist_held_deg is None else hand.wrist_held_deg
    at = np.broadcast_to(np.asarray(own if one.wrist_held_deg is None else one.wrist_held_deg, dtype=float), (n,))
    held = np.isfinite(at)
    q[held, 0] = np.radians(at[held])
    since = np.full(n, -1) if one.since is None else np.asarray(one.since)
    if since.shape != (n,) or (since >= np.arange(n)).any():
        raise ValueError(f"'since' must name an earlier row for each of {n} (got {since}); -1 is none")
    return _Ready(q, rows, toned, held, since, one.way, constants, model)


def angles_rad(posture: Posture) -> Array:
    """Angles of a posture as rows [rad], shape (n, 13)."""
    return np.radians(np.stack([posture.angle_deg[joint] for joint in ANGLES], axis=1))


def _posture(one: Asked, each: _Ready, rest: Rest) -> Posture:
    model, n = each.model, rest.q.shape[0]
    angle: dict[str, Array] = dict(zip(ANGLES, np.degrees(rest.q).T.copy(), strict=True))
    rows, toned = each.rows[each.way :], each.tone[each.way :]
    whole, share = tension_by_muscle(model, each.constants, rest.q, rows, toned, _told(one, n))
    ratio = model.hood.terminal_to_central
    central = share * (whole["middle.EDC"]) / (1.0 + ratio)
    thumb, thumb_q = _thumb_rad(one, model, n)
    angle |= thumb
    wide, points, gaps = look(one.hand, rest.q, thumb_q, model=model)
    claws = claws_of(model, angle)
    return Posture(
        angle_deg=angle, tension_n=whole, central_slip_per_ray_n=central, terminal_slip_per_ray_n=ratio * central,
        slip_share=share, opening_mm=wide, opening_points_mm=points,
        gap_mm={finger: gaps[:, r] for r, finger in enumerate(FINGERS)}, claw=claws["middle"], claw_by_finger=claws,
        residual_nmm=rest.residual_nmm, iterations=rest.iterations, rows_left=rest.rows_left,
    )  # fmt: skip


def _told(one: Asked, n: int) -> dict[str, Array]:
    """The drive of the rows that are told, (n,) each."""
    whole = one.way + n
    return {name: np.broadcast_to(np.asarray(value, dtype=float), (whole,))[one.way :] for name, value in one.drive.items()}


def _thumb_rad(one: Asked, model: HandModel, n: int) -> tuple[dict[str, Array], Array]:
    """Angles of the thumb by joint [deg] and as rows [rad], (n, 4)."""
    drive = _told(one, n) if one.way else one.drive
    found = thumb_angles_deg(drive, model=model, length_factor=one.hand.flexor_length_factor)
    angle = {joint: np.broadcast_to(found[joint], (n,)).copy() for joint in THUMB_JOINTS}
    return angle, np.radians(np.stack(list(angle.values()), axis=1))
