"""Courses and their twelve questions: what they name is there, minutes add up, a twin is another answer by the model."""

from __future__ import annotations

import dataclasses

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
    assert [part.questions for part in students.parts if part.questions] == ["before", "after"]
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


def test_twelve_questions_and_every_second_time_is_a_twin_with_another_answer() -> None:
    before, after, again = (quiz(which) for which in QUIZZES)
    assert len(asked()) == len(before.steps) == len(after.steps) == 12
    for one, first, second, third in zip(asked(), before.steps, after.steps, again.steps, strict=True):
        assert first.question is not None
        assert second.question is not None
        assert first.question.right != second.question.right
        assert (first.text, first.question) != (second.text, second.question), "one must see that it is another scene"
        assert second.text.startswith(one.words)
        assert (third.question, third.text) == (second.question, second.text)
        assert first.reveal == second.reveal == ""
    # what a browser keeps of one is kept apart from the others, and from the lessons
    own = {before.digest, after.digest, again.digest, *(lessons.load(slug).digest for slug in lessons.names())}
    assert len(own) == 3 + len(lessons.names())


def test_a_twin_that_the_model_does_not_make_right_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    one = dataclasses.replace(asked()[3], right=("B",))
    monkeypatch.setattr("graspwave.lessons.quiz.asked", lambda: (one,))
    with pytest.raises(lessons.LessonError, match=r"must be the choice that the model makes right \(got B, the model says A"):
        quiz("after")


def test_a_twin_is_found_by_search() -> None:
    claw = next(one for one in asked() if one.lesson == "claw" and one.changes)
    found = twins(lessons.load("claw"), NAMES, [(claw.words, claw.changes)])
    assert [twin.answer for twin in found[claw.step]] == [claw.right]
    assert changed_names(NAMES, claw.changes)["t"].hand.flexor_length_factor == 1.0
