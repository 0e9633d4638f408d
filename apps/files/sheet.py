"""The page to take home: a sheet of paper with two sides, two sheets in large print, as HTML that needs nothing else.

The current and the minutes are blanks: a scene's own are not a setting for anyone, so they never reach the paper. Nor do a
scene's title and story, which might name a person.
"""

from __future__ import annotations

import datetime
import json

from markupsafe import Markup

from graspwave import simulator as sim
from graspwave.apps import notices
from graspwave.apps.files.one_file import as_url, modules_inside
from graspwave.apps.files.templates import render
from graspwave.apps.told.account import told
from graspwave.apps.told.five_pictures import picture_data
from graspwave.apps.told.words import (
    asked_words,
    catalogue,
    date_words,
    label,
    notice_lines,
    picture_words,
    say,
    sheet_steps,
)
from graspwave.apps.web.source import address

__all__ = ["PAPERS", "sheet_html", "sheet_text"]

PAPERS = {"a4": ("A4", 210.0, 297.0), "letter": ("Letter", 215.9, 279.4)}
"""Name for the printer, width and height in mm."""

_ASKED = ("hurt", "helps", "days", "alone", "claw", "pads", "rings", "stop", "call")
_FIRST = {False: ("stop", "call"), True: ("stop",)}
"""Answers that have room on the first page, in normal and in large print."""

_MARGIN_MM = 11.0
_SCRIPT = "files/sheet.js"
_FONT = "look/static/fonts/atkinson-hyperlegible-next-latin-wght-normal.woff2"


def sheet_text(scene: sim.Scene, language: str = "en") -> dict[str, tuple[str, ...]]:
    """Every sentence of the sheet, by part; what is graded and what is printed are the same."""
    said = told(scene)
    pictures = {p.key: p.lines for p in picture_words(said, language)}
    plain = notices.PLAIN[language]
    return {
        "notice": notice_lines(said, language),
        "pads": pictures["pads"],
        "when": pictures["when"],
        "steps": sheet_steps(said, language),
        "normal": _say(language, "sheet_tingle", "sheet_pink", "sheet_tired", "feel_hurt"),
        "stop": _say(language, "sheet_stop_hurt", "sheet_stop_skin", "sheet_stop_dizzy"),
        "then": _say(language, "sheet_off", "sheet_call"),
        "log": _say(language, "sheet_tick", "sheet_pain", "sheet_scale"),
        "safe": plain.short,
        "caution": (plain.first, plain.rest),
    }


def _pages(large: bool, *, noticed: bool) -> tuple[tuple[str | tuple[str, ...], ...], ...]:
    """Parts of each page: when to stop is on the first, the week's log on the second; a tuple of keys is answers."""
    first = () if large and noticed else (_FIRST[large],)
    rest = tuple(key for key in _ASKED if not first or key not in first[0])
    if not large:
        return ("head", "notice", "pictures", "body", *first, "safe"), ("tries", "week", rest)
    return ("head", "notice", "stop", "steps", *first), ("tries", "week"), ("pictures", "feel", "safe"), (rest,)


def _say(language: str, *keys: str) -> tuple[str, ...]:
    return tuple(say(language, key) for key in keys)


def sheet_html(
    scene: sim.Scene, *, language: str = "en", paper: str = "a4", large: bool = False, side: str = "left",
    today: datetime.date | None = None, served: bool = False,
) -> str:
    """The sheet as one HTML file that asks for nothing from outside.

    Parameters
    ----------
    scene : Scene
    language : str
        One of `words.LANGUAGES`.
    paper : str
        ``a4`` or ``letter``.
    large : bool
        Large print, on four pages.
    side : str
        ``left`` or ``right``: the arm that is drawn.
    today : date, optional
        Date on the sheet; today's where not given.
    served : bool
        For a frame in a page of the server: modules and font come from there, as the page's content policy wants.

    Raises
    ------
    ValueError
        An unknown language, paper or side.
    """
    if paper not in PAPERS:
        raise ValueError(f"'paper' must be one of {', '.join(PAPERS)} (got {paper!r}). Choose one of them.")
    if side not in ("left", "right"):
        raise ValueError(f"'side' must be left or right (got {side!r}). Choose one of them.")
    said, text = told(scene), sheet_text(scene, language)
    name, width, height = PAPERS[paper]
    modules, loader = (Markup(), "") if served else modules_inside(_SCRIPT)
    return render(
        "sheet.html", language=language, large=large, pages=_pages(large, noticed=said.noticed),
        text=text, objects=catalogue(language)["objects"],
        said=said, side=side, asked=asked_words(language),
        seen={p.key: p for p in picture_words(said, language)}, days=catalogue(language)["meta"]["days"],
        label=lambda key, **values: label(language, key, **values), date=date_words(language, today or datetime.date.today()),
        paper=name, margin_mm=f"{_MARGIN_MM:g}", width_mm=f"{width - 2 * _MARGIN_MM:.1f}",
        height_mm=f"{height - 2 * _MARGIN_MM - 1.5:.1f}", font=Markup(_font(served)),
        served=served, script=address(_SCRIPT), modules=modules, loader=Markup(loader),
        data=Markup(json.dumps(picture_data(scene, language, movement=False)).replace("</", "<\\/")),
    )


def _font(served: bool) -> str:
    where = address(_FONT) if served else as_url(_FONT)
    return f'@font-face{{font-family:"Atkinson Hyperlegible Next";font-weight:200 800;src:url({where}) format("woff2")}}'
