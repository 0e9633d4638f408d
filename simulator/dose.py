"""What the settings put into the skin: charge, current, energy, and how they stand to published limits.

Closed forms at full amplitude during steady stimulation. With amplitude I, phase w, rate f, second phase r times
longer and weaker, pad area a, load R::

    Q = I w            I_rms = I sqrt(w f (1 + 1/r))        mean |I| = 2 I w f
    J = I_rms / a      E = I^2 R w (1 + 1/r)    P = E f     D = Q / a    k = log10(Q D)

A symmetric pulse has r = 1; a monophasic one has no second phase (1 + 1/r becomes 1, 2 becomes 1) and a direct
component I w f. Limits are the records of ``facts/dose.toml``.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from graspwave.simulator import show
from graspwave.simulator.facts import Fact, fact, number, sources
from graspwave.simulator.pulses import pulse_train
from graspwave.simulator.results import Result
from graspwave.simulator.scene import Channel, Pads, Scene, SceneError
from graspwave.simulator.words import Said, has, said

__all__ = ["Dose", "Notice", "contact_share_of", "dose_of", "worst_first"]


@dataclass(frozen=True, slots=True)
class Notice:
    """How one quantity stands to one limit.

    Attributes
    ----------
    key : str
        What it is about, in one word that stays: density, power, rms, energy, charge, spacing, dc, net, voltage, contact.
    kind : str
        "inside", "close" (from 80 % of the limit on) or "over" (the limit is passed).
    said : Said
        What was found; where a limit is close or passed, by how much and what to change.
    value, limit : float
        Both in `unit`.
    unit : str
    source : str
        Citation; empty for common practice.
    mark : str
        How surely the limit is known, one of `graspwave.simulator.facts.MARKS`.
    note : str
        What staying inside the limit does not tell, as the limit's own record says it; empty where the catalogue does.
    channel : int
        Counted from 0.
    """

    key: str
    kind: str
    said: Said
    value: float
    limit: float
    unit: str
    source: str
    mark: str
    note: str = ""
    channel: int = 0

    @property
    def quantity(self) -> str:
        """What is limited, in words."""
        return self.quantity_in("en")

    @property
    def text(self) -> str:
        """What was found, in English; `said` tells it in any language of the catalogue."""
        return self.said.told("en")

    @property
    def not_covered(self) -> str:
        """What staying inside the limit does not tell."""
        return self.not_covered_in("en")

    def quantity_in(self, language: str) -> str:
        """What is limited, in a language."""
        return said(f"quantity.{self.key}").told(language)

    def not_covered_in(self, language: str) -> str:
        """What staying inside the limit does not tell, in a language."""
        key = f"not_covered.{self.key}"
        return said(key).told(language) if has(key, language) else self.note

    def mark_in(self, language: str) -> str:
        """How surely the limit is known, in a language."""
        return said(f"mark.{self.mark}").told(language)


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class Dose(Result):
    """Dose of one channel at full amplitude during steady stimulation, and of its session.

    Attributes
    ----------
    charge_uc : float
        Charge of the first phase, uC.
    charge_density_uc_cm2 : float
        That charge over the area of contact of one pad, uC/cm2.
    net_charge_uc : float
        First phase less second phase, uC: 0 to rounding where the pulse is balanced.
    rms_ma, mean_rectified_ma, dc_ma : float
        Root mean square, mean of the absolute value, and mean of the current, mA.
    rms_density_ma_cm2 : float
        R.m.s. current over the area of contact, mA/cm2.
    energy_mj : float
        One pulse into `load_ohm`, mJ.
    power_mw, power_density_w_cm2 : float
        Mean power into `load_ohm`, mW, and over the area of contact, W/cm2.
    shannon_k : float
        log10 of charge times charge density; -inf without current.
    contact_cm2 : float
        Area of contact of one pad, cm2.
    load_ohm : float
        Load that energy and power are for, ohm.
    session_pulses : int
        Pulses of the session.
    session_on_s : float
        Time on, ramps included, s.
    session_charge_mc : float
        Sum of the first phases, ramps included, mC.
    notices : tuple of Notice
        One for each limit that applies, what is passed first.
    """

    charge_uc: float
    charge_density_uc_cm2: float
    net_charge_uc: float
    rms_ma: float
    mean_rectified_ma: float
    rms_density_ma_cm2: float
    energy_mj: float
    power_mw: float
    power_density_w_cm2: float
    shannon_k: float
    dc_ma: float
    contact_cm2: float
    load_ohm: float
    session_pulses: int
    session_on_s: float
    session_charge_mc: float
    notices: tuple[Notice, ...]

    def _said(self) -> list[str]:
        past = [notice.quantity for notice in self.notices if notice.kind == "over"]
        return [
            f"Dose: {self.charge_uc:.3g} uC a phase, {self.charge_density_uc_cm2:.3g} uC/cm2, {self.rms_ma:.3g} mA r.m.s.",
            f"{self.energy_mj:.3g} mJ a pulse, {self.power_mw:.3g} mW into {self.load_ohm:g} ohm; session {self.session_pulses} "
            f"pulses, {self.session_charge_mc:.3g} mC",
            f"past its limit: {', '.join(past)}" if past else f"none of {len(self.notices)} limits passed",
        ]

    def _drawn(self, figure: Any, **look: Any) -> Any:
        parts = [notice for notice in self.notices if notice.key not in ("charge", "spacing", "net")]
        shares = {notice.quantity: notice.value / notice.limit for notice in parts}
        return show.bars("Dose in parts of its limits", "Value / limit", shares, figure, **look)

    def _columns(self) -> Mapping[str, Any]:
        return {
            "quantity": [notice.quantity for notice in self.notices], "value": [notice.value for notice in self.notices],
            "limit": [notice.limit for notice in self.notices], "unit": [notice.unit for notice in self.notices],
            "stands": [notice.kind for notice in self.notices],
        }


def dose_of(
    scene: Scene,
    channel: int = 0,
    *,
    contact_share: float | None = None,
    load_ohm: float | None = None,
    held: Sequence[tuple[float, float]] | None = None,
    duration_s: float | None = None,
) -> Dose:
    """Dose of one channel of a scene.

    Parameters
    ----------
    scene : Scene
    channel : int, default 0
    contact_share : float, optional
        Share of the pad's area that touches the skin, above 0 up to 1; as the scene's pads touch where not given.
    load_ohm : float, optional
        Load for energy and power; the test load of 500 ohm where not given.
    held, duration_s : optional
        As in `graspwave.simulator.pulses.pulse_train`; they only count for the ``session_`` values.

    Returns
    -------
    Dose

    Raises
    ------
    SceneError
        No such channel, or a share or load that cannot be.

    Notes
    -----
    Extra pulses at the start of a train and ramps are left out of the steady values. Areas are of one pad: the same
    current passes both.

    Examples
    --------
    >>> from graspwave import simulator as sim
    >>> dose = sim.dose_of(sim.presets()["tight"].replace("channel.0.pulse.amplitude_ma", 20))
    >>> dose.charge_uc, dose.load_ohm
    (6.0, 500.0)
    """
    train = pulse_train(scene, channel, held, duration_s)
    if contact_share is None:
        contact_share = contact_share_of(scene.channel[channel].pads)
    if not 0.0 < contact_share <= 1.0:
        raise SceneError("contact_share", "above 0 up to 1", contact_share, "a pad without contact passes no current")
    load = number("dose.limits.test_load_ohm") if load_ohm is None else load_ohm
    if not 0.0 < load < math.inf:
        raise SceneError("load_ohm", "above 0 ohm", load)

    set_to = scene.channel[channel]
    pulse, f_hz, ratio = set_to.pulse, set_to.train.frequency_hz, train.phase_ratio
    amplitude, w_s = pulse.amplitude_ma, 1e-6 * pulse.phase_us
    area = contact_share * set_to.pads.size_cm2
    charge = 1e-3 * amplitude * pulse.phase_us
    second = 1e-3 * (amplitude / ratio) * (pulse.phase_us * ratio) if ratio else 0.0
    square = amplitude**2 * w_s * (1.0 + 1.0 / ratio if ratio else 1.0)  # mA2 s, one pulse
    energy = 1e-3 * load * square
    rms = math.sqrt(square * f_hz)
    density = charge / area
    values: dict[str, float] = {
        "charge_uc": charge,
        "charge_density_uc_cm2": density,
        "net_charge_uc": charge - second,
        "rms_ma": rms,
        "mean_rectified_ma": 1e-3 * (charge + second) * f_hz,
        "rms_density_ma_cm2": rms / area,
        "energy_mj": energy,
        "power_mw": energy * f_hz,
        "power_density_w_cm2": 1e-3 * energy * f_hz / area,
        "shannon_k": math.log10(charge * density) if charge > 0.0 else -math.inf,
        "dc_ma": 1e-3 * (charge - second) * f_hz,
        "contact_cm2": area,
        "load_ohm": load,
    }
    return Dose(
        **values,
        session_pulses=len(train),
        session_on_s=float((train.span_s[:, 1] - train.span_s[:, 0]).sum()),
        session_charge_mc=1e-3 * float(train.charge_uc.sum()),
        notices=tuple(dataclasses.replace(notice, channel=channel) for notice in _notices(set_to, values)),
    )


def contact_share_of(pads: Pads) -> float:
    """Share of its area with which the worse pad touches the skin, for the fault that the scene shows."""
    return 1.0 if pads.contact == "whole" else number(f"dose.skin.{pads.contact}_contact_share")


def _notices(channel: Channel, dose: dict[str, float]) -> tuple[Notice, ...]:
    """A notice for each limit, those that are passed first."""
    amplitude, area = channel.pulse.amplitude_ma, dose["contact_cm2"]
    density, power = dose["rms_density_ma_cm2"], dose["power_density_w_cm2"]
    found = [
        _crowded("density", "density_rms_ma_cm2", density, area, amplitude, 1.0),
        _crowded("power", "power_density_w_cm2", power, area, amplitude, 0.5),
        _at_most("rms", "rms_ma", dose["rms_ma"], said("repair.rms")),
        _at_most("energy", "energy_mj", dose["energy_mj"], said("repair.energy")),
        _shannon(dose["shannon_k"]),
        _spacing(channel.pads.spacing_mm),
    ]
    if channel.pulse.shape == "monophasic":
        found += [_at_most("dc", "dc_ma", dose["dc_ma"], said("repair.dc")), _net(dose["net_charge_uc"], dose["dc_ma"])]
    return tuple(worst_first(found))


def worst_first(notices: Iterable[Notice]) -> list[Notice]:
    """What is passed first, then what is close, then the rest; as given among equals."""
    return sorted(notices, key=lambda notice: ("over", "close", "inside").index(notice.kind))


def _kind(share: float) -> str:
    """`share` is the value in parts of its limit."""
    if share > 1.0 + 1e-12:
        return "over"
    return "close" if share >= number("dose.limits.close_share") else "inside"


def _crowded(key: str, name: str, value: float, area: float, amplitude: float, power: float) -> Notice:
    """A quantity per area: its limit is kept by more contact or by less current (limit ~ amplitude ** (1/power))."""
    share = value / number(f"dose.limits.{name}")
    if not share:
        return _at_most(key, name, value, said("repair.rms"))
    enough = {"area": _up(area * share), "current": _down(amplitude / share**power)}
    return _at_most(key, name, value, said("repair.area", **enough), said("notice.reached", **enough))


def _at_most(key: str, name: str, value: float, repair: Said, reached: Said | None = None) -> Notice:
    limit = fact(f"dose.limits.{name}")
    share = value / limit.value
    kind = _kind(share)
    stands: dict[str, float | str | Said] = {
        "quantity": said(f"quantity.{key}"), "value": value, "unit": limit.unit, "limit": limit.value,
    }
    if kind == "over":
        told = said("notice.over", **stands, past=_percent(share - 1.0), repair=repair)
    elif kind == "close" and reached:
        told = said("notice.close_reached", **stands, part=_percent(share), reached=reached)
    elif kind == "close":
        told = said("notice.close", **stands, part=_percent(share))
    else:
        told = said("notice.inside", **stands)
    return _notice(key, kind, told, value, limit)


def _shannon(k: float) -> Notice:
    """The line is a logarithm: shares of it are taken in charge times charge density."""
    limit = fact("dose.limits.shannon_k")
    share = 10.0 ** (k - limit.value)
    kind = _kind(share)
    told = said("notice.k", k=k, limit=limit.value)
    if k == -math.inf:
        told = said("notice.no_current")
    elif kind != "inside":
        told = said("notice.k_past", k=k, limit=limit.value, times=share)
    return _notice("charge", kind, told, k, limit)


def _spacing(spacing_mm: float) -> Notice:
    limit = fact("dose.limits.pad_spacing_mm")
    if spacing_mm >= limit.value:
        return _notice("spacing", "inside", said("notice.spacing", apart=spacing_mm, limit=limit.value), spacing_mm, limit)
    told = said("notice.spacing_over", apart=spacing_mm, less=limit.value - spacing_mm, limit=limit.value)
    return _notice("spacing", "over", told, spacing_mm, limit)


def _net(net_uc: float, dc_ma: float) -> Notice:
    limit = fact("dose.limits.net_charge_uc")
    if not net_uc:
        return _notice("net", "inside", said("notice.no_net"), net_uc, limit)
    return _notice("net", "over", said("notice.net", net=net_uc, dc=dc_ma), net_uc, limit)


def _notice(key: str, kind: str, told: Said, value: float, limit: Fact) -> Notice:
    source = sources()[limit.source] if limit.source else ""
    return Notice(key, kind, told, value, float(limit.value), limit.unit, source, limit.mark, limit.note)


def _percent(share: float) -> Said:
    return said("notice.percent" if share >= 0.1 else "notice.percent_small", n=100.0 * share)


def _up(value: float) -> float:
    """Rounded up to a tenth, so that following the advice is enough."""
    return math.ceil(10 * value - 1e-9) / 10


def _down(value: float) -> float:
    return math.floor(10 * value + 1e-9) / 10
