"""Pulse train and field -> the share of each muscle's motor axons that every pulse wakes.

An axon end fires when the field there passes the threshold of the cable for that pulse (shape, length, gap, polarity: table of
`simulator.axon`). Thresholds of neighbours spread log-normally, and a muscle's ends spread along the limb, so the share recruited
is ``sum_k s_k Phi(ln(I max(E_k / E_cathode, |E|_k / E_anode)) / sg)``. Which muscle answers first, what spill-over costs and what
a lead swap does all follow from place and depth; nothing of it is typed in.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtr

from graspwave.simulator import axon
from graspwave.simulator.facts import number
from graspwave.simulator.field import field_at_axons, finger_slips
from graspwave.simulator.scene import Channel, Hand, Pulse, Scene, checked_scene

if TYPE_CHECKING:
    from graspwave.simulator.pulses import PulseTrain

__all__ = ["CLOSERS", "OPENERS", "recruited_by_pulses", "recruitment_curve", "threshold_field_v_m"]

Array = NDArray[np.float64]

OPENERS = ("ECRL", "ECRB", "ECU", "EDC", "EDM", "EIP", "EPL", "EPB", "APL", "BR", "TRI")
"""Muscles on the back of the forearm, which opening stimulation aims at, and the triceps."""

CLOSERS = ("FDS", "FDP", "FPL", "FCR", "FCU", "PL")
"""Muscles on the palm side: current that reaches them is spread."""


_PHASE_US = (20.0, 1000.0)


def threshold_field_v_m(phase_us: ArrayLike, pulse: Pulse | None = None, polarity: str = "cathode") -> Array:
    """Median threshold field of an axon end, V/m.

    Parameters
    ----------
    phase_us : array_like
        20 to 1000; what a ramp of the phase makes shorter is taken as 20.
    pulse : Pulse, optional
        Its shape, gap and phase ratio; a single phase if not given.
    polarity : {"cathode", "anode"}
        Which of the two the first phase is to the end.
    """
    phase = np.clip(np.asarray(phase_us, dtype=np.float64), *_PHASE_US)
    shape, gap, ratio = ("monophasic", 0.0, 1.0) if pulse is None else (pulse.shape, pulse.gap_us, pulse.phase_ratio)
    return axon.threshold_field_v_m(
        phase, gap, shape, ratio, polarity, diameter_um=number("recruitment.axon.diameter_um")  # type: ignore[arg-type]
    )


def recruitment_curve(
    scene: Scene, amplitude_ma: ArrayLike, channel: int = 0, *, slips: bool = False
) -> dict[str, Array]:
    """Share of each muscle that one channel wakes at these amplitudes.

    Parameters
    ----------
    scene : Scene
    amplitude_ma : array_like, shape (n,)
    channel : int, optional
    slips : bool, optional
        Also give the finger extensor's slips (``EDC_INDEX`` and so on), of which EDC is the mean by force.

    Returns
    -------
    dict of str to ndarray, shape (n,)
        0 to 1 for every muscle the pads can reach; all else of the channel (place, phase) as in the scene.

    Examples
    --------
    >>> from graspwave import simulator as sim
    >>> share = sim.recruitment_curve(sim.presets()["tight"], [0.0, 20.0, 60.0])["EDC"]
    >>> float(share[0]), bool(share[1] < share[2] <= 1.0)
    (0.0, True)
    """
    chosen = checked_scene(scene).channel[channel]
    current = np.atleast_1d(np.asarray(amplitude_ma, dtype=np.float64))
    muscles, share = _shares(chosen, scene.hand, current, np.full_like(current, chosen.pulse.phase_us), scene)
    curves = dict(zip(muscles, share.T, strict=True))
    return curves if slips else {name: curve for name, curve in curves.items() if name not in finger_slips()}


def recruited_by_pulses(
    scene: Scene, train: PulseTrain, channel: int = 0, *, slips: bool = False
) -> tuple[tuple[str, ...], Array]:
    """Muscles under a channel, with `slips` the finger extensor's slips too, and the share of each that every pulse wakes.

    Returns
    -------
    muscles : tuple of str
    share : ndarray, shape (pulses, muscles)
    """
    pair = np.round(np.stack([train.amplitude_ma, train.phase_us]), 6)
    # pulses of a plateau are alike: work out each kind once, and look for kinds only where one pulse differs from the last
    differs = np.ones(pair.shape[1], dtype=np.bool_)
    differs[1:] = (pair[:, 1:] != pair[:, :-1]).any(axis=0)
    kinds, of_run = np.unique(pair[:, differs], axis=1, return_inverse=True)
    which = np.ravel(of_run)[np.cumsum(differs) - 1]
    muscles, share = _shares(scene.channel[channel], scene.hand, kinds[0], kinds[1], scene)
    whole = [i for i, name in enumerate(muscles) if slips or name not in finger_slips()]
    return tuple(muscles[i] for i in whole), share[which][:, whole]


def _shares(
    channel: Channel, hand: Hand, amplitude_ma: Array, phase_us: Array, scene: Scene
) -> tuple[tuple[str, ...], Array]:
    field, pulse = field_at_axons(channel.pads, hand), channel.pulse
    cathode = amplitude_ma / threshold_field_v_m(phase_us, pulse)
    anode = amplitude_ma / threshold_field_v_m(phase_us, pulse, "anode")
    strength = np.maximum(cathode[:, None, None] * field.facing, anode[:, None, None] * field.either_way)
    with np.errstate(divide="ignore"):
        level = np.log(strength) / number("recruitment.axon.spread_ln")
    share = ndtr(level) @ field.share
    if "EDC" in field.muscles:
        parts = [field.muscles.index(name) for name in finger_slips()]
        weight = np.array([number(f"recruitment.slip.{name.lower()}.share") for name in finger_slips()])
        share[:, field.muscles.index("EDC")] = share[:, parts] @ (weight / weight.sum())
    if "spread" in scene.without_mechanisms:
        share[:, [name in CLOSERS for name in field.muscles]] = 0.0
    return field.muscles, share
