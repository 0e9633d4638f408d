"""The two large blocks of a lesson: ``see``, a picture, and ``ask``, a question."""

from __future__ import annotations

import re

from graspwave.lessons.grammar import (
    PICTURES,
    QUANTITIES,
    QUESTIONS,
    SHAPES,
    WHEN,
    Written,
    WrittenChoice,
    WrittenPicture,
    WrittenQuestion,
    WrittenSaid,
)
from graspwave.lessons.tables import Table, nearest, seen
from graspwave.lessons.terms import misconceptions

__all__ = ["picture", "question"]

_CHOICE = re.compile(r"[A-Z]")
_FEWEST, _MOST = 2, 6
_EXAMPLES = {
    "scene": '"t"', "number": '"best(t)"', "array": '"A"', "scenes": '{ supple = "s" }', "texts": '["..."]',
    "arrays": '{ supple = "oc(s).opening_mm" }', "numbers": '{ supple = "widest(s)" }', "axis": '["Current", "mA"]',
    "runs": """{ switch = "practice(s, 'held')" }""", "points": '{ best = ["best(t)", "widest(t)"] }',
}


def picture(table: Table) -> WrittenPicture | None:
    """A ``see`` block."""
    if not table.has("kind"):
        table.notes.add(table.line, "kind", "one of " + ", ".join(PICTURES), "nothing", 'Write kind = "curve".')
        return None
    kind = table.one_of("kind", PICTURES, "")
    when = table.one_of("when", WHEN, "start")
    if not kind:
        return None
    found = _drawn(table, kind, when)
    table.close()
    return found


def _drawn(table: Table, kind: str, when: str) -> WrittenPicture:
    """A picture's own keys; the table is left open for others."""
    title, text = table.text("title"), table.text("text")
    keys: dict[str, Written] = {}
    for key, shape in SHAPES[kind].items():
        value = _value(table, key, shape.rstrip("!"), _EXAMPLES[shape.rstrip("!")] if shape.endswith("!") else "")
        if value is not None:
            keys[key] = value
    if kind == "hand":
        ways = [key for key in ("at", "from", "play_s") if table.has(key)]
        if len(ways) > 1 or table.has("from") != table.has("to"):
            given = ", ".join(key for key in ("at", "from", "to", "play_s") if table.has(key))
            repair = "Write at alone, or from and to, or play_s."
            table.wrong(ways[0] if ways else "to", "one way to show the hand", given, repair)
    if kind == "forearm" and table.has("scene") == table.has("scenes"):
        got = "both" if table.has("scene") else "nothing"
        table.notes.add(table.line_of("scene"), "scene", "given, or scenes", got, 'Write scene = "t".')
    return WrittenPicture(kind, table.line, when, title, text, keys)


def _value(table: Table, key: str, shape: str, example: str) -> Written | None:
    """What stands under a picture's key, in the shape that `SHAPES` asks for."""
    if shape in ("scene", "number"):
        return table.expression(key, example)
    if shape == "array":
        return _items(table, key, example) if isinstance(table.tree.get(key), list) else table.expression(key, example)
    if shape == "flag":
        return Written(table.flag(key), key, table.line_of(key))
    if shape == "plain":
        found = table.text(key)
        table.as_it_stands(key, found.value)
        return found
    if shape == "quantity":
        return Written(table.one_of(key, QUANTITIES, ""), key, table.line_of(key))
    if shape in ("texts", "plains"):
        several = table.texts(key, example)
        return Written(tuple(several), key, table.line_of(key)) if several else None
    if shape == "axis":
        return _axis(table, key, example)
    return _labelled(table, key, shape, example)


def _axis(table: Table, key: str, example: str) -> Written | None:
    value = table.raw(key)
    if value is None:
        table.missing(key, example)
        return None
    if not isinstance(value, list) or len(value) != 2 or not all(isinstance(item, str) for item in value):
        table.wrong(key, "a name and a unit", seen(value), f"Write {key} = {example}.")
        return None
    for item in value:
        table.as_it_stands(key, item)
    return Written(tuple(value), key, table.line_of(key))


def _items(table: Table, key: str, example: str) -> Written | None:
    """A list of expressions and numbers."""
    found = [table.expression(key, example, item, (i,)) for i, item in enumerate(table.raw(key))]
    kept = tuple(item for item in found if item is not None)
    return Written(kept, key, table.line_of(key)) if len(kept) == len(found) else None


def _labelled(table: Table, key: str, shape: str, example: str) -> Written | None:
    """A table of label = expression, or an expression that gives one where `shape` is numbers."""
    value = table.raw(key)
    if value is None:
        if example:
            table.missing(key, example)
        return None
    if shape == "numbers" and isinstance(value, str):
        return table.expression(key, example)
    if not isinstance(value, dict) or not value:
        table.wrong(key, "a table of labels", seen(value), f"Write {key} = {example or _EXAMPLES[shape]}.")
        return None
    found: dict[str, Written | None] = {}
    for label, item in value.items():
        table.as_it_stands(key, label, label)
        listed = isinstance(item, list) and shape in ("arrays", "points")
        if listed and (shape == "arrays" or len(item) == 2):
            parts = [table.expression(key, "", part, (label, i)) for i, part in enumerate(item)]
            kept = tuple(part for part in parts if part is not None)
            found[label] = Written(kept, f"{key}.{label}", table.line_of(key, label)) if len(kept) == len(parts) else None
        else:
            found[label] = table.expression(key, '"..."', item, (label,))
    return Written({label: item for label, item in found.items() if item is not None}, key, table.line_of(key))


def question(table: Table) -> WrittenQuestion | None:
    """An ``ask`` block."""
    if not table.has("kind"):
        table.notes.add(table.line, "kind", "one of " + ", ".join(QUESTIONS), "nothing", 'Write kind = "one".')
        return None
    kind = table.one_of("kind", QUESTIONS, "")
    if not kind:
        return None
    asks, unsteady = table.text("question", '"..."'), table.flag("unsteady")
    if kind == "number":
        return _number(table, asks, unsteady)
    if kind == "place":
        return _place(table, asks, unsteady)
    given = sorted(key for key in table.tree if _CHOICE.fullmatch(key))
    letters = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"[: len(given)]
    fits = _FEWEST <= len(given) <= _MOST and "".join(given) == letters
    if not fits:
        wanted = f"{_FEWEST} to {_MOST}, named A, B, C and so on"
        table.notes.add(table.line, "choices", wanted, ", ".join(given) or "none", "Begin each with its letter in brackets: [A].")
    choices = tuple(choice for key in given if (choice := _choice(table, key, kind)) is not None)
    right = _right(table, kind, given) if fits else None
    said = _said(table, given) if kind == "order" else ()
    table.close((*letters, "for"))
    return WrittenQuestion(kind, table.line, asks, choices, right, {}, "", None, said, unsteady)


def _said(table: Table, keys: list[str] | None) -> tuple[WrittenSaid, ...]:
    """What is said to answers that are no choices; `keys` are those of an order, None for a number or a place."""
    value = table.raw("said")
    if value is None:
        return ()
    if not isinstance(value, list) or not value or not all(isinstance(item, dict) for item in value):
        table.wrong("said", "a list of tables", seen(value), "Write [[said]] on a line of its own.")
        return ()
    found = []
    for i, item in enumerate(value):
        below = Table(item, table.line_of("said", i), table.notes, table.lines, ("said", i))
        low = high = before = None
        if keys is None:
            low, high = below.expression("low", "0"), below.expression("high", "60")
        else:
            before = _before(below, keys)
        because, belief = below.text("because", '"..."'), _belief(below)
        below.close()
        if before is not None or (low is not None and high is not None):
            found.append(WrittenSaid(below.line, low, high, before, because, belief))
    return tuple(found)


def _before(table: Table, keys: list[str]) -> tuple[str, str] | None:
    value = table.raw("before")
    if not isinstance(value, list) or len(value) != 2 or value[0] == value[1] or not all(key in keys for key in value):
        table.wrong("before", "two different choices", seen(value), 'Write before = ["A", "B"]: A stands before B.')
        return None
    return value[0], value[1]


def _choice(table: Table, key: str, kind: str) -> WrittenChoice | None:
    below = table.table(key)
    if below is None:
        return None
    says, because = below.text("says", '"..."'), below.text("because")
    wanted = "place" if kind == "order" else "right_if"
    condition = below.expression(wanted, '"best(t) > best(s)"')
    belief = _belief(below)
    hand = below.expression("hand")
    below.close()
    return WrittenChoice(key, below.line, says, because, belief, condition, hand)


def _belief(below: Table) -> str:
    belief, known = below.raw("belief"), tuple(misconceptions())
    if belief is not None and belief not in known:
        below.wrong("belief", "a key of the list of wrong ideas", seen(belief), nearest(str(belief), known))
    return str(belief) if belief in known else ""


def _right(table: Table, kind: str, keys: list[str]) -> Written | None:
    """The key or keys under ``for``."""
    value = table.raw("for")
    letters = ", ".join(keys)
    if value is None:
        table.missing("for", '"A"' if kind == "one" else '["A", "B"]')
        return None
    if kind == "one":
        if value not in keys:
            table.wrong("for", f"one of {letters}", seen(value), "Name the choice that the reveal was written for.")
            return None
        return Written(value, "for", table.line_of("for"))
    fits = isinstance(value, list) and value and all(key in keys for key in value) and len(set(value)) == len(value)
    if not fits or (kind == "order" and len(value) != len(keys)):
        rule = f"a list of {letters} in their order" if kind == "order" else f"a list of one or more of {letters}"
        table.wrong("for", rule, seen(value), "Name the choices that the reveal was written for.")
        return None
    return Written(tuple(value) if kind == "order" else tuple(sorted(value)), "for", table.line_of("for"))


def _number(table: Table, asks: Written, unsteady: bool) -> WrittenQuestion:
    examples = {"value": '"best(t)"', "tolerance": "4", "low": "0", "high": "60", "step": "1"}
    keys = {key: found for key, example in examples.items() if (found := table.expression(key, example)) is not None}
    unit = table.text("unit", '"mA"').value
    table.as_it_stands("unit", unit)
    said = _said(table, None)
    table.close()
    return WrittenQuestion("number", table.line, asks, (), None, keys, unit, None, said, unsteady)


def _place(table: Table, asks: Written, unsteady: bool) -> WrittenQuestion | None:
    on = table.one_of("on", ("forearm", "curve"), "")
    if not table.has("on"):
        table.missing("on", '"forearm"')
    if not on:
        return None
    examples = {"x": '"best(t)"', "within_x": "4", "y": "", "within_y": '"5"' if table.has("y") else ""}
    keys = {key: found for key, example in examples.items() if (found := table.expression(key, example)) is not None}
    if table.has("within_y") and not table.has("y"):
        table.missing("y", '"widest(t)"')
    ground, said = _drawn(table, on, "start"), _said(table, None)
    table.close()
    return WrittenQuestion("place", table.line, asks, (), None, keys, "", ground, said, unsteady)
