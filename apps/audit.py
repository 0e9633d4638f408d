"""Which numbers of the model rest on a source that nobody can look up, or that was only recalled."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from graspwave.simulator.facts import Fact, Source, all_facts, source_records

__all__ = ["audit", "audit_lines"]


def audit(
    records: Iterable[Fact], cited: dict[str, Source]
) -> tuple[dict[str, list[Fact]], dict[str, list[Fact]], list[Fact]]:
    """Sort out the numbers whose source has a gap.

    Parameters
    ----------
    records
        Facts to look over.
    cited
        Citations by key.

    Returns
    -------
    unknown : dict of str to list of Fact
        By source: its authors, title, year or place are missing.
    recalled : dict of str to list of Fact
        By source: complete, but from memory, and a record calls its number published.
    bare : list of Fact
        Recalled numbers that name no source at all.
    """
    unknown: dict[str, list[Fact]] = {}
    recalled: dict[str, list[Fact]] = {}
    bare: list[Fact] = []
    for record in records:
        if not record.source:
            if record.mark.startswith("memory"):
                bare.append(record)
            continue
        source = cited[record.source]
        if source.missing:
            unknown.setdefault(source.key, []).append(record)
        elif source.seen == "recalled" and record.mark == "published":
            recalled.setdefault(source.key, []).append(record)
    return unknown, recalled, bare


def audit_lines(words: Sequence[str] = ()) -> list[str]:
    """The audit as lines to print; the last sums up, and stands alone where nothing was found."""
    cited = source_records()
    records = [r for r in all_facts().values() if all(word in r.name for word in words)]
    unknown, recalled, bare = audit(records, cited)
    lines = []
    for key, held in unknown.items():
        lines += [f"{key}: {cited[key].citation}", *_named(held)]
    for key, held in recalled.items():
        lines += [f"{key}: recalled, not read again. {cited[key].citation}", *_named(held)]
    if bare:
        lines += ["no source: recalled numbers that name none", *_named(bare)]
    sums = [sum(map(len, found.values())) for found in (unknown, recalled)]
    return [
        *lines,
        f"{len(records)} numbers: {sums[0]} on {len(unknown)} incomplete sources, {sums[1]} called published on "
        f"{len(recalled)} recalled sources, {len(bare)} recalled without a source.",
    ]


def _named(held: Iterable[Fact]) -> list[str]:
    return [f"    {record.name} ({record.mark})" for record in held]
