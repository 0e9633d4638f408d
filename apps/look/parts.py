"""What every page is framed with: the words, variables and template parts that the app's frame and the plain pages share."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

from graspwave.apps import notices
from graspwave.apps.look.pages import PAGES
from graspwave.apps.web import tokens
from graspwave.apps.web.source import sheet, stamp

__all__ = ["PARTS", "STATIC", "WORDS", "frame_variables"]

_HERE = Path(__file__).parent
STATIC = _HERE / "static"

PARTS = (_HERE / "parts.html").read_text(encoding="utf-8")
"""Template macros: ``page_head``, ``brand``, ``links``, ``aa_menu`` and ``caution_foot``."""

WORDS: Mapping[str, str] = {
    "pages": "Pages", "settings": "Settings", "close": "Close", "cautions": "Cautions", "caution_list": "List of cautions",
    "look": "Aa, how the page looks", "look_group": "How the page looks", "theme": "Theme", "system": "as device",
    "light": "light", "dark": "dark", "size": "Text size", "normal": "normal", "large": "large", "larger": "larger",
    "skin": "Skin tone", "clay": "clay", "sand": "sand", "umber": "umber", "deep": "deep", "side": "Arm shown",
    "left": "left", "right": "right", "motion": "Motion", "full": "full", "less": "less",
    **dict(PAGES),
}
"""Words of the frame in English; a page in another language gives its own."""


def frame_variables(
    page: str,
    title: str,
    *,
    pages: Iterable[tuple[str, str]] = PAGES,
    words: Mapping[str, str] | None = None,
    language: str = "en",
    caution: str = "",
    cautions: str = "",
    up: str = "",
) -> dict[str, Any]:
    """Return what the macros in `PARTS` read.

    Parameters
    ----------
    page, title, pages, words, language, caution, cautions
        As in `apps.look.frame.page_template`.
    up
        What leads from the page's address to the top, before every link: ``""`` for a page at the top, else ``"/"``.
    """
    return {
        "page": page, "page_title": title, "pages": list(pages), "words": {**WORDS, **(words or {})}, "language": language,
        "caution": caution or notices.caution_html(), "cautions": cautions or notices.cautions_html(3),
        "token_css": tokens.css() + sheet("web/shared.css"), "mark_svg": (STATIC / "mark.svg").read_text(encoding="utf-8"),
        "web": f"web/{stamp()}", "up": up,
    }
