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
from graspwave.apps.explore.hand import HandView, thread_items
from graspwave.apps.explore.in_words import InWordsView
from graspwave.apps.explore.marks_search import MarksSearch
from graspwave.apps.explore.nerve_views import NerveViews
from graspwave.apps.explore.over_time import OverTimeView
from graspwave.apps.explore.why_view import WhyView
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


def explore() -> Any:
    """A new page for one visitor."""
    given = asked("s")
    scene = scene_from_address(given) if given else None
    state = DeskState(scene)
    if given and scene is None:
        state.message = "'s' in the address must hold a scene (got something else): the tight hand is shown"
    theme = session_theme()
    look = MarksSearch(state)
    if pn.state.curdoc is not None:
        pn.state.on_session_destroyed(lambda _context: look.stop())

    hand, thread, notices = HandView(state), Thread(thread_items(state)), Notices(notice_items(state))
    curve = CurveView(state, theme)
    closer = ChosenView("Look closer", {
        "cycle": ("One cycle", lambda: OverTimeView(state, theme)),
        "zooms": ("Current, five zooms", lambda: ZoomsView(state, theme)),
        "force": ("Force and tiring", lambda: ForceViews(state, theme)),
        "nerve": ("Nerve", lambda: NerveViews(state, theme)),
    }, "cycle")
    told = ChosenView("Limits, dose and why", {
        "limits": ("Limits", lambda: notices),
        "dose": ("Dose", lambda: DoseTableView(state)),
        "why": ("Why", lambda: WhyView(state)),
        "words": ("Curve in words", lambda: InWordsView(state)),
    }, "limits")
    finding = Finding(text=state.finding)
    address = Address(s=scene_to_address(state.scene), width=0, height=0, margin=0)

    undo, pin = PlainButton(label="Undo", disabled=True), PlainButton(label="Pin this hand")
    play = PlainButton(label="Play one cycle")
    undo.on_click(state.undo)
    pin.on_click(state.pin)
    play.on_click(hand.play)

    def write() -> None:
        address.s = scene_to_address(state.scene)

    after_pause = AfterPause(write, _PAUSE_MS)

    def follow(*_: object) -> None:
        finding.text = state.finding
        thread.show(thread_items(state))
        notices.show(notice_items(state))
        undo.disabled = not state.can_undo
        pin.label = "Unpin" if state.pinned is not None else "Pin this hand"
        after_pause()

    state.param.watch(follow, ["scene", "pinned", "marks", "message"])

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
