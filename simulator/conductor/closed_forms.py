"""Closed forms of current in half-spaces: checks of the solved conductor, and the triceps' stand-in for one.

All for current that enters at a flat, sealed skin; lengths in mm, depths downwards, conductivities in S/m, so that
``mA / (S/m mm)`` is a volt. Textbooks of potential theory; recalled, sure.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["disc_field_v_m", "disc_potential_v", "layered_potential_v", "point_potential_v"]

Array = NDArray[np.float64]


def point_potential_v(
    current_ma: float, along_s_m: float, across_s_m: float, x_mm: ArrayLike, r_mm: ArrayLike
) -> Array:
    """Point source on a half-space whose fibres run along x.

    ``V = I/(2 pi sqrt(st^2 x^2 + sl st r^2))``, r away from the x axis; uniform where both conductivities agree.
    """
    x, r = np.asarray(x_mm, dtype=np.float64), np.asarray(r_mm, dtype=np.float64)
    return np.asarray(current_ma / (2.0 * math.pi * np.hypot(across_s_m * x, math.sqrt(along_s_m * across_s_m) * r)))


def disc_potential_v(current_ma: float, radius_mm: float, sigma_s_m: float, r_mm: ArrayLike, z_mm: ArrayLike) -> Array:
    """Disc of constant potential on a uniform half-space.

    ``V = I/(2 pi s a) asin(2a/(sqrt((r-a)^2+z^2) + sqrt((r+a)^2+z^2)))``.

    Parameters
    ----------
    current_ma, radius_mm, sigma_s_m : float
    r_mm, z_mm : array_like
        Distance from the axis and depth, broadcast together.

    Returns
    -------
    ndarray
        Volts against far away.
    """
    r, z = np.asarray(r_mm, dtype=np.float64), np.asarray(z_mm, dtype=np.float64)
    reach = np.hypot(r - radius_mm, z) + np.hypot(r + radius_mm, z)
    size = current_ma / (2.0 * math.pi * sigma_s_m * radius_mm)
    return np.asarray(size * np.arcsin(np.minimum(1.0, 2.0 * radius_mm / reach)))


def disc_field_v_m(
    radius_mm: float, sigma_s_m: float, x_mm: Array, y_mm: Array, z_mm: Array
) -> tuple[Array, Array, Array]:
    """Field of `disc_potential_v` for 1 mA, V/m along x, along y and up to the skin; not at the disc itself."""
    r = np.maximum(np.hypot(x_mm, y_mm), 1e-9)
    near, far = np.hypot(r - radius_mm, z_mm), np.hypot(r + radius_mm, z_mm)
    reach = near + far
    size = 1.0 / (2.0 * math.pi * sigma_s_m * radius_mm)
    slope = size * 2.0 * radius_mm / (reach * np.sqrt(np.maximum(reach**2 - 4.0 * radius_mm**2, 1e-12)))
    outward = slope * ((r - radius_mm) / near + (r + radius_mm) / far)
    down = slope * (z_mm / near + z_mm / far)
    return 1e3 * outward * x_mm / r, 1e3 * outward * y_mm / r, -1e3 * down


def layered_potential_v(
    current_ma: float, top_s_m: float, below_s_m: float, thick_mm: float, r_mm: ArrayLike, z_mm: ArrayLike
) -> Array:
    """Point source on a layer (fat) over a half-space (muscle), inside the half-space.

    ``V = I (1+k)/(2 pi s1) sum_n k^n / sqrt(r^2 + (z + 2 n h)^2)``, ``k = (s1-s2)/(s1+s2)``, z from the skin, z >= h.
    """
    r, z = np.asarray(r_mm, dtype=np.float64), np.asarray(z_mm, dtype=np.float64)
    k = (top_s_m - below_s_m) / (top_s_m + below_s_m)
    images = np.arange(400)
    terms = k**images / np.hypot(r[..., None], z[..., None] + 2.0 * thick_mm * images)
    return np.asarray(current_ma * (1.0 + k) / (2.0 * math.pi * top_s_m) * terms.sum(-1))
