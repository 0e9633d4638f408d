"""Beside a room's own way: a step's form for one person, goals of a bench, and what is said to a number or an order."""

from __future__ import annotations

import json
import shutil
import subprocess
from pathlib import Path
from typing import Any

import pytest
from small_words import GOOD, NAMES, edited

from graspwave import lessons
from graspwave.lessons.grammar import Alone, Goal, Said
from graspwave.lessons.readability import grade, syllables

STATIC = Path(lessons.__file__).parents[1] / "apps" / "web"
ALONE = """
```alone
text = "At {best(t)} mA: write it down."
write = "Two sentences"
needs = ["wrist", ["less", "Down"]]
grade = 6
passes = "Less. Keep your wrist down."
```

```goal
says = "Open {widest(t):.0f} mm"
opening_mm = ["best(t)", 200]
wrist_deg = [-10, 10]
claw = false
```
"""


def computed(text: str) -> lessons.Computed:
    lesson, mistakes = lessons.read(text, "03-good-one.md")
    assert mistakes == ()
    assert lesson is not None
    return lessons.compute(lesson, NAMES)


def told(text: str) -> list[str]:
    return [f"{mistake.what}. {mistake.repair}" for mistake in lessons.check(text, "x.md", NAMES)]


def test_a_step_has_its_form_for_one_person_and_its_goals() -> None:
    step = computed(GOOD + ALONE).steps[-1]
    assert step.alone == Alone(
        "At 14 mA: write it down.", "Two sentences", (("wrist",), ("less", "Down")), 6.0, "Less. Keep your wrist down.")
    assert step.goals == (Goal("Open 62 mm", {"opening_mm": (14.0, 200.0), "wrist_deg": (-10.0, 10.0)}, False),)
    assert step.curve == "so far"
    assert computed(GOOD).steps[-1].alone is None


def test_a_bench_draws_all_where_the_lesson_says_so() -> None:
    text = edited('```scene\nfree = [', '```scene\ncurve = "whole"\nfree = [')
    assert computed(text).steps[-1].curve == "whole"


def test_numbers_and_orders_are_answered_by_where_they_lie() -> None:
    text = edited('step = 1\nunit = "mA"\n', 'step = 1\nunit = "mA"\n[[said]]\nlow = "best(t) + 5"\nhigh = 60\n'
                  'because = "More is not wider than {best(t)}."\nbelief = "M2"\n')
    text = edited('[B]\nsays = "tight"\nplace = "best(t)"\n', '[B]\nsays = "tight"\nplace = "best(t)"\n[[said]]\n'
                  'before = ["A", "B"]\nbecause = "Tight is not more."\n', text)
    number, order = computed(text).steps[3].question, computed(text).steps[4].question
    assert number is not None
    assert number.said == (Said(19.0, 60.0, None, "More is not wider than 14.", "M2"),)
    assert order is not None
    assert order.said == (Said(None, None, ("A", "B"), "Tight is not more.", ""),)


@pytest.mark.parametrize(("block", "said"), [
    ("```alone\nneeds = [\"a\"]\n```", "'alone' must be a text, a field to write in, or both (got neither)"),
    ("```alone\ntext = \"a\"\ngrade = 6\n```", "'write' must be given (got nothing). Write write = \"Your two sentences\"."),
    ("```alone\nwrite = \"a\"\nneeds = [[]]\n```", "'needs' must be a list of words or of lists of words (got a list)"),
    ("```alone\ntext = \"a\"\n```\n\n```alone\ntext = \"b\"\n```", "'alone' must be given once in a step (got a second one)"),
    ("```goal\nsays = \"a\"\n```", "'goal' must be about one of current_ma, opening_mm, wrist_deg, base_deg, middle_deg, claw"),
    ("```goal\nsays = \"a\"\nopening_mm = 75\n```", "'opening_mm' must be a lowest and a highest value (got 75)"),
    ("```goal\nsays = \"a\"\nopening_mm = [75, 20]\n```", "'opening_mm.1' must be at least 75 (got 20). Put the lowest"),
    ("```goal\nsays = \"a\"\nwings = [1, 2]\nclaw = true\n```", "'wings' must be a known key (got an unknown one)"),
])
def test_what_cannot_be_is_told(block: str, said: str) -> None:
    assert any(line.startswith(said) for line in told(f"{GOOD}\n{block}\n")), told(f"{GOOD}\n{block}\n")


def test_a_goal_needs_something_to_move() -> None:
    text = edited("- What would you tell a worried patient?", "```goal\nsays = \"a\"\nclaw = true\n```\n\n- What would you tell?")
    assert any(line.startswith("'goal' must be in a step with settings that people may move (got none)") for line in told(text))


NODE = pytest.mark.skipif(shutil.which("node") is None, reason="needs node, which runs the browser's own module")
WORDS = ("hope", "hopes", "hoped", "tables", "people's", "idea", "quiet", "science", "nation", "117", "70", "1200", "eye")
TEXTS = (
    "More will pull your wrist back, and your fingers will curl. Let us turn it down a bit and keep your wrist low.",
    "Neuromuscular stimulation depolarises motor axons, eliciting contraction.",
    "You don't need it! Do you?", "It is 35 Hz, 12 000 times.",
    "The people's idea: something seemingly usual, whole tables, used, hoped, 117 of 70.",
)


def run_module(file: str, name: str, script: str) -> Any:
    """What a script prints that has one export of a module."""
    whole = f"import {{{name}}} from '{STATIC / file}'; console.log(JSON.stringify({script}))"
    done = subprocess.run(["node", "--input-type=module", "-e", whole], capture_output=True, text=True, check=True)
    return json.loads(done.stdout)


@NODE
def test_the_browser_grades_as_the_program_does() -> None:
    found = run_module("grade.js", "grade, syllables", f"[{json.dumps(TEXTS)}.map(grade), {json.dumps(WORDS)}.map(syllables)]")
    assert found[0] == pytest.approx([grade(text) for text in TEXTS])
    assert found[1] == [syllables(word) for word in WORDS]


@NODE
def test_the_browser_says_what_a_text_lacks() -> None:
    own = {"needs": [["wrist"], ["less", "Down"]], "grade": 6}
    texts = ["", "Keep it up.", TEXTS[0]]
    found = run_module("judge.js", "judged", f"{json.dumps(texts)}.map(text => judged(text, {json.dumps(own)}))")
    assert [one["passes"] for one in found] == [False, False, True]
    assert found[0]["told"] == ["Write a few words first."]
    assert found[1]["told"][:2] == ["Nothing on “wrist” yet.", "Nothing on “less” or “Down” yet."]
