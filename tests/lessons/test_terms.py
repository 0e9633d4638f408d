"""The glossary and the wrong ideas: short and plain."""

from __future__ import annotations

import pytest

from graspwave import lessons
from graspwave.lessons.readability import words

MOST_WORDS = 20
HIGHEST_GRADE = 7.0
ENTRIES = {**{f"term {key}": text for key, text in lessons.glossary().items()}, **lessons.misconceptions()}


def too_hard(text: str) -> bool:
    return len(words(text)) > MOST_WORDS or lessons.grade(text) > HIGHEST_GRADE


def test_every_entry_is_short_and_plain() -> None:
    assert [key for key, text in ENTRIES.items() if too_hard(text)] == []


@pytest.mark.parametrize("text", ["Electrical impulses facilitate muscular activity.", "Short taps of it. " * 6])
def test_a_hard_or_long_entry_would_be_found(text: str) -> None:
    assert too_hard(text)


def test_wrong_ideas_are_numbered() -> None:
    assert list(lessons.misconceptions()) == [f"M{n}" for n in range(1, len(lessons.misconceptions()) + 1)]


def test_entries_are_sentences_and_none_stands_twice() -> None:
    assert all(text.endswith(".") and text[0].isupper() for text in ENTRIES.values())
    assert len(set(ENTRIES.values())) == len(ENTRIES)
    assert len(lessons.glossary()) >= 38
