"""Reading grade: the formula of Kincaid, Fishburne, Rogers and Chissom 1975 and the first Wiener Sachtextformel.

Kincaid 1975, Research Branch Report 8-75: grade = 0.39 words/sentences + 11.8 syllables/words - 15.59 (coefficients from
later accounts, published). Worked sentences with their counts: memory hi. Bamberger, Vanecek 1984, Lesen, Verstehen, Lernen,
Schreiben: WSTF 1 = 0.1935 MS + 0.1672 SL + 0.1297 IW - 0.0327 ES - 0.875 (memory hi).
"""

from __future__ import annotations

from collections.abc import Callable

import pytest
from record import Rows

from graspwave.lessons import readability

PART = "Words"

# text, sentences, words, syllables counted by hand, grade worked from the counts by hand and rounded to a tenth
KINCAID = (
    ("The cat sat on the mat.", 1, 6, 6, -1.5),
    ("This sentence, taken as a reading passage unto itself, is being used to prove a point.", 1, 16, 23, 7.6),
    ("Small taps of current go through the skin. They wake a nerve in your arm.", 2, 15, 16, -0.1),
)
ROUNDED = 0.06
"""Half of the last digit written, and a little for the last digit of the coefficients."""


COUNTED = (1, 13, 24, 11.3)
"""A sentence often quoted with the grade that its counts give (sentences, words, syllables, grade)."""


def wrong(formula: Callable[[float, float, float], float]) -> list[str]:
    """The texts whose counts or grade are not as worked by hand."""
    found = [] if abs(formula(*COUNTED[:3]) - COUNTED[3]) <= ROUNDED else ["the counted one"]
    for text, sentences, words, syllables, grade in KINCAID:
        found_words = readability.words(text)
        counted = (len(readability.sentences(text)), len(found_words), sum(map(readability.syllables, found_words)))
        if counted != (sentences, words, syllables) or abs(formula(*counted) - grade) > ROUNDED:
            found.append(text)
    return found


def test_grade_is_that_of_kincaid_1975(row: Rows) -> None:
    assert wrong(readability.kincaid_grade) == []
    for text, sentences, words, syllables, grade in KINCAID:
        row(f"grade of: {text}", readability.kincaid_grade(sentences, words, syllables), grade - ROUNDED, grade + ROUNDED,
            published=grade, unit="grade", mark="memory hi", source="kincaid-1975")


def test_another_formula_would_be_found() -> None:
    # the reading ease of the same authors' report, and the grade with its two ratios exchanged
    assert len(wrong(lambda s, w, y: 206.835 - 1.015 * w / s - 84.6 * y / w)) == len(KINCAID) + 1
    assert wrong(lambda s, w, y: 0.39 * y / w + 11.8 * w / s - 15.59)


def off_vienna(formula: Callable[[float, float, float, float], float]) -> bool:
    """Whether a formula misses the value worked by hand: 20 % long words, 10 words a sentence, 30 % over six, 40 % single."""
    return abs(formula(20.0, 10.0, 30.0, 40.0) - (3.87 + 1.672 + 3.891 - 1.308 - 0.875)) > 1e-9


def test_german_grade_is_that_of_bamberger_and_vanecek_1984() -> None:
    assert not off_vienna(readability.vienna_grade)


def test_the_second_vienna_formula_would_be_found() -> None:
    assert off_vienna(lambda ms, sl, iw, es: 0.2007 * ms + 0.1682 * sl + 0.1373 * iw - 2.779)


@pytest.mark.parametrize(
    ("word", "count"),
    [("therapist", 3), ("muscle", 2), ("pulse", 1), ("opened", 2), ("hopes", 1), ("pads", 1), ("minutes", 2), ("people", 2),
     ("30", 2), ("75", 4), ("120", 6), ("0", 2), ("places", 2), ("tables", 2), ("smaller", 2), ("practise", 2), ("quiet", 2)],
)
def test_english_syllables(word: str, count: int) -> None:
    assert readability.syllables(word) == count


@pytest.mark.parametrize(
    ("word", "count"),
    [("Praxis", 2), ("Hand", 1), ("Ellbogen", 3), ("zweieinhalb", 3), ("Seiten", 2), ("Knie", 1), ("Bäume", 2), ("30", 2),
     ("75", 4)],
)
def test_german_syllables(word: str, count: int) -> None:
    assert readability.german_syllables(word) == count


def test_a_text_without_words_is_refused() -> None:
    with pytest.raises(ValueError, match=r"^'text' must be at least one word \(got '\.\.\.'\): give a sentence$"):
        readability.grade("...")
