"""How hard a text is to read, by published formulas. They count length, not sense: a person must read it too.

English: grade = 0.39 words/sentences + 11.8 syllables/words - 15.59 (Kincaid, Fishburne, Rogers, Chissom 1975, Derivation
of new readability formulas for Navy enlisted personnel, Research Branch Report 8-75).

German: the first Wiener Sachtextformel, 0.1935 MS + 0.1672 SL + 0.1297 IW - 0.0327 ES - 0.875, a school grade, with MS the
percentage of words of three syllables and more, SL words a sentence, IW the percentage of words of more than six letters,
ES the percentage of words of one syllable (Bamberger, Vanecek 1984, Lesen, Verstehen, Lernen, Schreiben).
"""

from __future__ import annotations

import re

__all__ = [
    "HIGHEST_GRADE", "german_grade", "german_syllables", "grade", "kincaid_grade", "sentences", "syllables",
    "vienna_grade", "words",
]

HIGHEST_GRADE = {"en": 6.0, "de": 6.0}
"""English: of every sentence. German: of every picture and every part of the sheet, which is what its formula is for."""

_WORD = re.compile(r"[^\W\d_]+(?:['’][^\W\d_]+)*|\d+")

# Words that the rules below miscount.
_KNOWN = {
    "area": 3, "being": 2, "create": 2, "diet": 2, "doesn't": 2, "every": 2, "fuel": 2, "idea": 3, "isn't": 2, "people": 2,
    "science": 2, "something": 2, "sometimes": 2, "someone": 2, "somewhere": 2, "therapist": 3, "pacemaker": 3, "maybe": 2,
    "evening": 2, "quiet": 2, "reliant": 3, "reptilian": 4, "seemingly": 3, "usual": 3, "used": 1, "area's": 3, "business": 2,
}


def sentences(text: str) -> list[str]:
    """Sentences of a text, each with its own end sign."""
    return [part.strip() for part in re.findall(r"[^.!?]+[.!?]+|[^.!?]+$", text) if words(part)]


def words(text: str) -> list[str]:
    """Words and whole numbers of a text."""
    return _WORD.findall(text)


def syllables(word: str) -> int:
    """Syllables of an English word: groups of vowels, less silent endings."""
    w = word.lower().replace("’", "'")
    if w.isdigit():
        return _number_syllables(int(w), {0: 2, 7: 2, 11: 3, 17: 3, 70: 3}, 1, hundred=2)
    if w in _KNOWN:
        return _KNOWN[w]
    w = w.removesuffix("'s")
    count = len(re.findall(r"[aeiouy]+", w))
    if re.search(r"[^aeiouyl]e$|[^aeiouy]es$|[aeiouy]le$|[^aeiouydt]ed$", w) and not re.search(r"(?:[sxz]|[cs]h|[cg])es$", w):
        count -= 1  # hope, hopes, whole, hoped
    if re.search(r"[^aeiouy]les$", w):
        count += 1  # tables
    count += len(re.findall(r"i[ao](?!u)|[aeiou]ing|uo|ie[tn]", w)) - len(re.findall(r"[ctgs]i[ao]n?", w))
    return max(count, 1)


def _number_syllables(n: int, odd: dict[int, int], joint: int, *, hundred: int) -> int:
    """Syllables of a whole number said aloud; `joint` is what stands between hundreds or tens and the rest."""
    if n in odd:
        return odd[n]
    if n < 13:
        return 1
    if n < 20 or (n < 100 and n % 10 == 0):
        return 2
    if n < 100:
        between = joint - 1  # "und" in German, nothing in English
        return sum(_number_syllables(part, odd, joint, hundred=hundred) for part in (n - n % 10, n % 10)) + between
    unit = 100 if n < 1000 else 1000
    first, rest = divmod(n, unit)
    count = _number_syllables(first, odd, joint, hundred=hundred) + hundred
    return count + (1 + _number_syllables(rest, odd, joint, hundred=hundred) if rest else 0)


def german_syllables(word: str) -> int:
    """Syllables of a German word: groups of vowels, with its double vowels taken as one."""
    w = word.lower()
    if w.isdigit():
        return _number_syllables(int(w), {7: 2, 17: 2}, 2, hundred=2)
    return max(len(re.findall(r"aa|ee|oo|ie|ei|ai|au|äu|eu|oi|[aeiouyäöü]", w)), 1)


def kincaid_grade(n_sentences: float, n_words: float, n_syllables: float) -> float:
    """The formula of Kincaid 1975 on counts."""
    return 0.39 * n_words / n_sentences + 11.8 * n_syllables / n_words - 15.59


def vienna_grade(long_percent: float, words_a_sentence: float, over_six_percent: float, single_percent: float) -> float:
    """The first formula of Bamberger and Vanecek 1984 on its four measures."""
    return 0.1935 * long_percent + 0.1672 * words_a_sentence + 0.1297 * over_six_percent - 0.0327 * single_percent - 0.875


def grade(text: str) -> float:
    """School grade of an English text.

    Raises
    ------
    ValueError
        There is no word in it.
    """
    found = _some_words(text)
    return kincaid_grade(len(sentences(text)), len(found), sum(map(syllables, found)))


def german_grade(text: str) -> float:
    """School grade of a German text; meant for some sentences together, a single one gives a rough value.

    Raises
    ------
    ValueError
        There is no word in it.
    """
    found = _some_words(text)
    counts = [german_syllables(word) for word in found]
    share = 100.0 / len(found)
    return vienna_grade(
        share * sum(n >= 3 for n in counts), len(found) / len(sentences(text)),
        share * sum(len(word) > 6 for word in found), share * sum(n == 1 for n in counts),
    )


def _some_words(text: str) -> list[str]:
    found = words(text)
    if not found:
        raise ValueError(f"'text' must be at least one word (got {text[:40]!r}): give a sentence")
    return found
