"""Every claim of the lessons in one table: what it rests on, its mark, and in how many other arms the model still says it.

``graspwave check lessons/*.md --arms 100 --claims lessons/CLAIMS.md`` writes it; `stale` says where it no longer fits them.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Mapping, Sequence
from functools import cache
from importlib.resources import files

from graspwave.lessons.bands import used_names
from graspwave.lessons.grammar import Lesson, WrittenQuestion, WrittenStep
from graspwave.lessons.guessed import numbers_digest

__all__ = ["Arms", "counted", "parted", "read_arms", "stale", "table"]

Arms = Mapping[tuple[str, int], str]
"""What is said of other arms, such as ``93 of 100``, by lesson and step."""

_HEAD = """# What the lessons claim

Made by `graspwave check lessons/[0-9]*.md --arms 100 --claims lessons/CLAIMS.md`; not written by hand. A teaching model, not for
setting treatment: that the model gives an answer in many invented arms does not make it true of people.

Claims of the literature and of practice stand with their source and mark. What the model answers is marked "derived"; beside it
stands in how many other arms, drawn within the stated ranges of numbers that nobody has measured, the same answer is right. Below
80 in 100 the reveal says so, marked here with "told".

Counted with the numbers of the model that are known as `{numbers}`.
"""
_SOURCE = re.compile(r"\b(?:19|20)\d\d\b|\bdoi\b|PMC\d|\bIEC\b|\bCG\d|common practice|the study of ")


def parted(text: str) -> tuple[str, str]:
    """A basis as claim and source: what stands behind its last colon, where that names one."""
    claim, colon, source = text.rstrip(". ").rpartition(": ")
    if colon and _SOURCE.search(source):
        return claim, source
    return text.rstrip(". "), "named in it" if _SOURCE.search(text) else ""


def _plain(text: object) -> str:
    """Words of a written text, for one cell: numbers that the model fills in are left open."""
    words = re.sub(r"\{[^{}]*\}", "...", str(text)).replace("{{", "{").replace("}}", "}")
    return " ".join(words.replace("**", "").replace("|", "/").split())


def _answer(question: WrittenQuestion) -> str:
    right = question.right.value if question.right is not None else ()
    keys = [right] if isinstance(right, str) else list(right or ())
    says = {choice.key: _plain(choice.says.value).rstrip(".") for choice in question.choices}
    joined = ", then " if question.kind == "order" else "; "
    return joined.join(f"{key} {says[key]}" for key in keys if key in says) or f"a {question.kind} worked out"


def _digest(step: WrittenStep, lesson: Lesson) -> str:
    """Changes with whatever decides which answer is right."""
    question = step.question
    assert question is not None
    parts = [(name.key, name.value) for name in lesson.names]
    parts += [(choice.key, choice.condition and choice.condition.value) for choice in question.choices]
    parts += [(key, written.value) for key, written in sorted(question.keys.items())]
    return hashlib.sha256(repr(parts).encode()).hexdigest()[:8]


def table(lessons: Sequence[Lesson], arms: Arms) -> str:
    """The whole table as Markdown.

    Parameters
    ----------
    lessons : sequence of Lesson
    arms : mapping
        By lesson and step; "not counted" where it has none.
    """
    lines = [_HEAD.format(numbers=numbers_digest())]
    for number, lesson in enumerate(lessons, 1):
        lines += [f"## {number}. {_plain(lesson.title)}", "", "| claim | source | mark | arms |", "| --- | --- | --- | --- |"]
        for entry in lesson.basis:
            claim, source = parted(_plain(entry.text))
            lines.append(f"| {claim} | {source} | {entry.mark} | |")
        for step in lesson.steps:
            if step.question is None:
                continue
            kept = arms.get((lesson.slug, step.number), "not counted")
            told = ", told" if step.question.unsteady else ""
            claim = f"{step.number}. {_plain(step.question.asks.value)} **{_answer(step.question)}**"
            lines.append(f"| {claim} | the model, `{_digest(step, lesson)}` | derived | {kept}{told} |")
        lines.append("")
    return "\n".join(lines)


def read_arms(text: str, lessons: Sequence[Lesson]) -> dict[tuple[str, int], str]:
    """What a table says of other arms."""
    found = {}
    for lesson, part in zip(lessons, re.split(r"(?m)^## \d+\. ", text)[1:], strict=False):
        for step, kept in re.findall(r"(?m)^\| (\d+)\. .* \| the model, `\w+` \| derived \| (.*?)(?:, told)? \|$", part):
            found[lesson.slug, int(step)] = kept
    return found


@cache
def _shipped() -> dict[str, str]:
    """Counts of the shipped table, by the digest of what decides the answer; none where it was counted with other numbers."""
    text = (files(__package__) / "CLAIMS.md").read_text("utf-8")
    if f"known as `{numbers_digest()}`" not in text:
        return {}
    return dict(re.findall(r"(?m)^\| \d+\. .* \| the model, `(\w+)` \| derived \| (\d+ of \d+)(?:, told)? \|$", text))


@cache
def _of_an_arm() -> frozenset[str]:
    """Words of the vocabulary that are worked out for an arm."""
    from graspwave.lessons import vocabulary

    runs = tuple(f"{vocabulary.__name__}.{part}" for part in ("curve", "moments", "half_hour"))
    return frozenset({"s", "f", "t", *(name for name, one in vocabulary.NAMES.items() if getattr(one, "__module__", "") in runs)})


def counted(lesson: Lesson) -> dict[int, str]:
    """In how many other arms each question of a lesson keeps its answer, such as ``93 of 100``, by step.

    A question that asks nothing of an arm is left out, as is one that has changed since it was counted.
    """
    found = {}
    for step in lesson.steps:
        if step.question is not None and (kept := _shipped().get(_digest(step, lesson))):
            parts = [choice.condition.value for choice in step.question.choices if choice.condition is not None]
            parts += [written.value for written in step.question.keys.values()]
            if used_names(parts, lesson.named) & _of_an_arm():
                found[step.number] = kept
    return found


def stale(text: str, lessons: Sequence[Lesson]) -> list[str]:
    """Lines of a table that are not as the lessons are now, or that the lessons have and the table lacks."""
    now = table(lessons, read_arms(text, lessons)).splitlines()
    have = set(text.splitlines())
    return [line for line in now if line not in have] + [line for line in text.splitlines() if line not in set(now)]
