"""What a learner's page may ask of its room: take an answer, words, what is not understood, a goal that was met."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from graspwave.apps.classroom import goals
from graspwave.apps.classroom.answers import SURE, clean_answer
from graspwave.apps.classroom.base import numbers_by_path
from graspwave.apps.classroom.open_line import Act, OpenLine, Wrong
from graspwave.apps.classroom.store import Closed
from graspwave.apps.classroom.writer import NotKept

__all__ = ["FROM_LEARNERS"]

_TEXT_LONG = 200


def _one_line(text: str) -> str:
    return " ".join("".join(c if c.isprintable() else " " for c in text).split())


async def _answer(line: OpenLine, message: dict[str, Any]) -> None:
    services, learner = line.services, line.learner
    if not services.gate.take("answer", line.token):
        raise NotKept("Too many at once. It is tried again.")
    step, compiled = line.step_of(message)
    turn, sure = message.get("round"), message.get("sure")
    if turn not in (1, 2) or type(turn) is not int:
        raise Wrong("'round' must be 1 or 2.")
    if sure is not None and (type(sure) is not int or sure not in SURE):
        raise Wrong("'sure' must be 0, 1, 2 or nothing.")
    if not compiled.get("question"):
        raise Closed("Nothing is asked in this step.")
    try:
        answer = clean_answer(compiled["question"], message.get("answer"))
    except ValueError as why:
        raise Wrong(str(why)) from None
    assert learner is not None
    await line.kept(
        message, lambda c: services.store.answer(c, line.code, learner, step, turn, answer, sure), step=step, round=turn)


async def _done(line: OpenLine, message: dict[str, Any]) -> None:
    learner, (step, _) = line.learner, line.step_of(message)
    assert learner is not None
    await line.kept(message, lambda c: line.services.store.done(c, line.code, learner, step))


async def _words(line: OpenLine, message: dict[str, Any]) -> None:
    learner, (step, _), text = line.learner, line.step_of(message), message.get("text")
    if not isinstance(text, str) or not (plain := _one_line(text)):
        raise Wrong("Write a few words.")
    if len(plain) > _TEXT_LONG:
        raise Wrong(f"Write at most {_TEXT_LONG} letters.")
    assert learner is not None
    await line.kept(message, lambda c: line.services.store.say(c, line.code, learner, step, plain))


async def _unclear(line: OpenLine, message: dict[str, Any]) -> None:
    learner, (step, _), text = line.learner, line.step_of(message), message.get("text", "")
    if not isinstance(text, str):
        raise Wrong("Write a few words, or none.")
    plain = _one_line(text)
    if len(plain) > _TEXT_LONG:
        raise Wrong(f"Write at most {_TEXT_LONG} letters.")
    assert learner is not None
    await line.kept(message, lambda c: line.services.store.unclear(c, line.code, learner, step, plain))


async def _solved(line: OpenLine, message: dict[str, Any]) -> None:
    learner, (at, step) = line.learner, line.step_of(message)
    bench, settings = step.get("bench") or {}, numbers_by_path(message.get("settings"))
    if not bench.get("goals") or settings is None:
        raise Wrong("This step has no goal.")
    live = await line.bench(bench, settings)
    if live is None:
        raise NotKept("Too many at once. It is tried again.")
    # a page may say what it likes: whether the goal is met is worked out here
    given = settings.get(goals.AMPLITUDE)
    ma = float(live["at_ma"] if given is None else given)
    sample = min(range(len(live["amplitude_ma"])), key=lambda i: abs(live["amplitude_ma"][i] - ma))
    if not goals.meets(bench["goals"], live, sample):
        raise Closed("These settings do not meet the goal.")
    mm, count = live["opening_mm"][sample], goals.changed(bench, settings)
    assert learner is not None
    await line.kept(message, lambda c: line.services.store.solved(c, line.code, learner, at, ma, mm, count))


FROM_LEARNERS: Mapping[str, Act] = {
    "answer": _answer, "done": _done, "words": _words, "unclear": _unclear, "solved": _solved,
}
