"""Answers of each kind: what is taken, what is right, how they add up."""

from __future__ import annotations

from typing import Any

import pytest
from room_lesson import lesson

from graspwave.apps.classroom.answers import clean_answer, judge, share_right, tally

STEPS = lesson()["steps"]
ONE, SEVERAL, NUMBER, ORDER, PLACE = STEPS[1:6]


@pytest.mark.parametrize(("step", "raw", "kept"), [
    (ONE, {"choice": "B", "more": 1}, {"choice": "B"}),
    (SEVERAL, {"choices": ["C", "A", "C"]}, {"choices": ["A", "C"]}),
    (NUMBER, {"value": 12}, {"value": 12.0}),
    (ORDER, {"order": ["C", "A", "B"]}, {"order": ["C", "A", "B"]}),
    (PLACE, {"x": 3, "y": None}, {"x": 3.0}),
    (PLACE, {"x": 3, "y": 4}, {"x": 3.0, "y": 4.0}),
])
def test_an_answer_has_one_form(step: dict[str, Any], raw: object, kept: dict[str, Any]) -> None:
    assert clean_answer(step["question"], raw) == kept


@pytest.mark.parametrize(("step", "raw", "text"), [
    (ONE, None, "That is no answer to this question."),
    (ONE, ["B"], "That is no answer to this question."),
    (ONE, {"choice": "D"}, "Choose one of the answers."),
    (ONE, {"choice": ["B"]}, "Choose one of the answers."),
    (SEVERAL, {"choices": []}, "Choose one or more of the answers."),
    (SEVERAL, {"choices": [1]}, "Choose one or more of the answers."),
    (NUMBER, {"value": 61}, "Give a number from 0 to 60."),
    (NUMBER, {"value": True}, "Give a number from 0 to 60."),
    (NUMBER, {"value": "12"}, "Give a number from 0 to 60."),
    (NUMBER, {"value": float("nan")}, "Give a number from 0 to 60."),
    (ORDER, {"order": ["A", "B"]}, "Put every answer in its place."),
    (ORDER, {"order": ["A", "B", "B"]}, "Put every answer in its place."),
    (ORDER, {"order": ["A", "B", {}]}, "Put every answer in its place."),
    (PLACE, {"y": 3}, "Give a number."),
    (PLACE, {"x": float("inf")}, "Give a number."),
])
def test_what_is_no_answer(step: dict[str, Any], raw: object, text: str) -> None:
    with pytest.raises(ValueError, match=r".") as caught:
        clean_answer(step["question"], raw)
    assert str(caught.value) == text


@pytest.mark.parametrize(("step", "answer", "right"), [
    (ONE, {"choice": "B"}, True), (ONE, {"choice": "A"}, False),
    (SEVERAL, {"choices": ["A", "C"]}, True), (SEVERAL, {"choices": ["A"]}, False),
    (SEVERAL, {"choices": ["A", "B", "C"]}, False),
    (NUMBER, {"value": 34.0}, True), (NUMBER, {"value": 34.5}, False), (NUMBER, {"value": 26.0}, True),
    (ORDER, {"order": ["C", "A", "B"]}, True), (ORDER, {"order": ["A", "C", "B"]}, False),
    (PLACE, {"x": 44.9}, True), (PLACE, {"x": 45.2}, False), (PLACE, {"x": 40.0, "y": 900.0}, True),
    (ONE, {"value": 3.0}, None), (STEPS[0], {"choice": "A"}, None),
])
def test_right_and_wrong(step: dict[str, Any], answer: dict[str, Any], right: bool | None) -> None:
    assert judge(step, answer) is right


def test_a_place_has_a_height_too_where_the_step_gives_one() -> None:
    step = {**PLACE, "answer": {**PLACE["answer"], "right": {"x": 40, "y": 10, "within_x": 5, "within_y": 2}}}
    assert judge(step, {"x": 41.0, "y": 11.0}) is True
    assert judge(step, {"x": 41.0, "y": 13.0}) is False
    assert judge(step, {"x": 41.0}) is False


def test_shares() -> None:
    assert share_right(ONE, [{"choice": "B"}, {"choice": "A"}, {"choice": "B"}]) == pytest.approx(2 / 3)
    assert share_right(ONE, []) is None


def test_choices_add_up() -> None:
    assert tally(ONE["question"], [{"choice": "B"}, {"choice": "B"}, {"choice": "C"}]) == {"A": 0, "B": 2, "C": 1}
    assert tally(SEVERAL["question"], [{"choices": ["A", "C"]}, {"choices": ["C"]}]) == {"A": 1, "B": 0, "C": 2}


def test_orders_add_up_and_the_rare_ones_together() -> None:
    many = [{"order": list(f"{letter}BA")} for letter in "CDEFGHI"] + [{"order": list("CBA")}]
    added = tally(ORDER["question"], many)
    assert added["C,B,A"] == 2
    assert added["other"] == 1
    assert sum(added.values()) == 8


def test_numbers_fall_into_bins_that_hold_all_of_them() -> None:
    bins = tally(NUMBER["question"], [{"value": v} for v in (0.0, 4.9, 5.0, 59.0, 60.0)])["bins"]
    assert [b for b in bins if b[2]] == [[0, 5, 2], [5, 10, 1], [55, 60, 2]]
    assert bins[0][0] == 0
    assert bins[-1][1] == 60
    free = {**NUMBER["question"], "low": None, "high": None, "step": None}
    assert sum(b[2] for b in tally(free, [{"value": v} for v in (-3.0, 7.0, 9.0)])["bins"]) == 3
    assert tally(free, []) == {"bins": []}
    assert tally(free, [{"value": 2.0}, {"value": 2.0}]) == {"bins": [[2.0, 2.0, 2]]}


def test_places_add_up_without_an_order_of_who_came_first() -> None:
    assert tally(PLACE["question"], [{"x": 9.0}, {"x": 3.0, "y": 1.0}]) == {"points": [[3.0, 1.0], [9.0, None]]}
