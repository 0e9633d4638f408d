"""Parameter tables: every number of the model with unit, mark, source and range.

Each ``*.toml`` file beside this one is a table; a leaf is an inline table with ``value``, ``unit``, ``mark``
and, where they are known, ``source`` (a key of ``sources.toml``), ``where`` (place in the source), ``range``,
``spread`` and ``note``. A leaf's name is its dotted path, led by the file's name: ``muscle.able.tau_c_ms``.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

__all__ = ["MARKS", "SEEN", "Fact", "Source", "all_facts", "fact", "facts_under", "number", "source_records", "sources"]

MARKS = ("published", "memory hi", "memory mid", "memory lo", "derived", "practice", "demo")
"""What stands behind a number: seen in its source, recalled (how surely), worked out, common practice, invented."""

SEEN = ("page", "part", "recalled")
"""How a citation is known: read in a stored page; some of it, as its note says; from memory only."""

_OPTIONAL = ("source", "where", "range", "spread", "note")


@dataclass(frozen=True, slots=True)
class Fact:
    """One parameter, written once.

    Attributes
    ----------
    name : str
        Dotted path, led by the table's name.
    value : float or tuple of float or str
        The number (or numbers, low order first where they are a polynomial).
    unit : str
        SI or the unit named; ``"1"`` for a pure number.
    mark : str
        One of `MARKS`.
    source : str
        Key of ``sources.toml``; empty where there is none.
    where : str
        Table, figure or section in the source.
    range : tuple of float or None
        Lowest and highest value the model is meant for; sliders take their ends from it.
    spread : str
        Published or fitted spread, in words.
    note : str
        What a reader should know before trusting it.
    """

    name: str
    value: Any
    unit: str
    mark: str
    source: str = ""
    where: str = ""
    range: tuple[float, float] | None = None
    spread: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class Source:
    """One citation, written once; an empty field was not seen.

    Attributes
    ----------
    key : str
        How records name it.
    authors, title : str
        As printed, or empty.
    year : int
        0 where it is not known.
    where : str
        Journal, volume and pages, or where else it stands.
    seen : str
        One of `SEEN`.
    note : str
        What of it was seen, whom it measured.
    """

    key: str
    authors: str
    title: str
    year: int
    where: str
    seen: str
    note: str = ""

    @property
    def missing(self) -> tuple[str, ...]:
        """Which of authors, title, year and where nobody can look up."""
        return tuple(name for name in ("authors", "title", "year", "where") if not getattr(self, name))

    @property
    def citation(self) -> str:
        """What a page or a document prints; what was not seen is said, not left out."""
        authors, year = self.authors or "(authors not seen)", f" {self.year}" if self.year else " (year not seen)"
        recalled = " (recalled)" if self.seen == "recalled" else ""
        return f"{authors}{year}: {self.title or '(title not seen)'}. {self.where}{recalled}"


@cache
def source_records() -> dict[str, Source]:
    """Every citation by its key, in the order of the file.

    Raises
    ------
    ValueError
        A citation without one of its fields, or with an unknown one.
    """
    text = (files(__package__) / "sources.toml").read_text("utf-8")
    return {key: _source(key, entry) for key, entry in tomllib.loads(text).items()}


@cache
def sources() -> dict[str, str]:
    """Citations by source key."""
    return {key: source.citation for key, source in source_records().items()}


@cache
def all_facts() -> dict[str, Fact]:
    """Every parameter of the model by dotted name, in the order of the files.

    Returns
    -------
    dict of str to Fact

    Raises
    ------
    ValueError
        A record without unit, with an unknown mark or source, or a published one without source.

    Examples
    --------
    >>> from graspwave import simulator as sim
    >>> fact = sim.all_facts()["dose.limits.pad_spacing_mm"]
    >>> fact.value, fact.unit, fact.mark
    (25.0, 'mm', 'practice')
    """
    found: dict[str, Fact] = {}
    tables = sorted(
        (t for t in files(__package__).iterdir() if t.name.endswith(".toml") and t.name != "sources.toml"),
        key=lambda t: t.name,
    )
    for table in tables:
        _collect(table.name.removesuffix(".toml"), tomllib.loads(table.read_text("utf-8")), found)
    return found


def fact(name: str) -> Fact:
    """One record by its dotted name; KeyError where there is none."""
    return all_facts()[name]


def number(name: str) -> float:
    """The value of a record that is one number."""
    return float(all_facts()[name].value)


def facts_under(prefix: str) -> dict[str, Fact]:
    """Records below a dotted prefix, by the rest of their names."""
    start = prefix + "."
    return {name[len(start):]: record for name, record in all_facts().items() if name.startswith(start)}


def _collect(path: str, node: dict[str, Any], found: dict[str, Fact]) -> None:
    if "value" in node and "unit" in node:
        found[path] = _record(path, node)
        return
    for key, below in node.items():
        if not isinstance(below, dict):
            raise ValueError(f"'{path}.{key}' must be a table with value, unit and mark (got {below!r})")
        _collect(f"{path}.{key}", below, found)


def _source(key: str, entry: dict[str, Any]) -> Source:
    needed = {"authors", "title", "year", "where", "seen"}
    if not needed <= set(entry) <= needed | {"note"}:
        got = ", ".join(sorted(entry))
        raise ValueError(f"'{key}' in sources.toml must hold authors, title, year, where and seen (got {got})")
    if entry["seen"] not in SEEN:
        raise ValueError(f"'{key}.seen' in sources.toml must be one of {', '.join(SEEN)} (got {entry['seen']!r})")
    return Source(key=key, **entry)


def _record(name: str, node: dict[str, Any]) -> Fact:
    unknown = set(node) - {"value", "unit", "mark", *_OPTIONAL}
    mark, source = node.get("mark"), node.get("source", "")
    if unknown:
        raise ValueError(f"'{name}' must hold only the known keys (got {', '.join(sorted(unknown))})")
    if mark not in MARKS:
        raise ValueError(f"'{name}.mark' must be one of {', '.join(MARKS)} (got {mark!r})")
    if source and source not in sources():
        raise ValueError(f"'{name}.source' must be a key of sources.toml (got {source!r})")
    if mark == "published" and not source:
        raise ValueError(f"'{name}.source' must name the source of a published value (got none)")
    value = node["value"]
    return Fact(
        name=name,
        value=tuple(value) if isinstance(value, list) else value,
        unit=node["unit"],
        mark=mark,
        source=source,
        where=node.get("where", ""),
        range=tuple(node["range"]) if "range" in node else None,
        spread=node.get("spread", ""),
        note=node.get("note", ""),
    )
