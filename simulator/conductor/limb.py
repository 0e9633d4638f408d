"""The forearm as a volume conductor: muscle along its fibres and across, two bones, fat, dermis; sealed at the surface and ends.

The dermis conducts on badly conducting fat, so it carries current sideways: the thicker the fat, the wider. The epidermis is left
out: under gel it is the pad's contact, in series with a source of current, and elsewhere it insulates.
Radii follow the taper and muscle fibres run with it. Reciprocity (Helmholtz) turns one solve for an axon's end, driven
there as a pair of opposite sources, into its sensitivity to current that enters anywhere on the skin.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from graspwave.simulator.conductor.mesh import Mesh, block_mesh, conduction, middles_mm
from graspwave.simulator.conductor.places import limb_radius_mm
from graspwave.simulator.conductor.solve import Solver
from graspwave.simulator.facts import facts_under, number

__all__ = ["Forearm"]

Array = NDArray[np.float64]


class Forearm:
    """A solved forearm.

    Parameters
    ----------
    fat_mm : float
        Thickness of fat and skin.
    step_mm : float, optional
        Length of a brick along the forearm; the other two directions are cut to match.

    Attributes
    ----------
    x_mm, around_rad : ndarray
        Grid of the skin's nodes.
    """

    def __init__(self, fat_mm: float, step_mm: float = 4.0) -> None:
        self.fat_mm = fat_mm
        self.x_mm = _along_mm(step_mm)
        around = 4 * round(16 * 4.0 / step_mm)
        self.around_rad = 2.0 * math.pi * np.arange(around) / around
        layers, fats = max(4, round(13 * 4.0 / step_mm)), max(1, round(3 * 4.0 / step_mm))
        # thinner towards the skin, where the field changes fastest
        inner = 1.0 - (1.0 - np.linspace(0.0, 1.0, layers + 1)) ** 1.25
        muscle = limb_radius_mm(self.x_mm)[:, None] - number("recruitment.tissue.fat_included_mm")
        self._share = inner
        fat = (fat_mm - number("conductor.tissue.skin_mm")) * np.arange(1, fats + 1) / fats
        self._radius = np.concatenate([muscle * inner, muscle + fat, muscle + fat_mm], axis=1)
        self.mesh = _round_mesh(self.x_mm, self.around_rad, self._radius)
        self.matrix = conduction(self.mesh, *_conductivity(self.mesh, layers, self._radius.shape[1] - 1, around))
        self._solver = Solver(self.matrix, self.mesh.slice_start)
        self.skin_node = self.mesh.node[:, -1, :-1]

    def weights(self, x_mm: Array, y_mm: Array, z_mm: Array) -> Array:
        """Share of each node in a point inside the limb.

        Parameters
        ----------
        x_mm, y_mm, z_mm : ndarray, shape (points,)
            Along from the elbow; towards the little finger and towards the back of the forearm from the limb's axis.

        Returns
        -------
        ndarray, shape (nodes, points)
            Columns sum to 1. Current put in by these shares is a point source as the mesh sees it.
        """
        out, around = np.hypot(y_mm, z_mm), np.arctan2(y_mm, z_mm) % (2.0 * math.pi)
        result = np.zeros((len(self.mesh.points_mm), len(x_mm)))
        step = self.around_rad[1]
        for p, x in enumerate(x_mm):
            i, fi = _cell(self.x_mm, float(x))
            ring = (1.0 - fi) * self._radius[i] + fi * self._radius[i + 1]
            j, fj = _cell(ring, float(out[p]))
            k = int(around[p] / step)
            fk = around[p] / step - k
            for (di, wi) in ((0, 1.0 - fi), (1, fi)):
                for (dj, wj) in ((0, 1.0 - fj), (1, fj)):
                    for (dk, wk) in ((0, 1.0 - fk), (1, fk)):
                        result[self.mesh.node[i + di, j + dj, k + dk], p] += wi * wj * wk
        return result

    def pair(self, x_mm: Array, around_rad: Array, out_mm: Array, radial: bool) -> Array:
        """Opposite sources about places inside: what turns node potentials into a field there.

        Parameters
        ----------
        x_mm, around_rad, out_mm : ndarray, shape (places,)
        radial : bool
            Field towards the skin; otherwise along the limb to the wrist.

        Returns
        -------
        ndarray, shape (nodes, places)
            Its product with potentials in V is the field in V/m.
        """
        apart = number("conductor.model.pair_mm")

        def at(sign: float) -> Array:
            half = 0.5 * sign * apart
            r, x = out_mm + (half if radial else 0.0), x_mm + (0.0 if radial else half)
            return self.weights(x, r * np.sin(around_rad), r * np.cos(around_rad))

        return 1e3 * (at(-1.0) - at(1.0)) / apart

    def potential_v(self, current_ma: Array) -> Array:
        """Potentials of the nodes, V, for currents (mA) into the nodes that sum to zero; shape kept."""
        return self._solver.potential_v(current_ma)

    def sensitivity(self, x_mm: Array, around_rad: Array, out_mm: Array, radial: bool) -> Array:
        """Field at places inside for current that enters at each node of the skin.

        Returns
        -------
        ndarray, shape (places, x, around)
            V/m per mA, each up to a constant of its own: only differences count, as current that enters also leaves.
        """
        lead = self.potential_v(self.pair(x_mm, around_rad, out_mm, radial))
        skin = lead[self.skin_node]
        return np.asarray(np.moveaxis(skin - skin.mean((0, 1)), -1, 0))


def _along_mm(step_mm: float) -> Array:
    """Even steps along the forearm, widening ones beyond it."""
    length = number("recruitment.limb.forearm_mm")
    middle = np.linspace(-40.0, length + 20.0, round((length + 60.0) / step_mm) + 1)

    def beyond(reach: float) -> Array:
        n = max(3, round(0.6 * reach / step_mm))
        share = np.arange(1, n + 1) / n
        # starts with the even step and ends at `reach`
        return np.asarray(step_mm * n * share + (reach - step_mm * n) * share**2)

    left = -40.0 - beyond(number("conductor.model.beyond_elbow_mm") - 40.0)[::-1]
    right = length + 20.0 + beyond(number("conductor.model.beyond_wrist_mm") - 20.0)
    return np.concatenate([left, middle, right])


def _round_mesh(x_mm: Array, around_rad: Array, radius_mm: Array) -> Mesh:
    """Rings of bricks; closed round, one node on the axis."""
    nj, nk = radius_mm.shape[1], len(around_rad)
    turn = np.append(around_rad, 2.0 * math.pi)
    points = np.empty((len(x_mm), nj, nk + 1, 3))
    points[..., 0] = x_mm[:, None, None]
    points[..., 1] = radius_mm[:, :, None] * np.sin(turn)
    points[..., 2] = radius_mm[:, :, None] * np.cos(turn)
    shared = np.arange(nj)[:, None] * nk + np.arange(nk + 1) % nk
    shared[0] = 0
    return block_mesh(points, shared)


def _conductivity(mesh: Mesh, layers: int, rings: int, around: int) -> tuple[Array, Array]:
    """Across and along the fibres for every brick."""
    tissue = {key: float(record.value) for key, record in facts_under("conductor.tissue").items()}
    ring = np.broadcast_to(np.arange(rings)[:, None], (len(mesh.slice_start) - 2, rings, around)).ravel()
    bone = np.where(ring < layers, _bone_share(mesh), 0.0)

    outer = np.where(ring == rings - 1, tissue["skin_s_m"], tissue["fat_s_m"])

    def mixed(muscle: float) -> Array:
        return np.where(ring < layers, bone * tissue["bone_s_m"] + (1.0 - bone) * muscle, outer)

    return mixed(tissue["muscle_across_s_m"]), mixed(tissue["muscle_along_s_m"])


def _bone_share(mesh: Mesh) -> Array:
    """Share of each brick that is bone, by 4 x 4 samples of its cross-section."""
    middle = middles_mm(mesh)
    muscle = limb_radius_mm(middle[:, 0]) - number("recruitment.tissue.fat_included_mm")
    face = 0.5 * (mesh.corners_mm[:, :4, 1:] + mesh.corners_mm[:, 4:, 1:])
    found = np.zeros(len(middle))
    samples = (np.arange(4) + 0.5) / 4.0
    for u in samples:
        for w in samples:
            at = np.einsum("a,cad->cd", np.array([(1 - u) * (1 - w), (1 - u) * w, u * (1 - w), u * w]), face)
            for name in ("ulna", "radius"):
                angle = math.radians(number(f"conductor.bone.{name}.around_deg"))
                out = number(f"conductor.bone.{name}.out_share") * muscle
                away = np.hypot(at[:, 0] - out * math.sin(angle), at[:, 1] - out * math.cos(angle))
                found += away < number(f"conductor.bone.{name}.radius_mm")
    return found / len(samples) ** 2


def _cell(grid: Array, at: float) -> tuple[int, float]:
    """Cell of a rising grid that holds a number, and the share of the way through it."""
    i = int(np.clip(np.searchsorted(grid, at, side="right") - 1, 0, len(grid) - 2))
    return i, float((at - grid[i]) / (grid[i + 1] - grid[i]))
