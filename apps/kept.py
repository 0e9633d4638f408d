"""Pages as HTML, kept from the first visitor for all who come after: what is in a page comes by its line.

To answer with a page nothing needs to be built then: its session is made when its line opens (`shield._Line`), so that whoever
asks for pages and opens no line costs next to nothing. Of two pages of one kind only the session's name and the words that stand
in the place of the picture differ; the places of its views are told by their order, which is the same in both. Stage ``apps``.
"""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import dataclass

from markupsafe import escape

from graspwave.apps.ahead import Coming

__all__ = ["Kept", "Refused"]


@dataclass(frozen=True, slots=True)
class _Page:
    html: str
    token: str
    words: str


class Kept:
    """Pages of all kinds that were written once."""

    def __init__(self) -> None:
        self._pages: dict[tuple[str, str], _Page] = {}

    def keep(self, coming: Coming, html: str, token: str) -> bool:
        """Keep a page that was written for a visitor; false where another visitor's cannot be made of it."""
        words = _placed(coming.words)
        if html.count(token) != 1 or html.count(words) != 1:
            return False
        self._pages[coming.kind] = _Page(html, token, words)
        return True

    def page(self, coming: Coming, token: str) -> str | None:
        """The page for another visitor; none where none of its kind was kept."""
        page = self._pages.get(coming.kind)
        return None if page is None else page.html.replace(page.words, _placed(coming.words)).replace(page.token, token)


def _placed(words: str) -> str:
    """The words as they stand in the frame."""
    return f'<p class="coming">{escape(words)}</p>'


class Refused:
    """Addresses whose page could not be built when its line opened: the next time it is built before it is answered.

    Parameters
    ----------
    most : int
        So many are remembered, the last ones.
    """

    def __init__(self, most: int = 64) -> None:
        self._most, self._addresses = most, OrderedDict[tuple[str, str], None]()

    def add(self, path: str, query: str) -> None:
        """Remember one."""
        self._addresses[path.rstrip("/"), query] = None
        while len(self._addresses) > self._most:
            self._addresses.popitem(last=False)

    def __contains__(self, address: tuple[str, str]) -> bool:
        path, query = address
        return (path.rstrip("/"), query) in self._addresses
