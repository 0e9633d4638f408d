"""Pads and pulse -> the currents from which a pulse is felt, and which most people take for their limit.

Two bands, recalled and unsure (memory lo). They are drawn to show that feeling comes before movement and discomfort
soon after; they are no advice for anyone, and say nothing about what is safe. An arm after stroke may feel less or nothing.

The bands are recalled for one pad and one pulse. From there they follow what works on the skin's nerve endings: the field
a little below the pad, which crowds at its edge, and the strength a pulse needs: the motor cable's, turned by how the
published constants of sensory and motor fibres differ.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from graspwave.simulator import axon
from graspwave.simulator.conductor.closed_forms import disc_field_v_m
from graspwave.simulator.dose import contact_share_of
from graspwave.simulator.facts import fact, number
from graspwave.simulator.scene import Pulse, Scene

__all__ = ["Sensation", "felt_by_cable_ma", "sensation_levels", "skin_field_v_m", "weiss"]


@dataclass(frozen=True, slots=True)
class Sensation:
    """Two bands of current, low and high end, mA: recalled and unsure (memory lo), no advice.

    Attributes
    ----------
    felt_ma : tuple of float
        From which a pulse is first felt.
    discomfort_ma : tuple of float
        Most people's limit.
    """

    felt_ma: tuple[float, float]
    discomfort_ma: tuple[float, float]


def sensation_levels(scene: Scene, channel: int = 0) -> Sensation:
    """Bands of current in which a channel's pulse is first felt and reaches most people's limit.

    ``I = I_ref (E_ref / E) S(w) / S(w_ref)``: E the skin's highest field for 1 mA (`skin_field_v_m`), S the strength of the
    pulse at threshold: that of the cable's table (shape, gap, second phase), times ``(1 + cs/w) / (1 + cm/w)`` with the
    published constants of Weiss, sensory 665 us and motor 459 us (Brain 1996;119:439).

    Parameters
    ----------
    scene : Scene
        Its amplitude plays no part.
    channel : int, optional

    Returns
    -------
    Sensation
        Always above zero, felt below discomfort.

    Notes
    -----
    Derived from a recalled row (memory lo) for pads of 5 x 5 cm at 200 to 300 us on the back of the forearm. Not in it: the
    person, the place on the limb, fat, hair, creases and the pad's corners, the rate of the pulses (faster feels stronger),
    getting used to it, lost feeling; the other pad's field; deep aches. The limit follows the constant of touch: none of
    its own is at hand. Faulty contact counts as a smaller pad.

    Why the ratio of the constants and not the sensory one alone: the cable that moves the muscles has a constant near 134 us
    (derived). Feeling at 665 us beside it would change motor over felt current 2.8 times from 20 to 1000 us, where the two
    published constants, measured on one nerve, give 1.25. So the bands fall less steeply than Weiss at 665 us would.

    Published in words: felt, motor and pain thresholds lie furthest apart at the extremes of phase duration. With the two
    published constants the gap to the motor threshold is widest in milliamperes at the short end and widest as a ratio at
    the long end; no single measure does both.
    """
    chosen = scene.channel[channel]
    area = chosen.pads.size_cm2 * contact_share_of(chosen.pads)
    reference = Pulse(phase_us=number("sensation.reference.phase_us"), gap_us=0.0, shape="symmetric")
    scale = skin_field_v_m(number("sensation.reference.size_cm2")) / skin_field_v_m(area)
    scale *= _strength(chosen.pulse) / _strength(reference)
    return Sensation(_band("felt_ma", scale), _band("limit_ma", scale))


def felt_by_cable_ma(scene: Scene, channel: int = 0) -> float:
    """Current at which the bare cable of a thick touch fibre fires under the pad: what the recalled band replaces.

    A check of the level, nothing more: it takes the skin to conduct as muscle does, and a fibre that ends straight along
    the field.

    Returns
    -------
    float
        mA.
    """
    chosen = scene.channel[channel]
    area = chosen.pads.size_cm2 * contact_share_of(chosen.pads)
    return _cable_field_v_m(chosen.pulse) / skin_field_v_m(area)


@lru_cache(maxsize=64)
def skin_field_v_m(area_cm2: float) -> float:
    """Highest field for 1 mA at the depth of the skin's nerve endings, V/m, under one pad or its edge.

    The pad is a disc of constant potential on a uniform half-space (`closed_forms.disc_field_v_m`), which crowds the
    current at the rim; a gel that spreads it evenly would crowd it less. Endings run all ways, so the field's size counts.
    Only its change with the area matters for the bands; its level does not.

    Parameters
    ----------
    area_cm2 : float
        Area of contact, above zero. For large pads the field goes about as area to the power -3/4 at the rim, -1 in the middle.
    """
    depth, radius = number("sensation.ending.depth_mm"), 10.0 * math.sqrt(area_cm2 / math.pi)
    # it is highest at the rim, or under the middle where the pad is smaller than the depth
    x = np.maximum(radius + depth * np.linspace(-3.0, 3.0, 241), 0.0)
    sigma = number("recruitment.tissue.conductivity_s_m")
    along, _, up = disc_field_v_m(radius, sigma, x, np.zeros_like(x), np.full_like(x, depth))
    return float(np.hypot(along, up).max())


def weiss(phase_us: float, constant_us: float) -> float:
    """Threshold of a single phase in rheobases: ``1 + c/w``."""
    return 1.0 + constant_us / phase_us


def _strength(pulse: Pulse) -> float:
    """Strength of a pulse at the sensory threshold, up to a factor that all pulses share."""
    sensory, motor = (weiss(pulse.phase_us, number(f"sensation.constant.{kind}_us")) for kind in ("sensory", "motor"))
    return _cable_field_v_m(pulse) * sensory / motor


def _cable_field_v_m(pulse: Pulse) -> float:
    """Threshold of the touch fibre's end by the table of the cable, under the pad that needs less."""
    diameter = number("sensation.ending.diameter_um")
    given = (pulse.phase_us, pulse.gap_us, pulse.shape, pulse.phase_ratio)
    return min(
        float(axon.threshold_field_v_m(*given, polarity, diameter_um=diameter))  # type: ignore[arg-type]
        for polarity in ("cathode", "anode")
    )


def _band(key: str, scale: float) -> tuple[float, float]:
    low, high = fact(f"sensation.reference.{key}").value
    return scale * low, scale * high
