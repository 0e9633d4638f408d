"""Courses and their twelve questions: what they name is there, minutes add up, a twin is another answer by the model."""

from __future__ import annotations

import pytest

from graspwave import lessons
from graspwave.lessons import courses
from graspwave.lessons.courses import _part
from graspwave.lessons.quiz import QUIZZES, asked, quiz
from graspwave.lessons.twins import changed_names, twins
from graspwave.lessons.vocabulary import NAMES


def test_the_course_for_students_and_the_hour_for_colleagues() -> None:
    by_slug = {course.slug: course for course in courses()}
    assert set(by_slug) == {"students", "in-service"}
    students, hour = by_slug["students"], by_slug["in-service"]
    assert sum(bool(part.lesson) for part in students.parts) == 10
    assert students.parts[1].lesson == "safety"
    assert [part.questions for part in students.parts if part.questions] == list(QUIZZES)
    assert hour.minutes == 60.0


def test_a_part_takes_no_more_steps_than_its_minutes_hold() -> None:
    for course in courses():
        for part in course.parts:
            if part.lesson:
                steps = lessons.load(part.lesson).steps
                taken = [step for step in steps if step.number in part.steps]
                assert part.minutes >= 0.75 * sum(step.minutes for step in taken), (course.slug, part.says)


@pytest.mark.parametrize(("entry", "said"), [
    ({"lesson": "clow", "minutes": 5, "says": "a"}, "'lesson' must be one of safety"),
    ({"lesson": "claw", "steps": [3, 99], "minutes": 5, "says": "a"}, "'steps' must be numbers of steps of claw, rising"),
    ({"questions": "later", "minutes": 5, "says": "a"}, "'questions' must be before or after"),
])
def test_what_a_part_cannot_name(entry: dict[str, object], said: str) -> None:
    with pytest.raises(ValueError, match=said):
        _part("course-x.toml", entry)


def test_twelve_questions_twice_and_twins_have_other_answers() -> None:
    before, after = (quiz(which) for which in QUIZZES)
    assert len(asked()) == len(before.steps) == len(after.steps) == 12
    for one, first, second in zip(asked(), before.steps, after.steps, strict=True):
        assert first.question is not None
        assert second.question is not None
        assert (first.question.right != second.question.right) == bool(one.changes)
        assert second.text.startswith(one.words)
        assert first.reveal == second.reveal == ""


def test_a_twin_is_found_by_search() -> None:
    claw = next(one for one in asked() if one.lesson == "claw" and one.changes)
    found = twins(lessons.load("claw"), NAMES, [(claw.words, claw.changes)])
    assert [twin.answer for twin in found[claw.step]] == [(claw.right,)]
    assert changed_names(NAMES, claw.changes)["t"].hand.flexor_length_factor == 1.0
