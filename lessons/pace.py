"""How long a lesson takes, from what is in it: reading, looking, deciding, trying, writing."""

from __future__ import annotations

import re
from typing import Any

from graspwave.lessons.grammar import Computed, Lesson

__all__ = ["WORDS_A_MINUTE", "alone_minutes", "least_room_minutes"]

WORDS_A_MINUTE = 150.0
"""Slow reading of something new, with a look at the picture now and then."""

_DECIDE, _LOOK, _TRY, _WRITE = 0.6, 0.5, 2.0, 1.5
"""Minutes for a guess with its reason, for a picture, for a bench, for a text of one's own."""

_ASKED = 5.0
"""Minutes of a question in a room: read aloud 0.5, vote 0.75, talk 2, vote 0.5, picture and reason 1.25 and more."""


def alone_minutes(lesson: Lesson | Computed) -> float:
    """Minutes that a lesson takes one person, whole.

    Parameters
    ----------
    lesson : Lesson or Computed
        As written or as computed; the two differ by the words of their numbers.

    Returns
    -------
    float
        To half a minute.
    """
    return round(2.0 * sum(_step(step) for step in lesson.steps)) / 2.0


def least_room_minutes(kind: str) -> float:
    """Minutes that a step takes a room at least."""
    return {"ask": _ASKED, "talk": 2.0, "roam": 3.0}.get(kind, 1.0)


def _step(step: Any) -> float:
    question, alone = step.question, step.alone
    told = alone is not None and bool(_value(alone.text))
    texts = [alone.text if told else step.text, step.look, step.reveal, *(picture.title for picture in step.pictures)]
    if question is not None:
        texts += [question.asks, *(part for choice in question.choices for part in (choice.says, choice.because))]
    minutes = sum(len(re.findall(r"\w+", _value(text))) for text in texts) / WORDS_A_MINUTE
    minutes += _LOOK * len(step.pictures) + (_DECIDE if question is not None else 0.0)
    minutes += _TRY if step.kind == "roam" else 0.0
    return minutes + (_WRITE if alone is not None and _value(alone.write) else 0.0)


def _value(text: Any) -> str:
    return str(getattr(text, "value", text))
