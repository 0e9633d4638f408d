"""A run as one page that needs nothing else: no request leaves it, and it prints."""

from __future__ import annotations

from typing import Any

import numpy as np
from bokeh.embed import components
from bokeh.models import ColumnDataSource, Range1d
from bokeh.resources import INLINE
from markupsafe import Markup

from graspwave import simulator as sim
from graspwave.apps import notices
from graspwave.apps.files.templates import render
from graspwave.apps.look import plots
from graspwave.apps.told.findings import bend_words, finding, wrist_words
from graspwave.apps.web.tokens import css

__all__ = ["run_html"]

_POINTS = 1500


def run_html(scene: sim.Scene, run: sim.Run, curve: sim.Opening) -> str:
    """The report of a run: finding, curve, first cycle, dose with notices, scene, cautions.

    Parameters
    ----------
    scene : Scene
    run : Run
    curve : Opening
        Opening against current of the scene.
    """
    now = scene.channel[0].pulse.amplitude_ma
    title = finding(curve.amplitude_ma, curve.opening_mm, now, scene.task.object, scene.task.diameter_mm)
    figures = {"curve": _curve(curve, now), **_over_time(scene, run)}
    script, parts = components(figures)
    return render(
        "report.html", scene=scene, finding=title, words=_words(scene, curve, run, now), script=Markup(script),
        curve=Markup(parts.pop("curve")), over_time=[Markup(part) for part in parts.values()], dose=_dose_rows(run),
        notices=sim.notices_of(scene), resources=Markup(INLINE.render()), tokens=Markup(css()),
        caution=Markup(notices.caution_html()), cautions=Markup(notices.cautions_html(3)),
    )


def _words(scene: sim.Scene, curve: sim.Opening, run: sim.Run, now: float) -> str:
    best = int(np.argmax(curve.opening_mm))
    at = int(np.argmin(np.abs(curve.amplitude_ma - now)))
    angle = {joint: float(value[at]) for joint, value in curve.angle_deg.items()}
    return (
        f"At rest the opening is {curve.opening_mm[0]:.0f} mm. It is widest, {curve.opening_mm[best]:.0f} mm, at "
        f"{curve.amplitude_ma[best]:.0f} mA, and {curve.opening_mm[-1]:.0f} mm at {curve.amplitude_ma[-1]:.0f} mA. At "
        f"{curve.amplitude_ma[at]:.0f} mA, fresh and steady: wrist {wrist_words(angle['wrist'])}, knuckles "
        f"{bend_words(angle['MCP'])}, middle joints {bend_words(angle['PIP'])}, opening {curve.opening_mm[at]:.0f} mm. "
        f"{_kept(scene, run)}"
    )


def _kept(scene: sim.Scene, run: sim.Run) -> str:
    """What the finger opener still pulls in the last whole on time, against the first."""
    channel = scene.channel[0]
    cycles = int((run.time_s[-1] - channel.timing.delay_s - channel.on_total_s) // channel.cycle_s) + 1
    if channel.timing.control != "cycle" or cycles < 2:
        return ""
    peaks = []
    for number in (0, cycles - 1):
        start = channel.timing.delay_s + number * channel.cycle_s
        inside = (run.time_s >= start) & (run.time_s < start + channel.on_total_s)
        peaks.append(float(run.force_n["EDC"][inside].max()))
    if peaks[0] < 0.1:
        return ""
    kept = 100.0 * peaks[1] / peaks[0]
    return f"In the last of {cycles} on times the finger opener pulls {kept:.0f} % of what it did in the first."


def _curve(curve: sim.Opening, now: float) -> Any:
    top = 20.0 * np.ceil((curve.opening_mm.max() + 10.0) / 20.0)
    fig = plots.plain_figure(
        "light", x_name="Current [mA]", y_name="Opening [mm]", x_quantity="current", y_quantity="opening",
        spoken="Opening against current", x_range=Range1d(0, float(curve.amplitude_ma[-1])), y_range=Range1d(0, float(top)),
    )
    source = ColumnDataSource({"x": curve.amplitude_ma, "y": curve.opening_mm})
    plots.line(fig, "light", source, "x", "y", "opening_f", 3.5)
    here = ColumnDataSource({"x": [now, now], "y": [0, float(np.interp(now, curve.amplitude_ma, curve.opening_mm))]})
    plots.line(fig, "light", here, "x", "y", "current_f", 2.0)
    return fig


def _over_time(scene: sim.Scene, run: sim.Run) -> dict[str, Any]:
    end = min(scene.channel[0].cycle_s if scene.channel[0].timing.control == "cycle" else 60.0, float(run.time_s[-1]))
    inside = np.nonzero(run.time_s <= end)[0]
    inside = inside[np.unique(np.linspace(0, inside.size - 1, min(inside.size, _POINTS)).astype(int))]
    figures = {}
    for key, name, quantity, values in (
        ("current", "Current [mA]", "current", run.current[0]),
        ("force", "Force of the finger opener [N]", "force", run.force_n["EDC"]),
        ("wrist", "Wrist [°], bent is up", "angle", run.angle_deg["wrist"]),
        ("opening", "Opening [mm]", "opening", run.opening_mm),
    ):
        fig = plots.plain_figure("light", x_name="Time [s]", y_name=name, y_quantity=quantity, spoken=name,
                                 x_range=Range1d(0, end))
        source = ColumnDataSource({"x": run.time_s[inside], "y": values[inside]})
        plots.line(fig, "light", source, "x", "y", f"{quantity}_f", 2.5)
        figures[key] = fig
    return figures


def _dose_rows(run: sim.Run) -> list[tuple[int, str, str]]:
    """Channel, what, and its value."""
    return [
        (i + 1, words, f"{value:.4g} {unit}".strip())
        for i, dose in enumerate(run.dose)
        for words, value, unit in (
            ("Charge of a phase", dose.charge_uc, "µC"), ("Charge density", dose.charge_density_uc_cm2, "µC/cm²"),
            ("Net charge of a pulse", dose.net_charge_uc, "µC"), ("R.m.s. current", dose.rms_ma, "mA"),
            ("R.m.s. current density", dose.rms_density_ma_cm2, "mA/cm²"), ("Energy of a pulse", dose.energy_mj, "mJ"),
            ("Mean power", dose.power_mw, "mW"), ("Pulses in the session", dose.session_pulses, ""),
        )
    ]
