"""What the lessons claim, in one table: as the lessons are now, with source and mark, questions counted among other arms."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from small_words import GOOD

from graspwave import lessons
from graspwave.lessons.arms import STEADY
from graspwave.lessons.claims import counted, parted, read_arms, stale, table

TABLE = Path(lessons.__file__).parent / "CLAIMS.md"


@pytest.fixture(scope="module")
def found() -> list[lessons.Lesson]:
    return [lessons.load(slug) for slug in lessons.names()]


def test_the_table_is_as_the_lessons_are(found: list[lessons.Lesson]) -> None:
    assert stale(TABLE.read_text("utf-8"), found) == [], "graspwave check lessons/[0-9]*.md --arms 100 --claims lessons/CLAIMS.md"


def test_every_question_was_counted_and_an_unsteady_one_says_so(found: list[lessons.Lesson]) -> None:
    arms = read_arms(TABLE.read_text("utf-8"), found)
    for lesson in found:
        for step in lesson.steps:
            if step.question is None:
                continue
            counted = re.fullmatch(r"(\d+) of (\d+)", arms[lesson.slug, step.number])
            assert counted, (lesson.slug, step.number)
            assert int(counted[1]) >= STEADY * int(counted[2]) or step.question.unsteady, (lesson.slug, step.number)


def test_a_reveal_says_in_how_many_arms_its_answer_holds_where_it_asks_about_an_arm(found: list[lessons.Lesson]) -> None:
    arms = read_arms(TABLE.read_text("utf-8"), found)
    said = {lesson.slug: counted(lesson) for lesson in found}
    assert said["object"][3] == arms["object", 3]
    # what a list of cautions says is said of no arm, and how easily a sentence reads neither
    left_out = {(lesson.slug, step.number) for lesson in found for step in lesson.steps
                if step.question is not None and step.number not in said[lesson.slug]}
    assert left_out == {("safety", 2), ("safety", 3), ("safety", 7), ("telling", 4)}
    other, _ = lessons.read(lessons.source("object").replace("spill", "spilt"), "11-object.md")
    assert other
    assert counted(other) == {}, "another lesson of that name"


def test_a_condition_or_a_word_that_changed_makes_it_stale() -> None:
    lesson, _ = lessons.read(GOOD, "good.md")
    other, _ = lessons.read(GOOD.replace('right_if = "best(t) > best(s) + 3"', 'right_if = "best(t) > best(s) + 4"'), "good.md")
    assert lesson
    assert other
    text = table([lesson], {(lesson.slug, 2): "93 of 100"})
    assert stale(text, [lesson]) == []
    assert read_arms(text, [lesson])[lesson.slug, 2] == "93 of 100"
    assert len(stale(text, [other])) >= 2


@pytest.mark.parametrize(("text", "claim", "source"), [
    ("Fingers curl: Su 2005.", "Fingers curl", "Su 2005"),
    ("Look at the skin: common practice.", "Look at the skin", "common practice"),
    ("Warning above 2 mA: IEC 60601-2-10.", "Warning above 2 mA", "IEC 60601-2-10"),
    ("The arm is invented.", "The arm is invented", ""),
    ("One thing: another.", "One thing: another", ""), ("Lang 2009 says so.", "Lang 2009 says so", "named in it"),
])
def test_a_basis_is_parted_at_its_source(text: str, claim: str, source: str) -> None:
    assert parted(text) == (claim, source)
