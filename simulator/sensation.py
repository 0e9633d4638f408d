"""Pads and pulse -> the currents from which a pulse is felt, and which most people take for their limit.

Two bands, recalled or derived and unsure. They are drawn to show that feeling comes before movement and discomfort
soon after; they are no advice for anyone, and say nothing about what is safe. An arm after stroke may feel less or nothing.

The bands belong to a pad, not to a density: a larger pad wakes more endings, each of them less, and what is felt is their sum. So
the current of first feeling hardly grows with the pad, and the limit grows slowly. Along the length of the pulse they fall as the
cable and the published constants say, as far as feeling still falls.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from graspwave.simulator import axon
from graspwave.simulator.dose import contact_share_of
from graspwave.simulator.facts import fact, number
from graspwave.simulator.scene import Pulse, Scene

__all__ = ["Sensation", "sensation_levels", "weiss"]


@dataclass(frozen=True, slots=True)
class Sensation:
    """Two bands of current, low and high end, mA: felt recalled (memory lo), limit derived; unsure both, no advice.

    Attributes
    ----------
    felt_ma : tuple of float or None
        From which a pulse is first felt; None where the contact is too small to say.
    discomfort_ma : tuple of float or None
        Most people's limit; None as above.
    """

    felt_ma: tuple[float, float] | None
    discomfort_ma: tuple[float, float] | None


def sensation_levels(scene: Scene, channel: int = 0) -> Sensation:
    """Bands of current in which a channel's pulse is first felt and reaches most people's limit.

    ``I = I_ref (A / A_ref)^p S(w) / S(w_ref)``: A the area of contact, p 0.1 for feeling and 0.3 for the limit, S the strength of
    the pulse at threshold: that of the cable's table (shape, gap, second phase), times ``(1 + cs/w) / (1 + cm/w)`` with the
    published constants of Weiss, sensory 665 us and motor 459 us (Brain 1996;119:439), up to the length from which thresholds
    hardly fall any more (150 us for feeling, 200 us for the limit: preprint doi 10.21203/rs.3.rs-9232031, abstract); from there
    to 650 us they fall by a tenth.

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
    The level is recalled (memory lo) for pads of 5 x 5 cm at 200 to 300 us on the back of the forearm; its upper band lies
    between a median limit of 13.8 mA on the upper arm (Doelker 2022, which also sees no influence of the pad's size on any
    threshold) and the currents that trial patients bore. p is 0 in that study; larger pads allow more torque before the limit
    (Alon 1985, abstract), so 0.3 is taken for it, and the bands are no more than that. Why so little: endings are summed over an
    uneven skin; a field that falls as area to the -0.7 under one ending gives 0.1 to 0.3 once many are summed. Not in it: the
    person, the place on the limb, fat, hair, creases and the pad's corners, the rate of the pulses (faster feels stronger),
    getting used to it, lost feeling; the other pad's field; deep aches. Faulty contact counts as a smaller pad;
    what crowds at its edge may sting sooner.

    Why the ratio of the constants and not the sensory one alone: the cable that moves the muscles has a constant near 134 us
    (derived). Feeling at 665 us beside it would change motor over felt current 2.8 times from 20 to 1000 us, where the two
    published constants, measured on one nerve, give 1.25. So the bands fall less steeply than Weiss at 665 us would.

    Examples
    --------
    >>> from graspwave import simulator as sim
    >>> bands = sim.sensation_levels(sim.presets()["tight"])
    >>> bands.felt_ma[0] < bands.felt_ma[1]
    True
    """
    chosen = scene.channel[channel]
    area = chosen.pads.size_cm2 * contact_share_of(chosen.pads)
    reference = Pulse(phase_us=number("sensation.reference.phase_us"), gap_us=0.0, shape="symmetric")
    if area < number("sensation.reference.least_cm2"):
        return Sensation(None, None)
    size = area / number("sensation.reference.size_cm2")
    felt, limit = (
        size ** number(f"sensation.size.{kind}_power") * _strength(chosen.pulse, kind) / _strength(reference, kind)
        for kind in ("felt", "limit")
    )
    return Sensation(_band("felt_ma", felt), _band("limit_ma", limit))


def weiss(phase_us: float, constant_us: float) -> float:
    """Threshold of a single phase in rheobases: ``1 + c/w``."""
    return 1.0 + constant_us / phase_us


def _strength(pulse: Pulse, kind: str) -> float:
    """Strength of a pulse at the threshold of a band, up to a factor that all pulses share."""
    plateau, end = number(f"sensation.plateau.{kind}_us"), number("sensation.plateau.end_us")
    phase = min(pulse.phase_us, plateau)
    past = min(max(pulse.phase_us - plateau, 0.0) / (end - plateau), 1.0)
    sensory, motor = (weiss(phase, number(f"sensation.constant.{name}_us")) for name in ("sensory", "motor"))
    falls = 1.0 - number("sensation.plateau.falls") * past
    return _cable_field_v_m(replace(pulse, phase_us=phase)) * sensory / motor * falls


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
