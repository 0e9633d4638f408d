"""Words that a lesson explains, marked in its HTML; the browser tells their meaning and the trade's word. Stage ``apps``."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from functools import cache
from html import escape
from typing import Any

from graspwave import lessons

__all__ = ["mark_words", "said_of_trade"]

_TAG = re.compile(r"(<[^>]+>)")
_CLOSED = ("a", "code", "pre")
_PARTS = ("look", "answer")


def said_of_trade(text: str) -> set[str]:
    """Terms of the glossary that plain words of a text stand for."""
    return {entry.term for plain, entry in lessons.trade().items() if re.search(rf"\b{re.escape(plain)}\b", text, re.IGNORECASE)}


def mark_words(steps: Iterable[dict[str, Any]], glossary: Mapping[str, str]) -> None:
    """Mark words in the texts of compiled steps, in place.

    What a word means comes with the first use in every text; the trade's own word with every use, ``data-first`` with the
    first in the lesson.

    Parameters
    ----------
    steps : iterable of dict
    glossary : mapping of str to str
        Terms of the lesson with their meaning.
    """
    met: set[str] = set()
    for step in steps:
        step["html"] = _marked(step["html"], glossary, met)
        for part in _PARTS:
            if step.get(part):
                step[part]["html"] = _marked(step[part]["html"], glossary, met)


@cache
def _words(terms: tuple[str, ...]) -> tuple[re.Pattern[str], dict[str, tuple[str, str]]]:
    """A pattern of all words that may be marked, the longest first, and by word its term and the trade's own word."""
    known = {term.casefold(): (term, "") for term in terms}
    known |= {f"{term.casefold()}s": (term, "") for term in terms}
    known |= {plain.casefold(): (entry.term, entry.word) for plain, entry in lessons.trade().items() if entry.term in terms}
    longest = sorted(known, key=len, reverse=True)
    return re.compile(r"\b(?:" + "|".join(re.escape(word) for word in longest) + r")\b", re.IGNORECASE), known


def _marked(html: str, glossary: Mapping[str, str], met: set[str]) -> str:
    if not glossary:
        return html
    pattern, known = _words(tuple(glossary))
    here: set[str] = set()

    def mark(found: re.Match[str]) -> str:
        word = found[0]
        term, trade = known[word.casefold()]
        if term in here and not trade:
            return word
        first = trade and trade not in met
        attributes = "" if term in here else f' data-term="{escape(term)}"'
        attributes += f' data-trade="{escape(trade)}"' if trade else ""
        here.add(term)
        met.add(trade)
        return f'<span class="tw"{attributes}{" data-first" if first else ""}>{word}</span>'

    parts, within = _TAG.split(html), 0
    for i, part in enumerate(parts):
        if _TAG.fullmatch(part):
            name = part.strip("</>").split()[0] if part.strip("</>") else ""
            within += (name in _CLOSED) * (-1 if part.startswith("</") else 1)
        elif not within:
            parts[i] = pattern.sub(mark, part)
    return "".join(parts)
