"""Threshold field of an axon that ends, read from a table made by the cable (stage axon: the quick way in)."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from importlib.resources import as_file, files

import numpy as np
from numpy.typing import ArrayLike, NDArray

from graspwave.simulator.axon.thresholds import POLARITIES, Polarity, Shape, check_names, within
from graspwave.simulator.facts import number
from graspwave.simulator.scene import SceneError

__all__ = ["FieldTable", "field_table", "threshold_field_v_m"]

Array = NDArray[np.float64]


@dataclass(frozen=True)
class FieldTable:
    """The table as made: fields [V/m] by polarity, share of the second phase, gap [us] and phase [us]."""

    field_v_m: Array
    share: Array
    gap_us: Array
    phase_us: Array
    diameter_um: float

    def by_gap(self, polarity: str, share: float) -> Array:
        """1/field (gaps, phases) at a share of the second phase; 0 where nothing fires."""
        reach = 1.0 / self.field_v_m[POLARITIES.index(polarity)]
        k = int(np.clip(np.searchsorted(self.share, share), 1, self.share.size - 1))
        s = (share - self.share[k - 1]) / (self.share[k] - self.share[k - 1])
        return np.asarray((1.0 - s) * reach[k - 1] + s * reach[k])


@cache
def field_table() -> FieldTable:
    """The table shipped beside the facts, read once."""
    with as_file(files("graspwave.simulator.facts") / "axon_table.npz") as path, np.load(path) as held:
        return FieldTable(
            field_v_m=held["field_v_m"],
            share=held["share"],
            gap_us=held["gap_us"],
            phase_us=held["phase_us"],
            diameter_um=float(held["diameter_um"]),
        )


def threshold_field_v_m(
    phase_us: ArrayLike,
    gap_us: ArrayLike = 0.0,
    shape: Shape = "monophasic",
    phase_ratio: float = 4.0,
    polarity: Polarity = "cathode",
    *,
    diameter_um: float | None = None,
    anode_ratio: float | None = None,
) -> Array:
    """Field along an axon that ends at which it fires.

    Parameters
    ----------
    phase_us : array_like
        Duration of the first phase, 20 to 1000 us; broadcasts with `gap_us`.
    gap_us : array_like
        Interphase gap, 0 to 500 us; without effect on a monophasic pulse.
    shape : {"monophasic", "symmetric", "asymmetric"}
        The second phase is absent, equal, or `phase_ratio` times longer and weaker.
    phase_ratio : float
        Of the asymmetric shape, 1 to 10.
    polarity : {"cathode", "anode"}
        Whether the first phase depolarises or hyperpolarises the end.
    diameter_um : float, optional
        Outer diameter, by default 12 um; the field goes as its inverse.
    anode_ratio : float, optional
        An end under the anode is woken at the latest at so many times the cathode's monophasic field, by the stretch
        beyond it, which a uniform field lacks (default: `axon.use.anode_ratio`). ``inf``: the uniform field alone.

    Returns
    -------
    array
        Volts per metre.

    Raises
    ------
    SceneError
        An argument out of its range, or an unknown shape or polarity.

    Notes
    -----
    Linear between entries in log field over log phase, in the gap, and in 1/field over the second phase's share; within
    1 % of the cable for monophasic, symmetric and 4:1 pulses, 2 % for other phase ratios. From the cable of McNeal 1976,
    with its limits.
    """
    check_names(shape, polarity)
    table = field_table()
    phase, gap = np.asarray(phase_us, float), np.asarray(gap_us, float)
    _check("phase_us", phase, table.phase_us[0], table.phase_us[-1], "the table ends there; run axon_threshold beyond")
    _check("gap_us", gap, table.gap_us[0], table.gap_us[-1], "a longer gap acts as the longest")
    _check("phase_ratio", np.asarray(phase_ratio, float), 1.0, 10.0, "1 is a symmetric pulse")
    share = {"monophasic": 0.0, "symmetric": 1.0}.get(shape, 1.0 / phase_ratio)
    reach = table.by_gap(polarity, share)
    if polarity == "anode":
        limit = number("axon.use.anode_ratio") if anode_ratio is None else anode_ratio
        reach = np.maximum(reach, table.by_gap("cathode", 0.0) / limit)
    with np.errstate(divide="ignore"):
        log_field = -np.log(reach)
    if diameter_um is not None:
        within("diameter_um", diameter_um, "axon.fibre.diameter_um", "motor axons are 8 to 20")
        log_field = log_field + np.log(table.diameter_um / diameter_um)
    return np.exp(_between(log_field, table, phase, gap))


def _between(log_field: Array, table: FieldTable, phase: Array, gap: Array) -> Array:
    """Bilinear in log phase and gap; one gap for all phases needs a single curve."""
    if not np.isfinite(log_field).all():
        return np.full(np.broadcast_shapes(phase.shape, gap.shape), np.inf)
    log_phase, x = np.log(table.phase_us), np.log(phase)
    top = table.gap_us.size - 2
    k = np.clip(np.searchsorted(table.gap_us, gap, side="right") - 1, 0, top)
    s = (gap - table.gap_us[k]) / (table.gap_us[k + 1] - table.gap_us[k])
    if gap.ndim == 0:
        return np.asarray(np.interp(x, log_phase, (1.0 - s) * log_field[k] + s * log_field[k + 1]))
    step = log_phase[1] - log_phase[0]  # phases are evenly spaced in their logarithm
    j = np.clip(((x - log_phase[0]) / step).astype(int), 0, log_phase.size - 2)
    t = (x - log_phase[j]) / step
    return np.asarray(
        (1.0 - s) * ((1.0 - t) * log_field[k, j] + t * log_field[k, j + 1])
        + s * ((1.0 - t) * log_field[k + 1, j] + t * log_field[k + 1, j + 1])
    )


def _check(name: str, value: Array, low: float, high: float, repair: str) -> None:
    bad = ~((value >= low * (1.0 - 1e-12)) & (value <= high * (1.0 + 1e-12)))
    if bad.any():
        raise SceneError(name, f"{low:g} to {high:g}", float(value[bad].flat[0]), repair)
