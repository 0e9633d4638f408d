"""What a page will ask for as it is built, worked out in a thread before: building holds a thread, computing need not.

Of it come the words that a page says in the place of its picture until that is there. Stage ``apps``.
"""

from __future__ import annotations

import contextlib
from collections.abc import Callable
from dataclasses import dataclass

from graspwave.apps.explain import page as explain
from graspwave.apps.explore import page as explore
from graspwave.apps.practise import page as practise

__all__ = ["Coming", "work_ahead"]

_FIRST: dict[str, Callable[[Callable[[str], str]], tuple[str, str]]] = {
    "/explore": explore.first, "/practise": practise.first, "/explain": explain.first,
}


@dataclass(frozen=True, slots=True)
class Coming:
    """A page that was asked for.

    Parameters
    ----------
    kind : tuple of str
        Its address and language: pages of one kind have the same frame.
    words : str
        What it says until its picture is there.
    """

    kind: tuple[str, str]
    words: str


def work_ahead(path: str, asked: Callable[[str], str]) -> Coming | None:
    """Fill what is remembered of the scene in an address.

    Parameters
    ----------
    path : str
        The page's address.
    asked : callable
        A value of the address by its name, empty where it is not given.

    Returns
    -------
    Coming or None
        None where something cannot be worked out: the page itself tells that.
    """
    path = path.rstrip("/")
    with contextlib.suppress(Exception):
        language, words = _FIRST[path](asked)
        return Coming((path, language), words)
    return None
