"""Lessons, sheet, pages and cautions speak with one voice: key sentences of one must not be gainsaid by another."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest

from graspwave import lessons
from graspwave.apps import notices, told
from graspwave.lessons.vocabulary.safety import caution, clears, groups

SHEET = tomllib.loads((Path(str(told.__file__)).parent / "messages" / "en.toml").read_text("utf-8"))["say"]
TITLES = {"clearance": "Not without medical clearance", "never": "Never", "care": "With care", "stop": "Stop and ask"}

# what the sheet says -> what some lesson must say too
SAME = {
    "feel_tingle": r"feel a tingle", "feel_hurt": r"It should not hurt", "feel_better": r"[Ll]ess was more|no aim|not better",
    "practise_along": r"[Tt]ry along|[Oo]pen with (?:it|the current)", "practise_picture": r"picture the move",
    "sheet_pink": r"pink that goes within the hour", "sheet_tired": r"rest", "pads_flat": r"wash it, dry it",
    "sheet_stop_skin": r"red that stays|stays red|stay red|marks the skin",
}

# what no lesson and no sheet may say
NEVER = (
    r"turn it up until", r"no pain,? no gain", r"work through the pain",
    r"cures? (?:the )?(?:stroke|stiffness|hand)\b(?!.*\bno\b)",
    r"will heal", r"(?<!that this )is safe (?:for|at|below)", r"ignore the",
)


def all_texts() -> dict[str, str]:
    return {slug: lessons.source(slug) for slug in lessons.names()}


@pytest.mark.parametrize("key", SAME)
def test_what_the_sheet_says_a_lesson_says_too(key: str) -> None:
    assert SHEET[key]
    assert [slug for slug, text in all_texts().items() if re.search(SAME[key], text)], SHEET[key]


@pytest.mark.parametrize("pattern", NEVER)
def test_what_nobody_may_say(pattern: str) -> None:
    said = {"sheet": " ".join(SHEET.values()), **{slug: _told(text) for slug, text in all_texts().items()}}
    assert [name for name, text in said.items() if re.search(pattern, text, re.IGNORECASE)] == []


def _told(text: str) -> str:
    """What a lesson says in its own voice: without what stands in quotes as a belief or as somebody's words."""
    plain = re.sub(r"(?m)^(?:right_if|says|needs|question) = .*$", "", text)
    return re.sub(r'[“"][^”"\n]*[”"]', "", re.sub(r'(?m)^(?:because|passes|text|title|write) = "(.*)"$', r"\1", plain))


def test_the_cautions_of_the_lessons_are_those_of_the_pages() -> None:
    there = {group.title: group.items for group in notices.CAUTIONS}
    for group, entries in groups().items():
        for thing, words in entries.items():
            assert words in there[TITLES[group]], thing
            assert caution(thing) == group


def test_the_strictest_caution_decides() -> None:
    assert [clears(""), clears("numb skin"), clears("numb skin", "a fracture"), clears("front of the neck")] == [
        "go", "ask first", "no", "no"]
    with pytest.raises(ValueError, match="did you mean broken skin"):
        caution("broken skinn")


def test_the_safety_lesson_tells_every_stop_rule_of_the_list() -> None:
    text = lessons.source("safety").casefold()
    for word in ("pain", "burn", "red", "rash", "dizz"):
        assert word in text


def test_a_belief_is_named_only_beside_a_choice_that_says_it() -> None:
    """Words that a choice must have where it is tagged with a belief."""
    words = {
        "M1": r"long|current|pulse|twitch", "M4": r"Hz|fast|double|half as much|fibres|a second|more",
        "M13": r"[Tt]ingle|answer|[Ss]ome|[Mm]ost",
        "M16": r"tight", "M20": r"other end", "M21": r"length|comfort", "M22": r"[Bb]igger",
    }
    for slug in lessons.names():
        for step in lessons.load(slug).steps:
            for choice in step.question.choices if step.question else ():
                if choice.belief in words:
                    assert re.search(words[choice.belief], choice.says.value), (slug, choice.says.value, choice.belief)
