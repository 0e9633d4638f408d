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
    quantity : str
        What is limited, in words.
    value, limit : float
        Both in `unit`.
    unit : str
    text : str
        What was found; where a limit is close or passed, by how much and what to change.
    source : str
        Citation; empty for common practice.
    mark : str
        How surely the limit is known, one of `graspwave.simulator.facts.MARKS`.
    not_covered : str
        What staying inside the limit does not tell.
    channel : int
        Counted from 0.
    """

    key: str
    kind: str
    quantity: str
    value: float
    limit: float
    unit: str
    text: str
    source: str
    mark: str
    not_covered: str
    channel: int = 0


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
        _crowded("density", "density_rms_ma_cm2", "current density (r.m.s.)", density, area, amplitude, 1.0),
        _crowded("power", "power_density_w_cm2", "power density", power, area, amplitude, 0.5),
        _at_most("rms", "rms_ma", "current (r.m.s.)", dose["rms_ma"], "a lower amplitude, shorter phase or lower frequency"),
        _at_most("energy", "energy_mj", "energy of one pulse", dose["energy_mj"], "a lower amplitude or shorter phase"),
        _shannon(dose["shannon_k"]),
        _spacing(channel.pads.spacing_mm),
    ]
    if channel.pulse.shape == "monophasic":
        found += [
            _at_most("dc", "dc_ma", "direct current", dose["dc_ma"], "a balanced pulse shape"),
            _net(dose["net_charge_uc"], dose["dc_ma"]),
        ]
    return tuple(worst_first(found))


def worst_first(notices: Iterable[Notice]) -> list[Notice]:
    """What is passed first, then what is close, then the rest; as given among equals."""
    return sorted(notices, key=lambda notice: ("over", "close", "inside").index(notice.kind))


def _kind(share: float) -> str:
    """`share` is the value in parts of its limit."""
    if share > 1.0 + 1e-12:
        return "over"
    return "close" if share >= number("dose.limits.close_share") else "inside"


def _crowded(key: str, name: str, quantity: str, value: float, area: float, amplitude: float, power: float) -> Notice:
    """A quantity per area: its limit is kept by more contact or by less current (limit ~ amplitude ** (1/power))."""
    share = value / number(f"dose.limits.{name}")
    if not share:
        return _at_most(key, name, quantity, value, "")
    area_text, current_text = _up(area * share), _down(amplitude / share**power)
    repair = f"at least {area_text} cm2 of pad in full contact, or at most {current_text} mA"
    return _at_most(key, name, quantity, value, repair, f"at {area_text} cm2 of contact, or at {current_text} mA")


def _at_most(key: str, name: str, quantity: str, value: float, repair: str, reached: str = "") -> Notice:
    limit = fact(f"dose.limits.{name}")
    share = value / limit.value
    kind = _kind(share)
    start = f"{quantity[0].upper()}{quantity[1:]} is {value:.3g} {limit.unit}"
    text = {
        "over": f"{start}, {_percent(share - 1.0)} over {limit.value:g} {limit.unit}. Use {repair}.",
        "close": f"{start}, {_percent(share)} of {limit.value:g} {limit.unit}."
        + (f" The limit is reached {reached}." if reached else ""),
        "inside": f"{start}, inside {limit.value:g} {limit.unit}.",
    }[kind]
    return _notice(key, kind, quantity, value, limit, text)


def _shannon(k: float) -> Notice:
    """The line is a logarithm: shares of it are taken in charge times charge density."""
    limit = fact("dose.limits.shannon_k")
    share = 10.0 ** (k - limit.value)
    kind = _kind(share)
    text = f"Charge and charge density give k = {k:.2f}; the lowest k with damage on nerve tissue was {limit.value:g}."
    if k == -math.inf:
        text = "No current: no charge."
    elif kind != "inside":
        text += f" They multiply to {share:.2g} times that line: use a shorter phase, a lower amplitude or larger pads."
    return _notice("charge", kind, "charge and charge density (k)", k, limit, text)


def _spacing(spacing_mm: float) -> Notice:
    limit = fact("dose.limits.pad_spacing_mm")
    if spacing_mm >= limit.value:
        text = f"Pads are {spacing_mm:.3g} mm apart, edge to edge; common practice is at least {limit.value:g} mm."
        return _notice("spacing", "inside", "pad spacing", spacing_mm, limit, text)
    text = (
        f"Pads are {spacing_mm:.3g} mm apart, edge to edge, {limit.value - spacing_mm:.3g} mm less than common "
        f"practice ({limit.value:g} mm). Current crowds between near edges and stays shallow: move the pads apart."
    )
    return _notice("spacing", "over", "pad spacing", spacing_mm, limit, text)


def _net(net_uc: float, dc_ma: float) -> Notice:
    limit = fact("dose.limits.net_charge_uc")
    if not net_uc:
        return _notice("net", "inside", "net charge of one pulse", net_uc, limit, "No current: no net charge.")
    text = (
        f"Each pulse leaves {net_uc:.3g} uC behind, a direct current of {dc_ma:.3g} mA. One-way current changes the "
        "skin's chemistry under the pads and can burn: use a symmetric or asymmetric balanced pulse."
    )
    return _notice("net", "over", "net charge of one pulse", net_uc, limit, text)


def _notice(key: str, kind: str, quantity: str, value: float, limit: Fact, text: str) -> Notice:
    source = sources()[limit.source] if limit.source else ""
    return Notice(key, kind, quantity, value, float(limit.value), limit.unit, text, source, limit.mark, limit.note)


def _percent(share: float) -> str:
    return f"{100 * share:.0f} %" if share >= 0.1 else f"{100 * share:.2g} %"


def _up(value: float) -> str:
    """Rounded up to a tenth, so that following the advice is enough."""
    return f"{math.ceil(10 * value - 1e-9) / 10:g}"


def _down(value: float) -> str:
    return f"{math.floor(10 * value + 1e-9) / 10:g}"
