"""The body of a lesson -> its steps: text between two headings, and the fenced blocks in it."""

from __future__ import annotations

import difflib
import re
from bisect import bisect_left
from collections.abc import Iterator
from dataclasses import dataclass, field, replace

from markdown_it.token import Token

from graspwave.lessons.asides import alone, goal
from graspwave.lessons.blocks import picture, question
from graspwave.lessons.grammar import CURVES, LOOK, STEPS, Written, WrittenPicture, WrittenStep
from graspwave.lessons.tables import AS_IT_STANDS, Notes, Table, nearest, seen, toml
from graspwave.lessons.text import blocks

__all__ = ["BLOCKS", "step_lines", "steps"]

BLOCKS = ("scene", "step", "say", "see", "ask", "look", "reveal", "alone", "goal")
"""Names of the fenced blocks."""

_ONCE = ("scene", "step", "say", "ask", "look", "reveal", "alone")
_OFTEN = ("see", "goal")
_FENCE = re.compile(r" {0,3}(?:`{3,}|~{3,})\s*(\w*)\s*$")
_MOST_STEPS = 40
_LONGEST = 20_000
"""Characters of one text."""

_MOST_CUTS = 20
"""Unclosed blocks that are told apart; each costs another reading."""

_MOVE = "Move it below a line ## title."
_CLOSE = "Write ``` below its last line."


@dataclass
class _Part:
    """What stands between two headings: text with the blocks taken out, and the blocks by kind."""

    title: str
    line: int
    text: list[str] = field(default_factory=list)
    blocks: dict[str, list[Written]] = field(default_factory=dict)

    def of(self, kind: str) -> list[Written]:
        return self.blocks.get(kind, [])


def steps(lines: list[str], body: int, notes: Notes) -> list[WrittenStep]:
    """Steps of a file.

    Parameters
    ----------
    lines : list of str
        The whole file.
    body : int
        How many of them the front matter takes.
    notes : Notes
        Where mistakes go.
    """
    kept = [""] * body + lines[body:]
    cut = list(_cut(kept, notes))
    tokens = blocks("\n".join(kept))
    parts = list(_headings(tokens, kept, notes))
    text = list(kept)
    starts = [part.line for part in parts]
    for found in [*cut, *_fences(tokens, kept, text, notes)]:
        above = bisect_left(starts, found.line) - 1
        if above >= 0:
            parts[above].blocks.setdefault(found.key, []).append(found)
        elif parts:
            notes.add(found.line - 1, found.key, "below the heading of its step", "above the first", _MOVE)
    first = parts[0].line - 1 if parts else 0
    stray = [i for i in range(body, first) if text[i].strip()]
    if stray:
        notes.add(stray[0] + 1, "text", "below the heading of its step", seen(text[stray[0]].strip()), _MOVE)
    for part, end in zip(parts, [*(start - 1 for start in starts[1:]), len(text)], strict=False):
        part.text = text[part.line : end]
    if len(parts) > _MOST_STEPS:
        notes.add(parts[_MOST_STEPS].line, "steps", f"at most {_MOST_STEPS}", f"{len(parts)}", "Make two lessons of it.")
    return [_step(number, part, notes) for number, part in enumerate(parts[:_MOST_STEPS], 1)]


def step_lines(text: str) -> list[int]:
    """The line, from 1, on which each step of a lesson's text begins."""
    lines = text.splitlines()
    ends = [number for number, line in enumerate(lines, 1) if line.strip() == "+++"]
    body = ends[1] if len(ends) > 1 else 0
    kept = [""] * body + lines[body:]
    return [part.line for part in _headings(blocks("\n".join(kept)), kept, Notes(""))]


def _headings(tokens: list[Token], lines: list[str], notes: Notes) -> Iterator[_Part]:
    for i, token in enumerate(tokens):
        if token.type != "heading_open" or token.level or not token.map:
            continue
        line = token.map[0]
        if token.tag == "h1":
            notes.add(line + 1, "heading", "## and a title", seen(lines[line].strip()), "Begin each step with two signs ##.")
        if token.tag in ("h1", "h2"):
            title = tokens[i + 1].content.strip()
            if not title:
                notes.add(line + 1, "title", "text behind ##", "nothing", "Say in a few words what the step shows.")
            elif "{" in title or "}" in title:
                notes.add(line + 1, "title", AS_IT_STANDS[0], seen(title), AS_IT_STANDS[1])
            yield _Part(title, line + 1)


def _cut(lines: list[str], notes: Notes) -> Iterator[Written]:
    """Blocks that are not closed before another one or a step begins; they are taken out of `lines`."""
    for _ in range(_MOST_CUTS):
        swallowed = _swallowed(blocks("\n".join(lines)), lines)
        if swallowed is None:
            return
        kind, start, end = swallowed
        got = f"{lines[end].strip()} on line {end + 1}"
        notes.add(start + 1, kind, "closed by a line ``` before anything else begins", got, _CLOSE)
        yield Written("\n".join(lines[start + 1 : end]), kind, start + 2)
        lines[start:end] = [""] * (end - start)


def _swallowed(tokens: list[Token], lines: list[str]) -> tuple[str, int, int] | None:
    """Kind and line of the first block that holds the opening of another, and the line, from 0, where it should have ended."""
    for token in tokens:
        if token.type != "fence" or token.level or not token.map or _kind(token) not in BLOCKS:
            continue
        closed = _closed(lines, token)
        first: int | None = None
        for at in range(token.map[0] + 1, token.map[1]):
            opens = _FENCE.match(lines[at])
            heading = lines[at].startswith("## ")
            if heading and first is None:
                first = at
            if (opens and opens[1] in BLOCKS) or (heading and not closed):
                return _kind(token), token.map[0], first or at
    return None


def _kind(token: Token) -> str:
    words = token.info.split()
    return words[0] if words else ""


def _closed(lines: list[str], token: Token) -> bool:
    assert token.map is not None
    start, end = token.map
    last = _FENCE.match(lines[end - 1])
    return end - start > 1 and last is not None and not last[1]


def _fences(tokens: list[Token], lines: list[str], text: list[str], notes: Notes) -> Iterator[Written]:
    """Every block of the file; its lines are taken out of `text`."""
    for token in tokens:
        if token.type != "fence" or not token.map:
            continue
        start, end = token.map
        text[start:end] = [""] * (end - start)
        kind = _kind(token)
        if kind not in BLOCKS:
            notes.add(start + 1, "block", "one of " + ", ".join(BLOCKS), kind or "one without a name", nearest(kind, BLOCKS))
            meant = difflib.get_close_matches(kind, BLOCKS, 1, 0.5)
            if not meant:
                continue
            kind = meant[0]
        if token.level:
            repair = "Begin its lines at the margin, below an empty line."
            notes.add(start + 1, kind, "outside any list or quotation", "inside one", repair)
        elif not _closed(lines, token):
            notes.add(start + 1, kind, "closed by a line ```", "the end of the file", _CLOSE)
        yield Written(token.content, kind, start + 2)


def _step(number: int, part: _Part, notes: Notes) -> WrittenStep:
    """One step; what it lacks is noted."""
    for kind in _ONCE:
        for found in part.of(kind)[1:]:
            notes.add(found.line - 1, kind, "given once in a step", "a second one", "Join the two, or start another step.")
    scene, free, curve = _scene(_tables(part, "scene", notes))
    minutes, kind = _kind_of(_tables(part, "step", notes), bool(part.of("ask")))
    pictures = [drawn for table in _tables(part, "see", notes) if (drawn := picture(table)) is not None]
    asked = [question(table) for table in _tables(part, "ask", notes)]
    goals = [aim for table in _tables(part, "goal", notes) if (aim := goal(table)) is not None]
    own = [alone(table) for table in _tables(part, "alone", notes)]
    step = WrittenStep(
        number, part.title, part.line, kind, minutes, _trimmed("\n".join(part.text), "text", part.line + 1), _block(part, "say"),
        scene, free, tuple(pictures), asked[0] if asked else None, _block(part, "look"), _block(part, "reveal"),
        curve, tuple(goals), own[0] if own else None,
    )
    for text in (step.text, step.say, step.look, step.reveal):
        if len(text.value) > _LONGEST:
            notes.add(text.line, text.key, f"at most {_LONGEST} characters", f"{len(text.value)}", "Make it shorter.")
    _complete(step, part, pictures, notes)
    looks = any(shown.when == "look" for shown in pictures)
    return replace(step, look=Written(LOOK, "look", part.line)) if looks and not step.look.value else step


def _tables(part: _Part, kind: str, notes: Notes) -> list[Table]:
    found = part.of(kind) if kind in _OFTEN else part.of(kind)[:1]
    return [table for block in found if (table := toml(block.value, block.line, kind, notes)) is not None]


def _trimmed(text: str, key: str, line: int) -> Written:
    """A text without empty lines at its ends; its line is that of the first that holds something."""
    lines = text.split("\n")
    first = next((i for i, content in enumerate(lines) if content.strip()), 0)
    return Written("\n".join(lines[first:]).rstrip(), key, line + first)


def _block(part: _Part, kind: str) -> Written:
    found = part.of(kind)
    return _trimmed(found[0].value, kind, found[0].line) if found else Written("", kind, part.line)


def _scene(tables: list[Table]) -> tuple[Written | None, tuple[Written, ...], str]:
    if not tables:
        return None, (), CURVES[0]
    scene, free, curve = tables[0].expression("is"), tables[0].texts("free"), tables[0].one_of("curve", CURVES, CURVES[0])
    tables[0].close()
    return scene, tuple(free), curve


def _kind_of(tables: list[Table], asks: bool) -> tuple[float, str]:
    """Minutes, 0 where none are given, and kind."""
    usual = "ask" if asks else "tell"
    if not tables:
        return 0.0, usual
    table = tables[0]
    minutes = table.number("minutes", 0.5, 120) or 0.0
    kind = table.one_of("kind", STEPS, usual)
    if (kind == "ask") != asks:
        repair = "A talk without a right answer has its choices in the text." if asks else "Add a block ask."
        table.wrong("kind", "ask in a step with a question, and only there", kind, repair)
    table.close()
    return minutes, kind if (kind == "ask") == asks else usual


def _complete(step: WrittenStep, part: _Part, pictures: list[WrittenPicture], notes: Notes) -> None:
    """Note what a step lacks, and what in it would never be seen."""
    asks = part.of("ask")
    if not (step.text.value or part.of("see") or asks):
        notes.add(step.line, "step", "a text, a picture or a question", "nothing", "Say what is to be seen or done.")
    if asks and not step.reveal.value:
        notes.add(asks[0].line - 1, "reveal", "given with a question", "nothing", "Add a block reveal that says why.")
    for kind in ("look", "reveal"):
        if part.of(kind) and not asks:
            repair = "Add a block ask, or write it as plain text."
            notes.add(part.of(kind)[0].line - 1, kind, "in a step with a question", "no question", repair)
    for shown in pictures:
        if shown.when != "start" and not asks:
            notes.add(shown.line, "when", "start in a step without a question", shown.when, 'Write when = "start".')
    unread = len(part.of("see")) - len(pictures)
    if part.of("look") and asks and not unread and not any(shown.when == "look" for shown in pictures):
        repair = 'Give a block see the line when = "look".'
        notes.add(part.of("look")[0].line - 1, "look", "given with a picture that opens after the votes", "none", repair)
    if step.goals and not step.free:
        repair = "Add a block scene with free = [...], or leave the goal out."
        notes.add(step.goals[0].line, "goal", "in a step with settings that people may move", "none", repair)
    if step.kind == "roam" and not step.free:
        repair = 'Add a block scene with free = ["channel.0.pulse.amplitude_ma"].'
        notes.add(step.line, "free", "at least one setting in a roam step", "nothing", repair)
