"""What the page of checks is made of: rows that the reference tests made, every number of the model, what unpublished ones do."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from graspwave.apps.told.mark_words import MARK_WORDS
from graspwave.apps.told.nerve_studies import NAMES
from graspwave.simulator.facts import Fact, Source, all_facts, source_records

__all__ = [
    "KINDS", "Claim", "Effect", "Row", "cited", "claims", "effects", "fact_words", "kind_of", "limits", "rows", "widest_mm",
]

KINDS = ("published", "recalled", "worked out", "common practice", "made up")
"""Where a number comes from, in the five words that the page sorts by."""

_PARTS = {
    "architecture": "muscle", "axon": "axon", "clearing": "clearing an object", "conductor": "forearm's tissues", "dose": "dose",
    "effort": "own effort", "hand": "hand", "muscle": "force and tiring", "pages": "what is told as a change",
    "practice": "practice",
    "reach": "reach", "readying": "getting ready", "recruitment": "nerve branches", "sensation": "feeling", "settings": "setting",
}
_WORDS = {
    "able": "able hand", "mcp": "base joint (MCP)", "pip": "middle joint (PIP)", "dip": "end joint (DIP)",
    "cmc": "thumb base (CMC)",
    "ip": "thumb end (IP)", "deg": "", "mm": "", "ma": "", "ms": "", "us": "", "n": "", "nmm": "", "rad": "", "cm2": "", "hz": "",
    "s": "", "v": "", "m": "", "uc": "", "cm": "", "per": "per", "int": "small muscles (intrinsics)",
    "intrinsics": "small muscles (intrinsics)", "flexor": "closer", "extensor": "opener",
}


@dataclass(frozen=True, slots=True)
class Row:
    """One number of ours beside a published one, as a reference test made it.

    Attributes
    ----------
    part, what, unit, mark, source, note, test : str
    ours, published : float or str or None
        A finding in words is a string.
    low, high : float or None
        The band; None where it has no end.
    met : bool
        Whether ours lies inside; a known miss does not.
    """

    part: str
    what: str
    ours: float | str
    low: float | None
    high: float | None
    published: float | str | None
    unit: str
    mark: str
    source: str
    met: bool
    note: str
    test: str


@dataclass(frozen=True, slots=True)
class Claim:
    """One number of the model, in words.

    Attributes
    ----------
    what, value, kind, mark, citation, note : str
    """

    name: str
    what: str
    value: str
    kind: str
    mark: str
    citation: str
    note: str


@dataclass(frozen=True, slots=True)
class Effect:
    """What an unpublished number does to the widest opening.

    Attributes
    ----------
    name, mark : str
    value, low, high : str
        As it is, and the two values that were tried.
    mm : dict of str to (float, float)
        Change of the widest opening at the low and at the high value, by hand.
    """

    name: str
    mark: str
    value: str
    low: str
    high: str
    mm: Mapping[str, tuple[float, float]]

    @property
    def most_mm(self) -> float:
        """Largest change, without sign."""
        return max(abs(change) for pair in self.mm.values() for change in pair)


@cache
def _proof() -> dict[str, Any]:
    found: dict[str, Any] = json.loads((files(__package__) / "proof.json").read_text("utf-8"))
    return found


def rows() -> list[Row]:
    """All rows, in the order in which the tests stand."""
    return [Row(**one) for one in _proof()["rows"]]


def limits() -> list[str]:
    """What the model lacks, a sentence or two each."""
    return list(_proof()["limits"])


def widest_mm() -> dict[str, float]:
    """Widest opening of the hands whose changes `effects` tells, mm."""
    return dict(_proof()["widest_mm"])


def effects() -> list[Effect]:
    """Numbers that are not published, the largest effect on the widest opening first."""
    found = [Effect(**{**one, "mm": {key: tuple(pair) for key, pair in one["mm"].items()}}) for one in _proof()["effects"]]
    return sorted(found, key=lambda effect: -effect.most_mm)


def kind_of(mark: str) -> str:
    """The word of `KINDS` for a mark.

    >>> kind_of("memory lo"), kind_of("demo")
    ('recalled', 'made up')
    """
    return {"derived": "worked out", "practice": "common practice", "demo": "made up"}.get(mark, mark.split()[0]).replace(
        "memory", "recalled")


def cited(key: str) -> Source | None:
    """The citation of a key; None where a row names none."""
    return source_records().get(key)


def fact_words(name: str) -> str:
    """A number's dotted name in words.

    >>> fact_words("hand.edc.force_n")
    'hand: finger opener (EDC), force'
    """
    table, *rest = name.split(".")
    said = [" ".join(filter(None, (_word(word) for word in part.split("_")))) for part in rest]
    return f"{_PARTS.get(table, table.replace('_', ' '))}: {', '.join(part for part in said if part)}"


def _word(word: str) -> str:
    if word.upper() in NAMES:
        return f"{NAMES[word.upper()]} ({word.upper()})"
    return _WORDS.get(word, word)


def claims() -> list[Claim]:
    """Every number of the model, in the order of the tables."""
    return [_claim(record) for record in all_facts().values()]


def _claim(record: Fact) -> Claim:
    source = cited(record.source)
    value = record.value if isinstance(record.value, str) else _numbers(record.value)
    unit = "" if record.unit == "1" else f" {record.unit}"
    where = f" {record.where}" if record.where else ""
    note = "; ".join(filter(None, (record.note, f"spread {record.spread}" if record.spread else "")))
    return Claim(record.name, fact_words(record.name), f"{value}{unit}", kind_of(record.mark), MARK_WORDS[record.mark],
                 (source.citation + where) if source else "", note)


def _numbers(value: Any) -> str:
    return ", ".join(f"{v:g}" for v in value) if isinstance(value, tuple) else re.sub("^-", "−", f"{value:g}")
