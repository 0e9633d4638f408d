"""Postures: the hand at rest under tone and weight, under drive, and under pulled tendons.

Stage ``hand``. A posture is a minimum of the potential. Claw and tenodesis are not in here: they come out.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from graspwave.simulator.hand.drives import FREE_MUSCLES, columns_of, drive_rows, share_of_lump, tone_drive
from graspwave.simulator.hand.geometry import look
from graspwave.simulator.hand.layout import PATHS, Constants, constants_of, gravity_of, hand_constants, stacked
from graspwave.simulator.hand.parameters import (
    ANGLES,
    FINGERS,
    MUSCLES,
    WRIST_FLEXORS,
    HandLike,
    HandModel,
    changed,
    standard_hand,
)
from graspwave.simulator.hand.slack import with_slack_of
from graspwave.simulator.hand.thumb import THUMB_JOINTS, thumb_angles_deg

__all__ = ["Asked", "Posture", "Rest", "equilibria", "equilibrium", "is_claw", "openings_mm", "posture_under", "relaxed_posture"]

Array = NDArray[np.float64]

_FIRST_GUESS_DEG = (0.0, *(45.0, 45.0, 22.0) * len(FINGERS))  # near the published relaxed hand
MOST_STEPS = 100
"""Steps after which a walk gives up; rows left are counted, not hidden."""
_DONE_NMM = 1e-3


class Rest(NamedTuple):
    """Where a walk downhill ended.

    Attributes
    ----------
    q : ndarray, shape (n, 13)
        Angles [rad].
    residual_nmm : ndarray, shape (n,)
        Largest net torque left at a free joint.
    iterations : int
        Steps taken by the slowest row.
    rows_left : int
        Rows whose residual is still above the limit.
    """

    q: Array
    residual_nmm: Array
    iterations: int
    rows_left: int


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
    start = _guess(wrist.size)
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
    start = _guess(1)
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
    Where two postures rest side by side for one drive, a row takes the one that its walk from `start` comes to. From rest that is
    mostly, not always, the one that a slow rise of the drive leads to: of the presets under 0 to 60 mA the supple and the stiff
    hand have no second one, and the tight hand, from 54.5 to 59.5 mA, stands as after a slow fall, its wrist bent, where a slow
    rise leaves it drawn back (2 to 4 mm less open). What comes of a history is told by `start`, by `motion` and by `folding`.
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
    return [
        _posture(one.hand, each.model, each.constants, one.drive, each.rows, each.tone, rest)
        for one, each, rest in zip(asked, made, _settled(made), strict=True)
    ]


def openings_mm(asked: Sequence[Asked]) -> list[Array]:
    """Opening of each row of each hand, as `equilibria` finds it, without all that is not asked for."""
    made = [_made_ready(one) for one in asked]
    return [
        look(one.hand, rest.q, _thumb_rad(one.hand, each.model, one.drive, rest.q.shape[0])[1], model=each.model)[0]
        for one, each, rest in zip(asked, made, _settled(made), strict=True)
    ]


def _settled(made: Sequence[_Ready]) -> list[Rest]:
    """Every hand's rows walked down, in one call of the loops."""
    sizes = [each.rows.shape[0] for each in made]
    which = np.repeat(np.arange(len(made)), sizes)
    q, rows, toned, held = (np.concatenate([each[at] for each in made]) for at in range(4))
    constants = made[0].constants if len(made) == 1 else stacked([each.constants for each in made])
    found, left, steps = _walked(constants, q, rows, None, toned, held, MOST_STEPS, None if len(made) == 1 else which)
    ends = np.cumsum([0, *sizes])
    return [_rest_from(found[a:b], left[a:b], steps[a:b]) for a, b in pairwise(ends)]


class _Ready(NamedTuple):
    """Rows of one hand, ready for the walk."""

    q: Array
    rows: Array
    tone: Array
    held: NDArray[np.bool_]
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
    return _Ready(q, rows, toned, held, constants, model)


def is_claw(model: HandModel, mcp_deg: Array, pip_deg: Array) -> NDArray[np.bool_]:
    """Claw as published: MCP past straight while the PIP is bent more than 20 degrees."""
    claw = (mcp_deg < model.claw.mcp_below_deg) & (pip_deg > model.claw.pip_above_deg)
    return np.asarray(claw, dtype=np.bool_)


def claws_of(model: HandModel, angle_deg: Mapping[str, Array]) -> dict[str, NDArray[np.bool_]]:
    """Which fingers claw, by finger."""
    def joint(finger: str, name: str) -> Array:
        return angle_deg[name if finger == "middle" else f"{finger}.{name}"]

    return {finger: is_claw(model, joint(finger, "MCP"), joint(finger, "PIP")) for finger in FINGERS}


def model_for(model: HandModel | None, slips_slack: bool) -> HandModel:
    """The standard model where none is given; without slack where that is switched off."""
    model = model or standard_hand()
    return model if slips_slack else changed(model, hood__slack=0.0)


def descend(
    constants: Constants,
    q: Array,
    drive: Array,
    *,
    pull_n: Array | None = None,
    tone: Array | None = None,
    wrist_held: bool | NDArray[np.bool_] = False,
    most: int | None = None,
) -> Rest:
    """Walk from `q` (n, 13) [rad] down to a minimum under drive (n, 24), every row on its own; held wrists stay."""
    n = q.shape[0]
    held = np.array(np.broadcast_to(np.asarray(wrist_held, dtype=np.bool_), (n,)))
    toned = np.zeros((n, 2)) if tone is None else np.ascontiguousarray(tone)
    return _rest_from(*_walked(constants, q, drive, pull_n, toned, held, most or MOST_STEPS))


def _walked(
    constants: Constants, q: Array, drive: Array, pull_n: Array | None, tone: Array, held: NDArray[np.bool_], most: int,
    which: NDArray[np.int_] | None = None,
) -> tuple[Array, Array, NDArray[np.int_]]:
    """Angles, torque left and steps of each row; with `which`, rows are those of several hands, their constants stacked."""
    from graspwave.simulator.hand import walk

    found = np.array(q, dtype=np.float64, order="C")
    pull = np.zeros((q.shape[0], len(PATHS))) if pull_n is None else np.ascontiguousarray(pull_n)
    rest = (found, np.ascontiguousarray(drive), pull, tone, held, most, _DONE_NMM)
    steps, left = walk.settle(constants, *rest) if which is None else walk.settle_each(constants, which, *rest)
    return found, left, steps


def _rest_from(q: Array, left: Array, steps: NDArray[np.int_]) -> Rest:
    return Rest(q, left, int(steps.max(initial=0)), int((left > _DONE_NMM).sum()))


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
    """Angles of a posture as rows [rad], shape (n, 13)."""
    return np.radians(np.stack([posture.angle_deg[joint] for joint in ANGLES], axis=1))


@lru_cache(maxsize=64)
def _rest(
    model: HandModel, factor: float, length_mm: float, gravity: float, finger: float, wrist: float, held: float | None,
    helped: float, rests: bool,
) -> Rest:
    toned = np.array([[finger, wrist]])
    start = _guess(1)
    if held is not None:
        start[:, 0] = np.radians(held)
    constants = constants_of(model, factor, length_mm, gravity, helped, rests)
    return descend(constants, start, tone_drive(model, toned), tone=toned, wrist_held=held is not None)


def _posture(
    hand: HandLike, model: HandModel, constants: Constants, drive: Mapping[str, ArrayLike], rows: Array, toned: Array,
    rest: Rest,
) -> Posture:
    n = rest.q.shape[0]
    angle: dict[str, Array] = dict(zip(ANGLES, np.degrees(rest.q).T.copy(), strict=True))
    whole, share = tension_by_muscle(model, constants, rest.q, rows, toned, drive)
    ratio = model.hood.terminal_to_central
    central = share * (whole["middle.EDC"]) / (1.0 + ratio)
    thumb, thumb_q = _thumb_rad(hand, model, drive, n)
    angle |= thumb
    wide, points, gaps = look(hand, rest.q, thumb_q, model=model)
    claws = claws_of(model, angle)
    return Posture(
        angle_deg=angle, tension_n=whole, central_slip_per_ray_n=central, terminal_slip_per_ray_n=ratio * central,
        slip_share=share, opening_mm=wide, opening_points_mm=points,
        gap_mm={finger: gaps[:, r] for r, finger in enumerate(FINGERS)}, claw=claws["middle"], claw_by_finger=claws,
        residual_nmm=rest.residual_nmm, iterations=rest.iterations, rows_left=rest.rows_left,
    )  # fmt: skip


def _thumb_rad(
    hand: HandLike, model: HandModel, drive: Mapping[str, ArrayLike], n: int
) -> tuple[dict[str, Array], Array]:
    """Angles of the thumb by joint [deg] and as rows [rad], (n, 4)."""
    found = thumb_angles_deg(drive, model=model, length_factor=hand.flexor_length_factor)
    angle = {joint: np.broadcast_to(found[joint], (n,)).copy() for joint in THUMB_JOINTS}
    return angle, np.radians(np.stack(list(angle.values()), axis=1))


def tension_by_muscle(
    model: HandModel, constants: Constants, q: Array, rows: Array, toned: Array, drive: Mapping[str, ArrayLike]
) -> tuple[dict[str, Array], Array]:
    """Tension [N] by whole muscle and by finger, and the share of the middle finger's extensor force that its slips have."""
    from graspwave.simulator.hand.walk import slip_shares
    from graspwave.simulator.hand.whole import tensions

    tension, passive, _ = tensions(constants, q, rows, toned)
    unstretched, _, _ = tensions(constants, q, rows, np.zeros_like(toned))
    whole: dict[str, Array] = {}
    for muscle in MUSCLES:
        columns = columns_of("muscle", muscle)
        if muscle not in WRIST_FLEXORS:
            whole[muscle] = tension[:, columns].sum(axis=1)
            continue
        (column,) = columns
        # what the muscle's own drive makes is its own; what stretch makes is shared by force
        own = np.clip(np.asarray(drive.get(muscle, 0.0), dtype=float) + model.tone.wrist_base * toned[:, 1], 0.0, 1.0)
        driven, total = unstretched[:, column] - passive[:, column], rows[:, column]
        shared = tension[:, column] - driven
        active = np.divide(driven * own, total, out=np.zeros_like(driven), where=total > 0.0)
        whole[muscle] = share_of_lump(model, muscle) * (active + shared)
    for name in FREE_MUSCLES:
        whole[name] = tension[:, columns_of("muscle", name)].sum(axis=1)
    for r, finger in enumerate(FINGERS):
        for i, muscle in enumerate(("EDC", "OWN", "FDP", "FDS", "INT")):
            if muscle != "OWN":
                whole[f"{finger}.{muscle}"] = tension[:, 5 * r + i]
    return whole, np.asarray(slip_shares(constants, q)[:, FINGERS.index("middle")])


def _guess(n: int) -> Array:
    return np.repeat(np.radians([_FIRST_GUESS_DEG]), n, axis=0)
