"""Three views of the nerve: who answers to how much current, what a longer pulse saves, and one axon that fires.

Nothing is built or worked out before `NerveViews.active` is set.
"""

from __future__ import annotations

import re
import time
from typing import Any

import numpy as np
import panel as pn
import param
from bokeh.models import BoxAnnotation, ColumnDataSource, Range1d, Span, Title

from graspwave.apps.controls import Finding
from graspwave.apps.desk.aside import Aside, dims
from graspwave.apps.desk.pause import AfterPause
from graspwave.apps.desk.state import DeskState
from graspwave.apps.explore.label_places import Room, Sheet
from graspwave.apps.explore.letters import LETTER_PX
from graspwave.apps.look import plots
from graspwave.apps.told.nerve_studies import (
    ABOVE,
    BELOW,
    NAMES,
    SHOWN,
    AxonStudy,
    ShareStudy,
    StrengthStudy,
    axon_study,
    felt_words,
    limit_words,
    share_finding,
    share_study,
    strength_study,
    weiss_line,
)
from graspwave.apps.web.source import sheet
from graspwave.apps.web.tokens import paint, text_size
from graspwave.simulator.answers import CURVE_MA
from graspwave.simulator.facts import number
from graspwave.simulator.recruitment import CLOSERS

__all__ = ["NerveViews"]

_DASHES = {"EDC": "solid", "ECRB": [9, 4], "ECU": [2, 4], "EPL": [12, 4, 2, 4], "FDS": [5, 3]}
_EVERY = 5
_HIGH = 0.9
"""Height of 100 mV, in distances between two lines: a scale of the picture."""

_TOP = 156
"""Top of the shares' picture, %, in usual letters: room for the present current above 100, and two lines of words above it."""

_BAND_TOP = 122
"""Bands of feeling end here, %, so that hatching does not run under their words."""

_TEXT = 0.87
"""Height of the words' letters, in rem."""

_SHEETS = ("explore/nerve_grid.css", "desk/late.css")
_PLOT_PX = 270
_USUAL_PX = (500.0, 200.0)
"""Size of the drawn part of the shares before the page has told it."""

_PAUSE_MS = 150
_UNIT = re.compile(r"(\d) (mA|µs|mm|mV|m/s|V/m|%)")
"""A number and its unit stay on one line."""


class _Card(pn.viewable.Viewer):
    """A finding, its plot, and what it does not show."""

    def __init__(self, figure: Any, state: DeskState, **params: Any) -> None:
        super().__init__(**params)
        self.figure = figure
        self.title = ""
        self.finding = Finding(text="")
        self.note = pn.pane.HTML("", sizing_mode="stretch_width", margin=0, stylesheets=[sheet("explore/nerve_note.css")])
        plot = pn.pane.Bokeh(figure, sizing_mode="stretch_width", margin=0, min_width=0)

        def size(*_: object) -> None:
            figure.height = plot.height = round(_PLOT_PX * state.letter_px / LETTER_PX)

        state.param.watch(size, "letter_px")
        size()
        self._box = pn.Column(
            self.finding, plot, self.note, sizing_mode="stretch_width", margin=0, min_width=0, styles={"gap": "6px"},
        )
        self._spoken_at = 0.0

    def __panel__(self) -> pn.viewable.Viewable:
        return self._box

    def tell(self, finding: str, *lines: str) -> None:
        """New words; those for a screen reader at most once a second, so that a drag does not flood it."""
        self.title = finding
        self.finding.text = _UNIT.sub("\\1\N{NO-BREAK SPACE}\\2", finding)
        self.note.object = "".join(f"<p>{line}</p>" for line in lines)
        if time.monotonic() - self._spoken_at > 1.0:
            self._spoken_at = time.monotonic()
            self.figure.html_attributes = {"role": "img", "aria-label": f"{finding}."}


class NerveViews(pn.viewable.Viewer):
    """Recruitment curves, strength and duration, and one axon firing.

    Parameters
    ----------
    state : DeskState
    theme : str
        ``"light"`` or ``"dark"``, for the first drawing.
    active : bool
        Whether the views are looked at: they are built when this is first set, and follow the scene only while it is.
    """

    active = param.Boolean(default=False)

    def __init__(self, state: DeskState, theme: str, **params: Any) -> None:
        super().__init__(**params)
        self._state, self._theme = state, theme
        self._cards: dict[str, _Card] = {}
        self._seen: object = None
        self._box = pn.Column(sizing_mode="stretch_width", margin=0, stylesheets=[sheet(name) for name in _SHEETS])
        self._after_pause = AfterPause(self._update, _PAUSE_MS)
        self._order: list[str] = []
        self._band_said: dict[str, tuple[str, str]] = {}
        state.param.watch(self._clear_names, ["letter_px", "plot_px"])
        self._look = Aside(
            lambda scene: (share_study(scene), strength_study(scene), axon_study(scene)), self._show, dims(self._box))
        state.param.watch(self._later, "scene")
        self.param.watch(self._update, "active")
        self._update()

    def __panel__(self) -> pn.viewable.Viewable:
        return self._box

    @property
    def findings(self) -> dict[str, str]:
        """Titles of the views by name; empty before they are built."""
        return {name: card.title for name, card in self._cards.items()}

    def _later(self, *_: object) -> None:
        if self.active:
            self._after_pause()

    def _update(self, *_: object) -> None:
        if not self.active or self._seen is self._state.scene:
            return
        self._seen = self._state.scene
        self._look(self._state.scene)

    def _show(self, found: tuple[ShareStudy, StrengthStudy | None, AxonStudy]) -> None:
        share, strength, axon = found
        fresh = not self._cards
        if fresh:
            self._cards = {
                "share": _Card(self._share_figure(), self._state), "strength": _Card(self._strength_figure(), self._state),
                "charge": _Card(self._charge_figure(), self._state), "axon": _Card(self._axon_figure(), self._state),
            }
        self._show_share(share)
        self._show_strength(strength)
        self._show_axon(axon)
        if fresh:
            self._box.objects = list(self._cards.values())

    # ---- parts of the figures

    def _figure(self, **names: Any) -> Any:
        fig = plots.plain_figure(self._theme, **names)
        fig.update(sizing_mode="stretch_width", min_border_right=18)
        for side in (*fig.above, *fig.below):
            if isinstance(side, Title):
                text_size(side, text_font_size=0.95)
        for axis in (fig.xaxis[0], fig.yaxis[0]):
            text_size(axis, major_label_text_font_size=0.87)
        return fig

    def _word(self, fig: Any, text: str = "", token: str = "ink2", **look: Any) -> Any:
        label = plots.word(fig, self._theme, text, token, **look)
        return text_size(label, text_font_size=0.87)

    def _tag(self, fig: Any, token: str, **look: Any) -> Any:
        return text_size(plots.tag(fig, self._theme, token, **look), text_font_size=0.87)

    def _source(self) -> ColumnDataSource:
        return ColumnDataSource({"x": [], "y": []})

    # ---- share against current

    def _share_figure(self) -> Any:
        fig = self._figure(
            x_name="Current [mA]", y_name="Share of axons [%]", x_quantity="current", y_quantity="force",
            spoken="Share of each muscle against current", name="nerve share",
            x_range=Range1d(0, CURVE_MA[-1]), y_range=Range1d(0, _TOP),
        )
        fig.yaxis[0].ticker = [0, 20, 40, 60, 80, 100]
        self.bands = {}
        # ink, not colour: neither band is a quantity, and both are unsure
        for name, pattern in (("felt", "/"), ("limit", "\\")):
            band = BoxAnnotation(
                left=0, right=0, top=_BAND_TOP, level="underlay", line_color=None, fill_alpha=0.08,
                hatch_pattern=pattern, hatch_alpha=0.3, hatch_scale=9, hatch_weight=1, visible=False,
            )
            self.bands[name] = paint(band, self._theme, fill_color="ink2", hatch_color="ink2")
            fig.add_layout(band)
        self._now = Span(location=0, dimension="height", line_width=1.5)
        fig.add_layout(paint(self._now, self._theme, line_color="current_f"))
        self.shares = {name: self._source() for name in (*SHOWN, "TRI")}
        self._names = {}
        for name, source in self.shares.items():
            width = 4.0 if name == "EDC" else 2.5
            plots.line(fig, self._theme, source, "x", "y", "force_f", width, line_dash=_DASHES.get(name, "solid"))
        for name in self.shares:
            label = self._word(fig, name, "force_t", text_align="center", text_baseline="middle", padding=2)
            self._names[name] = paint(label, self._theme, background_fill_color="bg")
        self._now_tag = self._tag(fig, "current_t", text_align="center", y_offset=2)
        self.band_words = {
            name: self._word(fig, "", "ink2", text_align=align, text_baseline="top", x_offset=4 if align == "left" else -2)
            for name, align in (("felt", "left"), ("limit", "right"))
        }
        for label in self.band_words.values():
            paint(label, self._theme, background_fill_color="bg")  # the line of the present current runs behind them
        return fig

    def _show_share(self, study: ShareStudy) -> None:
        for name, source in self.shares.items():
            share = study.share.get(name)
            source.data = {"x": [], "y": []} if share is None else {"x": CURVE_MA, "y": 100.0 * share}
            self._names[name].visible = share is not None
        self._now.location = study.now_ma
        self._now_tag.update(text=f"{study.now_ma:.0f} mA", x=float(np.clip(study.now_ma, 4, 56)), y=104)
        # each name on its own line, every next one lower, so that no two meet
        half = {name: float(np.interp(0.5, share, CURVE_MA)) for name, share in study.share.items()}
        order = sorted(half, key=lambda name: half[name])
        for level, name in zip(np.linspace(0.86, 0.3, len(order)), order, strict=True):
            share = study.share[name]
            at = float(np.interp(level, share, CURVE_MA)) if share[-1] > level else float(CURVE_MA[-1]) - 3.0
            at = min(max(at, 3.0), float(CURVE_MA[-1]) - 3.0)
            self._names[name].update(
                x=at, y=100.0 * float(np.interp(at, CURVE_MA, share)), x_offset=0, y_offset=0, text=name, visible=True)
        self._order = order
        self._show_bands(study)
        self._clear_names()
        names = ", ".join(f"{name} {NAMES[name]}{' (closes)' if name in CLOSERS else ''}" for name in study.share)
        self._cards["share"].tell(
            share_finding(study), f"{names}.",
            f"Hatched, both recalled: {felt_words(study.levels)}; {limit_words(study.levels)}.",
            "Not in it: how places differ from person to person; those here are recalled, not measured. An arm after stroke may "
            "feel less, so feeling is no guard.",
        )

    def _clear_names(self, *_: object) -> None:
        """Names of muscles keep clear of each other and of the axes, however large the letters are."""
        if not self._order:
            return
        fig = self._cards["share"].figure
        wide, high = self._state.plot_px.get("nerve share", _USUAL_PX)
        names = [self._names[name] for name in self._order]
        for label in names:
            label.update(x_offset=0, y_offset=0, visible=True)
        text = _TEXT * self._state.letter_px
        above = (4.6 * text + 18.0) / high  # the tag and two lines, share of the height
        fig.y_range.end = top = max(_TOP, 104.0 / (1.0 - min(above, 0.6)))
        narrow = 28 * 0.56 * text + 13 * 0.56 * text > wide
        for name, words in self.band_words.items():
            words.update(y=top - 1.0, text=self._band_said[name][narrow])
        sheet = Sheet(wide, high, float(fig.x_range.end), top, text)
        room = Room(sheet)
        room.take(sheet.box(self._now_tag))
        for label in names:
            room.put(label)

    def _show_bands(self, study: ShareStudy) -> None:
        most = float(CURVE_MA[-1])
        for name, band, words in (
            ("felt", study.levels.felt_ma, felt_words(study.levels).replace(" from ", " from\n")),
            ("limit", study.levels.discomfort_ma, limit_words(study.levels).replace(": ", ":\n")),
        ):
            low, high = band or (most, most)
            self.bands[name].update(left=min(low, most), right=min(high, most), visible=low < most)
            # words on the left and right edge, so that they keep apart however the bands lie
            short = f"{'felt' if name == 'felt' else 'limit'} about\n{low:.0f}-{high:.0f} mA" if band else words
            self._band_said[name] = words, short
            self.band_words[name].update(text=words, x=0.0 if name == "felt" else most)

    # ---- strength and duration

    def _duration_figure(self, y_name: str, spoken: str) -> tuple[Any, dict[str, Any]]:
        fig = self._figure(
            x_name="Phase duration [µs]", y_name=y_name, x_quantity="current", y_quantity="current", spoken=spoken,
            x_range=Range1d(0, 1000), y_range=Range1d(0, 1),
        )
        parts: dict[str, Any] = {"curve": self._source(), "now": self._source(), "drop": self._source(), "fit": self._source()}
        plots.line(fig, self._theme, parts["fit"], "x", "y", "ink2", 1.5, line_dash=[2, 4])
        plots.line(fig, self._theme, parts["drop"], "x", "y", "current_f", 1.5)
        plots.line(fig, self._theme, parts["curve"], "x", "y", "current_f", 3.5)
        ring = fig.scatter("x", "y", source=parts["now"], size=15, line_width=3)
        paint(ring.glyph, self._theme, line_color="ink", fill_color="surface")
        dot = fig.scatter("x", "y", source=parts["now"], size=6, line_color=None)
        paint(dot.glyph, self._theme, fill_color="current_f")
        parts["word"] = self._word(fig, text_align="right", y_offset=8)
        parts["tag"] = self._tag(fig, "current_t", x_offset=10, y_offset=10)
        return fig, parts

    def _strength_figure(self) -> Any:
        fig, self.strength = self._duration_figure("Current [mA]", "Current for half of the finger opener against phase duration")
        return fig

    def _charge_figure(self) -> Any:
        fig, self.charge = self._duration_figure("Charge of a phase [µC]", "Charge for the same answer against phase duration")
        return fig

    def _show_strength(self, study: StrengthStudy | None) -> None:
        cards = self._cards["strength"], self._cards["charge"]
        if study is None:
            for card, parts in zip(cards, (self.strength, self.charge), strict=True):
                for key in ("curve", "now", "drop", "fit"):
                    parts[key].data = {"x": [], "y": []}
                parts["word"].visible = parts["tag"].visible = False
                card.tell("No current in reason wakes half of the opener from this place", "Move the pads nearer to it.")
            return
        name = NAMES[study.muscle]
        now_uc, w = 1e-3 * study.now_ma * study.now_us, study.phase_us
        line_uc = 1e-3 * study.rheobase_ma * (np.array([0.0, 1000.0]) + study.constant_us)
        for card, parts, values, now, unit, lowest in (
            (cards[0], self.strength, study.current_ma, study.now_ma, "mA", 40.0),
            (cards[1], self.charge, study.charge_uc, now_uc, "µC", 8.0),
        ):
            top = max(lowest, 1.2 * float(values.max()), 1.2 * now)
            if unit == "mA":  # what a stimulator gives; the rise of the shortest pulses may leave the picture
                top = min(top, max(80.0, 1.2 * now, 1.3 * study.needs_ma))
            card.figure.y_range.end = top
            seen = values <= top
            parts["curve"].data = {"x": w[seen], "y": values[seen]}
            parts["now"].data = {"x": [study.now_us], "y": [now]}
            parts["drop"].data = {"x": [study.now_us, study.now_us, 0], "y": [0, now, now]}
            high = 0.85 * float(values[seen].max())
            steep = {"x": float(np.interp(-high, -values, w)) + 15.0, "y": high, "text_align": "left"}
            end = {"x": 985.0, "y": float(values[-1]), "text_align": "right"}
            parts["word"].update(visible=True, text=f"half of the {name}", **(steep if unit == "mA" else end))
            right = study.now_us < 600
            digits = 0 if unit == "mA" else 1
            parts["tag"].update(
                visible=True, text=f"{now:.{digits}f} {unit}, {study.now_us:.0f} µs", x=study.now_us, y=now,
                text_align="left" if right else "right", x_offset=10 if right else -10,
            )
        self.charge["fit"].data = {"x": [0.0, 1000.0], "y": line_uc}
        stands = "wakes more than half" if study.now_ma > study.needs_ma else "wakes less than half"
        cards[0].tell(
            study.finding, f"Ring: the present pulse, which {stands}. {weiss_line(study)}",
            "Not in it: how strong a pulse feels; nerves that feel have a constant of their own.",
        )
        cards[1].tell(
            study.charge_finding, study.line_words,
            "Not in it: what the skin does with the charge; the dose has its own notices.",
        )

    # ---- one axon

    def _axon_figure(self) -> Any:
        fig = self._figure(
            x_name="Time [ms]", y_name="Along the fibre [mm]", y_quantity="ink2", spoken="Voltage along one axon in time",
            x_range=Range1d(0, 1), y_range=Range1d(0, 1),
        )
        self._pulse = BoxAnnotation(left=0, right=1, fill_alpha=0.18, line_color=None)
        fig.add_layout(paint(self._pulse, self._theme, fill_color="current_f"))
        self.above, self.below, self._bar = (ColumnDataSource({"x": [], "y": []}) for _ in range(3))
        for source, token, width, dash in ((self.below, "ink2", 1.8, [2, 3]), (self.above, "ink", 2.2, "solid")):
            lines = fig.multi_line("x", "y", source=source, line_width=width, line_dash=dash, line_join="round")
            paint(lines.glyph, self._theme, line_color=token)
        plots.line(fig, self._theme, self._bar, "x", "y", "ink", 3.0)
        self._bar_word, self._runs_word, self._dies_word = (
            self._word(fig, text, token, text_align=align, text_baseline="middle", x_offset=x)
            for text, token, align, x in (("100 mV", "ink", "right", -6), (f"{ABOVE:g} × runs on", "ink", "right", -8),
                                          (f"{BELOW:g} × dies out", "ink2", "left", 8))
        )
        self._pulse_word = self._word(fig, "pulse", "current_t", text_align="left", x_offset=4, y_offset=-3, text_baseline="top")
        return fig

    def _show_axon(self, study: AxonStudy) -> None:
        rows = range(0, study.above.place_mm.size, _EVERY)
        high_mm = _HIGH * float(study.above.place_mm[_EVERY] - study.above.place_mm[0])
        scale = high_mm / 100.0  # mm on the picture for a millivolt
        for source, run in ((self.above, study.above), (self.below, study.below)):
            source.data = {
                "x": [1e-3 * run.time_us for _ in rows],
                "y": [run.place_mm[k] + scale * run.voltage_mv[:, k] for k in rows],
            }
        end_ms, top = 1e-3 * float(study.above.time_us[-1]), float(study.above.place_mm[-1]) + 1.5 * high_mm
        fig = self._cards["axon"].figure
        fig.x_range.end, fig.y_range.end, fig.y_range.start = end_ms, top, -1.3 * high_mm
        self._pulse.right = 1e-3 * study.phase_us
        self._pulse_word.update(x=0, y=top)
        last = rows[-1]
        peak_ms = 1e-3 * float(study.above.time_us[int(np.argmax(study.above.voltage_mv[:, last]))])
        self._runs_word.update(x=peak_ms - 0.04 * end_ms, y=float(study.above.place_mm[last]) + 0.55 * high_mm)
        self._dies_word.update(x=1e-3 * study.phase_us, y=-0.75 * high_mm)
        foot = 0.08 * high_mm  # between two lines
        self._bar.data = {"x": [0.97 * end_ms] * 2, "y": [foot, foot + high_mm]}
        self._bar_word.update(x=0.97 * end_ms, y=foot + 0.5 * high_mm)
        thick = number("recruitment.axon.diameter_um")
        temperature_c = number("axon.node.temperature_k") - 273.15
        self._cards["axon"].tell(
            study.finding,
            f"Each line is the voltage at one place, lifted by it; solid above the threshold of {study.threshold_v_m:.1f} V/m, "
            f"dotted just below. An axon of {thick:.0f} µm that ends where the field is.",
            f"Not in it: a warm human axon. The published nodes are a frog's at {temperature_c:.0f} °C; warm ones are faster and "
            "need less charge.",
        )



