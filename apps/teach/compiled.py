"""A lesson as one table of plain values: all that pages and rooms show, computed once and kept. Stage ``apps``.

A lesson takes the simulator from one to some tens of seconds. Its result depends on the text, on the code and the numbers of
simulator and lessons, and on numpy: a digest of these names the file in the user's cache folder.
"""

from __future__ import annotations

import hashlib
import json
import os
import re
import sys
import tempfile
import threading
from collections.abc import Iterable, Iterator
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

from graspwave import lessons
from graspwave import simulator as sim
from graspwave.apps.teach.bench import bench
from graspwave.apps.teach.imported import files_behind
from graspwave.apps.teach.pictures import hand_state, picture, with_id
from graspwave.apps.teach.trade import mark_words, said_of_trade
from graspwave.apps.told.live_hand import hand_words
from graspwave.lessons.quiz import QUIZZES, asked, quiz

__all__ = ["cache_folder", "compile_lesson", "compiled", "pictures_of", "source_digest"]

_KEPT_FILES = 4
"""Files of one lesson that stay: another version of the program may use the same folder."""

_KEYS = frozenset({
    "slug", "title", "digest", "minutes", "alone_minutes", "short", "for", "objectives", "prior", "wrong_ideas", "basis",
    "limits", "cautions", "glossary", "steps",
})
_done: dict[str, dict[str, Any]] = {}
_locks: dict[str, threading.Lock] = {}
_guard = threading.Lock()


def compiled(slug: str) -> dict[str, Any]:
    """A lesson that comes with the program, compiled; from memory or disk where it is there.

    Parameters
    ----------
    slug : str
        One of ``graspwave.lessons.names()``.

    Returns
    -------
    dict
        As `compile_lesson` gives it. It is shared: do not change it.

    Raises
    ------
    KeyError
        There is no lesson of that name.
    lessons.LessonError
        The lesson has mistakes, or the model no longer gives the answer it was written for.
    """
    if slug not in (*lessons.names(), *QUIZZES):
        raise KeyError(slug)
    with _guard:
        lock = _locks.setdefault(slug, threading.Lock())
    with lock:
        if slug not in _done:
            key = source_digest(_source(slug))
            found = _read(slug, key)
            if found is None:
                # what was just made goes through text as well, so that a first and a later start show the same
                found = json.loads(json.dumps(_compiled_now(slug), allow_nan=False))
                _write(slug, key, found)
            _done[slug] = found
        return _done[slug]


def _source(slug: str) -> str:
    """All text that a lesson, or the questions before and after a course, are made of."""
    used = [one.lesson for one in asked()] if slug in QUIZZES else [slug]
    return "\n".join([*([slug] if slug in QUIZZES else []), *(lessons.source(one) for one in used)])


def _compiled_now(slug: str) -> dict[str, Any]:
    if slug not in QUIZZES:
        return compile_lesson(lessons.compute(lessons.load(slug)))
    return {**compile_lesson(quiz(slug)), "quiz": slug}


def compile_lesson(lesson: lessons.Computed) -> dict[str, Any]:
    """A computed lesson as a table of plain values.

    Parameters
    ----------
    lesson : lessons.Computed

    Returns
    -------
    dict
        Texts are safe HTML, pictures the data that the browser draws.
    """
    ideas = lessons.misconceptions()
    found: dict[str, Any] = {
        "slug": lesson.slug, "title": lesson.title, "digest": lesson.digest, "minutes": lesson.minutes,
        "alone_minutes": lessons.alone_minutes(lesson),
        "short": list(lesson.short), "for": list(lesson.people), "objectives": _all_html(lesson.objectives),
        "prior": lessons.html(lesson.prior), "wrong_ideas": [{"key": idea.key, "text": idea.text} for idea in lesson.wrong_ideas],
        "basis": [{"html": lessons.html(entry.text), "mark": entry.mark} for entry in lesson.basis],
        "limits": _all_html(lesson.limits), "cautions": _all_html(lesson.cautions),
        "steps": [_step(step, lesson.slug, ideas) for step in lesson.steps],
    }
    found["glossary"] = _terms(found)
    mark_words(found["steps"], found["glossary"])
    return found


def pictures_of(lesson: dict[str, Any]) -> dict[str, dict[str, Any]]:
    """Every picture of a compiled lesson by its id."""
    return {one["id"]: one for step in lesson["steps"] for one in _pictures(step)}


def _pictures(step: dict[str, Any]) -> Iterator[dict[str, Any]]:
    yield from step["pictures"]
    for part in ("look", "answer"):
        if step[part]:
            yield from step[part]["pictures"]
    if step["question"] and step["question"]["on"]:
        yield step["question"]["on"]


def _all_html(texts: Iterable[str]) -> list[str]:
    return [lessons.html(text) for text in texts]


# ---- a step

def _step(step: lessons.Step, slug: str, ideas: dict[str, str]) -> dict[str, Any]:
    shown: dict[str, list[dict[str, Any]]] = {"start": [], "look": [], "reveal": []}
    for given in step.pictures:
        # a step without a question has one phase: all is there from the start
        shown[given.when if step.question else "start"].append(picture(given))
    if step.question and step.scene is not None and not shown["start"]:
        shown["start"].append(_situation(step.scene))
    _same_guess(shown, f"{slug}/{step.number}")
    text = step.text if step.question else f"{step.text}\n\n{step.reveal}".strip()
    return {
        "number": step.number, "title": step.title, "kind": step.kind, "minutes": step.minutes, "html": lessons.html(text),
        "say": lessons.html(step.say), "alone": _alone(step), "pictures": shown["start"], "question": _question(step.question),
        "look": {"html": lessons.html(step.look), "pictures": shown["look"]} if shown["look"] else None,
        "answer": _answer(step, shown["reveal"], ideas) if step.question else None,
        "bench": bench(step.scene, step.free, step.curve, step.goals) if step.scene is not None and step.free else None,
    }


def _alone(step: lessons.Step) -> dict[str, Any] | None:
    """The step for one person: text, field and how what is written there is judged."""
    own = step.alone
    if own is None:
        return None
    judged = {"needs": [list(group) for group in own.needs], "grade": own.grade, "passes": lessons.html(own.passes)}
    return {"html": lessons.html(own.text), "write": own.write, **judged}


def _situation(scene: sim.Scene) -> dict[str, Any]:
    """The hand that a question is about, at rest: what is asked has not happened yet."""
    state = hand_state(scene, 0.0)
    title = "The hand before any current"
    return with_id({"kind": "hand", "title": title, "text": f"{title}. {hand_words(state, 0.0)}", "caption": "", "state": state,
                    "frames": None})


def _same_guess(shown: dict[str, list[dict[str, Any]]], key: str) -> None:
    """A line that a learner draws on a covered curve stays beside the open one: both carry one key."""
    def axes(one: dict[str, Any]) -> tuple[str, str]:
        return one["x"]["name"], one["y"]["name"]

    covered = {axes(one) for one in shown["start"] if one.get("covered")}
    for part in shown.values():
        part[:] = [with_id({**one, "guess": key}) if one["kind"] == "lines" and axes(one) in covered else one for one in part]


def _question(question: lessons.Question | None) -> dict[str, Any] | None:
    if question is None:
        return None
    on = None
    if question.on is not None:
        right = question.right
        both = isinstance(right, dict) and right.get("y") is not None
        on = with_id({**picture(question.on), "place": "xy" if both else "x"})
    choices = [
        {"key": choice.key, "html": lessons.html(choice.says), "hand": None if choice.scene is None else hand_state(choice.scene)}
        for choice in question.choices
    ]
    return {
        "kind": question.kind, "html": lessons.html(question.asks), "choices": choices, "low": question.low,
        "high": question.high, "step": question.step, "unit": question.unit, "on": on,
    }


def _answer(step: lessons.Step, pictures: list[dict[str, Any]], ideas: dict[str, str]) -> dict[str, Any]:
    question = step.question
    assert question is not None
    right = list(question.right) if isinstance(question.right, tuple) else question.right
    # in an order every choice is part of the answer, and none is right by itself
    keys = set() if question.kind == "order" or isinstance(right, dict) else set(right)
    choices = {
        choice.key: {"right": choice.key in keys, "belief": ideas.get(choice.belief, ""), "html": lessons.html(choice.because)}
        for choice in question.choices
    }
    said = [
        {"low": one.low, "high": one.high, "before": one.before and list(one.before), "belief": ideas.get(one.belief, ""),
         "html": lessons.html(one.because)}
        for one in question.said
    ]
    return {"right": right, "html": lessons.html(step.reveal), "pictures": pictures, "choices": choices, "said": said,
            "arms": question.arms}


def _terms(lesson: dict[str, Any]) -> dict[str, str]:
    """Words of the glossary that are read in the lesson, in the order of the glossary."""
    said = re.sub(r"<[^>]+>", " ", " ".join([*lesson["objectives"], lesson["prior"], *_read_texts(lesson["steps"])])).casefold()
    trade = said_of_trade(said)
    return {
        term: meaning for term, meaning in lessons.glossary().items()
        if term in trade or re.search(rf"\b{re.escape(term.casefold())}s?\b", said)
    }


def _read_texts(part: Any) -> Iterator[str]:
    """Texts that people read: what is HTML, and titles."""
    if isinstance(part, list):
        for item in part:
            yield from _read_texts(item)
    elif isinstance(part, dict):
        for key, value in part.items():
            if key in ("html", "title") and isinstance(value, str):
                yield value
            elif key != "bench":
                yield from _read_texts(value)


# ---- on disk

def cache_folder() -> Path:
    """Folder of the user's cache for compiled lessons; it may not exist yet."""
    base = os.environ.get("XDG_CACHE_HOME") or (os.environ.get("LOCALAPPDATA") if sys.platform == "win32" else "")
    try:
        return (Path(base) if base else Path.home() / ".cache") / "graspwave" / "lessons"
    except RuntimeError:  # a user without a folder of its own: kept as long as this process lives
        return _own_folder()


@cache
def _own_folder() -> Path:
    return Path(tempfile.mkdtemp(prefix="graspwave-"))


def source_digest(text: str) -> str:
    """Digest of all that the result for a lesson text depends on."""
    return hashlib.sha256(f"{_code_digest()}\n{text}".encode()).hexdigest()[:32]


@cache
def _code_digest() -> str:
    digest = hashlib.sha256(f"numpy {np.__version__}, python {sys.version_info[:2]}".encode())
    for file in sorted(files_behind(__name__)):
        digest.update(f"{file.parent.name}/{file.name}\n".encode() + file.read_bytes())
    return digest.hexdigest()


def _read(slug: str, key: str) -> dict[str, Any] | None:
    """What lies on disk; None where nothing does, or nothing that can be used."""
    try:
        found = json.loads((cache_folder() / f"{slug}-{key}.json").read_text("utf-8"))
    except (OSError, ValueError):
        return None
    whole = isinstance(found, dict) and found.get("key") == key and isinstance(found.get("lesson"), dict)
    return found["lesson"] if whole and found["lesson"].keys() - {"quiz"} == _KEYS else None


def _write(slug: str, key: str, lesson: dict[str, Any]) -> None:
    """Keep it, whole or not at all; a folder that cannot be written is no reason to stop."""
    folder = cache_folder()
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with tempfile.NamedTemporaryFile("w", dir=folder, prefix=".", suffix=".part", encoding="utf-8", delete=False) as part:
            json.dump({"key": key, "lesson": lesson}, part, ensure_ascii=False, separators=(",", ":"))
        os.replace(part.name, folder / f"{slug}-{key}.json")
        old = sorted(folder.glob(f"{slug}-{'?' * 32}.json"), key=lambda file: file.stat().st_mtime, reverse=True)
        for file in old[_KEPT_FILES:]:
            file.unlink(missing_ok=True)
    except OSError:
        return
