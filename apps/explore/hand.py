"""The hero on the left: the hand at the present current, or moving through one cycle."""

from __future__ import annotations

from typing import Any

import numpy as np
import panel as pn

from graspwave.apps.controls import PlainButton
from graspwave.apps.controls.hand_scene import HandScene, frames_text
from graspwave.apps.desk.aside import Aside
from graspwave.apps.desk.state import DeskState, cycle_of
from graspwave.apps.told.findings import bend_words, claw_words, wrist_words
from graspwave.apps.told.posture import STRONGEST_MA, angles_at, finger_words, pads_mm, run_moment, state_at, upper_pads
from graspwave.simulator.hand import claw_grades
from graspwave.simulator.recruitment import CLOSERS
from graspwave.simulator.scene import Scene

__all__ = ["HandView", "hand_words", "thread_items"]

_FRAME_S = 1.0 / 30.0
_CORNER = {"position": "absolute", "top": "10px", "right": "12px", "width": "auto", "gap": "8px"}


def film_of(scene: Scene) -> str:
    """One cycle as the frames of a film."""
    run = cycle_of(scene).run
    every = np.arange(0.0, run.time_s[-1], _FRAME_S)
    which = np.minimum(np.searchsorted(run.time_s, every), run.time_s.size - 1)
    return frames_text({"t_ms": round(1e3 * float(t)), **run_moment(run, int(i))} for t, i in zip(every, which, strict=True))


def thread_items(state: DeskState) -> list[dict[str, str]]:
    """The chain as numbers, in the order of cause."""
    if state.played_s >= 0.0:
        run = state.cycle.run
        i = min(int(np.searchsorted(run.time_s, state.played_s)), run.time_s.size - 1)
        now, grade = _values(run, i, float(run.current[0][i])), _claws(run, i)
    else:
        now, grade = _values(state.point, 0, state.amplitude_ma), _claws(state.point, 0)
    pinned = state.pinned_point
    kept = [""] * len(now) if pinned is None else _values(pinned, 0, float(pinned.amplitude_ma[0]))
    items = [
        {"quantity": quantity, "value": value, "words": words, "kept": before, "explain": _EXPLAINED.get(words, "")}
        for (quantity, words), value, before in zip(_CHAIN, now, kept, strict=True)
    ]
    if grade:
        items[5] |= {"words": f"middle joints: {'claw begins' if grade == 1 else 'claw'}", "explain": _EXPLAINED["claw"]}
    return items


_CHAIN = (
    ("current", "current on the skin"), ("force", "opener · closers called in"), ("force", "finger opener pulls"),
    ("angle", "wrist"), ("angle", "knuckles"), ("angle", "middle joints"), ("opening", "opening"),
)

_EXPLAINED = {
    "opener · closers called in": "Called in: the share of a muscle's nerve fibres that the pulses wake. Left the finger opener, "
    "right the closer that is woken most. A nerve fibre calls in all of its muscle fibres or none.",
    "claw": "Claw: the base joints stand past straight while the middle joints bend. The opener's pull is used up at the base "
    "joints, and its slips over the fingers hang slack. While the middle joint is bent less than 60 degrees it only begins: "
    "such a hand may be wide open.",
}


def _claws(seen: Any, i: int) -> int:
    """How far the middle finger has come to be a claw at sample `i`: its joints are those of the chain."""
    return int(claw_grades(seen.angle_deg)["middle"][i])


def _values(seen: Any, i: int, current_ma: float) -> list[str]:
    """The numbers of the chain at sample `i` of an opening curve or a run."""
    angle = {joint: float(value[i]) for joint, value in seen.angle_deg.items()}
    closers = max(float(seen.recruited[name][i]) for name in CLOSERS if name in seen.recruited)
    return [
        f"{current_ma:.0f} mA",
        f"{100 * seen.recruited['EDC'][i]:.0f} % · {100 * closers:.0f} %", f"{seen.force_n['EDC'][i]:.0f} N",
        wrist_words(angle["wrist"]), bend_words(angle["MCP"]), bend_words(angle["PIP"]), f"{float(seen.opening_mm[i]):.0f} mm",
    ]


def hand_words(state: DeskState, *, angles: bool) -> str:
    """The chain as a sentence; with the angles on, the joint that the chain leaves out as well."""
    words = [f"{item['words']} {item['value']}" for item in thread_items(state)]
    if angles:
        words.insert(-1, f"end joints {bend_words(float(state.point.angle_deg['DIP'][0]))}")
    return f"Hand from the thumb side: {', '.join(words)}."


class HandView(pn.viewable.Viewer):
    """The hand picture, fed with what the model gives."""

    def __init__(self, state: DeskState, **params: Any) -> None:
        super().__init__(**params)
        self._state = state
        self.picture = HandScene(sizing_mode="stretch_both", margin=0)
        self.angles = PlainButton(label="Angles", pressed="false", margin=0)
        self.angles.on_click(self._turn_angles)
        self.tips = PlainButton(label="From the tips", pressed="false", margin=0)
        self.tips.on_click(self._turn_tips)
        corner = pn.Row(self.tips, self.angles, margin=0, styles=_CORNER)
        self._film = Aside(film_of, self.picture.play_text)
        self._box = pn.Column(
            self.picture, corner, sizing_mode="stretch_both", margin=0, styles={"position": "relative", "min-height": "0"},
        )
        state.param.watch(self._update, ["scene", "pinned"])
        state.param.watch(lambda event: setattr(self.picture, "lit", event.new), "lit")
        self.held = False
        self.picture.param.watch(self._follow_play, "played_ms")
        self._update()

    def __panel__(self) -> pn.viewable.Viewable:
        return self._box

    def _follow_play(self, event: Any) -> None:
        self._state.played_s = event.new / 1e3 if event.new >= 0 else -1.0

    def _turn_angles(self) -> None:
        self.picture.angles = not self.picture.angles
        self.angles.pressed = str(self.picture.angles).lower()
        self.picture.label = self._words()

    @property
    def shown(self) -> str:
        """What is switched on in the picture, for an address."""
        return ",".join(name for name in ("angles", "tips") if getattr(self.picture, name))

    def turn_on(self, names: str) -> None:
        """Switch on what an address names."""
        for name, turn in (("angles", self._turn_angles), ("tips", self._turn_tips)):
            if name in names.split(",") and not getattr(self.picture, name):
                turn()

    def _turn_tips(self) -> None:
        self.picture.tips = not self.picture.tips
        self.tips.pressed = str(self.picture.tips).lower()

    @property
    def words(self) -> str:
        """The picture as a sentence."""
        return str(self.picture.label)

    def _words(self) -> str:
        return hand_words(self._state, angles=self.picture.angles)

    def _update(self, *_: object) -> None:
        state, point, scene = self._state, self._state.point, self._state.scene
        self.picture.param.update(
            **state_at(point, 0) | {"current": state.amplitude_ma / STRONGEST_MA},
            pads=pads_mm(scene.channel[0].pads),
            object={"name": scene.task.object, "diameter_mm": scene.task.diameter_mm},
            upper=upper_pads(scene), forearm=scene.hand.forearm,
            rests=scene.hand.wrist_rests and scene.hand.wrist_held_deg is None,
            wrist_held=scene.hand.wrist_held_deg is not None,
            fingers=finger_words(point, 0),
            caption=claw_words(point),
            kept=None if state.pinned_point is None else angles_at(state.pinned_point, 0),
            label=self._words(),
        )

    def play(self) -> None:
        """Show one cycle in its own time, from the model's own samples; pressed again it holds, then goes on."""
        if self._state.played_s >= 0.0:
            self.held = not self.held
            (self.picture.pause if self.held else self.picture.resume)()
            return
        self.held = False
        self._film(self._state.scene)

    def stop(self) -> None:
        """Back to the steady hand."""
        self.picture.stop()
