"""Force of the finger opener: fusing, tiring, rest. Five pictures, worked out when they are looked at."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, ClassVar

import numpy as np
import panel as pn
import param
from bokeh.models import BoxAnnotation, ColumnDataSource, FixedTicker, Range1d

from graspwave.apps.controls import Finding
from graspwave.apps.desk.aside import Aside, dims
from graspwave.apps.desk.pause import AfterPause
from graspwave.apps.desk.state import DeskState
from graspwave.apps.explore.letters import LETTER_PX
from graspwave.apps.look import plots
from graspwave.apps.told import force_studies as studies
from graspwave.apps.told.findings import tired_words
from graspwave.apps.web.source import component, sheet
from graspwave.apps.web.tokens import paint, text_size
from graspwave.simulator import muscle

__all__ = ["ForceViews", "findings_of"]

_PAUSE_MS = 250
_NAME = "finger opener"

LIMITS = {
    "fuse": "Not in the model: a muscle that has just worked twitches harder (potentiation).",
    "curve": "Not in the model: slow and fast units; one kind stands for all. No such curve of these muscles was found in print.",
    "session": "The person's own effort is left out here.",
    "left": "Frequency matters too little in the model when the same units work: "
            "20 and 40 Hz are recalled to differ twice as much in people.",
    "rest": "The model's days were set to people's: a thigh tired by ten long pulls had half of its 20-Hz force after an hour "
            "(Rankin and Stokes 1992). Nobody has measured the forearm so. Low rates come back last.",
}
"""What each picture leaves out, in one line."""


def _n(value: float) -> str:
    """Whole numbers, one decimal below ten."""
    return f"{value:.1f}" if abs(value) < 9.95 else f"{value:.0f}"


def _ripple(percent: float) -> str:
    return f"{_n(percent)} %" if percent >= 1.0 else "under 1 %"


def _pulls(kept: studies.Kept) -> bool:
    return kept.first_n > 0.05


def findings_of(scene: Any) -> dict[str, str]:
    """The titles, made from the numbers.

    Parameters
    ----------
    scene : simulator.Scene

    Returns
    -------
    dict of str to str
        ``fuse curve session left rests frequencies currents rest``.
    """
    own = studies.own_frequency_hz(scene)
    ripple, curve = studies.trace(own).ripple_percent, studies.force_frequency()
    percent = 100.0 * muscle.steady_force_fraction(own)
    word = {"smooth": "the pulls fuse", "trembles": "the pulls half fuse", "twitches": "each pulse is a twitch"}
    out = {
        "fuse": f"At {own:g} Hz {word[studies.ripple_words(ripple)]}: ripple {_ripple(ripple)}",
        "curve": f"{own:g} Hz gives {percent:.0f} % of the full pull; half comes at {curve.half_hz:.0f} Hz",
    }
    first, rests = studies.minutes(scene), studies.rests(scene)
    rates, amounts = studies.frequencies(scene), studies.currents(scene)
    if first.first_held_n <= 0.05:
        still = f"At {scene.channel[0].pulse.amplitude_ma:g} mA the {_NAME} does not pull, so nothing tires"
        return {**out, **dict.fromkeys(("session", "left", "rests", "frequencies", "currents", "rest"), still)}
    out["session"] = (
        f"After {scene.session.minutes:g} min the {_NAME} pulls {_n(first.last_held_n)} N, "
        f"{first.kept_percent:.0f} % of the first {_n(first.first_held_n)} N"
    )
    (short, least), (long, most) = next(iter(rests.items())), list(rests.items())[-1]
    out["rests"] = f"Rest {long} keeps {most.at(30):.0f} % after 30 min, rest {short} {least.at(30):.0f} %"
    names = list(rates)
    slow, fast = rates[names[0]], rates[names[-1]]
    out["frequencies"] = (
        f"{names[0]} keeps {slow.at(30):.0f} % of {_n(slow.first_n)} N, {names[-1]} {fast.at(30):.0f} % of {_n(fast.first_n)} N"
    )
    names = list(amounts)
    now, more = amounts[names[0]], amounts[names[-1]]
    out["currents"] = (
        f"{names[-1]} keeps {more.at(30):.0f} % of {_n(more.first_n)} N, {names[0]} {now.at(30):.0f} % of {_n(now.first_n)} N"
        if len(names) > 1 else f"{names[0]} is the most there is: it keeps {now.at(30):.0f} % of {_n(now.first_n)} N"
    )
    by_rest, by_rate = most.at(30) - least.at(30), slow.at(30) - fast.at(30)
    out["left"] = f"A longer rest saves {by_rest:.0f} % of the force, a lower frequency {by_rate:.0f} %"
    back = studies.recovery(scene)
    out["rest"] = (
        f"{back.rest_min[1]:.0f} min of rest bring {back.percent[0]:.0f} to {back.percent[1]:.0f} %; "
        f"after a day {back.percent[-2]:.0f} % is back"
    )
    return out


def _worked_out(scene: Any) -> tuple[Any, dict[str, str]]:
    """All that the pictures of a scene need, remembered by the studies; with the titles."""
    titles = findings_of(scene)
    studies.traces(studies.own_frequency_hz(scene))
    studies.opened(scene)
    return scene, titles


def wrist_line() -> str:
    """Our wrist torque of single muscles beside the published one, and what is missed."""
    parts = []
    for name, (torque, direction) in studies.WRIST_TORQUE.items():
        lifts = torque * np.sin(np.radians(direction))
        parts.append(f"{name} {studies.wrist_extension_nm(name):.1f} (published {lifts:.1f})".replace("-", "−"))
    return (
        f"Wrist lift of one whole muscle, N m: {', '.join(parts)}. The model has no sideways wrist, "
        "where ECU pulls in people: it is left out (J Electromyogr Kinesiol 2010)."
    )


class Repaint(pn.custom.JSComponent):
    """Plots that come after the page was painted take its theme and text size when this is drawn beside them."""

    _esm: ClassVar[str] = component("explore/repaint.js")


class ForceViews(pn.viewable.Viewer):
    """Five pictures of the finger opener's force.

    Parameters
    ----------
    state : DeskState
    theme : str
        ``"light"`` or ``"dark"``, for the first drawing.
    active : bool or None
        None works out on the first render; False waits until it is set to True. While it is False, changes of the
        scene cost nothing.
    """

    active = param.Boolean(default=None, allow_None=True)

    def __init__(self, state: DeskState, theme: str, **params: Any) -> None:
        super().__init__(**params)
        self._state, self._theme = state, theme
        self._shown: Any = None
        self._after_pause = AfterPause(self._update, _PAUSE_MS)
        self.figures: dict[str, Any] = {}
        self.sources: dict[str, ColumnDataSource] = {}
        self.findings: dict[str, Finding] = {}
        self._words: dict[str, Any] = {}
        self.opened = pn.pane.HTML("", sizing_mode="stretch_width", margin=0, stylesheets=[sheet("explore/force_words.css")])
        self._box = pn.Column(sizing_mode="stretch_width", margin=0, stylesheets=[sheet("desk/late.css")])
        self._look = Aside(_worked_out, self._show, dims(self._box))
        state.param.watch(self._later, "scene")
        self.param.watch(self._later_if_active, "active")
        if self.active:
            self._update()

    def __panel__(self) -> pn.viewable.Viewable:
        if self.active is None:
            self.active = True
        return self._box

    # ---- when to work

    def _later_if_active(self, *_: object) -> None:
        if self.active:
            self._update()

    def _later(self, *_: object) -> None:
        if self.active:
            self._after_pause()

    def _update(self) -> None:
        scene = self._state.scene
        if not self.active or scene == self._shown:
            return
        if not self.figures:
            self._build()
        self._shown = scene
        self._look(scene)

    def _show(self, found: tuple[Any, dict[str, str]]) -> None:
        scene, titles = found
        for key, finding in self.findings.items():
            finding.text = titles[key]
        self._show_traces(scene)
        self._show_curve(scene)
        self._show_minutes(scene)
        for key in ("rests", "frequencies", "currents"):
            self._show_kept(key, getattr(studies, key)(scene), scene)
        self._show_recovery(scene)
        openings = studies.opened(scene)
        self.opened.object = f"<p>{tired_words(*openings)}</p>" if openings else ""
        for key, fig in self.figures.items():
            group = "fuse" if key.startswith("fuse") else "session" if key in ("first", "last") else key
            own = f"{self._words[key].text.replace(chr(10), ' ')}. " if key.startswith("fuse") else ""
            fig.html_attributes = {"role": "img", "aria-label": f"{own}{titles[group]}."}

    # ---- building, once

    def _build(self) -> None:
        fuse = [self._trace_figure(k) for k in range(len(studies.TRACES_HZ))]
        self._curve_figure()
        pair = [self._minute_figure(key) for key in ("first", "last")]
        kept = {key: self._kept_figure(key) for key in ("rests", "frequencies", "currents")}
        self._rest_figure()
        heads = [
            pn.Column(self._finding(key, "head"), self._pane(fig, 230), sizing_mode="stretch_width", margin=0, min_width=0)
            for key, fig in kept.items()
        ]
        self._box[:] = [
            self._section("fuse", pn.Row(*(self._pane(f, 165) for f in fuse), **_GRID_6)),
            self._section("curve", self._pane(self.figures["curve"], 290)),
            self._section("session", pn.Row(*(self._pane(f, 220) for f in pair), **_GRID_2), wrist_line(), self.opened),
            self._section("left", pn.Row(*heads, **_GRID_3)),
            self._section("rest", self._pane(self.figures["rest"], 270)),
            Repaint(width=0, height=0, margin=0, styles={"position": "absolute"}),
        ]

    def _section(self, key: str, body: Any, more: str = "", *below: Any) -> pn.Column:
        lines = "".join(f"<p>{text}</p>" for text in (LIMITS[key], more) if text)
        limit = pn.pane.HTML(lines, sizing_mode="stretch_width", margin=0, stylesheets=[sheet("explore/force_words.css")])
        return pn.Column(
            self._finding(key), body, *below, limit, sizing_mode="stretch_width", margin=(0, 0, 28, 0), styles={"gap": "6px"},
        )

    def _finding(self, key: str, size: str = "") -> Finding:
        self.findings[key] = Finding(text="", sizing_mode="stretch_width", margin=0, **({"stylesheets": [_HEAD]} if size else {}))
        return self.findings[key]

    def _pane(self, fig: Any, height: int) -> pn.pane.Bokeh:
        fig.sizing_mode = "stretch_width"
        pane = pn.pane.Bokeh(fig, sizing_mode="stretch_width", margin=0, min_width=0)

        def size(*_: object) -> None:
            fig.height = pane.height = round(height * self._state.letter_px / LETTER_PX)

        self._state.param.watch(size, "letter_px")
        size()
        return pane

    def _figure(self, key: str, x_name: str, y_name: str, x_range: Range1d, y_range: Range1d, ticks: Any = ()) -> Any:
        fig = plots.plain_figure(
            self._theme, x_name=x_name, y_name=y_name, y_quantity="force",
            spoken=f"{y_name} against {x_name}, being worked out", size_px=14, x_range=x_range, y_range=y_range,
        )
        for axis in (fig.xaxis[0], fig.yaxis[0]):
            text_size(axis, major_label_text_font_size=0.87)
        if len(ticks):
            fig.xaxis[0].ticker = FixedTicker(ticks=list(ticks))
        self.figures[key] = fig
        return fig

    def _line(self, key: str, fig: Any, token: str = "force_f", width: float = 2.5, **look: Any) -> Any:
        self.sources[key] = ColumnDataSource({"x": [], "y": []})
        return plots.line(fig, self._theme, self.sources[key], "x", "y", token, width, **look)

    def _word(self, key: str, fig: Any, token: str = "ink2", **look: Any) -> Any:
        self._words[key] = text_size(plots.word(fig, self._theme, "", token, **look), text_font_size=0.9)
        return self._words[key]

    def _dots(self, key: str, fig: Any, token: str, size: int = 8) -> None:
        dots = fig.scatter("x", "y", source=self.sources[key], size=size, line_width=2)
        paint(dots.glyph, self._theme, line_color=token, fill_color="surface")

    def _trace_figure(self, k: int) -> Any:
        key = f"fuse{k}"
        fig = self._figure(key, "Time [s]", "Force [%]", Range1d(0, 1.4), Range1d(0, 175), (0, 0.5, 1))
        fig.yaxis[0].ticker = FixedTicker(ticks=[0, 50, 100])
        self._line(key, fig)
        self._word(key, fig, "ink", x_offset=4, text_baseline="top", text_font_style="bold").update(x=0, y=175)
        return fig

    def _curve_figure(self) -> None:
        fig = self._figure("curve", "Frequency [Hz]", "Force [% of 100 Hz]", Range1d(0, 104), Range1d(0, 146))
        fig.yaxis[0].ticker = FixedTicker(ticks=[0, 25, 50, 75, 100])
        low, high = studies.F50_HZ
        band = BoxAnnotation(left=low, right=high, line_color=None, fill_alpha=1.0, level="underlay")
        fig.add_layout(paint(band, self._theme, fill_color="sel"))
        self._line("rest of curve", fig, width=2.0)
        self._line("past of curve", fig, width=4.0)
        for side in ("x", "y"):
            self._line(f"drop {side}", fig, "edge" if side == "x" else "force_f", 1.5)
        self._line("half", fig)
        self._dots("half", fig, "force_t")
        self._line("now", fig)
        ring = fig.scatter("x", "y", source=self.sources["now"], size=15, line_width=3)
        paint(ring.glyph, self._theme, line_color="ink", fill_color="surface")
        dot = fig.scatter("x", "y", source=self.sources["now"], size=6, line_color=None)
        paint(dot.glyph, self._theme, fill_color="force_f")
        self._word("band", fig, x_offset=6, text_baseline="top").update(
            x=low, y=145, text=f"half of full force\nin people, {low:.0f} to {high:.0f} Hz",
        )
        self._word("half", fig, "force_t", x_offset=12, text_baseline="top")
        self._tags = (plots.tag(fig, self._theme, "ink", text_align="center", y_offset=8),
                      plots.tag(fig, self._theme, "force_t", x_offset=5, text_baseline="middle"))

    def _minute_figure(self, key: str) -> Any:
        if not hasattr(self, "_newtons"):
            self._newtons = Range1d(0, 1)
        fig = self._figure(key, "Time [s]", "Force [N]", Range1d(0, 60), self._newtons)
        self._line(key, fig)
        self._word(key, fig, "ink", x_offset=4, text_baseline="top", text_font_style="bold")
        return fig

    def _kept_figure(self, key: str) -> Any:
        fig = self._figure(key, "Time [min]", "Force kept [%]", Range1d(0, 52), Range1d(0, 105), (0, 10, 20, 30))
        fig.yaxis[0].ticker = FixedTicker(ticks=[0, 25, 50, 75, 100])
        for k in range(len(studies.RATIOS)):
            name = f"{key}{k}"
            self._words[f"{name} line"] = self._line(name, fig)
            self._line(f"{name} at", fig, line_alpha=0.0)
            self._dots(f"{name} at", fig, "force_t", 6)
            self._word(name, fig, "force_t", x_offset=8, text_baseline="middle")
        return fig

    def _rest_figure(self) -> None:
        rests, people = studies.RESTS_MIN, studies.PEOPLE_KEPT
        names = ["end", *(f"{m:.0f}{'' if k else ' min'}" for k, m in enumerate(rests)),
                 *(f"{h:.0f}{'' if k else ' h'}" for k, (h, _) in enumerate(people))]
        fig = self._figure("rest", "Rest", "Force back [%]", Range1d(-0.4, len(names) - 0.6), Range1d(0, 118), range(len(names)))
        fig.yaxis[0].ticker = FixedTicker(ticks=[0, 25, 50, 75, 100])
        fig.xaxis[0].major_label_overrides = dict(enumerate(names))
        self._line("rest", fig, width=3.0)
        self._dots("rest", fig, "force_t")
        self._line("people", fig, "ink2", 2.0, line_dash=[7, 5])
        self._dots("people", fig, "ink2")
        x = np.arange(len(rests) + 1, len(names), dtype=float)
        self.sources["people"].data = {"x": x, "y": np.array([percent for _, percent in people])}
        self._word("rest", fig, "force_t", y_offset=8, text_align="center").update(x=2, y=100, text="model, your session")
        self._word("people", fig, y_offset=-10, text_align="right", text_baseline="top").update(
            x=len(names) - 1, y=people[0][1], text="people, thigh, 20 Hz",
        )

    # ---- showing

    def _show_traces(self, scene: Any) -> None:
        own = studies.own_frequency_hz(scene)
        for k, found in enumerate(studies.traces(own)):
            key, mine = f"fuse{k}", found.frequency_hz == own
            self.sources[key].data = {"x": found.time_s, "y": found.percent}
            self.figures[key].renderers[0].glyph.line_width = 4.0 if mine else 2.0
            whose = ", yours" if mine else ""
            self._words[key].text = f"{found.frequency_hz:g} Hz{whose}:\nripple {_ripple(found.ripple_percent)}"

    def _show_curve(self, scene: Any) -> None:
        own, curve, fig = studies.own_frequency_hz(scene), studies.force_frequency(), self.figures["curve"]
        now = 100.0 * muscle.steady_force_fraction(own)
        x, y = curve.frequency_hz, curve.percent
        before = x < own
        fig.x_range.end = max(104.0, 1.08 * own)
        self.sources["past of curve"].data = {"x": np.append(x[before], own), "y": np.append(y[before], now)}
        self.sources["rest of curve"].data = {"x": np.append(own, x[~before]), "y": np.append(now, y[~before])}
        self.sources["now"].data = {"x": [own], "y": [now]}
        self.sources["drop x"].data = {"x": [own, own], "y": [0, now]}
        self.sources["drop y"].data = {"x": [0, own], "y": [now, now]}
        half = float(np.interp(curve.half_hz, x, y))
        self.sources["half"].data = {"x": [curve.half_hz], "y": [half]}
        self._words["half"].update(x=curve.half_hz, y=half, text=f"half at {curve.half_hz:.0f} Hz")
        self._tags[0].update(text=f"{own:g} Hz", x=float(np.clip(own, 6, fig.x_range.end - 6)), y=0)
        self._tags[1].update(text=f"{now:.0f} %", x=0, y=max(now, 6.0))

    def _show_minutes(self, scene: Any) -> None:
        found = studies.minutes(scene)
        top = max(1.35 * float(found.first_n.max()), 1.0)
        self._newtons.end = top
        start, length = found.last_from_s, found.time_s[-1]
        begun = f"{start // 60:.0f} min {start % 60:.0f} s"
        spoken = {"first": f"first {_span(length)}", "last": f"last {_span(length)}, from {begun}"}
        for key, force in (("first", found.first_n), ("last", found.last_n)):
            self.figures[key].x_range.end = 1.03 * float(length)
            self.sources[key].data = {"x": found.time_s, "y": force}
            self._words[key].update(text=spoken[key], x=0, y=top)

    def _show_kept(self, key: str, found: Mapping[str, studies.Kept], scene: Any) -> None:
        present = studies.kept(scene)
        rows = [(word, one) for word, one in found.items() if _pulls(one)]
        heights = _apart([one.at(30) for _, one in rows], 11.0)
        for k in range(len(studies.RATIOS)):
            name, shown = f"{key}{k}", k < len(rows)
            self._words[name].visible = shown
            if not shown:
                self.sources[name].data = self.sources[f"{name} at"].data = {"x": [], "y": []}
                continue
            word, one = rows[k]
            mine = one is present
            self.sources[name].data = {"x": one.minute, "y": one.percent}
            at = np.array(studies.AFTER_MIN)
            self.sources[f"{name} at"].data = {"x": at, "y": np.array([one.at(minute) for minute in at])}
            self._words[f"{name} line"].glyph.line_width = 4.0 if mine else 2.0
            self._words[name].update(
                text=f"{word} {one.at(30):.0f} %", x=30, y=heights[k], text_font_style="bold" if mine else "normal",
            )

    def _show_recovery(self, scene: Any) -> None:
        found = studies.recovery(scene)
        known = bool(np.isfinite(found.percent).all())
        self.sources["rest"].data = (
            {"x": np.arange(found.percent.size, dtype=float), "y": found.percent} if known else {"x": [], "y": []}
        )
        self._words["rest"].visible = known
        if known:
            self._words["rest"].update(x=2, y=float(found.percent[2]))


def _span(seconds: float) -> str:
    return "minute" if seconds >= 59.5 else f"{seconds:.0f} s"


def _apart(heights: list[float], least: float) -> list[float]:
    """The heights moved as little as keeps them `least` apart, in their order."""
    if not heights:
        return []
    order = np.argsort(heights, kind="stable")
    out = np.array(heights, dtype=float)[order]
    for _ in range(60):
        for k in range(out.size - 1):
            lack = least - (out[k + 1] - out[k])
            if lack > 0:
                out[k] -= 0.5 * lack
                out[k + 1] += 0.5 * lack
    back = np.empty_like(out)
    back[order] = out
    return [float(h) for h in back]


def _grid(least_rem: float) -> dict[str, Any]:
    """Up to three columns, as there is room for: the place may be a part of a desk or the whole of a phone."""
    columns = f"repeat(auto-fit, minmax(min(100%, max({least_rem}rem, 30%)), 1fr))"
    rule = f":host {{ display: grid !important; gap: 12px 18px; grid-template-columns: {columns}; }}"
    return {"sizing_mode": "stretch_width", "margin": 0, "stylesheets": [rule]}


_GRID_6, _GRID_3, _GRID_2 = _grid(14.5), _grid(20), _grid(21)

_HEAD = ".gw.gw-finding { font-size: 1rem; font-weight: 600; min-height: 2.4em; }"
