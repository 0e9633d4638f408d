"""Thresholds of the myelinated axon for any pulse (stage axon: what is asked of the cable).

A threshold is the smallest amplitude after which a spike travels away along the fibre. All thresholds asked for in one
call are searched side by side: rows are conditions times trial amplitudes, columns are nodes.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from graspwave.simulator.axon.cable import SPIKE_MV, Fibres, Membrane, internode_mm, membrane
from graspwave.simulator.facts import fact, number
from graspwave.simulator.scene import SceneError

__all__ = ["Polarity", "Pulses", "Shape", "axon_threshold", "fired_by", "pulses_of"]

Array = NDArray[np.float64]
Shape = Literal["monophasic", "symmetric", "asymmetric"]
Polarity = Literal["cathode", "anode"]

SHAPES = ("monophasic", "symmetric", "asymmetric")
POLARITIES = ("cathode", "anode")

STEP_MS = 0.005
WATCHED = -4  # node where a passing spike is looked for; the sealed end stands beyond

_TOLERANCE = 1e-3  # of a threshold: finer than what the time step costs would be wasted work
_TAIL_MS = 3.0  # a spike that starts at all within 0.1 % of threshold starts within this time
_PER_NODE_MS = 0.06  # a spike takes 0.046 ms from node to node
_SPARE_NODES = 16
_REACH = 3.0  # nodes are kept to so many times the source's distance
_SPAN = 40.0  # first search runs over so many times its lowest amplitude
_WIDENINGS = 3


@dataclass(frozen=True)
class Pulses:
    """Conditions of one search, all of shape (rows,) but the drive (rows, nodes); times in ms."""

    drive_mv: Array
    ended: NDArray[np.bool_]
    phase: Array
    gap: Array
    second: Array
    share: Array

    def take(self, rows: NDArray[np.intp]) -> Pulses:
        return Pulses(*(getattr(self, name)[rows] for name in self.__dataclass_fields__))

    def end_ms(self) -> Array:
        return self.phase + self.gap + self.second

    def charge(self, t: float) -> Array:
        """Charge since the start for an amplitude of 1: its difference over a step is exact for any edge."""
        first = np.minimum(t, self.phase)
        second = np.clip(t - self.phase - self.gap, 0.0, self.second)
        return np.asarray(first - self.share * second)


def axon_threshold(
    phase_us: ArrayLike,
    diameter_um: ArrayLike = 20.0,
    distance_mm: ArrayLike = 2.0,
    polarity: Polarity = "cathode",
    shape: Shape = "monophasic",
    gap_us: ArrayLike = 0.0,
    ends: bool = False,
    uniform: bool = False,
    *,
    phase_ratio: ArrayLike = 4.0,
    step_us: float | None = None,
    spare_nodes: int = _SPARE_NODES,
    cell: Membrane | None = None,
) -> Array:
    """Smallest amplitude that sends a spike along a myelinated axon.

    Parameters
    ----------
    phase_us : array_like
        Duration of the first phase, 1 to 10000 us. Arrays broadcast.
    diameter_um : array_like
        Outer diameter of the fibre, 2 to 30 um.
    distance_mm : array_like
        Point source to axon, 0.1 to 50 mm; it lies over a node (or over the end). Not used in a uniform field.
    polarity : {"cathode", "anode"}
        Sign of the first phase. In a uniform field the cathode's side is the one that depolarises the end.
    shape : {"monophasic", "symmetric", "asymmetric"}
        The second phase is absent, equal, or `phase_ratio` times longer and weaker.
    gap_us : array_like
        Interphase gap, 0 to 10000 us.
    ends : bool
        True: the axon ends under the source. False: it passes.
    uniform : bool
        True: a uniform field along an axon that ends, instead of a point source.
    phase_ratio : array_like
        Of the asymmetric shape, 1 to 10.
    step_us : float, optional
        Time step; by default 5 us, halved below phases of 100, 30 and 10 us, finer still for two phases below 3 us.
    spare_nodes : int
        Nodes kept beyond three times the source's distance.
    cell : Membrane, optional
        Constants other than the published ones.

    Returns
    -------
    array
        Milliamperes (point source in an infinite medium, Ve = rho_e I/(4 pi r)) or, where `uniform`, volts per metre.
        Infinite where nothing fires at thousands of times the cathode's threshold: an anodal monophasic pulse in a
        uniform field.

    Raises
    ------
    SceneError
        An argument out of its range, or an unknown shape or polarity.

    Notes
    -----
    McNeal 1976; Frankenhaeuser and Huxley 1964. A frog's node at 20 degrees C: a warm human axon is faster and
    takes less charge from long pulses. A node lies under the source: a source between nodes needs more. Within 0.4 % of
    the equations; 2 % for two phases of 1 us.

    Examples
    --------
    >>> from graspwave import simulator as sim
    >>> short, long = sim.axon_threshold([50.0, 500.0])
    >>> bool(short > long)
    True
    """
    check_names(shape, polarity)
    given = np.broadcast_arrays(*checked(phase_us, diameter_um, distance_mm, gap_us, phase_ratio))
    form = given[0].shape
    phase, diameter, distance, gap, ratio = (np.ravel(a) for a in given)
    result = np.empty(phase.size)
    reach = np.zeros(phase.size) if uniform else np.ceil(_REACH * distance / internode_mm(diameter) / 8.0) * 8.0
    nodes = reach.astype(int) + spare_nodes
    step = _step_ms(phase, shape) if step_us is None else np.full(phase.size, step_us * 1e-3)
    whole = phase + gap + phase * ratio
    length = np.ceil(np.log2(whole * 1e-3 + _TAIL_MS))  # pulses of like length run together
    groups: dict[tuple[int, float, float], list[int]] = {}
    for k, key in enumerate(zip(nodes.tolist(), step.tolist(), length.tolist(), strict=True)):
        groups.setdefault(key, []).append(k)
    for (n, dt, _), members in groups.items():
        at = np.array(members)
        rows = pulses_of(
            phase[at], diameter[at], distance[at], gap[at], ratio[at],
            polarity=polarity, shape=shape, ends=ends, uniform=uniform, nodes=n,
        )
        result[at] = _search(rows, dt, cell or membrane())
    return result.reshape(form)


def pulses_of(
    phase_us: Array,
    diameter_um: Array,
    distance_mm: Array,
    gap_us: Array,
    ratio: Array,
    *,
    polarity: Polarity,
    shape: Shape,
    ends: bool,
    uniform: bool,
    nodes: int,
) -> Pulses:
    """The conditions as the cable takes them; all arrays of shape (rows,)."""
    drive = (
        uniform_drive_mv(diameter_um, nodes)
        if uniform
        else point_drive_mv(diameter_um, distance_mm, nodes, ends=ends)
    )
    two = shape != "monophasic"
    ratio = np.ones_like(ratio) if shape == "symmetric" else ratio
    return Pulses(
        drive_mv=drive if polarity == "cathode" else -drive,
        ended=np.full(phase_us.size, ends or uniform),
        phase=phase_us * 1e-3,
        gap=gap_us * 1e-3 * two,
        second=phase_us * ratio * 1e-3 * two,
        share=two / ratio,
    )


def _step_ms(phase_us: Array, shape: Shape) -> Array:
    """Time step that keeps thresholds within 0.4 %: in a short phase more rides on how fast charge spreads.

    Two phases of 1 us all but cancel; what is left is of the order of a step, so it takes a far finer one (1 %).
    """
    halvings = (phase_us < 100.0).astype(int) + (phase_us < 30.0) + (phase_us < 10.0)
    if shape != "monophasic":
        halvings = halvings + 2 * (phase_us < 3.0)
    return np.asarray(STEP_MS / 2.0**halvings)


def point_drive_mv(diameter_um: Array, distance_mm: Array, nodes: int, *, ends: bool) -> Array:
    """Second difference of Ve [mV] at the nodes for 1 mA of cathode over the first one, shape (rows, nodes)."""
    x_cm = internode_mm(diameter_um)[:, None] * 0.1 * np.arange(-1, nodes + 1)
    r_cm = np.hypot(x_cm, distance_mm[:, None] * 0.1)
    outside = -number("axon.fibre.outside_ohm_cm") / (4.0 * np.pi * r_cm)
    drive: Array = outside[:, 2:] + outside[:, :-2] - 2.0 * outside[:, 1:-1]
    if ends:
        drive[:, 0] = outside[:, 2] - outside[:, 1]
    return drive


def uniform_drive_mv(diameter_um: Array, nodes: int) -> Array:
    """Drive [mV] for 1 V/m along an axon that ends at its first node, shape (rows, nodes): E L at the end only."""
    drive = np.zeros((diameter_um.size, nodes))
    drive[:, 0] = internode_mm(diameter_um)  # V/m times mm is mV
    return drive


def _search(rows: Pulses, step_ms: float, cell: Membrane) -> Array:
    """Bracket on a geometric ladder, then section all brackets together."""
    count, nodes = rows.drive_mv.shape
    lo = 4.0 * (1.0 + 0.1 / rows.phase) / np.abs(rows.drive_mv).max(axis=1)
    hi = np.full(count, np.inf)
    start, open_rows = lo.copy(), np.arange(count)
    for _ in range(_WIDENINGS):
        rungs = start[open_rows, None] * np.geomspace(1.0, _SPAN, 12)
        _narrow(rows, open_rows, rungs, lo, hi, step_ms, cell)
        low = np.isfinite(hi) & (hi <= start)
        lo[low] = 0.02 * start[low]  # fired at the lowest rung
        open_rows = np.flatnonzero(~np.isfinite(hi))
        start[open_rows] *= _SPAN
        if not open_rows.size:
            break
    while True:
        wide = np.flatnonzero(np.isfinite(hi) & (hi > lo * (1.0 + _TOLERANCE)))
        if not wide.size:
            return np.asarray(np.sqrt(lo * hi))
        inner = int(np.clip(1500 // (wide.size * nodes), 1, 15))
        share = np.arange(1, inner + 1) / (inner + 1)
        _narrow(rows, wide, lo[wide, None] * (hi[wide, None] / lo[wide, None]) ** share, lo, hi, step_ms, cell)


def _narrow(
    rows: Pulses, at: NDArray[np.intp], trial: Array, lo: Array, hi: Array, step_ms: float, cell: Membrane
) -> None:
    """Try rising amplitudes (rows at, rungs) and draw lo and hi in to the first that fires."""
    rungs = trial.shape[1]
    fired = fired_by(rows.take(np.repeat(at, rungs)), trial.ravel(), step_ms, cell).reshape(trial.shape)
    first = np.where(fired.any(axis=1), fired.argmax(axis=1), rungs)
    for k, (row, i) in enumerate(zip(at, first, strict=True)):
        if i > 0:
            lo[row] = trial[k, i - 1]
        if i < rungs:
            hi[row] = trial[k, i]


def fired_by(rows: Pulses, amplitude: Array, step_ms: float, cell: Membrane) -> NDArray[np.bool_]:
    """Whether a spike passed the watched node, for each row at its amplitude."""
    fibres = Fibres(rows.drive_mv * amplitude[:, None], rows.ended, step_ms, cell)
    fired = np.zeros(amplitude.size, bool)
    at = np.arange(amplitude.size)
    now, before = rows, rows.charge(0.0)
    last = float(np.max(rows.end_ms(), initial=0.0)) + _TAIL_MS + _PER_NODE_MS * rows.drive_mv.shape[1]
    for k in range(1, int(np.ceil(last / step_ms)) + 1):
        after = now.charge(k * step_ms)
        v = fibres.step((after - before) / step_ms)
        before = after
        if k % 20 == 0:
            passed = v[:, WATCHED] > SPIKE_MV  # a spike stands above this for 0.5 ms: five looks
            fired[at[passed]] = True
            quiet = (k * step_ms > now.end_ms() + 0.5) & (v.max(axis=1) < 3.0)
            going = ~(passed | quiet)
            if not going.all():
                if not going.any():
                    break
                fibres.keep(going)
                at, before, now = at[going], before[going], now.take(np.flatnonzero(going))
    return fired


def check_names(shape: str, polarity: str) -> None:
    """Refuse an unknown shape or polarity."""
    if shape not in SHAPES:
        raise SceneError("shape", f"one of {', '.join(SHAPES)}", shape)
    if polarity not in POLARITIES:
        raise SceneError("polarity", f"one of {', '.join(POLARITIES)}", polarity)


def checked(
    phase_us: ArrayLike, diameter_um: ArrayLike, distance_mm: ArrayLike, gap_us: ArrayLike, phase_ratio: ArrayLike
) -> tuple[Array, Array, Array, Array, Array]:
    """The arguments as arrays, each in its range."""
    return (
        within("phase_us", phase_us, "axon.use.phase_us", "use 20 to 1000 for a stimulator's pulse"),
        within("diameter_um", diameter_um, "axon.fibre.diameter_um", "motor axons are 8 to 20"),
        within("distance_mm", distance_mm, "axon.use.distance_mm", "use uniform=True for a source farther away"),
        within("gap_us", gap_us, "axon.use.gap_us", "give the gap in microseconds"),
        within("phase_ratio", phase_ratio, "axon.use.phase_ratio", "1 is a symmetric pulse"),
    )


def within(name: str, given: ArrayLike, record: str, repair: str) -> Array:
    """One argument as an array in the range of a record."""
    value = np.asarray(given, float)
    limits = fact(record).range
    assert limits is not None
    bad = ~((value >= limits[0]) & (value <= limits[1]))
    if bad.any():
        raise SceneError(name, f"{limits[0]:g} to {limits[1]:g}", float(value[bad].flat[0]), repair)
    return value
