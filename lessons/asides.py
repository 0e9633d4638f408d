"""Two blocks beside what a room does: ``alone``, a step for one person, and ``goal``, what a bench is to reach."""

from __future__ import annotations

from typing import Any

from graspwave.lessons.grammar import MEASURES, Written, WrittenAlone, WrittenGoal
from graspwave.lessons.tables import Table, seen

__all__ = ["alone", "goal"]


def alone(table: Table) -> WrittenAlone:
    """An ``alone`` block."""
    text, write, passes = table.text("text"), table.text("write"), table.text("passes")
    needs, grade = _needs(table), table.number("grade", 1, 14)
    if not text.value and not write.value:
        repair = 'Write text = "..." or write = "...".'
        table.notes.add(table.line, "alone", "a text, a field to write in, or both", "neither", repair)
    if (needs or grade is not None or passes.value) and not write.value:
        table.missing("write", '"Your two sentences"')
    table.close()
    return WrittenAlone(table.line, text, write, needs, grade, passes)


def _needs(table: Table) -> tuple[tuple[str, ...], ...]:
    """Lists of words; one word alone may stand for a list of one."""
    value = table.raw("needs")
    if value is None:
        return ()
    found = [[item] if isinstance(item, str) else item for item in value] if isinstance(value, list) else []
    fits = found and all(isinstance(group, list) and group and all(_is_word(word) for word in group) for group in found)
    if not fits:
        table.wrong("needs", "a list of words or of lists of words", seen(value), 'Write needs = ["wrist", ["less", "down"]].')
        return ()
    return tuple(map(tuple, found))


def _is_word(value: Any) -> bool:
    return isinstance(value, str) and bool(value.strip())


def goal(table: Table) -> WrittenGoal | None:
    """A ``goal`` block."""
    says, within = table.text("says", '"..."'), {}
    for key in MEASURES:
        pair = _pair(table, key)
        if pair is not None:
            within[key] = pair
    claw = table.flag("claw") if table.has("claw") else None
    if not within and claw is None:
        rule, repair = "about one of " + ", ".join((*MEASURES, "claw")), "Write for example opening_mm = [75, 200]."
        table.notes.add(table.line, "goal", rule, "none of them", repair)
        return None
    table.close()
    return WrittenGoal(table.line, says, within, claw)


def _pair(table: Table, key: str) -> tuple[Written, Written] | None:
    value = table.raw(key)
    if value is None:
        return None
    if not isinstance(value, list) or len(value) != 2:
        table.wrong(key, "a lowest and a highest value", seen(value), f"Write {key} = [75, 200].")
        return None
    low, high = (table.expression(key, "75", item, (i,)) for i, item in enumerate(value))
    return None if low is None or high is None else (low, high)
