"""The lessons that come with the program: what each must hold, and that the model stands behind every right answer.

Each lesson is worked out once; what changes a lesson leans on results that are remembered by then.
"""

from __future__ import annotations

import html
import re
from collections.abc import Iterator
from functools import cache

import pytest

from graspwave import lessons
from graspwave import simulator as sim
from graspwave.lessons.compute import work_out
from graspwave.lessons.grammar import MARKS, Computed, Goal, Lesson, Mistake, Step
from graspwave.lessons.numerals import read_off, told
from graspwave.lessons.pace import least_room_minutes
from graspwave.lessons.read import parse
from graspwave.lessons.readability import words

SLUGS = lessons.names()
CORE = 3
"""Questions of a lesson's short version, which is what a room takes."""

MOST_CHOICES = 6
MOST_WORDS = 75
MOST_WORDS_ASKED = 25
MOST_WORDS_REVEALED = 120
HIGHEST_GRADE = 8.0
MOST_NUMBERS = 3
"""That a reveal tells and that were not in what was asked: more are not taken in."""

RATED_FROM = 20
"""Words from which a text is long enough for the formula."""


@cache
def worked(slug: str) -> tuple[Lesson, Computed, tuple[Mistake, ...]]:
    """A lesson as it is written, as it is computed, and all that `check` says to it."""
    lesson, notes = parse(lessons.source(slug), f"{slug}.md")
    assert lesson is not None, notes.all()
    return lesson, work_out(lesson, notes), notes.all()


def plain(markdown: str) -> str:
    """A text as it is read: without signs, each paragraph and each line of a list closed like a sentence."""
    closed = re.sub(r"(?<=[\w)%])\s*</(?:p|li|td|th|h\d)>", ".", lessons.html(markdown))
    return html.unescape(re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", closed))).strip()


def read_texts(step: Step) -> Iterator[str]:
    """What learners read in a step."""
    yield from (step.text, step.look, step.reveal)
    if step.question is not None:
        yield step.question.asks
        for choice in step.question.choices:
            yield from (choice.says, choice.because)


def shown_texts(slug: str) -> Iterator[str]:
    """All that learners are shown in words."""
    _, computed, _ = worked(slug)
    yield from (computed.title, computed.prior, *computed.objectives, *computed.limits, *computed.cautions)
    for step in computed.steps:
        yield from (step.title, *read_texts(step))
        for picture in step.pictures:
            yield from (picture.title, picture.text, *picture.values.get("lines", ()))


def asked(slug: str) -> list[Step]:
    return [step for step in worked(slug)[1].steps if step.question is not None]


def letters(slug: str) -> list[str]:
    """Right choices of the questions with one."""
    return [str(step.question.right) for step in asked(slug) if step.question is not None and step.question.kind == "one"]


def beliefs(slug: str) -> set[str]:
    """Wrong ideas that stand behind choices."""
    questions = [step.question for step in asked(slug) if step.question is not None]
    return {answer.belief for question in questions for answer in (*question.choices, *question.said) if answer.belief}


def test_safety_comes_first_and_each_has_its_file() -> None:
    assert SLUGS[0] == "safety"
    assert len(SLUGS) == len(set(SLUGS)) >= 14
    named = {int(number) for slug in SLUGS for number in re.findall(r"[Ll]essons? (\d+)", lessons.source(slug))}
    assert named <= set(range(1, len(SLUGS) + 1))


@pytest.mark.parametrize("slug", SLUGS)
def test_check_finds_nothing(slug: str) -> None:
    assert worked(slug)[2] == ()


@pytest.mark.parametrize("slug", SLUGS)
def test_another_answer_to_any_question_is_found(slug: str) -> None:
    """A lesson in which each `for` names the next choice: one mistake on each of these lines, with what the model says."""
    lines = lessons.source(slug).split("\n")
    told = {}
    for written, step in zip(worked(slug)[0].steps, worked(slug)[1].steps, strict=True):
        if written.question is None or written.question.kind != "one" or written.question.right is None or step.question is None:
            continue
        at, right = written.question.right.line, str(step.question.right)
        keys = [choice.key for choice in step.question.choices]
        other = keys[(keys.index(right) + 1) % len(keys)]
        assert lines[at - 1] == f'for = "{right}"'
        lines[at - 1] = f'for = "{other}"'
        told[at] = f"'for' must be the choice that the model makes right (got {other}, the model says {right}"
    found = {mistake.line: mistake.what for mistake in lessons.check("\n".join(lines), f"{slug}.md")}
    assert found.keys() == told.keys()
    assert len(told) >= 2
    assert all(found[at].startswith(what) for at, what in told.items())


@pytest.mark.parametrize("slug", SLUGS)
def test_the_right_choices_do_not_all_bear_one_letter(slug: str) -> None:
    assert len(set(letters(slug))) > 1


@pytest.mark.parametrize("slug", SLUGS)
def test_after_every_vote_there_is_something_to_look_at(slug: str) -> None:
    late = {step.number: [picture.when for picture in step.pictures if picture.when != "start"] for step in asked(slug)}
    assert [number for number, pictures in late.items() if not pictures] == []
    assert [step.number for step in asked(slug) if not step.reveal.strip()] == []


@pytest.mark.parametrize("slug", SLUGS)
def test_texts_are_short(slug: str) -> None:
    long = {step.number: count for step in worked(slug)[1].steps if (count := len(plain(step.text).split())) > MOST_WORDS}
    assert long == {}
    assert {step.number for step in asked(slug) if len(plain(step.reveal).split()) > MOST_WORDS_REVEALED} == set()
    questions = [step.question for step in asked(slug) if step.question is not None]
    assert [question.asks for question in questions if len(plain(question.asks).split()) > MOST_WORDS_ASKED] == []
    assert max(len(question.choices) for question in questions) <= MOST_CHOICES


@pytest.mark.parametrize("slug", SLUGS)
def test_texts_are_plain(slug: str) -> None:
    texts = [plain(text) for step in worked(slug)[1].steps for text in (step.text, step.look, step.reveal)]
    texts += [line for step in worked(slug)[1].steps for picture in step.pictures for line in picture.values.get("lines", ())]
    hard = {text: round(lessons.grade(text), 1) for text in texts if len(words(text)) >= RATED_FROM}
    assert {text: value for text, value in hard.items() if value > HIGHEST_GRADE} == {}
    whole = [plain(text) for step in worked(slug)[1].steps for text in read_texts(step) if text.strip()]
    assert lessons.grade(" ".join(whole)) <= HIGHEST_GRADE
    assert [text for text in shown_texts(slug) if "!" in text] == []


def numbers(text: str) -> set[str]:
    """Numbers in a text, as they are written; those of lessons left out."""
    return set(re.findall(r"\d+(?:\.\d+)?", re.sub(r"[Ll]essons? \d+(?:(?:,| and) \d+)*", "", text)))


def asked_before(step: Step) -> str:
    """All that stands there when a question is answered."""
    question = step.question
    assert question is not None
    choices = [choice.says for choice in question.choices]
    early = [part for picture in step.pictures if picture.when == "start" for part in (picture.title, picture.text)]
    return plain(" . ".join([step.text, question.asks, *choices, *early]))


@pytest.mark.parametrize("slug", SLUGS)
def test_a_reveal_tells_few_numbers(slug: str) -> None:
    many = {step.number: new for step in asked(slug)
            if len(new := numbers(plain(step.reveal)) - numbers(asked_before(step))) > MOST_NUMBERS}
    assert many == {}


_UNITS = {"mA": "current", "mm": "length", "µC": "charge", "N": "force", "Hz": "rate", "degrees": "angle", "µs": "time",
          "ms": "time", "s": "time", "seconds": "time", "min": "time", "minutes": "time"}
_WITH_UNIT = re.compile(r"(\d+(?:\.\d+)?) ?(" + "|".join(sorted(_UNITS, key=len, reverse=True)) + r")\b")


def seen(step: Step) -> str:
    """All that stands in words or numbers in the pictures of a step and in what was asked."""
    bars = [f"{read_off(float(value))} {picture.values.get('unit', '')}" for picture in step.pictures if picture.kind == "bars"
            for value in picture.values["values"].values()]
    told = [part for picture in step.pictures for part in (picture.title, picture.text)]
    return " ".join([asked_before(step), *told, *bars])


@pytest.mark.parametrize("slug", SLUGS)
def test_numbers_and_units_are_those_of_the_pictures(slug: str) -> None:
    """A number with a unit that the model gives in a reveal stands in a picture of that step, or in what was asked."""
    off = {}
    for written, step in zip(worked(slug)[0].steps, worked(slug)[1].steps, strict=True):
        if step.question is None:
            continue
        typed = {value for value, _ in _WITH_UNIT.findall(re.sub(r"\{[^{}]*\}", " ", written.reveal.value))}
        there = numbers(seen(step))
        off[step.number] = {f"{value} {unit}" for value, unit in _WITH_UNIT.findall(plain(step.reveal))
                            if value not in there | typed}
    assert {number: values for number, values in off.items() if values} == {}


RATIO, GAIN, LOSS, DIFFERENCE = (
    lambda a, b: a / b, lambda a, b: 100.0 * (a / b - 1.0), lambda a, b: 100.0 * (1.0 - a / b), lambda a, b: abs(a - b),
)
N = r"(\d+(?:\.\d+)?)"
WORKED_OUT = [
    ("short-pulses", 1, rf"{N} mA in place of", rf"in place of {N}:", rf"{N} times", RATIO),
    ("short-pulses", 2, rf"{N} mA at 50", rf"at 50 µs, {N} at 100", rf"steep: half the time takes {N} times", RATIO),
    ("short-pulses", 2, rf"{N} at 300", rf"and {N} mA at 600", rf"only {N} times", RATIO),
    ("short-pulses", 4, rf"Less: {N} mA", rf"in place of {N}", rf"saves {N}% of the current", LOSS),
    ("steady-pull", 2, rf"to {N} N\. Each", rf"times: from {N} to", rf"{N} times: from", RATIO),
    ("steady-pull", 5, rf"{N} N in place", rf"in place of {N}", rf"{N}% more", GAIN),
    ("pads", 4, rf"takes {N} mA instead", rf"instead of {N}", rf"cost {N} times", RATIO),
    ("pads", 6, rf"40 mm: half of each at \d+ and {N} mA", r"40 mm: half of each at (\d+) and", rf"need {N} times", RATIO),
    ("pads", 9, rf"opener: [\d.]+ and {N} mA", rf"opener: {N} and", rf"More: {N} times", RATIO),
    ("tiring", 2, rf"to {N} N in ten", rf"From {N} to", rf"{N}% of the pull is left", lambda a, b: 100.0 * a / b),
    ("hold-or-wait", 2, rf"{N} with the switch", rf"{N} by timer", rf"{N} times as many", RATIO),
    ("hold-or-wait", 3, rf"Longer: {N} minutes", rf"{N} by timer", rf"{N} times as long", RATIO),
    ("hold-or-wait", 7, rf"and {N} far; switch", rf"timer {N} near", rf"timer loses {N}%", LOSS),
    ("claw", 4, rf"best, 13 mA: {N} mm", rf"to 30 mA: {N} mm", rf"Of {N} mm lost", DIFFERENCE),
    ("claw", 10, rf"75; opening {N} mm", rf"82; opening {N} mm", rf"opens {N} mm less", DIFFERENCE),
    ("readying", 6, rf"it opens {N} mm", rf"hand opened {N} mm", rf"most of the {N} mm", DIFFERENCE),
    ("telling", 7, rf"swapped {N};", rf"as planned {N};", rf"hide: {N} times", RATIO),
]
"""What readers can work out from two numbers on a screen: lesson, step, where the two stand, where what comes of them."""


def screen(step: Step) -> str:
    told = [step.text, step.question.asks if step.question else "", step.look, step.reveal]
    words = " ".join([*map(plain, told), *(f"{picture.title}. {picture.text}" for picture in step.pictures)])
    return re.sub(r" +(?=[:;,.%])", "", words)


@pytest.mark.parametrize("slug", sorted({row[0] for row in WORKED_OUT}))
def test_what_follows_from_numbers_on_the_screen_follows_from_them_as_they_are_read(slug: str) -> None:
    steps = {step.number: screen(step) for step in worked(slug)[1].steps}
    for _, number, first, second, result, follows in (row for row in WORKED_OUT if row[0] == slug):
        a, b, said = (re.search(pattern, steps[number]) for pattern in (first, second, result))
        for found, pattern in ((a, first), (b, second), (said, result)):
            assert found, (number, pattern, steps[number])
        digits = len(said[1].partition(".")[2])
        assert said[1] == f"{follows(float(a[1]), float(b[1])):.{digits}f}", (slug, number, a[0], b[0], said[0])


@pytest.mark.parametrize("slug", SLUGS)
def test_bars_are_told_in_words_with_the_numbers_that_are_drawn(slug: str) -> None:
    off = {}
    for step in worked(slug)[1].steps:
        for picture in step.pictures:
            if picture.kind == "bars":
                digits = picture.values["digits"]
                drawn = {read_off(float(value)) if digits is None else told(float(value), f".{digits:.0f}f")
                         for value in picture.values["values"].values()}
                off[step.number, picture.title] = drawn - numbers(f"{picture.text} {step.text}")
    assert {where: missing for where, missing in off.items() if missing} == {}


@pytest.mark.parametrize("slug", SLUGS)
def test_every_choice_and_every_wrong_number_or_order_is_answered(slug: str) -> None:
    """Each choice has its reason, each number and order what is said to wrong ones and a belief behind one of them."""
    for step in asked(slug):
        question = step.question
        assert question is not None
        assert [choice.key for choice in question.choices if not choice.because.strip()] == [], step.title
        if question.kind in ("number", "order"):
            assert len(question.said) >= 2, step.title
            assert any(said.belief for said in question.said), step.title
            assert all(said.because.strip() for said in question.said), step.title


BEFORE = SLUGS[: SLUGS.index("claw")]
_GIVES_AWAY = re.compile(r"\bclaws?\b|\bclos(?:es|ed) again|\bcurls?\b|\bfist\b")


@pytest.mark.parametrize("slug", BEFORE)
def test_no_lesson_before_the_claw_lesson_gives_the_claw_away(slug: str) -> None:
    """None says it, none draws a curve; each bench is of the supple hand and draws what was passed through."""
    assert [text for text in shown_texts(slug) if _GIVES_AWAY.search(text)] == []
    assert [text for step in worked(slug)[1].steps for text in read_texts(step) if _GIVES_AWAY.search(text)] == []
    for step in worked(slug)[1].steps:
        if step.free:
            assert step.curve == "so far", step.title
            assert step.scene is not None
            assert step.scene.hand.flexor_length_factor == sim.presets()["supple"].hand.flexor_length_factor, step.title
        assert [picture.title for picture in step.pictures if picture.kind == "curve"] == [], step.title


def test_a_lesson_that_gave_the_claw_away_would_be_found() -> None:
    assert any(_GIVES_AWAY.search(text) for text in shown_texts("claw"))
    assert any(picture.kind == "curve" for step in worked("claw")[1].steps for picture in step.pictures)


@pytest.mark.parametrize("slug", SLUGS)
def test_a_lesson_says_where_it_ends_and_what_it_rests_on(slug: str) -> None:
    lesson, computed, _ = worked(slug)
    assert all((computed.cautions, computed.limits, computed.objectives, computed.prior, computed.people))
    marks = {basis.mark for basis in computed.basis}
    assert marks <= set(MARKS)
    assert marks >= {"derived", "demo"}
    assert marks & {"published", "practice", "memory"}
    assert all(basis.text.endswith(".") for basis in computed.basis)
    assert sum(step.minutes for step in lesson.steps) == pytest.approx(lesson.minutes)
    assert {step.kind for step in computed.steps} >= {"ask", "roam"}


@pytest.mark.parametrize("slug", SLUGS)
def test_a_room_takes_three_questions_and_the_minutes_are_true(slug: str) -> None:
    lesson = worked(slug)[0]
    core = [lesson.steps[number - 1] for number in lesson.short]
    assert sum(step.kind == "ask" for step in core) == CORE
    assert [step.title for step in lesson.steps if step.minutes < least_room_minutes(step.kind)] == []
    assert 10.0 <= lessons.alone_minutes(lesson) <= 60.0


@pytest.mark.parametrize("slug", SLUGS)
def test_alone_is_not_second_class(slug: str) -> None:
    """Every talk has its form for one person, every roam says when it is met or what to write, and nobody needs a neighbour."""
    steps = worked(slug)[1].steps
    assert [step.title for step in steps if step.kind == "talk" and (step.alone is None or not step.alone.write)] == []
    assert [step.title for step in steps if step.kind == "roam" and not step.goals and step.alone is None] == []
    alone = {step.title: step.alone.text if step.alone and step.alone.text else step.text for step in steps}
    company = re.compile(r"neighbour|in twos|in pairs|in threes|on the board|aloud to", re.IGNORECASE)
    assert [title for title, text in alone.items() if company.search(text)] == []


@pytest.mark.parametrize("slug", SLUGS)
def test_what_passes_is_passed_by_its_own_rule(slug: str) -> None:
    """An answer that is shown as one that passes holds every word asked for, and reads as easily as asked."""
    for step in worked(slug)[1].steps:
        own = step.alone
        if own is None or not (own.needs or own.grade) or "passes:" not in own.passes:
            continue
        text = plain(own.passes.partition("passes:")[2])
        assert [group for group in own.needs if not any(word.casefold() in text.casefold() for word in group)] == [], step.title
        assert own.grade is None or lessons.grade(text) <= own.grade, step.title


@pytest.mark.parametrize("slug", SLUGS)
def test_a_goal_is_not_met_before_anything_is_moved_and_can_be_met(slug: str) -> None:
    for step in worked(slug)[1].steps:
        for goal in step.goals:
            assert step.scene is not None
            start = sim.opening_curve(step.scene, [step.scene.channel[0].pulse.amplitude_ma])
            assert not _met(goal, start, 0, step.scene.channel[0].pulse.amplitude_ma), f"{step.title}: {goal.says}"


def _met(goal: Goal, curve: sim.Opening, i: int, current: float) -> bool:
    value = {"current_ma": current, "opening_mm": curve.opening_mm[i], "wrist_deg": curve.angle_deg["wrist"][i],
             "base_deg": curve.angle_deg["MCP"][i], "middle_deg": curve.angle_deg["PIP"][i]}
    inside = all(low <= value[key] <= high for key, (low, high) in goal.within.items())
    return bool(inside and (goal.claw is None or goal.claw == bool(curve.claw[i])))


@pytest.mark.parametrize("slug", SLUGS)
def test_a_lesson_meets_the_wrong_ideas_that_it_names(slug: str) -> None:
    computed = worked(slug)[1]
    assert {idea.key for idea in computed.wrong_ideas} <= beliefs(slug) <= set(lessons.misconceptions())
    assert computed.wrong_ideas


def test_every_wrong_idea_is_met_in_some_lesson() -> None:
    assert set().union(*map(beliefs, SLUGS)) == set(lessons.misconceptions())


def test_no_word_of_the_glossary_and_no_word_of_the_trade_is_left_unused() -> None:
    said = " ".join(plain(text) for slug in SLUGS for text in shown_texts(slug)).casefold()
    assert [plain_word for plain_word in lessons.trade() if plain_word.casefold() not in said] == []
    stood_for = {entry.term for entry in lessons.trade().values()}
    assert stood_for <= set(lessons.glossary())
    unsaid = [term for term in lessons.glossary() if not re.search(rf"\b{re.escape(term.casefold())}s?\b", said)]
    assert [term for term in unsaid if term not in stood_for] == []


@pytest.mark.parametrize("slug", SLUGS)
def test_words_of_the_trade_are_in_the_glossary(slug: str) -> None:
    """Each lesson meets some, and none of the words that the glossary has another name for."""
    said = " ".join(plain(text) for text in shown_texts(slug)).casefold()
    met = [term for term in lessons.glossary() if re.search(rf"\b{re.escape(term.casefold())}s?\b", said)]
    assert len(met) >= 3
    assert re.findall(r"\b(?:pulse width|pulse duration|mcp|pip|dip|intrinsics|electrodes?)\b", said) == []
