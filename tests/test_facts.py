"""Every number of the model has a unit, a mark and, where published, a source; and each is written once."""

from __future__ import annotations

import pytest

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
