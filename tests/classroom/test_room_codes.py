"""Codes and handles."""

from __future__ import annotations

import re

import pytest

from graspwave.apps.classroom import codes


def test_words_are_short_plain_and_once() -> None:
    for words, longest in ((codes.code_words(), 9), (codes.handles(), 11)):
        assert len(words) == len(set(words))
        assert all(re.fullmatch(rf"[a-z]{{2,{longest}}}", word) for word in words)
    assert len(codes.handles()) >= 200


def test_the_number_of_codes_is_the_one_that_is_stated() -> None:
    count = len(codes.code_words())
    assert codes.space() == count * (count - 1) * 90
    said = re.search(r"that is (\d+) x (\d+) x 90, more than\s+(\d+) million", str(codes.__doc__))
    assert said
    assert (int(said[1]), int(said[2])) == (count, count - 1)
    assert int(said[3]) * 1e6 <= codes.space() < (int(said[3]) + 1) * 1e6
    # ten tries a minute for a day, as stated
    assert 10 * 60 * 24 / codes.space() == pytest.approx(0.001, rel=0.05)


def test_a_code_is_two_different_words_and_a_number() -> None:
    for _ in range(300):
        code = codes.new_code()
        first, second, number = code.split("-")
        assert first != second
        assert {first, second} <= set(codes.code_words())
        assert 10 <= int(number) <= 99
        assert codes.clean_code(code) == code
        assert re.fullmatch(codes.CODE_PATTERN, code)


@pytest.mark.parametrize("typed", ["plum-river-42", " Plum River 42 ", "PLUM–RIVER–42", "plum river42", "plum.river.42"])
def test_a_code_may_be_typed_in_many_ways(typed: str) -> None:
    assert codes.clean_code(typed) == "plum-river-42"


@pytest.mark.parametrize("typed", [
    "", "plumriver42", "plum-42", "plum-river", "plum-river-4", "plum-river-421", "a" * 100, None, 3, "plum-river-42-x",
])
def test_what_is_no_code(typed: object) -> None:
    assert codes.clean_code(typed) is None


def test_handles_run_out_and_get_numbers() -> None:
    taken: set[str] = set()
    for _ in range(2 * len(codes.handles()) + 1):
        taken.add(codes.new_handle(taken))
    assert len(taken) == 2 * len(codes.handles()) + 1
    assert sum(name.endswith(" 2") for name in taken) == len(codes.handles())
    assert sum(name.endswith(" 3") for name in taken) == 1
