"""What a stimulator's output meets: two pads and the skin under them.

A series resistance Rs, then a skin resistance Rp beside a capacitance C. Under a current I that began at rest::

    v(t) = I (Rs + Rp (1 - exp(-t / (Rp C))))

Phases, pause and the time after them are pieced together from such exponentials, so nothing is stepped in time. An
output can hold its current up to a highest voltage, or hold its voltage. Values are the ``skin`` records of
``facts/dose.toml``; they are recalled ones for pads of 25 cm2, and real skin differs tenfold.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from graspwave.simulator import show
from graspwave.simulator.dose import Notice, contact_share_of
from graspwave.simulator.facts import number
from graspwave.simulator.results import Result
from graspwave.simulator.scene import Pads, Pulse, SceneError
from graspwave.simulator.words import said

__all__ = ["Load", "SkinCircuit", "dried", "halved", "lifted", "load_current", "load_voltage", "skin_circuit", "skin_under"]

Array = NDArray[np.float64]

_EDGE_POINTS = 33
"""Points along each curved stretch of a drawn wave."""


@dataclass(frozen=True, slots=True)
class SkinCircuit:
    """A pair of pads on skin.

    Attributes
    ----------
    rs_ohm, rp_ohm, c_uf : float
        Series resistance, skin resistance and skin capacitance of the pair.
    contact_cm2 : float
        Area of contact of the worse pad, cm2.
    contact_share : float
        That area in parts of the pad.
    fault : str
        "", "lifted" or "dried".
    """

    rs_ohm: float
    rp_ohm: float
    c_uf: float
    contact_cm2: float
    contact_share: float = 1.0
    fault: str = ""

    @property
    def tau_us(self) -> float:
        """Time constant of the skin, us."""
        return self.rp_ohm * self.c_uf


def skin_circuit(size_cm2: float) -> SkinCircuit:
    """Two sound pads of one size: resistance falls and capacitance rises with their area.

    Raises
    ------
    SceneError
        No area.
    """
    if not 0.0 < size_cm2 < math.inf:
        raise SceneError("size_cm2", "above 0 cm2", size_cm2)
    larger = size_cm2 / number("dose.skin.reference_cm2")
    return SkinCircuit(
        number("dose.skin.rs_ohm") / larger, number("dose.skin.rp_ohm") / larger,
        number("dose.skin.c_uf") * larger, size_cm2,
    )


def lifted(skin: SkinCircuit, contact_share: float) -> SkinCircuit:
    """One pad touches with a share of its area only; the other stays sound.

    Each pad makes up half of the resistances. The worse pad's half grows as its area shrinks, and its time constant
    stays, so the pair is still one circuit.

    Raises
    ------
    SceneError
        A share outside 0 (excluded) to 1.
    """
    if not 0.0 < contact_share <= 1.0:
        raise SceneError("contact_share", "above 0 up to 1", contact_share, "a pad without contact passes no current")
    more = 0.5 * (1.0 + 1.0 / contact_share)
    return dataclasses.replace(
        skin, rs_ohm=skin.rs_ohm * more, rp_ohm=skin.rp_ohm * more, c_uf=skin.c_uf / more,
        contact_cm2=skin.contact_cm2 * contact_share, contact_share=skin.contact_share * contact_share, fault="lifted",
    )


def halved(skin: SkinCircuit) -> SkinCircuit:
    """One pad lifted to half of its area."""
    return lifted(skin, 0.5)


def dried(skin: SkinCircuit, contact_share: float | None = None) -> SkinCircuit:
    """The gel of one pad has dried: it touches in spots, and its own resistance is higher.

    Parameters
    ----------
    skin : SkinCircuit
    contact_share : float, optional
        Share that still touches; a made-up usual one where not given.
    """
    share = number("dose.skin.dried_contact_share") if contact_share is None else contact_share
    spots = lifted(skin, share)
    extra = 0.5 * skin.rs_ohm / share * (number("dose.skin.dried_series_factor") - 1.0)
    return dataclasses.replace(spots, rs_ohm=spots.rs_ohm + extra, fault="dried")


def skin_under(pads: Pads) -> SkinCircuit:
    """The circuit of a scene's pads, with the fault that they show."""
    sound = skin_circuit(pads.size_cm2)
    if pads.contact == "whole":
        return sound
    share = contact_share_of(pads)
    return dried(sound, share) if pads.contact == "dried" else lifted(sound, share)


@dataclass(frozen=True, eq=False, repr=False)
class Load(Result):
    """One pulse from rest into a pair of pads.

    Attributes
    ----------
    time_us : ndarray, shape (n,)
        Times of a line to draw, edges twice.
    current_ma, voltage_v : ndarray, shape (n,)
        What flows, and what the output shows.
    peak_ma, peak_v : float
        Largest absolute values.
    charge_uc : float
        Charge of the first phase that got through.
    net_charge_uc : float
        First phase less second phase.
    wanted_v : float
        Voltage that the current asked for; `peak_v` where the output holds its voltage.
    clipped : bool
        The output could not give it.
    notices : tuple of Notice
        On clipping and on a faulty pad.
    """

    time_us: Array
    current_ma: Array
    voltage_v: Array
    peak_ma: float
    peak_v: float
    charge_uc: float
    net_charge_uc: float
    wanted_v: float
    clipped: bool
    notices: tuple[Notice, ...]

    def _said(self) -> list[str]:
        return [
            f"Load: one pulse up to {self.peak_ma:.3g} mA and {self.peak_v:.3g} V, {self.charge_uc:.3g} uC in its first phase",
            f"asked for {self.wanted_v:.3g} V" + (": the pulse is cut" if self.clipped else ", which the output gives"),
            f"{self.net_charge_uc:.3g} uC is left behind",
        ]

    def _drawn(self, figure: Any, **look: Any) -> Any:
        drawn = {"voltage": (self.time_us, self.voltage_v)}
        return show.lines("Voltage of one pulse", "Time [us]", "Voltage [V]", drawn, figure, **look)

    def _columns(self) -> Mapping[str, Any]:
        return {"time [us]": self.time_us, "current [mA]": self.current_ma, "voltage [V]": self.voltage_v}


def load_voltage(pulse: Pulse, skin: SkinCircuit, compliance_v: float | None = None) -> Load:
    """A current-controlled output: the current is held, and the voltage is what it takes, up to `compliance_v`.

    Where the voltage is at its highest, the current is what that drives: (V - skin voltage)/Rs, falling.

    Raises
    ------
    SceneError
        A voltage not above 0, or above what an output may show with no pads on.
    """
    limit_v = _volts("compliance_v", number("dose.skin.compliance_v") if compliance_v is None else compliance_v)
    wave = _Wave(skin)
    wanted = 0.0
    charges = []
    for sign, height_ma, length_us in _phases(pulse):
        if height_ma is None:
            wave.rest(length_us)
            continue
        wanted = max(wanted, wave.wanted_v(sign, height_ma, length_us))
        charges.append(wave.held_current(sign, height_ma, length_us, limit_v))
    wave.rest(5.0 * skin.tau_us)
    return _load(wave, charges, skin, pulse.amplitude_ma, wanted, limit_v)


def load_current(pulse: Pulse, skin: SkinCircuit, voltage_v: float) -> Load:
    """A voltage-controlled output: the voltage is held, and the current is what it drives; the amplitude has no say.

    The second phase of an asymmetric pulse has the voltage over `phase_ratio`. The two charges are not equal then, nor
    in a symmetric pulse: the skin's voltage at the turn adds to the second phase. At rest the output is open.

    Raises
    ------
    SceneError
        A voltage not above 0, or above what an output may show with no pads on.
    """
    volts = _volts("voltage_v", voltage_v)
    wave = _Wave(skin)
    charges = []
    for sign, height_ma, length_us in _phases(dataclasses.replace(pulse, amplitude_ma=1.0)):
        if height_ma is None:
            wave.rest(length_us)
        else:
            charges.append(wave.held_voltage(sign, volts * height_ma, length_us))
    wave.rest(5.0 * skin.tau_us)
    return _load(wave, charges, skin, None, volts, volts)


def _volts(name: str, value: float) -> float:
    most = number("dose.limits.open_circuit_v")
    if not 0.0 < value <= most:
        raise SceneError(name, f"above 0 V, up to {most:g} V", value)
    return float(value)


def _phases(pulse: Pulse) -> list[tuple[float, float | None, float]]:
    """Sign, height (None at rest) and length of each part of a pulse."""
    first: tuple[float, float | None, float] = (1.0, pulse.amplitude_ma, pulse.phase_us)
    if pulse.shape == "monophasic":
        return [first]
    ratio = pulse.phase_ratio if pulse.shape == "asymmetric" else 1.0
    second = (-1.0, pulse.amplitude_ma / ratio, pulse.phase_us * ratio)
    return [first, (0.0, None, pulse.gap_us), second] if pulse.gap_us else [first, second]


class _Wave:
    """Pieces the wave together; `skin_v` is the voltage that the skin holds at the moment."""

    def __init__(self, skin: SkinCircuit) -> None:
        self.skin, self.skin_v, self.now_us = skin, 0.0, 0.0
        self.rows: list[tuple[Array, Array, Array]] = [(np.zeros(1), np.zeros(1), np.zeros(1))]

    def _move(self, length_us: float, final_v: float, tau_us: float) -> tuple[Array, Array]:
        """Let the skin's voltage go towards `final_v`; times and the voltage on the way."""
        t_us = np.linspace(0.0, length_us, _EDGE_POINTS)
        skin_v = final_v + (self.skin_v - final_v) * np.exp(-t_us / tau_us)
        start_us, self.skin_v = self.now_us, float(skin_v[-1])
        self.now_us += length_us
        return start_us + t_us, skin_v

    def rest(self, length_us: float) -> None:
        """No current; the skin discharges through itself."""
        t_us, skin_v = self._move(length_us, 0.0, self.skin.tau_us)
        self.rows.append((t_us, np.zeros_like(t_us), skin_v))

    def wanted_v(self, sign: float, height_ma: float, length_us: float) -> float:
        """Largest voltage that a current would need."""
        i_a = 1e-3 * height_ma
        final = i_a * self.skin.rp_ohm
        end = final + (sign * self.skin_v - final) * math.exp(-length_us / self.skin.tau_us)
        return i_a * self.skin.rs_ohm + max(end, sign * self.skin_v)

    def held_current(self, sign: float, height_ma: float, length_us: float, limit_v: float) -> float:
        """A current as long as the voltage lasts, the highest voltage from then on; charge in uC."""
        i_a, skin = 1e-3 * height_ma, self.skin
        final, room = i_a * skin.rp_ohm, limit_v - i_a * skin.rs_ohm
        before = sign * self.skin_v
        if before >= room:
            until_us = 0.0
        elif final <= room:
            until_us = length_us
        else:
            until_us = min(length_us, skin.tau_us * math.log((final - before) / (final - room)))
        if until_us:
            t_us, skin_v = self._move(until_us, sign * final, skin.tau_us)
            height = np.full_like(t_us, sign * height_ma)
            self.rows.append((t_us, height, skin_v + 1e-3 * height * skin.rs_ohm))
        charge = 1e-3 * height_ma * until_us
        if until_us < length_us:
            charge += self.held_voltage(sign, limit_v, length_us - until_us)
        return charge

    def held_voltage(self, sign: float, volts: float, length_us: float) -> float:
        """A voltage; charge in uC."""
        skin, before = self.skin, self.skin_v
        share = skin.rp_ohm / (skin.rs_ohm + skin.rp_ohm)
        final, tau_us = sign * volts * share, skin.tau_us * (1.0 - share)
        t_us, skin_v = self._move(length_us, final, tau_us)
        self.rows.append((t_us, 1e3 * (sign * volts - skin_v) / skin.rs_ohm, np.full_like(t_us, sign * volts)))
        area = final * length_us + (before - final) * tau_us * -math.expm1(-length_us / tau_us)  # V us
        return (volts * length_us - sign * area) / skin.rs_ohm


def _load(
    wave: _Wave, charges: list[float], skin: SkinCircuit, amplitude_ma: float | None, wanted_v: float, limit_v: float
) -> Load:
    t_us, current, voltage = (np.concatenate(part) for part in zip(*wave.rows, strict=True))
    peak_ma, clipped = float(np.abs(current).max()), wanted_v > limit_v * (1.0 + 1e-12)
    notices = []
    if clipped:
        notices.append(_clip_notice(wanted_v, limit_v))
    if skin.fault:
        notices.append(_fault_notice(skin, held_current=amplitude_ma is not None))
    return Load(
        t_us, current, voltage, peak_ma, float(np.abs(voltage).max()), charges[0],
        charges[0] - charges[1] if len(charges) > 1 else charges[0], wanted_v, clipped, tuple(notices),
    )


def _clip_notice(wanted_v: float, limit_v: float) -> Notice:
    told = said("notice.voltage", wanted=wanted_v, limit=limit_v)
    return Notice("voltage", "over", told, wanted_v, limit_v, "V", "", "practice")


def _fault_notice(skin: SkinCircuit, *, held_current: bool) -> Notice:
    effect = said("fault.held_current", times=1.0 / skin.contact_share) if held_current else said("fault.held_voltage")
    told = said("notice.contact", fault=said(f"fault.{skin.fault}"), effect=effect, repair=said(f"repair.{skin.fault}"))
    return Notice("contact", "over", told, skin.contact_share, 1.0, "1", "", "practice")
