"""The dose as a table: figures of each channel and of the session, then every limit and how the scene stands to it."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any, ClassVar

import panel as pn
import param

from graspwave import simulator as sim
from graspwave.apps.desk.state import DeskState
from graspwave.apps.told.mark_words import MARK_WORDS
from graspwave.apps.told.zoom_state import trains
from graspwave.apps.web.source import component, sheet
from graspwave.simulator.electrode import Load, load_current, load_voltage, skin_circuit, skin_under

__all__ = ["DoseTable", "DoseTableView", "dose_rows", "limit_rows", "quantity_text"]

_HERE = Path(__file__).parent

_STANDS = {"inside": "inside", "close": "close", "over": "over"}
_UNITS = {"1": "", "cm2": "cm²", "mA/cm2": "mA/cm²", "W/cm2": "W/cm²", "uC": "µC", "uC/cm2": "µC/cm²", "us": "µs", "ohm": "ohm",
          "mm": "mm"}

_PULSE = (
    ("Charge of a phase", "charge_uc", "µC"),
    ("Net charge of a pulse", "net_charge_uc", "µC"),
    ("Charge density, one phase", "charge_density_uc_cm2", "µC/cm²"),
    ("Current, r.m.s.", "rms_ma", "mA"),
    ("Current, mean rectified", "mean_rectified_ma", "mA"),
    ("Current density, r.m.s.", "rms_density_ma_cm2", "mA/cm²"),
    ("Energy of a pulse", "energy_mj", "mJ"),
    ("Mean power", "power_mw", "mW"),
    ("Power density", "power_density_w_cm2", "W/cm²"),
)


def quantity_text(value: float, unit: str = "") -> str:
    """A number with three figures and its unit; whole thousands set apart, powers of ten only where it is tiny."""
    if math.isinf(value):
        return "none"
    value = float(f"{value:.3g}")
    if abs(value) < 1e-9:
        number = "0"
    elif abs(value) >= 1000:
        number = f"{value:,.0f}".replace(",", "\N{NO-BREAK SPACE}")
    elif abs(value) < 1e-4:
        mantissa, power = f"{value:.2e}".split("e")
        number = f"{mantissa} × 10^{int(power)}"
    else:
        number = f"{value:.{max(0, 2 - math.floor(math.log10(abs(value))))}f}"
    number = number.replace("-", "\N{MINUS SIGN}")
    unit = _UNITS.get(unit, unit)
    return f"{number}\N{NO-BREAK SPACE}{unit}" if unit else number


def _counted(count: int) -> str:
    """A count, which is never rounded."""
    return f"{count:,}".replace(",", "\N{NO-BREAK SPACE}")


def _plain(limit: float, unit: str) -> str:
    """A limit as its source writes it, without figures that it does not have."""
    return f"{limit:g} {_UNITS.get(unit, unit)}".strip().replace(" ", "\N{NO-BREAK SPACE}")


def _on_time(seconds: float) -> str:
    minutes, rest = divmod(round(seconds), 60)
    space = "\N{NO-BREAK SPACE}"
    if not minutes:
        return quantity_text(seconds, "s")
    return f"{minutes}{space}min" + (f" {rest}{space}s" if rest else "")


def _doses(scene: sim.Scene) -> list[sim.Dose]:
    presses = _presses(scene)
    return [sim.dose_of(scene, n, held=presses) for n in range(len(scene.channel))]


def _presses(scene: sim.Scene) -> list[tuple[float, float]]:
    """The one press that stands in for a hand on the switch, as in the picture over time."""
    return [(0.0, max(channel.timing.on_s for channel in scene.channel))]


def _covered_s(scene: sim.Scene) -> float:
    """Time in which any channel is on, s."""
    spans = sorted((float(a), float(b)) for train in trains(scene) for a, b in train.span_s)
    total, until = 0.0, 0.0
    for start, end in spans:
        total += max(0.0, end - max(start, until))
        until = max(until, end)
    return total


def dose_rows(scene: sim.Scene) -> dict[str, Any]:
    """Heads and rows of the figures: one column a channel, and one for all where there is more than one.

    Returns
    -------
    dict
        ``heads``: names of the columns; ``groups``: parts of the table, each with a ``title`` and ``rows`` of words.
    """
    doses = _doses(scene)
    several = len(doses) > 1
    heads = [f"Channel {n + 1}" for n in range(len(doses))] + (["Whole session"] if several else [])
    load = _plain(doses[0].load_ohm, "ohm")
    steady = []
    for words, name, unit in _PULSE:
        row = [words, *(quantity_text(getattr(dose, name), unit) for dose in doses)]
        steady.append(row + ([""] if several else []))
    session = [
        ["Pulses", *(_counted(d.session_pulses) for d in doses)],
        ["Time on", *(_on_time(d.session_on_s) for d in doses)],
        ["Charge of all first phases", *(quantity_text(d.session_charge_mc, "mC") for d in doses)],
    ]
    if several:
        session[0].append(_counted(sum(d.session_pulses for d in doses)))
        session[1].append(_on_time(_covered_s(scene)))
        session[2].append(quantity_text(sum(d.session_charge_mc for d in doses), "mC"))
    held, same = zip(*(_loads(channel) for channel in scene.channel), strict=True)
    meets = [
        ["Voltage that the current takes", *(quantity_text(load.peak_v, "V") for load in held)],
        ["Current, if that voltage of sound pads were held", *(quantity_text(load.peak_ma, "mA") for load in same)],
    ]
    if several:
        meets = [[*row, ""] for row in meets]
    length = f"{scene.session.minutes:g} min"
    if any(channel.timing.control == "held" for channel in scene.channel):
        length += f"; held: one press of {_presses(scene)[0][1]:g} s as a stand-in"
    return {
        "heads": heads,
        "groups": [
            {"title": f"At full current, ramps left out; energy and power into {load}", "rows": steady},
            {"title": f"Session of {length}, ramps included", "rows": session},
            {"title": f"At the pads ({_CONTACT[scene.channel[0].pads.contact]}); skin values recalled, unsure", "rows": meets},
        ],
    }


_CONTACT = {"whole": "both in full contact", "halved": "one touches with half", "lifted": "one hangs by a corner",
            "dried": "one dried to spots"}


def _loads(channel: sim.Channel) -> tuple[Load, Load]:
    """What the pads make of the set current, and of the voltage that sound pads would take for it."""
    pulse, skin = channel.pulse, skin_under(channel.pads)
    sound = load_voltage(pulse, skin_circuit(channel.pads.size_cm2))
    return load_voltage(pulse, skin), load_current(pulse, skin, max(sound.peak_v, 1e-3))


def limit_rows(scene: sim.Scene) -> list[dict[str, str]]:
    """Every limit that applies, of each channel in turn, those that are passed first."""
    rows = []
    several = len(scene.channel) > 1
    for notice in sim.notices_of(scene):
        of = f", channel\N{NO-BREAK SPACE}{notice.channel + 1}" if several else ""
        least = notice.key in ("spacing", "contact")
        rows.append({
            "quantity": notice.quantity[0].upper() + notice.quantity[1:] + of,
            "value": quantity_text(notice.value, notice.unit),
            "limit": ("at least " if least else "at most ") + _plain(notice.limit, notice.unit),
            "kind": notice.kind,
            "stands": _STANDS[notice.kind],
            "text": notice.text,
            "mark": MARK_WORDS.get(notice.mark, notice.mark),
            "source": notice.source or "No citation: custom of the trade.",
            "not_covered": notice.not_covered,
        })
    return rows


class DoseTable(pn.custom.JSComponent):
    """The two tables as plain HTML; sources fold out and stay as the reader left them."""

    figures = param.Dict(default={"heads": [], "groups": []})
    limits = param.List(default=[])

    _esm: ClassVar[str] = component("explore/dose_table.js")
    _stylesheets: ClassVar[list[str]] = [sheet("explore/dose_table.css")]


class DoseTableView(pn.viewable.Viewer):
    """Dose and limits of the present scene, in numbers."""

    def __init__(self, state: DeskState, **params: Any) -> None:
        super().__init__(**params)
        self._state = state
        self.table = DoseTable(sizing_mode="stretch_width", margin=0)
        state.param.watch(self._follow, "scene")
        self._follow()

    def __panel__(self) -> pn.viewable.Viewable:
        return self.table

    def _follow(self, *_: object) -> None:
        self.table.param.update(figures=dose_rows(self._state.scene), limits=limit_rows(self._state.scene))
