"""A spike on the myelinated axon: its speed, its height, its picture (stage axon: runs of one fibre)."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from graspwave.simulator.axon.cable import SPIKE_MV, Fibres, Membrane, internode_mm, membrane
from graspwave.simulator.axon.thresholds import STEP_MS, WATCHED, Polarity, Pulses, Shape, check_names, checked, pulses_of, within
from graspwave.simulator.scene import SceneError

__all__ = ["Firing", "fire", "spike_mv", "velocity_m_s"]

Array = NDArray[np.float64]

_FINE_STEP_MS = 0.0025


@dataclass(frozen=True)
class Firing:
    """Voltage along an axon in time.

    Attributes
    ----------
    time_us : array, shape (times,)
        From the start of the pulse.
    place_mm : array, shape (nodes,)
        Along the fibre from the node under the source (or the end).
    voltage_mv : array, shape (times, nodes)
        Above rest.
    fired : bool
        A spike travelled to the end of the picture.
    """

    time_us: Array
    place_mm: Array
    voltage_mv: Array
    fired: bool


def fire(
    amplitude: float,
    phase_us: float = 100.0,
    diameter_um: float = 20.0,
    distance_mm: float = 2.0,
    polarity: Polarity = "cathode",
    shape: Shape = "monophasic",
    gap_us: float = 0.0,
    ends: bool = False,
    uniform: bool = False,
    *,
    phase_ratio: float = 4.0,
    until_us: float = 2000.0,
    nodes: int = 31,
    every_us: float = 10.0,
) -> Firing:
    """Run one axon under one pulse, for a picture.

    Parameters
    ----------
    amplitude : float
        Milliamperes, or volts per metre where `uniform`.
    until_us, every_us : float
        Length of the picture and time between its rows; every_us is rounded to whole steps of 5 us.
    nodes : int
        Nodes from the source (or the end) outwards, 8 or more; a fibre that passes is shown to both sides.

    Other parameters are those of `axon_threshold`.

    Returns
    -------
    Firing

    Raises
    ------
    SceneError
        As `axon_threshold`.
    """
    check_names(shape, polarity)
    if nodes < 8:
        raise SceneError("nodes", "8 or more", nodes, "a spike needs room to travel")
    if not (np.isfinite(amplitude) and amplitude >= 0.0):
        raise SceneError("amplitude", "0 or more", amplitude, "turn the pulse round with polarity")
    phase, diameter, distance, gap, ratio = (
        np.reshape(a, 1) for a in checked(phase_us, diameter_um, distance_mm, gap_us, phase_ratio)
    )
    pulse = pulses_of(
        phase, diameter, distance, gap, ratio,
        polarity=polarity, shape=shape, ends=ends, uniform=uniform, nodes=nodes,
    )
    voltage = _record(pulse, amplitude, round(until_us * 1e-3 / STEP_MS), membrane())
    stride = max(1, round(every_us * 1e-3 / STEP_MS))
    place = internode_mm(diameter) * np.arange(nodes)
    shown = voltage[::stride]
    if not (ends or uniform):
        place, shown = np.concatenate([-place[:0:-1], place]), np.concatenate([shown[:, :0:-1], shown], axis=1)
    return Firing(
        time_us=np.arange(voltage.shape[0], dtype=float)[::stride] * (STEP_MS * 1e3),
        place_mm=place,
        voltage_mv=shown,
        fired=bool((voltage[:, WATCHED] > SPIKE_MV).any()),
    )


def _record(pulse: Pulses, amplitude: float, steps: int, cell: Membrane, step_ms: float = STEP_MS) -> Array:
    """Voltage of one fibre (steps + 1, nodes), the first row at rest."""
    fibres = Fibres(pulse.drive_mv * amplitude, pulse.ended, step_ms, cell)
    voltage = np.zeros((steps + 1, pulse.drive_mv.shape[1]))
    for k in range(1, steps + 1):
        mean = (pulse.charge(k * step_ms) - pulse.charge((k - 1) * step_ms)) / step_ms
        voltage[k] = fibres.step(mean)[0]
    return voltage


@cache
def _travelling(cell: Membrane, step_ms: float = _FINE_STEP_MS) -> tuple[float, float]:
    """Time from node to node [ms] and height [mV] of a spike that travels freely; neither depends on diameter."""
    nodes, first, second = 48, 15, 35
    drive = np.zeros((1, nodes))
    drive[0, 0] = 1.0
    none = np.zeros(1)
    pulse = Pulses(drive, np.array([True]), np.full(1, 0.1), none, none, none)
    voltage = _record(pulse, 60.0, round(2.6 / step_ms), cell, step_ms)
    crossed = []
    for node in (first, second):
        v = voltage[:, node]
        k = int(np.argmax(v > SPIKE_MV))
        crossed.append((k - 1 + (SPIKE_MV - v[k - 1]) / (v[k] - v[k - 1])) * step_ms if k else np.nan)
    return (crossed[1] - crossed[0]) / (second - first), float(np.max(voltage[:, (first + second) // 2]))


def velocity_m_s(diameter_um: ArrayLike = 20.0, *, cell: Membrane | None = None) -> Array:
    """Conduction velocity [m/s] of fibres of an outer diameter [um]; proportional to it in this cable.

    Raises
    ------
    SceneError
        A diameter outside 2 to 30 um.
    """
    diameter = within("diameter_um", diameter_um, "axon.fibre.diameter_um", "motor axons are 8 to 20")
    return internode_mm(diameter) / _travelling(cell or membrane())[0]  # mm/ms is m/s


def spike_mv(*, cell: Membrane | None = None) -> float:
    """Height of a travelling spike above rest [mV], the same for every diameter."""
    return _travelling(cell or membrane())[1]
