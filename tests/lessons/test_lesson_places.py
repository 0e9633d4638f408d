"""On which line each key of a TOML text stands."""

from __future__ import annotations

import tomllib
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from graspwave.lessons.places import Place, places

TEXT = '''title = "a # b"   # c
"quoted key" = 'x = 1'
objectives = [
  "one",  # d
  "two \\" [",
]
m = """
a = 1
[x]
"""
n = { a = 1, b = [1, 2] }
d.e.f = 3
[[basis]]
text = "t"
[[basis]]
mark = "v"
[basis.z]
q = 1
[names]
b2 = "best(t) + 15"
date = 1979-05-27T07:32:00Z
'''


def test_each_key_has_its_line() -> None:
    tomllib.loads(TEXT)
    assert {way: line + 1 for way, line in places(TEXT).items()} == {
        ("title",): 1,
        ("quoted key",): 2,
        ("objectives",): 3,
        ("objectives", 0): 4,
        ("objectives", 1): 5,
        ("m",): 7,
        ("n",): 11,
        ("n", "a"): 11,
        ("n", "b"): 11,
        ("n", "b", 0): 11,
        ("n", "b", 1): 11,
        ("d",): 12,
        ("d", "e"): 12,
        ("d", "e", "f"): 12,
        ("basis",): 13,
        ("basis", 0): 13,
        ("basis", 0, "text"): 14,
        ("basis", 1): 15,
        ("basis", 1, "mark"): 16,
        ("basis", 1, "z"): 17,
        ("basis", 1, "z", "q"): 18,
        ("names",): 19,
        ("names", "b2"): 20,
        ("names", "date"): 21,
    }


WORDS = st.text(st.sampled_from("ab_#[]{}=\"'\\, "), max_size=8)
VALUES = st.recursive(
    st.one_of(
        st.integers(-9, 9).map(str),
        WORDS.map(lambda w: '"' + w.replace("\\", "\\\\").replace('"', '\\"') + '"'),
        WORDS.map(lambda w: "'" + w.replace("'", "") + "'"),
        WORDS.map(lambda w: "'''\n" + w.replace("'", "") + "\nx = 1'''"),
    ),
    lambda below: st.lists(below, max_size=3).map(lambda items: "[\n" + ", # [\n".join(items) + "\n]"),
    max_leaves=5,
)


def ways(tree: Any, way: Place = ()) -> set[Place]:
    """Ways to every key and item."""
    items = tree.items() if isinstance(tree, dict) else enumerate(tree) if isinstance(tree, list) else ()
    return {way} - {()} | {found for key, value in items for found in ways(value, (*way, key))}


@settings(max_examples=150, deadline=None)
@given(st.lists(st.tuples(st.sampled_from(["", "[t{}]\n", "[[l{}]]\n"]), VALUES), max_size=5))
def test_every_key_of_any_text_is_found_where_it_stands(parts: list[tuple[str, str]]) -> None:
    text = "".join(f"{header.format(i)}k{i} = {value}\n" for i, (header, value) in enumerate(parts))
    found = places(text)
    assert set(found) == ways(tomllib.loads(text))
    lines = text.split("\n")
    for way, line in found.items():
        if isinstance(way[-1], str):
            assert way[-1] in lines[line]
