"""The Explain page: five pictures of the scene in use in plain words, and the page to take home."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, ClassVar

import panel as pn
import param

from graspwave import simulator as sim
from graspwave.apps import notices
from graspwave.apps.controls import Finding, Notices
from graspwave.apps.desk.answered import Answered
from graspwave.apps.desk.aside import Aside
from graspwave.apps.desk.settings import CurrentView, SettingsView
from graspwave.apps.desk.state import DeskState
from graspwave.apps.files.sheet import PAPERS, sheet_html
from graspwave.apps.look.address import Address, asked
from graspwave.apps.look.frame import page_template
from graspwave.apps.look.pages import PAGES
from graspwave.apps.told.account import told
from graspwave.apps.told.five_pictures import picture_data
from graspwave.apps.told.scenes import link_words, read_address, scene_to_address
from graspwave.apps.told.words import LANGUAGES, asked_words, catalogue, label, labels, picture_words, therapist_line
from graspwave.apps.web.source import component, sheet

__all__ = ["ExplainView", "explain", "first", "page_data"]

_FIRST = "stiff"
"""The hand of a visit without a scene: one that is seen to open, and that more current closes again."""


class ExplainView(pn.custom.JSComponent):
    """Pictures, words and the sheet. `ask` comes from the page; `sheet_html` in its frame and `sheet_file` to keep answer it.

    While `late`, picture and words are those of older settings and are dimmed; `trouble` says what was wrong with the link.
    """

    data = param.Dict(default={})
    ask = param.Dict(default={"n": 0, "paper": "a4", "size": "normal", "language": "en", "side": "left"})
    sheet_html = param.String(default="")
    sheet_file = param.String(default="")
    late = param.Boolean(default=False)
    trouble = param.String(default="")

    _esm: ClassVar[str] = component("explain/page.js")
    _stylesheets: ClassVar[list[str]] = [sheet("web/shared.css"), sheet("explain/page.css")]


def page_data(scene: sim.Scene, language: str) -> dict[str, Any]:
    """All that the page shows of a scene."""
    said = told(scene)
    return {
        "language": language,
        "languages": LANGUAGES,
        "labels": labels(language),
        "pictures": [
            {"key": p.key, "title": p.title, "lines": list(p.lines), "seen": p.seen, "tried": p.tried}
            for p in picture_words(said, language)
        ],
        "asked": [{"title": question, "lines": list(lines)} for question, lines in asked_words(language).values()],
        "drawing": picture_data(scene, language),
    }


def _notice_items(state: DeskState, language: str) -> list[dict[str, str]]:
    """Limits that are close or passed, and what was refused, for the therapist."""
    if state.message:
        return [{"kind": "over", "strong": label(language, "refused") if state.refused else "", "text": state.message}]
    return [
        {"kind": n.kind, "text": f"{n.said.told(language)} ({n.mark_in(language)})"} for n in state.notices if n.kind != "inside"
    ]


def _first_words(data: dict[str, Any]) -> str:
    """The first picture in words."""
    picture = data["pictures"][0]
    return " ".join([picture["title"] + ".", *picture["lines"]])


def _language(asked: Callable[[str], str]) -> str:
    """The language that an address asks for; the first where there is none such."""
    language = asked("lang")
    return language if language in LANGUAGES else next(iter(LANGUAGES))


def first(asked: Callable[[str], str]) -> tuple[str, str]:
    """Language of the page that an address asks for, and what it says until its picture is drawn."""
    given, language = asked("s"), _language(asked)
    scene = read_address(given)[0] if given else None
    return language, _first_words(page_data(scene or sim.presets()[_FIRST], language))


def explain() -> Any:
    """A new page for one visitor."""
    given, language = asked("s"), _language(asked)
    scene, why = read_address(given) if given else (None, "")
    state = DeskState(scene or sim.presets()[_FIRST])
    if why:
        state.message = link_words(why, state.scene, _FIRST)

    view = ExplainView(
        data=page_data(state.scene, language),
        ask={"n": 0, "paper": "a4", "size": "normal", "language": language, "side": "left"},
        trouble=state.message, sizing_mode="stretch_both", margin=0,
    )
    limits = Notices(_notice_items(state, language), empty="Inside the published limits.")
    drawn = Finding(text=therapist_line(state.scene, told(state.scene), language))
    address = Address(s=scene_to_address(state.scene) if given else "", at_once=True, width=0, height=0, margin=0)

    def answer(*_: object) -> None:
        # a sheet is only made once it is asked for
        ask = view.ask
        if ask.get("n") and ask.get("paper") in PAPERS and ask.get("language") in LANGUAGES:
            shown, kept = (sheet_html(
                state.scene, language=ask["language"], paper=ask["paper"], large=ask.get("size") == "large", served=served,
                side="right" if ask.get("side") == "right" else "left",
            ) for served in (True, False))
            view.param.update(sheet_html=shown, sheet_file=kept)

    def work(scene: sim.Scene) -> tuple[dict[str, Any], str]:
        return page_data(scene, language), therapist_line(scene, told(scene), language)

    def show(found: tuple[dict[str, Any], str]) -> None:
        view.data, drawn.text = found

    look = Aside(work, show, lambda late: setattr(view, "late", late))

    def follow(*_: object) -> None:
        look(state.scene)
        limits.show(_notice_items(state, language))
        view.trouble = "" if state.refused else state.message
        address.s = scene_to_address(state.scene)
        answer()

    state.param.watch(follow, ["scene", "message"])
    view.param.watch(answer, "ask")

    words = catalogue(language)
    template = page_template(
        "explain", words["label"]["explain"], pages=PAGES, language=language,
        words={"settings": words["label"]["therapist"], **words.get("frame", {})},
        languages=tuple(LANGUAGES.items()), caution=notices.plain_caution_html(language),
        cautions=notices.plain_cautions_html(language),
        first=_first_words(view.data),
    )
    template.add_panel("stage", view)
    template.add_panel("now", CurrentView(state))
    template.add_panel("settings", pn.Column(
        drawn, limits, SettingsView(state), Answered(), address, sizing_mode="stretch_width", margin=0, styles={"gap": "14px"}))
    return template
