"""Solve the forearm at every fat thickness and write the maps: ``python -m graspwave.simulator.conductor.make_maps``.

About 40 s on one core. On a busy machine set ``OPENBLAS_NUM_THREADS=1``: threads that wait for each other cost more than
they save on blocks of this size.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from graspwave.simulator.conductor.limb import Forearm
from graspwave.simulator.conductor.places import MAPS, axon_ends_mm, digest, forearm_pools
from graspwave.simulator.facts import fact, number

__all__ = ["main", "solved_maps", "write_maps"]

Array = NDArray[np.float64]



def solved_maps(fat_mm: float, step_mm: float = 4.0) -> tuple[Forearm, Array]:
    """The forearm at one fat thickness and the sensitivity of every axon end.

    Returns
    -------
    forearm : Forearm
    maps : ndarray, shape (2, muscles, places, x, around)
        Field along the limb, then towards the skin, V/m for each mA that enters the skin there.
    """
    forearm = Forearm(fat_mm, step_mm)
    ends = axon_ends_mm()
    flat = [column.ravel() for column in ends]
    maps = np.stack([forearm.sensitivity(flat[0], flat[1], flat[2], radial) for radial in (False, True)])
    return forearm, maps.reshape(2, *ends[0].shape, *maps.shape[-2:])


def write_maps(path: Path = MAPS) -> None:
    """Solve, keep what pads can reach, and write sums of a few shared shapes in half precision."""
    fats = np.array(fact("conductor.model.fats_mm").value)
    solved = [solved_maps(float(fat)) for fat in fats]
    x, around = solved[0][0].x_mm, solved[0][0].around_rad
    # the last two rings at either end only close the limb
    maps = np.stack([each for _, each in solved])[..., 2:-2, :]
    rows = maps.reshape(-1, maps.shape[-2] * maps.shape[-1])
    size = np.abs(rows).max(1, keepdims=True)
    part, weight, shape = np.linalg.svd(rows / size, full_matrices=False)
    kept = int(number("conductor.model.shapes"))
    peak = np.abs(shape[:kept]).max(1)
    np.savez_compressed(
        path,
        digest=np.array(digest()),
        muscles=np.array(forearm_pools()),
        fats_mm=fats,
        x_mm=x[2:-2],
        around_rad=around,
        shape=(shape[:kept] / peak[:, None]).reshape(kept, *maps.shape[-2:]).astype(np.float16),
        part=(size * part[:, :kept] * (weight[:kept] * peak)).reshape(*maps.shape[:4], kept).astype(np.float32),
    )


def main() -> None:
    """Write the shipped maps."""
    write_maps()


if __name__ == "__main__":
    main()
