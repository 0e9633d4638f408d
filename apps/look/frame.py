"""The frame of a page: header, areas, the current slider, the caution line and the `Aa` menu."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import cache
from pathlib import Path
from typing import Any, ClassVar

import panel as pn
from panel.models.esm import ReactiveESM
from panel.theme import Design, Theme

from graspwave.apps import notices
from graspwave.apps.look.pages import PAGES
from graspwave.apps.look.parts import PARTS, WORDS, frame_variables
from graspwave.apps.web import tokens
from graspwave.apps.web.source import address, early_modules

__all__ = ["AREAS", "WORDS", "page_template", "session_theme"]

_HERE = Path(__file__).parent

# Components ask for their modules through a loader for browsers that know no import maps, which nobody here uses: 40 kB that each
# page would read before it draws. The frame gives the browser's own import in its place.
ReactiveESM.__javascript_raw__ = []


class _NoLook(Theme):
    """No colours but those of the page's own style sheet."""

    _name: ClassVar[str] = "default"


class _NoDesign(Design):
    """No style sheets of the framework's for widgets that no page has: each part would link two of them."""

    _themes: ClassVar[dict[str, type[Theme]]] = {"default": _NoLook, "dark": _NoLook}


pn.config.design = _NoDesign

# Roots that the Explore frame knows, in the order of reading: cause first, then effect.
AREAS = ("now", "settings", "hand", "finding", "curve", "thread", "time", "notices", "actions")


@cache
def _frame_text() -> Any:
    """The frame's text as the framework reads it, once for all pages."""
    return pn.Template((_HERE / "frame.html").read_text(encoding="utf-8") + PARTS).template


class _Frame(pn.Template):
    """The framework's, without the long text about all its parts that it would write again with each of them."""

    def __repr__(self) -> str:
        return "page"


def session_theme() -> tokens.Theme:
    """Return the theme this visitor used last, so that figures are first drawn in it; ``"light"`` if unknown."""
    cookies = pn.state.cookies or {}
    return "dark" if cookies.get("gw_theme") == "dark" else "light"


def page_template(
    page: str = "explore",
    title: str = "Explore",
    *,
    pages: Iterable[tuple[str, str]] = PAGES,
    labels: dict[str, str] | None = None,
    tabs: Mapping[str, str] | None = None,
    words: Mapping[str, str] | None = None,
    language: str = "en",
    languages: Iterable[tuple[str, str]] = (),
    caution: str = "",
    cautions: str = "",
    first: str = "",
) -> pn.Template:
    """Return the frame of one page, to be filled with ``add_panel(root, view)``.

    Parameters
    ----------
    page
        Key of this page in `pages`; also a class name on ``<body>``.
    title
        The page's h1 and the first part of the window title.
    pages
        Pages that exist, as (address, name). With only one, the phone shows no page list.
    labels
        Headings of the areas by root name, where the default does not fit.
    tabs
        Short words for the areas on a phone, where the default does not fit.
    words
        Words of the frame in another language, keyed as `WORDS`.
    language
        Code of the page's language.
    languages
        Languages to choose from, as (code, name); with none there is no switch.
    caution, cautions
        The caution line and the list as HTML; the professional wording where not given.
    first
        What the page says in the place of its picture until that has come.

    Returns
    -------
    panel.Template
        Roots: the names in `AREAS`, or one ``stage`` that fills the page, with ``now`` and ``settings`` in a drawer. A root
        that is not added leaves no empty area behind.
    """
    known = list(pages)
    if page not in [key for key, _ in known]:
        raise ValueError(f"'page' must be a key of 'pages' (got {page!r}). Add ({page!r}, name) to 'pages'.")
    heads = {
        "settings": "Settings",
        "hand": "Hand",
        "curve": "Opening against current",
        "thread": "The chain, from current to opening",
        "time": "Current over time",
        "notices": "Notices",
    }
    unknown = set(labels or {}) - set(heads)
    if unknown:
        got = ", ".join(sorted(unknown))
        raise ValueError(f"'labels' must be keyed by {', '.join(heads)} (got {got}). Rename them.")
    template = _Frame(_frame_text())
    shared = frame_variables(
        page, title, pages=known, words=words, language=language, caution=caution, cautions=cautions,
    )
    for name, value in {
        **shared,
        "early": [address(path, "") for path in early_modules(page)],
        "heads": {**heads, **(labels or {})},
        "tones": list(tokens.SKIN),
        "tabs": {"curve": "Curve", "thread": "Chain", "time": "Time", "notices": "Notices", **(tabs or {})},
        "cautions_full": notices.cautions_html(3),
        "languages": list(languages),
        "first": first,
        # Named so that the base page does not add its own icons.
        "apple_icon": "",
        "app_favicon": "",
    }.items():
        template.add_variable(name, value)
    return template
