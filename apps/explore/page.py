"""The Explore page: settings, the hand, its curve, the chain in numbers, one cycle over time, notices."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import panel as pn

from graspwave.apps.controls import Finding, Notices, PlainButton, Thread
from graspwave.apps.desk.answered import Answered
from graspwave.apps.desk.pause import AfterPause
from graspwave.apps.desk.settings import CurrentView, SettingsView
from graspwave.apps.desk.state import DeskState
from graspwave.apps.explore.chosen_view import ChosenView
from graspwave.apps.explore.curve import CurveView
from graspwave.apps.explore.dose_table import DoseTableView
from graspwave.apps.explore.force_views import ForceViews
from graspwave.apps.explore.glossary import glossary
from graspwave.apps.explore.hand import HandView, hand_words, thread_items
from graspwave.apps.explore.in_words import InWordsView
from graspwave.apps.explore.letters import Letters
from graspwave.apps.explore.marks_search import MarksSearch
from graspwave.apps.explore.nerve_views import NerveViews
from graspwave.apps.explore.now_view import NowView
from graspwave.apps.explore.other_arms import OtherArms
from graspwave.apps.explore.over_time import OverTimeView
from graspwave.apps.explore.zooms import ZoomsView
from graspwave.apps.look.address import Address, asked
from graspwave.apps.look.frame import page_template, session_theme
from graspwave.apps.look.pages import PAGES
from graspwave.apps.told.scenes import link_words, read_address, scene_to_address

__all__ = ["explore", "first"]

_PAUSE_MS = 100


def notice_items(state: DeskState) -> list[dict[str, str]]:
    """What the dose says, the worst first; where all is well, one line says so for all."""
    if state.message:
        return [{"kind": "over", "strong": "Not taken." if state.refused else "", "text": state.message}]
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


def first(asked: Callable[[str], str]) -> tuple[str, str]:
    """Language of the page that an address asks for, and what it says until its hand is drawn."""
    given = asked("s")
    state = DeskState(read_address(given)[0] if given else None)
    state.finding, state.notices  # noqa: B018  # worked out, for the page to have at once
    return "en", hand_words(state, angles="angles" in asked("show").split(","))


def _arrived() -> DeskState:
    """What the address asks for: a scene, and a pinned hand beside it."""
    given = asked("s")
    scene, why = read_address(given) if given else (None, "")
    state = DeskState(scene)
    if why:
        state.message = link_words(why, state.scene, "tight")
    if pinned := asked("pin"):
        state.pinned, why = read_address(pinned)
        if why:
            state.message = f"{state.message} The pinned hand of the link was not taken. {why} None is pinned.".strip()
    look, arms = MarksSearch(state), OtherArms(state)
    if pn.state.curdoc is not None:
        pn.state.on_session_destroyed(lambda _context: look.stop())
        pn.state.on_session_destroyed(lambda _context: arms.stop())
    return state


def _title(state: DeskState) -> str:
    """The finding; before any change, what was wrong with the link that led here: on a phone the notices are behind a tab."""
    return state.message if state.message and not state.refused else state.finding


def _below(state: DeskState, theme: Any, warnings: Notices, kept: Notices) -> tuple[ChosenView, ChosenView]:
    """The two views of the lower half."""
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
    return closer, told


def _play_button(state: DeskState, hand: HandView, thread: Thread) -> PlainButton:
    """Plays one cycle, holds it and goes on; the chain follows."""
    play = PlainButton(label="Play one cycle")

    def name(*_: object) -> None:
        play.label = ("Play on" if hand.held else "Pause") if state.played_s >= 0.0 else "Play one cycle"

    def press() -> None:
        hand.play()
        name()

    def follow(event: Any) -> None:
        if (event.old < 0.0) != (event.new < 0.0):
            name()
        thread.show(thread_items(state))

    play.on_click(press)
    state.param.watch(follow, "played_s")
    return play


def _address(state: DeskState, hand: HandView, closer: ChosenView, told: ChosenView) -> Address:
    """A link carries the scene, the pinned hand, the open tabs, angles, the view from the tips and other arms."""
    address = Address(s=scene_to_address(state.scene), width=0, height=0, margin=0)

    def carry(*_: object) -> None:
        kept = "" if state.pinned is None else scene_to_address(state.pinned)
        shown = ",".join(filter(None, [hand.shown, "arms" if state.arms_asked else ""]))
        address.more = {"pin": kept, "tab": told.choice.value, "closer": closer.choice.value, "show": shown}

    def write() -> None:
        address.s = scene_to_address(state.scene)

    state.param.watch(AfterPause(write, _PAUSE_MS), ["scene", "pinned", "marks", "message"])
    state.param.watch(carry, ["pinned", "arms_asked"])
    for choice in (told.choice, closer.choice):
        choice.param.watch(carry, "value")
    hand.picture.param.watch(carry, ["angles", "tips"])
    return address


def explore() -> Any:
    """A new page for one visitor."""
    state, theme = _arrived(), session_theme()
    hand, thread = HandView(state), Thread(thread_items(state))
    hand.turn_on(asked("show"))
    warnings, kept = (Notices(items, empty="") for items in split_notices(state))
    warnings.visible = bool(warnings.items)
    closer, told = _below(state, theme, warnings, kept)
    finding = Finding(text=_title(state))
    undo = PlainButton(label="Undo", disabled=True)
    pin = PlainButton(label="Unpin" if state.pinned is not None else "Pin this hand")
    undo.on_click(state.undo)
    pin.on_click(state.pin)

    def follow(*_: object) -> None:
        finding.text = _title(state)
        thread.show(thread_items(state))
        for part, items in zip((warnings, kept), split_notices(state), strict=True):
            part.show(items)
        warnings.visible = bool(warnings.items)
        undo.disabled = not state.can_undo
        pin.label = "Unpin" if state.pinned is not None else "Pin this hand"

    state.param.watch(follow, ["scene", "pinned", "marks", "message"])

    state.arms_asked = "arms" in asked("show").split(",")
    template = page_template("explore", "Explore", pages=PAGES, labels={"time": "Look closer", "notices": "Limits, dose and why"},
                             first=hand.words)
    for name, view in {
        "now": CurrentView(state), "settings": SettingsView(state), "hand": hand, "finding": finding,
        "curve": CurveView(state, theme), "thread": thread, "time": closer, "notices": told,
    }.items():
        template.add_panel(name, view)
    letters = Letters(width=0, height=0, margin=0)
    letters.tell(state)
    buttons = (undo, pin, _play_button(state, hand, thread), _address(state, hand, closer, told), letters, Answered())
    template.add_panel("actions", pn.Row(*buttons, margin=0, styles={"gap": "10px"}))
    return template
