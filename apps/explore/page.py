"""The Explore page: settings, the hand, its curve, the chain in numbers, one cycle over time, notices."""

from __future__ import annotations

from typing import Any

import panel as pn

from graspwave.apps.controls import Finding, Notices, PlainButton, Thread
from graspwave.apps.desk.pause import AfterPause
from graspwave.apps.desk.settings import CurrentView, SettingsView
from graspwave.apps.desk.state import DeskState
from graspwave.apps.explore.chosen_view import ChosenView
from graspwave.apps.explore.curve import CurveView
from graspwave.apps.explore.dose_table import DoseTableView
from graspwave.apps.explore.force_views import ForceViews
from graspwave.apps.explore.glossary import glossary
from graspwave.apps.explore.hand import HandView, thread_items
from graspwave.apps.explore.in_words import InWordsView
from graspwave.apps.explore.marks_search import MarksSearch
from graspwave.apps.explore.nerve_views import NerveViews
from graspwave.apps.explore.now_view import NowView
from graspwave.apps.explore.over_time import OverTimeView
from graspwave.apps.explore.zooms import ZoomsView
from graspwave.apps.look.address import Address, asked
from graspwave.apps.look.frame import page_template, session_theme
from graspwave.apps.look.pages import PAGES
from graspwave.apps.told.scenes import scene_from_address, scene_to_address

__all__ = ["explore"]

_PAUSE_MS = 100


def notice_items(state: DeskState) -> list[dict[str, str]]:
    """What the dose says, the worst first; where all is well, one line says so for all."""
    if state.message:
        return [{"kind": "over", "strong": "That setting was not taken.", "text": state.message}]
    shown = [n for n in state.notices if n.kind != "inside"]
    items = [{"kind": n.kind, "text": n.text} for n in shown]
    items += [{"kind": "close", "text": text} for text in state.help_notices]
    inside = sum(n.kind == "inside" for n in state.notices)
    if inside:
        words = f"{inside} other limits kept." if shown else f"{inside} published or customary limits looked at, all kept."
        items.append({"kind": "inside", "text": words})
    return items


def split_notices(state: DeskState) -> tuple[list[dict[str, str]], list[dict[str, str]]]:
    """What to be warned of, and what is inside its limits."""
    items = notice_items(state)
    return [item for item in items if item["kind"] != "inside"], [item for item in items if item["kind"] == "inside"]


def explore() -> Any:
    """A new page for one visitor."""
    given = asked("s")
    scene = scene_from_address(given) if given else None
    state = DeskState(scene)
    if given and scene is None:
        state.message = "'s' in the address must hold a scene (got something else): the tight hand is shown"
    if pinned := asked("pin"):
        state.pinned = scene_from_address(pinned)
    theme = session_theme()
    look = MarksSearch(state)
    if pn.state.curdoc is not None:
        pn.state.on_session_destroyed(lambda _context: look.stop())

    hand, thread = HandView(state), Thread(thread_items(state))
    warnings, kept = (Notices(items, empty="") for items in split_notices(state))
    curve = CurveView(state, theme)
    closer = ChosenView("Look closer", {
        "cycle": ("One cycle", lambda: OverTimeView(state, theme)),
        "zooms": ("Current, five zooms", lambda: ZoomsView(state, theme)),
        "force": ("Force and tiring", lambda: ForceViews(state, theme)),
        "nerve": ("Nerve", lambda: NerveViews(state, theme)),
    }, asked("closer") or "cycle")
    told = ChosenView("Limits, dose and why", {
        "why": ("Limits and why", lambda: NowView(state, warnings, kept)),
        "dose": ("Dose", lambda: DoseTableView(state)),
        "words": ("Curve in words", lambda: InWordsView(state)),
        "glossary": ("Words", glossary),
    }, asked("tab") or "why")
    warnings.visible = bool(warnings.items)
    finding = Finding(text=state.finding)
    address = Address(s=scene_to_address(state.scene), width=0, height=0, margin=0)

    undo = PlainButton(label="Undo", disabled=True)
    pin = PlainButton(label="Unpin" if state.pinned is not None else "Pin this hand")
    play = PlainButton(label="Play one cycle")
    undo.on_click(state.undo)
    pin.on_click(state.pin)
    hand.show(asked("show"))

    def press() -> None:
        hand.play()
        name_play()

    def name_play(*_: object) -> None:
        playing = state.played_s >= 0.0
        play.label = ("Play on" if hand.held else "Pause") if playing else "Play one cycle"

    def follow_play(event: Any) -> None:
        if (event.old < 0.0) != (event.new < 0.0):
            name_play()
        thread.show(thread_items(state))

    play.on_click(press)
    state.param.watch(follow_play, "played_s")

    def carry(*_: object) -> None:
        """What a link has besides the scene: the pinned hand, the open tabs, angles and the view from the tips."""
        kept = "" if state.pinned is None else scene_to_address(state.pinned)
        address.more = {"pin": kept, "tab": told.choice.value, "closer": closer.choice.value, "show": hand.shown}

    def write() -> None:
        address.s = scene_to_address(state.scene)

    after_pause = AfterPause(write, _PAUSE_MS)

    def follow(*_: object) -> None:
        finding.text = state.finding
        thread.show(thread_items(state))
        for part, items in zip((warnings, kept), split_notices(state), strict=True):
            part.show(items)
        warnings.visible = bool(warnings.items)
        undo.disabled = not state.can_undo
        pin.label = "Unpin" if state.pinned is not None else "Pin this hand"
        after_pause()

    state.param.watch(follow, ["scene", "pinned", "marks", "message"])
    state.param.watch(carry, "pinned")
    for choice in (told.choice, closer.choice):
        choice.param.watch(carry, "value")
    hand.picture.param.watch(carry, ["angles", "tips"])

    template = page_template("explore", "Explore", pages=PAGES, labels={"time": "Look closer", "notices": "Limits, dose and why"})
    template.add_panel("now", CurrentView(state))
    template.add_panel("settings", SettingsView(state))
    template.add_panel("hand", hand)
    template.add_panel("finding", finding)
    template.add_panel("curve", curve)
    template.add_panel("thread", thread)
    template.add_panel("time", closer)
    template.add_panel("notices", told)
    template.add_panel("actions", pn.Row(undo, pin, play, address, margin=0, styles={"gap": "10px"}))
    return template
