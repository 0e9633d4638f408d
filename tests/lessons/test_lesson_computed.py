"""A lesson worked out: scenes, numbers in texts, pictures and answers; and the command that checks lessons."""

from __future__ import annotations

import dataclasses
import re
from pathlib import Path

import pytest
from small_words import GOOD, NAMES, edited

from graspwave import lessons
from graspwave import simulator as sim
from graspwave.apps import notices
from graspwave.apps.command import main


def computed(text: str = GOOD) -> lessons.Computed:
    lesson, mistakes = lessons.read(text, "03-good-one.md")
    assert mistakes == ()
    assert lesson is not None
    return lessons.compute(lesson, NAMES)


def test_what_stands_at_the_top() -> None:
    whole = computed()
    assert (whole.slug, whole.title, whole.minutes, whole.short) == ("good-one", "Where a hand opens widest", 30.0, (1, 2, 7))
    assert (whole.people, whole.prior) == (("students",), "Lesson 5.")
    assert [idea.key for idea in whole.wrong_ideas] == ["M2", "M8"]
    assert whole.wrong_ideas[0].text == lessons.misconceptions()["M2"]
    assert whole.basis == (lessons.Basis("The arm is invented.", "demo"),)


def test_steps_have_kinds_minutes_and_scenes() -> None:
    steps = computed().steps
    assert [step.kind for step in steps] == ["tell", "ask", "ask", "ask", "ask", "ask", "talk", "roam"]
    assert [step.number for step in steps] == list(range(1, 9))
    assert sum(step.minutes for step in steps) == pytest.approx(30.0)
    assert steps[1].minutes == 6.0
    assert all(step.scene == sim.presets()["tight"] for step in steps)  # given once, it stays
    assert steps[0].free == ("channel.0.pulse.amplitude_ma", "hand.flexor_length_factor")
    assert steps[1].free == ()


def test_texts_have_their_numbers() -> None:
    steps = computed().steps
    assert steps[0].text == "Its cords are shorter. At 29 mA it has passed its best."
    assert steps[0].pictures[0].title == "A supple hand opens to 84 mm"
    assert steps[1].say == "Wait a minute. It was 20 mA."
    assert steps[1].reveal == "The tight hand opens widest at 14 mA,\n61.7 mm."
    assert steps[1].look == "What did you see?"
    assert steps[3].look == "Which bar is longer?"
    assert steps[2].look == ""


def test_answers_are_those_of_the_model() -> None:
    questions = [step.question for step in computed().steps if step.question]
    assert [question.right for question in questions] == [
        "C",
        ("A", "B"),
        {"value": 14.0, "tolerance": 4.0},
        ("B", "A"),
        {"x": 14.0, "y": 61.7, "within_x": 4.0, "within_y": 10.0},
    ]
    one, _, number, _, place = questions
    assert [choice.key for choice in one.choices] == ["A", "B", "C"]
    assert one.choices[0].belief == "M2"
    assert one.choices[2].scene == sim.presets()["tight"]
    assert (number.low, number.high, number.step, number.unit) == (0.0, 60.0, 1.0, "mA")
    assert place.on is not None
    assert place.on.kind == "curve"


def test_pictures_have_values() -> None:
    shown = {}
    for step in computed().steps:
        for picture in step.pictures:
            shown.setdefault(picture.kind, picture)
    assert set(shown) == {"curve", "hand", "why", "lines", "bars", "forearm", "words", "strips", "pulse"}
    curve, lines = shown["curve"].values, shown["lines"].values
    assert list(curve["scenes"]) == ["supple", "tight"]
    assert (curve["at"], curve["object_mm"], curve["cover"]) == (14.0, 55.0, True)
    assert (shown["hand"].values["from"], shown["hand"].values["to"]) == (14.0, 29.0)
    assert lines["y"]["opening"][:3] == (0.0, 2.0, 4.0)
    assert lines["points"] == {"here": (14.0, 10.0), "there": (1.0, 2.0)}
    assert lines["x_axis"] == ("Current", "mA")
    assert shown["bars"].values["values"] == {"supple": 84.2, "tight": 61.7}
    assert isinstance(shown["strips"].values["runs"]["switch"], sim.Practice)
    assert shown["forearm"].values == {"scenes": {"": sim.presets()["supple"]}, "muscles": ("EDC", "FDS")}
    assert shown["words"].values == {"lines": ("It opens 62 mm.", "No more.")}
    assert shown["why"].when == "look"


def test_a_hand_without_a_current_takes_that_of_its_scene() -> None:
    whole = computed(edited('from = "best(t)"\nto = "more"\n', ""))
    assert whole.steps[0].pictures[1].values["at"] == sim.presets()["tight"].channel[0].pulse.amplitude_ma


def test_digest_changes_with_any_character() -> None:
    assert computed().digest != computed(GOOD + "\n").digest
    assert computed() == dataclasses.replace(computed(), title=computed().title)


def test_a_lesson_that_is_wrong_is_not_computed() -> None:
    lesson, mistakes = lessons.read(edited('for = "C"', 'for = "A"'), "x.md")
    assert mistakes == ()
    assert lesson is not None
    with pytest.raises(lessons.LessonError) as error:
        lessons.compute(lesson, NAMES)
    assert [mistake.line for mistake in error.value.mistakes] == [61]
    assert str(error.value).startswith("x.md:61: 'for' must be the choice that the model makes right (got A, the model says C: ")


def test_a_lesson_that_cannot_be_read_is_none() -> None:
    lesson, mistakes = lessons.read(edited("minutes = 30\n", "minutes = true\n"), "x.md")
    assert lesson is None
    assert [mistake.line for mistake in mistakes] == [3]


def test_every_mistake_of_the_model_changes_with_the_model() -> None:
    # the same lesson, another model: its own choice is no longer right
    other = {**NAMES, "best": lambda hand: {1.0: 14.0, 0.95: 20.0}[hand.hand.flexor_length_factor]}
    found = [str(mistake) for mistake in lessons.check(GOOD, "x.md", other)]
    assert len(found) == 3
    assert "(got C, the model says A: best(t) = 20, best(s) + 3 = 17)" in found[0]
    assert "(got A and B, the model says B: best(t) = 20)" in found[1]
    assert "(got B, A, the model says A 14, B 20)" in found[2]


def format_example() -> str:
    page = (Path(lessons.__file__).parent / "FORMAT.md").read_text("utf-8")
    return page.partition("~~~~markdown\n")[2].partition("\n~~~~\n")[0] + "\n"


def test_the_documented_example_is_a_lesson() -> None:
    lesson, mistakes = lessons.read(format_example(), "half.md")
    assert mistakes == ()
    assert lesson is not None
    whole = lessons.compute(lesson)
    assert whole.steps[1].question is not None
    assert whole.steps[1].question.right == "B"
    assert re.fullmatch(r"Half the time at [\d.]+ mA is 50% of the charge, [\d.]+ µC\.", whole.steps[1].reveal)


def test_the_documentation_names_every_key() -> None:
    from graspwave.lessons.grammar import MARKS, PICTURES, QUANTITIES, QUESTIONS, SHAPES, STEPS, WHEN
    from graspwave.lessons.steps import BLOCKS

    page = (Path(lessons.__file__).parent / "FORMAT.md").read_text("utf-8")
    words = {*re.findall(r"[a-z_]+", page)}
    keys = {key for shape in SHAPES.values() for key in shape}
    assert {*BLOCKS, *PICTURES, *QUESTIONS, *STEPS, *WHEN, *MARKS, *QUANTITIES, *keys} <= words


def test_check_lists_every_mistake_and_ends_with_one(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    good, bad = tmp_path / "good.md", tmp_path / "bad.md"
    good.write_text(format_example(), "utf-8")
    bad.write_text(format_example().replace('for = "B"', 'for = "A"').replace("minutes = 6", "minuets = 6"), "utf-8")
    assert main(["check", str(good)]) == 0
    assert capsys.readouterr().out == f"{good}: no mistake found\n"
    assert main(["check", str(bad), str(good)]) == 1
    assert capsys.readouterr().out == (
        f"{bad}:31: 'minuets' must be a known key (got an unknown one). Did you mean minutes?\n"
        f"{bad}:41: 'for' must be the choice that the model makes right (got A, the model says B: ratio = 0.5). Write for = "
        '"B" and a reveal for it, or ask something else.\n'
        f"{good}: no mistake found\n"
    )


def test_the_caution_is_no_part_of_a_lesson_file() -> None:
    # the pages add it, from one place
    assert notices.caution_text() not in GOOD


def test_lessons_that_come_with_the_program_have_names_and_texts() -> None:
    for slug in lessons.names():
        assert re.fullmatch(r"[a-z][a-z-]*", slug)
        assert lessons.source(slug).startswith("+++\n")
    with pytest.raises(KeyError):
        lessons.source("none")
