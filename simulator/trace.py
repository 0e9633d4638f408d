"""From a pulse train to the line that a picture draws, from one phase to a whole session.

Third stage of the chain. Where pulses can be told apart the line has their true edges; where they are closer than a
pixel it is the highest and lowest current in each pixel. No peak is lost, and nothing is sampled, so nothing aliases.
"""

from __future__ import annotations

import math
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from graspwave.simulator.pulses import PulseTrain
from graspwave.simulator.scene import SceneError

__all__ = ["trace_current"]

Array = NDArray[np.float64]

_MOST = 4
"""Points a pixel: enough to enter, reach top and bottom, and leave."""

def trace_current(train: PulseTrain, t0_s: float, t1_s: float, pixels: int) -> tuple[Array, Array]:
    """The current between two times as points to be joined by straight lines.

    Parameters
    ----------
    train : PulseTrain
    t0_s, t1_s : float
        Window, s; any length, also beyond the ends of the train.
    pixels : int
        Width of the picture.

    Returns
    -------
    t_s, current_ma : ndarray, shape (n,)
        Times in order within the window and the current there, positive in the first phase (negative with swapped
        leads). At most four points in any pixel; the highest and lowest current of each pixel are among them.

    Raises
    ------
    SceneError
        A window that ends before it starts, or no pixel.

    Notes
    -----
    The work follows the pixels and the pulses in view, not the session.

    Examples
    --------
    >>> from graspwave import simulator as sim
    >>> train = sim.pulse_train(sim.presets()["tight"], duration_s=2.0)
    >>> t_s, current_ma = sim.trace_current(train, 1.0, 1.1, pixels=600)
    >>> t_s.shape == current_ma.shape
    True
    """
    if not (math.isfinite(t0_s) and math.isfinite(t1_s) and t0_s < t1_s):
        raise SceneError("t1_s", f"later than t0_s ({t0_s:g} s)", float(t1_s))
    if isinstance(pixels, bool) or not isinstance(pixels, (int, np.integer)) or pixels < 1:
        raise SceneError("pixels", "a whole number, at least 1", pixels)
    first = max(0, int(np.searchsorted(train.onset_s, t0_s, "right")) - 1)  # may be under way at t0_s
    last = int(np.searchsorted(train.onset_s, t1_s, "left"))
    edges = np.linspace(t0_s, t1_s, int(pixels) + 1)
    if last - first > pixels + 1:
        t_s, current = _envelope(train, edges)
    else:
        t_s, current = _thinned(*_exact(train.part(first, last), t0_s, t1_s), edges)
    return t_s, train.sign * current


def _exact(train: PulseTrain, t0_s: float, t1_s: float) -> tuple[Array, Array]:
    """Every edge of every pulse, cut to the window; zero between them."""
    on, first_end, height = train.onset_s, train.first_end_s, train.amplitude_ma
    second, end, depth = train.second_start_s, train.end_s, train.second_ma
    zero = np.zeros_like(on)
    rows: list[tuple[Array, Array]] = [(on, zero), (on, height), (first_end, height)]
    if not train.phase_ratio:
        rows += [(first_end, zero)]
    elif train.gap_us:
        rows += [(first_end, zero), (second, zero), (second, depth), (end, depth), (end, zero)]
    else:
        rows += [(second, depth), (end, depth), (end, zero)]
    t_s = np.column_stack([row[0] for row in rows]).ravel()
    current = np.column_stack([row[1] for row in rows]).ravel()
    inside = (t_s > t0_s) & (t_s < t1_s)
    return (
        np.concatenate([[t0_s], t_s[inside], [t1_s]]),
        np.concatenate([[_at(t_s, current, t0_s, "right")], current[inside], [_at(t_s, current, t1_s, "left")]]),
    )


def _at(t_s: Array, current: Array, when_s: float, side: Literal["left", "right"]) -> Any:
    """Current just after (`side` right) or just before a time; it is level between two points."""
    i = int(np.searchsorted(t_s, when_s, side))
    return current[i] if 0 < i < len(t_s) else 0.0


def _thinned(t_s: Array, current: Array, edges: Array) -> tuple[Array, Array]:
    """At most four points a pixel: first, top, bottom, last of those that are in it, in order of time."""
    pixels = len(edges) - 1
    pixel = np.clip(np.searchsorted(edges, t_s, "right") - 1, 0, pixels - 1)
    start = np.flatnonzero(np.diff(pixel, prepend=-1))
    count = np.diff(start, append=len(pixel))
    if count.max() <= _MOST:
        return t_s, current
    group = np.repeat(np.arange(len(start)), count)
    index = np.arange(len(t_s))
    kept = (count <= _MOST)[group]
    kept[start] = kept[start + count - 1] = True
    for extreme in (np.maximum, np.minimum):
        reached = current == extreme.reduceat(current, start)[group]
        kept[np.minimum.reduceat(np.where(reached, index, len(index)), start)] = True
    return t_s[kept], current[kept]


def _envelope(train: PulseTrain, edges: Array) -> tuple[Array, Array]:
    """Highest and lowest current of each pixel; there is rest in each, as pulses are closer than a pixel.

    Pulses do not overlap, so of those that began before an edge only the last can still be under way there.
    """
    begun = np.searchsorted(train.onset_s, edges, "right")
    before = np.searchsorted(train.onset_s, edges, "left")
    at, latest = np.maximum(begun - 1, 0), np.maximum(before - 1, 0)
    first_end_s = train.onset_s[at] + 1e-6 * train.phase_us[at]
    top = _largest(train.amplitude_ma, begun[:-1] - (first_end_s > edges)[:-1] * (begun > 0)[:-1], before[1:])
    bottom = np.zeros_like(top)
    if train.phase_ratio:
        end_s = train.onset_s[at] + 1e-6 * (train.phase_us[at] * (1.0 + train.phase_ratio) + train.gap_us)
        second_s = train.onset_s[latest] + 1e-6 * (train.phase_us[latest] + train.gap_us)
        low = begun[:-1] - (end_s > edges)[:-1] * (begun > 0)[:-1]
        high = before[1:] - (second_s >= edges)[1:] * (before > 0)[1:]
        bottom = -_largest(train.amplitude_ma, low, high) / train.phase_ratio
    quarter = np.diff(edges) / 4.0
    t_s = np.column_stack([edges[:-1] + quarter, edges[1:] - quarter]).ravel()
    return t_s, np.column_stack([top, bottom]).ravel()


def _largest(height_ma: Array, low: NDArray[np.int64], high: NDArray[np.int64]) -> Array:
    """Largest of the heights number `low` up to `high` of each pixel, 0 where there are none."""
    found: Array = np.zeros(len(low))
    some = np.flatnonzero(high > low)
    if some.size:
        # of pairs of bounds every other stretch is a pixel; the padding lets the last bound stand at the end
        start = low[some[0]]
        bounds = np.column_stack([low[some], high[some]]).ravel() - start
        part = np.append(height_ma[start : high[some[-1]]], 0.0)
        found[some] = np.maximum.reduceat(part, bounds)[::2]
    return found
