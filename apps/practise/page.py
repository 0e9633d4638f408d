"""The Practise page: the learner does the task, with a switch that is held."""

from __future__ import annotations

import time
from collections.abc import Callable
from functools import lru_cache
from typing import Any, ClassVar

import numpy as np
import panel as pn
import param
from numpy.typing import NDArray

from graspwave import simulator as sim
from graspwave.apps.controls import Control, Finding, HoldSwitch, Notices, PlainButton, Slider, Thread
from graspwave.apps.controls.hand_scene import HandScene
from graspwave.apps.desk.answered import Answered
from graspwave.apps.look.address import Address, asked
from graspwave.apps.look.frame import page_template
from graspwave.apps.look.pages import PAGES
from graspwave.apps.practise.arm import ArmView, arm_of
from graspwave.apps.practise.found import Found
from graspwave.apps.practise.half_hour import plain_refusal
from graspwave.apps.practise.live import AHEAD_S, SPARE_MM, Live, Piece
from graspwave.apps.practise.settings import controls
from graspwave.apps.practise.showing import DemonstrationList
from graspwave.apps.practise.state import PractiseState
from graspwave.apps.practise.step_words import step_words
from graspwave.apps.practise.strip import CycleStrip, strip_of
from graspwave.apps.told.posture import NEUTRAL_PADS_MM, pads_mm
from graspwave.apps.told.scenes import link_words, read_address, scene_to_address
from graspwave.apps.web.source import component, sheet
from graspwave.simulator.recruitment import CLOSERS

__all__ = ["first", "practise"]

_WATCH_MS = 120
_NOTE = "press, or space bar; arrows move"

_SCALE, _LONGEST_MM = 0.4, 120.0
"""Millimetres of picture for one of the way, and most that a way takes there, so that both ends are in view."""


class Happened(Control):
    """What happened when, the last first."""

    items = param.List(default=[])

    _esm: ClassVar[str] = component("practise/happened.js")
    _stylesheets: ClassVar[list[str]] = [*Control._stylesheets, sheet("practise/happened.css")]


class Refusals:
    """What the page could not do, told beside the settings until something works again."""

    def __init__(self) -> None:
        self.shown = Notices([], empty="")
        self.shown.visible = False

    def tell(self, error: sim.SceneError | None) -> None:
        """Tell one, or take the last one away."""
        self.show("" if error is None else plain_refusal(error), "That cannot be done as it is set.")

    def show(self, text: str, strong: str = "") -> None:
        """Words of trouble, or none."""
        self.shown.show([{"kind": "over", "strong": strong, "text": text}] if text else [])
        self.shown.visible = bool(text)


class PractisePage:
    """One learner's page: the clock, the model ahead of it, and the views that follow.

    Parameters
    ----------
    scene : simulator.Scene
    """

    def __init__(self, scene: sim.Scene) -> None:
        self._start = time.monotonic()
        self.live = Live(scene)
        self.picture = HandScene(sizing_mode="stretch_both", margin=0)
        self.switch = HoldSwitch(note=_NOTE)
        self.way = Slider(label="Arm along the bench", unit="mm", value=0, start=0, end=2 * self.live.reach_mm, step=5)
        self.says, self.tally, self.strip = Finding(text=""), Thread([]), CycleStrip()
        stays = {"position": "sticky", "top": "-4px", "z-index": "2"}
        self.arms = ArmView(where="desk"), ArmView(where="task"), ArmView(where="show", styles=stays)
        self.again = PlainButton(label="Start again")
        self.tips = PlainButton(label="From the tips", pressed="false")
        self.tips.on_click(self._turn_tips)
        self.happened = Happened()
        self.switch.on_switch(self._switched)
        self.switch.on_arrow(lambda by: setattr(self.way, "value", float(np.clip(self.way.value + 10.0 * by, 0.0, self.way.end))))
        self.way.param.watch(self._moved, "value")
        self.again.on_click(lambda: self.restart(self.live.scene))
        self.trouble = ""
        self._settle(scene)
        first = self._show(self.live.ahead(self.now()))
        # what is played before the page is there is not seen: it begins with the same posture as parameters
        self.picture.param.update(**{key: value for key, value in first.items() if key != "t_ms"})

    def _turn_tips(self) -> None:
        self.picture.tips = not self.picture.tips
        self.tips.pressed = str(self.picture.tips).lower()

    def _settle(self, scene: sim.Scene) -> None:
        """Pads and what holds the wrist, as they are on the other pages."""
        hand, pads = scene.hand, scene.channel[0].pads
        self.picture.param.update(
            pads=pads_mm(pads) if pads.limb == "forearm" else NEUTRAL_PADS_MM, forearm=hand.forearm,
            wrist_held=hand.wrist_held_deg is not None,
        )

    def over_its_place(self) -> None:
        """Go on from the moment before letting go."""
        now = self.now()
        self.live.over_its_place(now)
        self.way.value = self.live.at_mm
        if self.live.piece is not None:
            self._show(self.live.piece)

    def now(self) -> float:
        """Seconds since the page was opened."""
        return time.monotonic() - self._start

    def choose(self, control: str) -> None:
        """The switch, or the timer from now on.

        Raises
        ------
        SceneError
            The scene cannot run by the timer; then all stays as it is.
        """
        old, now = self.live, self.now()
        live = Live(old.scene, control=control, begun_s=now, at_mm=old.at_mm, step=old.step, piece=old.piece,
                    closing_s=old.closing_s, let_go_s=old.let_go_s, held_mm=old.held_mm)
        if old.held:
            old.release(now)
            self.switch.let_go()
        self.live = live
        self.switch.param.update(
            disabled=control == "timed", label="Hold to open" if control == "held" else "The timer runs",
            note=_NOTE if control == "held" else "wait for it",
        )
        self._show(self.live.ahead(now))

    def restart(self, scene: sim.Scene, *, keep: bool = False) -> None:
        """Another hand, object or current; `keep` leaves the tally and the place as they are."""
        self.trouble = ""
        self._settle(scene)
        old, now = self.live, self.now()
        begun = old.begun_s if keep else now
        live = Live(scene, control=old.control, begun_s=begun)
        if old.held:
            old.release(now)
            self.switch.let_go()
        live.presses = list(old.presses) if keep else []
        self.way.end = 2.0 * live.reach_mm
        self.live = live
        if keep:
            self.live.piece = old.piece
            self.live.at_mm, self.live.step = min(old.at_mm, 2.0 * live.reach_mm), old.step
            self.way.value = self.live.at_mm
            self.live.repetitions, self.live.drops, self.live.log = old.repetitions, old.drops, old.log
            self.live.closing_s, self.live.let_go_s, self.live.held_mm = old.closing_s, old.let_go_s, old.held_mm
        else:
            self.way.value = 0
        self._show(self.live.ahead(now))

    # ---- what happens

    def _switched(self, kind: str) -> None:
        now = self.now()
        if kind == "beat":
            self.live.beat(now)
            return
        if kind == "end":
            self.live.end(now)
            return
        self.trouble = ""
        if kind == "press":
            self.live.press(now)
        else:
            self.live.release(now)
        if self.live.piece is not None:
            self._show(self.live.piece)

    def _moved(self, event: Any) -> None:
        by, before = float(event.new) - self.live.at_mm, self.live.piece
        if abs(by) > 1e-6:
            self.live.move(by, self.now())
            self._follow(before)
        if abs(self.live.at_mm - float(event.new)) > 1e-6:
            self.way.value = self.live.at_mm

    def watch(self) -> None:
        """Called every `_WATCH_MS`: keep the hand worked out ahead, end a lost hold, go on with the task."""
        now = self.now()
        before, piece = (self.live.step, self.live.drops), self.live.piece
        if self.live.lost(now):
            self.switch.let_go("Current off: the connection was silent.")
        self.live.watch(now)
        if self.live.piece is not piece:
            self._follow(piece)
        piece = self.live.piece
        if piece is None or now > piece.t_s[-1] - 0.4 * AHEAD_S:
            timed = self.live.control == "timed"
            still = piece is not None and float(np.ptp(piece.opening_mm)) < 0.2 and not piece.current_ma.any()
            if timed or self.live.held or not still:
                self._show(self.live.ahead(now))
        if before != (self.live.step, self.live.drops) or self.live.step == "let go":
            if self.live.at_mm != self.way.value:
                self.way.value = self.live.at_mm
            self._tell()

    # ---- what is shown

    def _follow(self, before: Piece | None) -> None:
        """Tell what has changed, and play the hand anew where it was worked out anew."""
        if self.live.piece is not None and self.live.piece is not before:
            self._show(self.live.piece)
        else:
            self._tell()

    def _show(self, piece: Piece) -> dict[str, Any]:
        openers = self.live.scene.channel[0].pulse.amplitude_ma
        share = sim.recruitment_curve(self.live.scene, [openers])
        level = piece.current_ma / max(openers, 1e-9)
        opener = float(share["EDC"][0])
        closers = max(float(share[name][0]) for name in CLOSERS if name in share)
        frames = [
            {
                "t_ms": round(1e3 * float(piece.t_s[i] - piece.t_s[0])),
                "angle_deg": {j: round(float(v[i]), 2) for j, v in piece.angle_deg.items()},
                "opening": {"mm": round(float(piece.opening_mm[i]), 1), "points": np.round(piece.points_mm[i], 2).tolist()},
                "tension": {"EDC": min(1.0, float(piece.force_n[i]) / 150.0)},
                "recruited": {"openers": round(opener * float(level[i]), 3), "closers": round(closers * float(level[i]), 3)},
                "current": round(float(piece.current_ma[i]) / 60.0, 3),
            }
            for i in range(piece.t_s.size)
        ]
        self.picture.play(frames)
        self._tell()
        return frames[0]

    def _tell(self) -> None:
        live, now = self.live, self.now()
        name, width = live.scene.task.object, live.scene.task.diameter_mm
        middle = _mouth_mm(live.scene)
        scale = min(_SCALE, _LONGEST_MM / live.reach_mm)
        ahead = scale * (live.object_mm - live.at_mm)
        shown: dict[str, Any] = {"name": name, "diameter_mm": width}
        if live.step == "carry" or (live.step == "let go" and live.opening_mm(now) <= max(live.held_mm, width) + 0.5 * SPARE_MM):
            shown["held"] = True
        else:
            shown |= {"center_mm": [round(float(middle[0] + ahead), 1), round(float(middle[1]), 1)], "stand": True}
        gap = live.opening_mm(now)
        task = live.scene.task
        self.picture.param.update(
            bench={
                "way_mm": 2.0 * scale * live.reach_mm, "at_mm": round(scale * live.at_mm, 1),
                "place_mm": round(float(middle[0]) + scale * (2.0 * live.reach_mm - live.at_mm), 1),
                "cloth": live.on_cloth, "helped": task.other_hand == "lifts",
            },
            object=shown, label=_picture_words(live, gap),
        )
        self.says.text = self.trouble or step_words(live, now)
        self.strip.told, arm = strip_of(live, now), arm_of(live, now)
        for view in self.arms:
            view.told = arm
        self.happened.items = [[f"{event.t_s:.1f} s", event.what] for event in live.log[:-9:-1]]
        self.tally.show([
            {"quantity": "ink", "value": str(live.repetitions), "words": "put down"},
            {"quantity": "ink", "value": str(live.drops), "words": "dropped"},
            {"quantity": "opening", "value": f"{gap:.0f} mm", "words": f"opening; the {name} is {width:.0f} mm"},
        ])


@lru_cache(maxsize=32)
def _mouth_mm(scene: sim.Scene) -> NDArray[np.float64]:
    """Middle of the open hand's mouth, from the wrist: where the object stands when the arm has come to it."""
    found = sim.opening_curve(scene, [scene.channel[0].pulse.amplitude_ma])
    middle: NDArray[np.float64] = found.points_mm[0].mean(axis=0)
    return middle


def _picture_words(live: Live, gap_mm: float) -> str:
    """The picture as a sentence."""
    return f"Hand and {live.scene.task.object}, {live.object_mm - live.at_mm:.0f} mm apart. Opening {gap_mm:.0f} mm."


def first(asked: Callable[[str], str]) -> tuple[str, str]:
    """Language of the page that an address asks for, and what it says until its hand is drawn."""
    given = asked("s")
    state = PractiseState(read_address(given)[0] if given else None)
    live = Live(state.live_scene, control=state.control)
    live.ahead(0.0)
    return "en", f"{_picture_words(live, live.opening_mm(0.0))} {step_words(live, 0.0)}"


def practise() -> Any:
    """A new page for one visitor."""
    given = asked("s")
    scene, why = read_address(given) if given else (None, "")
    state = PractiseState(scene)
    practice = PractisePage(state.live_scene)
    if state.control == "timed":
        practice.choose("timed")
    found = Found(state)
    address = Address(s=scene_to_address(state.scene), width=0, height=0, margin=0)
    undo, refusals = PlainButton(label="Undo", disabled=True), Refusals()
    showing = DemonstrationList()
    showing.on_ask(state)

    def begin_at_its_end(event: Any) -> None:
        if event.new.get("key") == "tilt":
            practice.over_its_place()

    showing.param.watch(begin_at_its_end, "asked")
    if why:
        practice.trouble = link_words(why, state.scene, "supple")
        refusals.show(practice.trouble)
    undo.on_click(state.undo)

    def follow(*_: object) -> None:
        refusals.tell(state.refusal if state.message else None)
        if not state.message:
            if practice.live.control != state.control:
                practice.choose(state.control)
            practice.restart(state.live_scene, keep=True)
        undo.disabled = not state.can_undo
        showing.follow(state)
        address.s = scene_to_address(state.scene)
        found.follow()

    state.param.watch(follow, ["scene", "message"])

    template = _framed(state, practice, found, showing, (refusals, undo, address))
    clock = pn.state.add_periodic_callback(practice.watch, period=_WATCH_MS)
    pn.state.on_session_destroyed(lambda _context: clock.stop())
    return template


def _framed(
    state: PractiseState, practice: PractisePage, found: Found, showing: Any, own: tuple[Refusals, Any, Any],
) -> Any:
    """The page with its views in their places; what is `found` stands under the task, `own` beside the settings."""
    refusals, undo, address = own
    template = page_template(
        "practise", "Practise", pages=PAGES, first=f"{practice.picture.label} {practice.says.text}",
        tabs={"curve": "Task", "thread": "Tally", "time": "Half hour", "notices": "Show"},
        labels={"curve": "The task", "thread": "Tally", "time": "The arm, and half an hour", "notices": "Things to show"},
    )
    template.add_panel("now", practice.switch)
    template.add_panel("settings", pn.Column(
        refusals.shown, *controls(state), practice.again, sizing_mode="stretch_width", margin=0,
        styles={"gap": "14px", "margin-top": "16px"},
    ))
    template.add_panel("hand", practice.picture)
    template.add_panel("finding", practice.says)
    template.add_panel("curve", pn.Column(
        practice.strip, practice.way, practice.arms[1], practice.happened, sizing_mode="stretch_both", margin=0, scroll=True,
        styles={"padding-top": "12px", "gap": "16px"},
    ))
    template.add_panel("thread", practice.tally)
    template.add_panel("time", pn.Column(
        *found.views, practice.arms[0], sizing_mode="stretch_both", margin=0, scroll=True, styles={"gap": "10px"},
    ))
    template.add_panel("notices", pn.Column(
        practice.arms[2], showing, sizing_mode="stretch_width", margin=0, styles={"gap": "10px"},
    ))
    template.add_panel("actions", pn.Row(undo, practice.tips, address, Answered(), margin=0, styles={"gap": "10px"}))
    return template

