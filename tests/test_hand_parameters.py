"""Parameters of the hand: read once from the table, changed only by name."""

from __future__ import annotations

from dataclasses import fields

import pytest

from graspwave.simulator import facts
from graspwave.simulator.hand import changed, standard_hand


def test_every_number_is_a_record_and_every_record_is_used() -> None:
    model = standard_hand()
    held = {f"{part.name}.{f.name}" for part in fields(model) for f in fields(getattr(model, part.name))}
    assert held == set(facts.facts_under("hand"))


def test_values_are_those_of_the_table() -> None:
    assert standard_hand().hood.slack == facts.number("hand.hood.slack")
    assert standard_hand().wrist_arm.fdp_cm == facts.fact("hand.wrist_arm.fdp_cm").value


def test_changed_leaves_the_model_alone() -> None:
    other = changed(standard_hand(), hood__slack=0.0, pip__extension_deg=-20.0)
    assert other.hood.slack == 0.0
    assert other.pip.extension_deg == -20.0
    assert standard_hand().hood.slack > 0.0
    assert other.mcp == standard_hand().mcp


@pytest.mark.parametrize(
    ("name", "hint"),
    [("hood__slak", "hood__slack"), ("hod__slack", "hood__slack"), ("hood", ""), ("slack", "")],
)
def test_unknown_names_are_refused(name: str, hint: str) -> None:
    with pytest.raises(ValueError, match="'values' must name a section and a field of HandModel") as problem:
        changed(standard_hand(), **{name: 1.0})
    assert f"(got '{name}')" in str(problem.value)
    assert hint in str(problem.value)
