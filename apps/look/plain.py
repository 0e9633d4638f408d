"""Plain pages in the same frame: HTML and modules of the page's own, with nothing kept on the server behind them."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from pathlib import Path

from jinja2 import Environment, Template

from graspwave.apps.look.parts import PARTS, frame_variables
from graspwave.apps.web.source import address

__all__ = ["plain_page", "sheets", "step_sheets"]

_HERE = Path(__file__).parent


def sheets(*more: str) -> list[str]:
    """Addresses of the style sheet of all plain pages, and of some more by their path."""
    return [address(path) for path in ("web/teach.css", *more)]


def step_sheets(*more: str) -> list[str]:
    """The same for a page that shows a step of a lesson: sliders and pictures come first, what the page itself has last."""
    return [address("web/range.css"), address("web/draw.css"), *sheets("web/step.css", "web/question.css", *more)]


def plain_page(
    page: str,
    title: str,
    body: str,
    scripts: Sequence[str] = (),
    css: Sequence[str] = (),
    bare: bool = False,
    *,
    bar: str = "",
    actions: str = "",
    window_title: str = "",
) -> str:
    """Return a whole HTML page in the frame of the others: header, links, `Aa` menu, caution line and list.

    Parameters
    ----------
    page
        Key of the page in ``PAGES`` whose link is marked.
    title
        The page's h1.
    body
        HTML inside ``<main>``; whoever calls has escaped what came from people.
    scripts, css
        Addresses of the page's modules and style sheets.
    bare
        Leave out the links to the other pages.
    bar, actions
        HTML for the header: after the links, and before the `Aa` button.
    window_title
        First part of the window title where it should say more than the h1.
    """
    return _template().render(
        **frame_variables(page, title, up="/"), body=body, scripts=list(scripts), css=list(css), bare=bare, bar=bar,
        actions=actions, window_title=window_title,
    )


@cache
def _template() -> Template:
    # Not escaped by itself, as the frame of the other pages is not: words are escaped where they are put in.
    text = PARTS + (_HERE / "plain.html").read_text(encoding="utf-8")
    return Environment(autoescape=False, trim_blocks=True).from_string(text)
