"""Numbers of the model that nobody has measured: other arms have others. And by what it is told that any of them has changed."""

from __future__ import annotations

import hashlib
from functools import cache

from graspwave import simulator as sim

__all__ = ["is_drawn", "numbers_digest"]

_LEFT_OUT = ("settings.", "axon.use.", "dose.", "pages.", "conductor.", "muscle.quadriceps.")
"""Settings of a scene, pulses of a study, another muscle, and what the shipped maps were made with."""


def is_drawn(record: sim.Fact) -> bool:
    """Whether a number is another one in other arms."""
    plain = isinstance(record.value, (int, float)) and record.range is not None
    return plain and not record.name.startswith(_LEFT_OUT) and record.mark.startswith(("memory", "demo"))


@cache
def numbers_digest() -> str:
    """Of all numbers that other arms have others of, with what each is drawn from, and of the three hands.

    A number that all arms share is told by what the model makes of it: tests hold each answer and each counted curve against it.
    """
    from graspwave.lessons.vocabulary import lesson_scenes

    digest = hashlib.sha256()
    for name, record in sorted(sim.all_facts().items()):
        if is_drawn(record):
            digest.update(repr((name, record.value, record.mark, record.range)).encode())
    for key, scene in sorted(lesson_scenes().items()):
        digest.update(f"{key}\n{scene!r}".encode())
    return digest.hexdigest()[:12]
