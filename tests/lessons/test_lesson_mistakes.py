"""Every mistake of a lesson is one clear line: file, line, what, repair. Each case is the good lesson, one passage changed."""

from __future__ import annotations

from pathlib import Path

import pytest
from broken_lessons import BROKEN
from small_words import GOOD, NAMES, edited

from graspwave import lessons

BY_THE_MODEL = ("the model says another", "none is true", "two are true", "one too few", "another order", "two alike")
"""What the model finds is told where the lesson says what it was written for, not where the condition stands."""

ON_ITS_LINE = [name for name, (old, new, *_) in BROKEN.items() if "\n" not in old + new and name not in BY_THE_MODEL]

FRONT = GOOD[: GOOD.index("## A tight hand")]


@pytest.mark.parametrize("case", BROKEN)
def test_a_mistake_is_told_in_full(case: str) -> None:
    old, new, *messages = BROKEN[case]
    assert [str(mistake) for mistake in lessons.check(edited(old, new), "x.md", NAMES)] == messages


@pytest.mark.parametrize("case", ON_ITS_LINE)
def test_a_mistake_is_told_on_the_line_that_was_changed(case: str) -> None:
    old, new, *_ = BROKEN[case]
    changed = GOOD[: GOOD.index(old)].count("\n") + 1
    found = {mistake.line for mistake in lessons.check(edited(old, new), "x.md", NAMES)}
    assert changed in found
    assert found <= {changed, 2}  # a key that is missing because it was misspelt is told at the top of its table


def test_the_good_lesson_has_none() -> None:
    assert lessons.check(GOOD, "x.md", NAMES) == ()


def test_reading_goes_on_after_a_mistake() -> None:
    text = GOOD
    cases = (
        "a number in words",
        "a name misspelt in a text",
        "an unknown picture",
        "no condition",
        "another order",
        "a block misspelt",
    )
    for case in cases:
        text = edited(*BROKEN[case][:2], text=text)
    rules = [mistake.what.partition(" (got")[0] for mistake in lessons.check(text, "x.md", NAMES)]
    assert rules == [
        "'minutes' must be a number from 1 to 240",
        "'text' must be made of known names",
        "'kind' must be one of curve, hand, lines, bars, why, strips, forearm, pulse, words",
        "'B.right_if' must be given",
        "'for' must be the order that the model gives",
        "'block' must be one of scene, step, say, see, ask, look, reveal, alone, goal",
    ]


def test_minutes_of_all_steps_must_come_near_those_of_the_lesson() -> None:
    text = f"{FRONT}## One\n\nText.\n\n```step\nminutes = {{}}\n```\n".replace("short = [1, 2, 7]\n", "")
    assert lessons.check(text.replace("{}", "24"), "x.md", NAMES) == ()  # a fifth less is near
    assert lessons.check(text.replace("{}", "36"), "x.md", NAMES) == ()
    assert [str(mistake) for mistake in lessons.check(text.replace("{}", "23"), "x.md", NAMES)] == [
        "x.md:3: 'minutes' must be within 20% of the steps' minutes (got 30, the steps take 23). Change it, or the minutes of "
        "the steps."
    ]


def test_a_mistake_in_a_name_is_told_once_and_not_where_it_is_used() -> None:
    text = GOOD.replace('more = "best(t) + 15"', 'more = "best(q) + 15"')
    assert text.count("more") > 3
    assert [mistake.line for mistake in lessons.check(text, "x.md", NAMES)] == [17]


WHOLE = {
    "": "x.md:1: 'front matter' must be TOML between two lines +++ at the top (got nothing). Begin the file with a line +++.",
    "+++\ntitle = 1\n": "x.md:1: 'front matter' must be closed by a second line +++ (got none). Write +++ below the last key.",
    FRONT.replace("short = [1, 2, 7]\n", ""): "x.md:18: 'steps' must be at least one (got none). Start each with a line such as "
    "## A tight hand.",
    GOOD + "x" * 200_000: "x.md:1: 'file' must be at most 200 kB (got 203 kB). Make two lessons of it.",
}


@pytest.mark.parametrize("text", WHOLE, ids=["empty", "not closed", "no steps", "huge"])
def test_what_is_no_lesson_is_one_mistake(text: str) -> None:
    assert [str(mistake) for mistake in lessons.check(text, "x.md", NAMES)] == [WHOLE[text]]


@pytest.mark.parametrize(
    ("data", "message"),
    [
        (b"+++\ntitle = '\xff'\n", ":2: 'file' must be text in UTF-8 (got another byte at 13). Save it as UTF-8."),
        (b"x" * 300_000, ":1: 'file' must be at most 200 kB (got more). Make two lessons of it."),
        (None, ":1: 'file' must be a file that can be read (got No such file or directory). Give the path of a lesson."),
    ],
    ids=["other bytes", "huge", "missing"],
)
def test_a_file_that_cannot_be_read_is_one_mistake(data: bytes | None, message: str, tmp_path: Path) -> None:
    path = tmp_path / "x.md"
    if data is not None:
        path.write_bytes(data)
    assert [str(mistake) for mistake in lessons.check_file(path, NAMES)] == [f"{path}{message}"]


@pytest.mark.parametrize(
    "change", [lambda t: t.replace("\n", "\r\n"), lambda t: "\ufeff" + t, lambda t: t.replace("```", "~~~~")]
)
def test_other_line_ends_marks_and_fences_are_taken(change) -> None:  # type: ignore[no-untyped-def]
    assert lessons.check(change(GOOD), "x.md", NAMES) == ()
    moved = lessons.check(change(edited('at = "best(t)"', 'at = "best(q)"')), "x.md", NAMES)
    assert [mistake.line for mistake in moved] == [35]


@pytest.mark.parametrize("piece", ["```see\n", "## a\n", "- ", "> ", "{", "[a](", "`", "+++\n", "```ask\n[A]\n```\n", "*a"])
def test_a_page_of_anything_end_in_mistakes(piece: str) -> None:
    # 30 kB: nothing loops, nothing is raised
    assert lessons.check(FRONT + "## One\n" + piece * (30_000 // len(piece)), "x.md", NAMES)
