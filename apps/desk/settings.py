"""The settings of the Explore page: six at first sight, the rest where it is wanted."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import panel as pn

from graspwave import simulator as sim
from graspwave.apps.controls import Choice, NumberRow, PlainButton, Slider
from graspwave.apps.desk.beside import beside
from graspwave.apps.desk.pad_map import PadMapView
from graspwave.apps.desk.ready import ReadyView
from graspwave.apps.desk.state import DeskState
from graspwave.apps.told.scenes import HANDS, OBJECTS, hand_changes, object_changes
from graspwave.apps.told.settings import CHOICES, EXPLAINED, NUMBERS, short_path
from graspwave.simulator.hand import help_force_n

__all__ = ["CurrentView", "SettingsView", "dose_line", "help_line"]

_CH = "channel.0"
_DIGITS = 12  # there and back through per cent a number is the same to its last digit

_TIMES = (("on_s", f"{_CH}.timing.on_s", "On"), ("off_s", f"{_CH}.timing.off_s", "Off"),
          ("up_s", f"{_CH}.ramp.up_s", "Rise"), ("down_s", f"{_CH}.ramp.down_s", "Fall"))


def dose_line(state: DeskState) -> str:
    """Charge of a pulse, and the worst notice in a few words."""
    dose = state.dose
    kinds = {notice.kind for notice in state.notices}
    stand = "Past a limit: see the notices." if "over" in kinds else (
        "Close to a limit: see the notices." if "close" in kinds else "Inside the published limits.")
    return f"{dose.charge_uc:.1f} µC a pulse. {stand}"


def help_line(scene: sim.Scene) -> str:
    """How hard the other hand pushes, and what to be told about it."""
    force = help_force_n(scene.hand)
    return f"{force:.1f} N under the fingers. Assist, never force." if force else "None. If any: assist, never force."


def _keep(control: Any, value: object) -> None:
    """Show a value unless it is shown: on most changes one control of two dozen has another one."""
    if control.value != value:
        control.value = value


class CurrentView(pn.viewable.Viewer):
    """The slider of the page: current of the first channel."""

    def __init__(self, state: DeskState, **params: Any) -> None:
        super().__init__(**params)
        self._state = state
        path = f"{_CH}.pulse.amplitude_ma"
        low, high = sim.setting(path).range or (0.0, 60.0)
        self.slider = Slider(
            label="Current", unit="mA", value=state.amplitude_ma, start=low, end=high, step=1, quantity="current", big=True,
            note=dose_line(state),
        )
        self.slider.param.watch(lambda event: state.change(path, event.new), "value")
        beside(state, self.slider, path)
        state.param.watch(self._follow, "scene")

    def __panel__(self) -> pn.viewable.Viewable:
        return self.slider

    def _follow(self, *_: object) -> None:
        self.slider.param.update(value=self._state.amplitude_ma, note=dose_line(self._state))


class SettingsView(pn.viewable.Viewer):
    """All other settings. Each control writes one path of the scene and follows it."""

    def __init__(self, state: DeskState, **params: Any) -> None:
        super().__init__(**params)
        self._state = state
        self._followers: list[Callable[[], None]] = []
        first = [
            self._hand(), *self._wrist(),
            self._slider(f"{_CH}.pulse.phase_us", "current"),
            self._slider(f"{_CH}.train.frequency_hz", "current"),
            self._times("On and off", _TIMES[:2]), self._times("Rise and fall", _TIMES[2:]),
        ]
        self.pads = PadMapView(self._state, active=False)
        self.more = PlainButton(label="More settings", pressed="false")
        self.rest = pn.Column(*self._rest(), visible=False, sizing_mode="stretch_width", margin=0, styles={"gap": "14px"})
        self.more.on_click(self._unfold)
        self._box = pn.Column(
            *first, self.more, self.rest, sizing_mode="stretch_width", margin=0,
            styles={"gap": "14px", "margin-top": "16px"},
        )
        state.param.watch(lambda *_: self._follow(), "scene")

    def __panel__(self) -> pn.viewable.Viewable:
        return self._box

    def _follow(self) -> None:
        for follower in self._followers:
            follower()

    def _unfold(self) -> None:
        self.rest.visible = not self.rest.visible
        self.pads.active = self.rest.visible
        self.more.param.update(
            pressed=str(self.rest.visible).lower(), label="Fewer settings" if self.rest.visible else "More settings",
        )

    # ---- one control a setting

    def _slider(self, path: str, quantity: str, *, percent: bool = False) -> Slider:
        """A slider over the part of the record's range in everyday use; a share in per cent where asked."""
        label, unit, step, ends = NUMBERS[short_path(path)]
        scale = 100.0 if percent else 1.0
        low, high = (round(scale * end, 6) for end in ends or sim.setting(path).range or (0.0, 1.0))
        step, unit = round(scale * step, 6), "%" if percent else unit
        slider = Slider(label=label, unit=unit, value=self._clipped(path, low, high, scale), start=low, end=high, step=step,
                        quantity=quantity, explain=EXPLAINED.get(short_path(path), ""))
        slider.param.watch(lambda event: self._write(path, round(event.new / scale, _DIGITS)), "value")
        beside(self._state, slider, path)
        self._followers.append(lambda: _keep(slider, self._clipped(path, low, high, scale)))
        return slider

    def _clipped(self, path: str, low: float, high: float, scale: float) -> float:
        return float(min(max(round(self._read(path) * scale, _DIGITS), low), high))

    def _choice(self, path: str) -> Choice:
        """A choice between values of one setting."""
        label, words = CHOICES[short_path(path)]
        by_word = {str(key): key for key in words}
        choice = Choice({str(key): word for key, word in words.items()}, label=label, value=str(self._read(path)),
                        explain=EXPLAINED.get(short_path(path), ""))
        choice.param.watch(lambda event: self._write(path, by_word[event.new]), "value")
        beside(self._state, choice, path)
        self._followers.append(lambda: _keep(choice, str(self._read(path))))
        return choice

    def _hand(self) -> Choice:
        words = {key: key for key in HANDS}
        choice = Choice({**words, "": "own"} if not self._state.hand_key else words, label="Hand", value=self._state.hand_key)
        choice.param.watch(lambda event: self._set_hand(event.new) if event.new else None, "value")
        beside(self._state, choice, "hand.flexor_length_factor")

        def follow() -> None:
            key = self._state.hand_key
            options = words if key else {**words, "": "own"}
            if (key, options) != (choice.value, choice.options):
                choice.param.update(options=options, value=key)

        self._followers.append(follow)
        return choice

    def _set_hand(self, key: str) -> None:
        self._state.change_all({**hand_changes(key), "title": sim.presets()[key].title}, "hand")

    def _wrist(self) -> tuple[Choice, Slider]:
        path = "hand.wrist_held_deg"

        def held() -> bool:
            return self._state.scene.hand.wrist_held_deg is not None

        def support() -> str:
            return "held" if held() else "rests" if self._state.scene.hand.wrist_rests else "free"

        choice = Choice({"free": "free", "rests": "on the table", "held": "held"}, label="Wrist", value=support())
        low, high = sim.setting("hand.wrist_held_deg").range or (-60.0, 70.0)
        angle = Slider(label="Wrist held at, down is positive", unit="°", value=self._state.scene.hand.wrist_held_deg or 0.0,
                       start=low, end=high, step=5, quantity="angle", visible=held())
        choice.param.watch(lambda event: event.new != support() and self._state.change_all(
            {path: angle.value if event.new == "held" else None, "hand.wrist_rests": event.new == "rests"}, path,
        ), "value")
        angle.param.watch(lambda event: self._write(path, event.new) if held() else None, "value")
        for control, paths in ((choice, (path, "hand.wrist_rests")), (angle, (path,))):
            beside(self._state, control, *paths)

        def follow() -> None:
            deg = self._state.scene.hand.wrist_held_deg
            _keep(choice, support())
            if angle.visible != (deg is not None):
                angle.visible = deg is not None
            if deg is not None:
                _keep(angle, deg)

        self._followers.append(follow)
        return choice, angle

    def _times(self, label: str, times: tuple[tuple[str, str, str], ...]) -> NumberRow:
        fields = []
        for key, path, word in times:
            low, high = sim.setting(path).range or (0.0, 60.0)
            fields.append({"key": key, "label": word, "unit": "s", "start": low, "end": high, "step": 0.5})

        def values() -> dict[str, float]:
            return {key: self._read(path) for key, path, _ in times}

        row = NumberRow(fields, label=label, value=values())

        def write(event: Any) -> None:
            wanted = {path: event.new[key] for key, path, _ in times if event.new[key] != self._read(path)}
            if wanted and not self._state.change_all(wanted, label):
                row.value = values()

        row.param.watch(write, "value")
        beside(self._state, row, *(path for _, path, _ in times))
        self._followers.append(lambda: _keep(row, values()))
        return row

    def _rest(self) -> list[Any]:
        return [
            self._object(),
            self._choice(f"{_CH}.pulse.shape"),
            self._slider(f"{_CH}.pulse.gap_us", "current"),
            self._choice(f"{_CH}.timing.ramps_inside"),
            self.pads,
            self._slider(f"{_CH}.pads.size_cm2", "ink"),
            self._choice(f"{_CH}.pads.shape"),
            self._choice(f"{_CH}.pads.contact"),
            self._choice(f"{_CH}.pads.swap"),
            self._slider("hand.flexor_length_factor", "ink", percent=True),
            self._slider("hand.finger_tone", "force", percent=True),
            self._reflex(),
            self._slider("hand.own_grip", "force", percent=True),
            self._slider("hand.own_opening", "force", percent=True),
            self._help(),
            self._slider("hand.fat_mm", "ink"),
            self._choice("hand.forearm"),
            ReadyView(self._state),
        ]

    def _reflex(self) -> Slider:
        slider = self._slider("hand.reflex_gain", "force")
        slider.note = "0 is none. It answers a fast stretch, so it shows in one cycle, not on the curve."
        return slider

    def _help(self) -> Slider:
        slider = self._slider("hand.help_opening", "force", percent=True)

        def follow() -> None:
            if slider.note != (note := help_line(self._state.scene)):
                slider.note = note

        follow()
        self._followers.append(follow)
        return slider

    def _object(self) -> Choice:
        def key() -> str:
            return next((k for k, mm in OBJECTS.items() if mm == self._state.scene.task.diameter_mm), "pot")

        choice = Choice({k: f"{k} {mm:.0f}" for k, mm in OBJECTS.items()}, label="Object, mm", value=key())
        choice.param.watch(
            lambda event: self._state.change_all(
                object_changes(event.new), "object"),
            "value",
        )
        beside(self._state, choice, "task.diameter_mm", "task.object", "task.mass_kg")
        self._followers.append(lambda: _keep(choice, key()))
        return choice

    # ---- scene

    def _read(self, path: str) -> Any:
        node: Any = self._state.scene
        for key in path.split("."):
            node = node[int(key)] if key.isdigit() else getattr(node, key)
        return node

    def _write(self, path: str, value: object) -> None:
        if value != self._read(path) and not self._state.change(path, value):
            self._follow()
