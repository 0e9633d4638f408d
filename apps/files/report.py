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
from graspwave.apps.told.arms import Arms, at_words, drawn_words, ever_words
from graspwave.apps.told.findings import bend_words, finding, wrist_words
from graspwave.apps.web.tokens import css
from graspwave.simulator.answers import CURVE_MA
from graspwave.simulator.words import Said, has, said

__all__ = ["run_html"]

_POINTS = 1500


def run_html(scene: sim.Scene, run: sim.Run, curve: sim.Opening, language: str = "en", arms: Arms | None = None) -> str:
    """The report of a run: finding, curve, first cycle, dose with notices, scene, cautions.

    Parameters
    ----------
    scene : Scene
    run : Run
    curve : Opening
        Opening against current of the scene.
    language : str
        One of `words.LANGUAGES`. The cautions are the professional ones in English, those in plain words in others; a scene's own
        title, story and settings stay as they are written.
    arms : Arms, optional
        Other arms, shaded about the curve and told below it.

    Raises
    ------
    ValueError
        No such language.
    """
    now = scene.channel[0].pulse.amplitude_ma
    own = f"object.{scene.task.object}"
    thing = said(own).told(language) if has(own) else scene.task.object  # a person's own word stays as it is
    title = finding(curve.amplitude_ma, curve.opening_mm, now, thing, scene.task.diameter_mm, language)
    figures = {"curve": _curve(curve, now, language, arms), **_over_time(scene, run, language)}
    script, parts = components(figures)
    plain = language != "en"
    return render(
        "report.html", scene=scene, finding=title, words=_words(scene, curve, run, now, language),
        arms=_arms_words(arms, scene, language), script=Markup(script),
        curve=Markup(parts.pop("curve")), over_time=[Markup(part) for part in parts.values()], dose=_dose_rows(run, language),
        notices=sim.notices_of(scene), resources=Markup(INLINE.render()), tokens=Markup(css()), language=language,
        label=lambda key: said(f"report.{key}").told(language),
        caution=Markup(notices.plain_caution_html(language) if plain else notices.caution_html()),
        cautions=Markup(notices.plain_cautions_html(language, 3) if plain else notices.cautions_html(3)),
    )


def _words(scene: sim.Scene, curve: sim.Opening, run: sim.Run, now: float, language: str) -> str:
    best = int(np.argmax(curve.opening_mm))
    at = int(np.argmin(np.abs(curve.amplitude_ma - now)))
    angle = {joint: float(value[at]) for joint, value in curve.angle_deg.items()}
    told = [
        said("report.rest", rest=curve.opening_mm[0], widest=curve.opening_mm[best], widest_ma=curve.amplitude_ma[best],
             last=curve.opening_mm[-1], last_ma=curve.amplitude_ma[-1]),
        said("report.now", ma=curve.amplitude_ma[at], wrist=wrist_words(angle["wrist"], language),
             knuckles=bend_words(angle["MCP"], language), middle=bend_words(angle["PIP"], language), mm=curve.opening_mm[at]),
        *_kept(scene, run),
    ]
    return " ".join(sentence.told(language) for sentence in told)


def _arms_words(arms: Arms | None, scene: sim.Scene, language: str) -> str:
    return "" if arms is None else " ".join([*at_words(arms, scene, language), *ever_words(arms, scene, language),
                                             drawn_words(language)])


def _kept(scene: sim.Scene, run: sim.Run) -> list[Said]:
    """What the finger opener still pulls in the last whole on time, against the first."""
    channel = scene.channel[0]
    cycles = int((run.time_s[-1] - channel.timing.delay_s - channel.on_total_s) // channel.cycle_s) + 1
    if channel.timing.control != "cycle" or cycles < 2:
        return []
    peaks = []
    for number in (0, cycles - 1):
        start = channel.timing.delay_s + number * channel.cycle_s
        inside = (run.time_s >= start) & (run.time_s < start + channel.on_total_s)
        peaks.append(float(run.force_n["EDC"][inside].max()))
    if peaks[0] < 0.1:
        return []
    return [said("report.kept", cycles=cycles, share=100.0 * peaks[1] / peaks[0])]


def _curve(curve: sim.Opening, now: float, language: str, arms: Arms | None) -> Any:
    highest = max(float(curve.opening_mm.max()), 0.0 if arms is None else float(arms.high_mm.max()))
    top = 20.0 * np.ceil((highest + 10.0) / 20.0)
    fig = plots.plain_figure(
        "light", x_name=said("report.current_axis").told(language), y_name=said("report.opening_axis").told(language),
        x_quantity="current", y_quantity="opening", spoken=said("report.spoken").told(language),
        x_range=Range1d(0, float(curve.amplitude_ma[-1])), y_range=Range1d(0, float(top)),
    )
    if arms is not None:
        plots.band(fig, "light", ColumnDataSource({"x": CURVE_MA, "low": arms.low_mm, "high": arms.high_mm}), "opening_f")
    source = ColumnDataSource({"x": curve.amplitude_ma, "y": curve.opening_mm})
    plots.line(fig, "light", source, "x", "y", "opening_f", 3.5)
    here = ColumnDataSource({"x": [now, now], "y": [0, float(np.interp(now, curve.amplitude_ma, curve.opening_mm))]})
    plots.line(fig, "light", here, "x", "y", "current_f", 2.0)
    return fig


def _over_time(scene: sim.Scene, run: sim.Run, language: str) -> dict[str, Any]:
    end = min(scene.channel[0].cycle_s if scene.channel[0].timing.control == "cycle" else 60.0, float(run.time_s[-1]))
    inside = np.nonzero(run.time_s <= end)[0]
    inside = inside[np.unique(np.linspace(0, inside.size - 1, min(inside.size, _POINTS)).astype(int))]
    figures = {}
    for key, quantity, values in (
        ("current", "current", run.current[0]), ("force", "force", run.force_n["EDC"]),
        ("wrist", "angle", run.angle_deg["wrist"]), ("opening", "opening", run.opening_mm),
    ):
        name, time = (said(f"report.{axis}_axis").told(language) for axis in (key, "time"))
        fig = plots.plain_figure("light", x_name=time, y_name=name, y_quantity=quantity, spoken=name,
                                 x_range=Range1d(0, end))
        source = ColumnDataSource({"x": run.time_s[inside], "y": values[inside]})
        plots.line(fig, "light", source, "x", "y", f"{quantity}_f", 2.5)
        figures[key] = fig
    return figures


def _dose_rows(run: sim.Run, language: str) -> list[tuple[int, str, str]]:
    """Channel, what, and its value."""
    return [
        (i + 1, said(f"report.{key}").told(language), f"{_figure(value, language)} {unit}".strip())
        for i, dose in enumerate(run.dose)
        for key, value, unit in (
            ("charge", dose.charge_uc, "µC"), ("density", dose.charge_density_uc_cm2, "µC/cm²"),
            ("net", dose.net_charge_uc, "µC"), ("rms", dose.rms_ma, "mA"), ("rms_density", dose.rms_density_ma_cm2, "mA/cm²"),
            ("energy", dose.energy_mj, "mJ"), ("power", dose.power_mw, "mW"), ("pulses", dose.session_pulses, ""),
        )
    ]


def _figure(value: float, language: str) -> str:
    return said("number.four", n=value).told(language)
