"""Make the table of threshold fields from the cable: ``python -m graspwave.simulator.axon.make_table [file]``: under a minute."""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from graspwave.simulator.axon.thresholds import axon_threshold
from graspwave.simulator.facts import number

__all__ = ["GAP_US", "PHASE_US", "SHARE", "fields_v_m", "main"]

Array = NDArray[np.float64]

PHASE_US: Array = np.geomspace(20.0, 1000.0, 25)
GAP_US: Array = np.array([0.0, 10.0, 20.0, 30.0, 50.0, 75.0, 100.0, 150.0, 200.0, 300.0, 500.0])
SHARE: Array = np.array([0.0, 0.1, 0.15, 0.25, 0.4, 0.65, 1.0])
"""Amplitude of the second phase over that of the first: 0 monophasic, 1 symmetric."""


def fields_v_m(phase_us: Array, gap_us: Array, share: Array) -> Array:
    """Threshold fields of the 12-um axon that ends, shape (2 polarities, shares, gaps, phases)."""
    diameter = number("axon.fibre.motor_diameter_um")
    found = np.empty((2, share.size, gap_us.size, phase_us.size))
    for k, s in enumerate(share):
        if s == 0.0:
            found[0, k] = axon_threshold(phase_us, diameter, uniform=True)
            found[1, k] = np.inf  # nothing fires: the end is hyperpolarised and a uniform field does nothing beyond
            continue
        found[0, k], found[1, k] = (
            axon_threshold(
                phase_us, diameter, shape="asymmetric", phase_ratio=1.0 / s, gap_us=gap_us[:, None],
                uniform=True, polarity=polarity,
            )
            for polarity in ("cathode", "anode")
        )
    return found


def main(path: str | None = None) -> None:
    """Write the table; by default beside the facts."""
    target = Path(path) if path else Path(__file__).parents[1] / "facts" / "axon_table.npz"
    np.savez_compressed(
        target,
        field_v_m=fields_v_m(PHASE_US, GAP_US, SHARE),
        phase_us=PHASE_US,
        gap_us=GAP_US,
        share=SHARE,
        diameter_um=np.array(number("axon.fibre.motor_diameter_um")),
    )


if __name__ == "__main__":
    main(*sys.argv[1:2])
