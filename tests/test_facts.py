"""Every number of the model has a unit, a mark and, where published, a source; and each is written once."""

from __future__ import annotations

import pytest

from graspwave.apps.audit import audit
from graspwave.simulator import facts


def test_all_tables_load_and_name_known_sources() -> None:
    records = facts.all_facts()
    assert len(records) > 200
    assert all(record.unit and record.mark in facts.MARKS for record in records.values())
    assert {record.source for record in records.values() if record.source} <= set(facts.sources())


def test_values_lie_in_their_own_range() -> None:
    for record in facts.all_facts().values():
        if record.range is not None and isinstance(record.value, (int, float)):
            low, high = record.range
            assert low <= record.value <= high, record.name


@pytest.mark.parametrize(
    ("node", "message"),
    [
        ({"value": 1.0, "unit": "mm", "mark": "guess"},
         "'t.x.mark' must be one of published, memory hi, memory mid, memory lo, derived, practice, demo (got 'guess')"),
        ({"value": 1.0, "unit": "mm", "mark": "published"}, "'t.x.source' must name the source of a published value (got none)"),
        ({"value": 1.0, "unit": "mm", "mark": "demo", "source": "nobody"},
         "'t.x.source' must be a key of sources.toml (got 'nobody')"),
        ({"value": 1.0, "unit": "mm", "mark": "demo", "colour": "red"}, "'t.x' must hold only the known keys (got colour)"),
    ],
)
def test_a_record_that_cannot_stand_is_refused(node: dict[str, object], message: str) -> None:
    with pytest.raises(ValueError, match="must") as caught:
        facts._collect("t.x", node, {})
    assert str(caught.value) == message


def test_a_bare_number_is_refused() -> None:
    with pytest.raises(ValueError, match=r"'t\.x' must be a table with value, unit and mark \(got 3\)"):
        facts._collect("t", {"x": 3}, {})


def test_every_citation_says_who_what_when_and_where_or_that_it_was_not_seen() -> None:
    for source in facts.source_records().values():
        assert source.where, source.key
        if source.missing:
            assert source.seen != "page", source.key
            assert source.note, f"{source.key}: say in its note what is known"
        for name in ("authors", "title", "year"):
            assert (f"({name} not seen)" in source.citation) == (name in source.missing), source.key


@pytest.mark.parametrize(
    ("entry", "message"),
    [
        ({"citation": "Somebody 2001"}, "'x' in sources.toml must hold authors, title, year, where and seen (got citation)"),
        ({"authors": "A", "title": "B", "year": 2001, "where": "C", "seen": "surely"},
         "'x.seen' in sources.toml must be one of page, part, recalled (got 'surely')"),
    ],
)
def test_a_citation_that_cannot_be_looked_up_is_refused(entry: dict[str, object], message: str) -> None:
    with pytest.raises(ValueError, match="must") as caught:
        facts._source("x", entry)
    assert str(caught.value) == message


def test_the_audit_finds_each_kind_of_gap_and_no_other() -> None:
    cited = {
        "whole": facts.Source("whole", "A", "B", 2001, "C", "page"),
        "nobody": facts.Source("nobody", "", "B", 2001, "C", "part"),
        "dim": facts.Source("dim", "A", "B", 2001, "C", "recalled"),
    }
    given = {
        "good": ("published", "whole"), "gap": ("published", "nobody"), "worked_out": ("derived", "nobody"),
        "trusted": ("published", "dim"), "honest": ("memory mid", "dim"), "alone": ("memory lo", ""), "ours": ("demo", ""),
    }
    records = [facts.Fact(name, 1.0, "1", mark, source) for name, (mark, source) in given.items()]
    unknown, recalled, bare = audit(records, cited)
    assert {key: [r.name for r in held] for key, held in unknown.items()} == {"nobody": ["gap", "worked_out"]}
    assert {key: [r.name for r in held] for key, held in recalled.items()} == {"dim": ["trusted"]}
    assert [r.name for r in bare] == ["alone"]
