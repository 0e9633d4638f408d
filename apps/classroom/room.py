"""A room's state and how it moves: pure functions of a lesson's steps and phases, no store, no clock."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

__all__ = [
    "ASK_PHASES", "Room", "RoomError", "back", "closed", "forward", "go", "mirrored", "phase_round", "phases_of", "positions",
    "refusal", "switched",
]

ASK_PHASES = ("vote", "talk", "again", "bars", "look", "reveal")
"""Phases of a step that asks, in order; ``look`` only where the step has pictures for it."""

_ROUNDS = {"vote": 1, "again": 2}


class RoomError(ValueError):
    """A move that a room does not make, said in plain words."""


@dataclass(frozen=True)
class Room:
    """Where a room stands.

    `step` counts from 0. `mirror` holds the settings that the educator shows to all, by path. `version` rises by one with every
    change, so that two control pages cannot undo each other's step unseen.
    """

    code: str
    slug: str
    step: int = 0
    phase: str = "show"
    paused: bool = False
    roam: bool = False
    words: bool = False
    mirror: Mapping[str, float | None] | None = None
    version: int = 1
    ended: bool = False


def phases_of(step: Mapping[str, Any]) -> tuple[str, ...]:
    """Phases of a compiled step, in order."""
    if step["kind"] != "ask":
        return ("show",)
    has_look = bool(step.get("look") and step["look"].get("pictures"))
    return tuple(phase for phase in ASK_PHASES if phase != "look" or has_look)


def positions(lesson: Mapping[str, Any]) -> tuple[tuple[int, str], ...]:
    """Every (step, phase) of a compiled lesson, in order."""
    return tuple((number, phase) for number, step in enumerate(lesson["steps"]) for phase in phases_of(step))


def go(room: Room, lesson: Mapping[str, Any], step: int, phase: str | None = None) -> Room:
    """The room at another place of the lesson; the first phase of the step where none is given.

    A new step takes the mirrored scene and the leave to roam away. Going where the room already is changes nothing.

    Raises
    ------
    RoomError
        The room has ended, or the lesson has no such place.
    """
    if room.ended:
        raise RoomError("This room has ended.")
    steps = lesson["steps"]
    if not 0 <= step < len(steps):
        raise RoomError(f"This lesson has {len(steps)} steps.")
    phases = phases_of(steps[step])
    phase = phases[0] if phase is None else phase
    if phase not in phases:
        raise RoomError(f"This step has no such part. It has {', '.join(phases)}.")
    if (step, phase) == (room.step, room.phase):
        return room
    if step != room.step:
        room = replace(room, mirror=None, roam=False)
    return replace(room, step=step, phase=phase, version=room.version + 1)


def forward(room: Room, lesson: Mapping[str, Any]) -> Room:
    """The next phase, or the next step's first; the last place stays."""
    return _along(room, lesson, 1)


def back(room: Room, lesson: Mapping[str, Any]) -> Room:
    """The phase before, or the step's before last; the first place stays."""
    return _along(room, lesson, -1)


def _along(room: Room, lesson: Mapping[str, Any], by: int) -> Room:
    places = positions(lesson)
    at = places.index((room.step, room.phase)) + by
    return go(room, lesson, *places[min(max(at, 0), len(places) - 1)])


def switched(room: Room, **flags: bool) -> Room:
    """The room with `paused`, `roam` or `words` set.

    Raises
    ------
    RoomError
        The room has ended.
    """
    return _changed(room, **flags)


def mirrored(room: Room, settings: Mapping[str, float | None] | None) -> Room:
    """The room with a scene that all see, or none.

    Raises
    ------
    RoomError
        The room has ended.
    """
    return _changed(room, mirror=settings)


def _changed(room: Room, **new: Any) -> Room:
    """The room with these fields; its version rises where that makes a difference."""
    if room.ended:
        raise RoomError("This room has ended.")
    after = replace(room, **new)
    return room if after == room else replace(after, version=room.version + 1)


def closed(room: Room) -> Room:
    """The room at its end: what was answered stays, nothing is taken any more."""
    return room if room.ended else replace(room, ended=True, version=room.version + 1)


def phase_round(phase: str) -> int | None:
    """The round whose answers a phase takes: 1 in ``vote``, 2 in ``again``, None in any other."""
    return _ROUNDS.get(phase)


def refusal(room: Room, step: int, turn: int | None = None) -> str | None:
    """Why something for `step` (an answer where `turn` gives its round) is not taken now, in plain words; None if it is."""
    if room.ended:
        return "This room has ended."
    if room.paused:
        return "The room is paused. Wait until it goes on."
    if step != room.step:
        return "The room is at another step now."
    if turn is not None and turn != phase_round(room.phase):
        return "Too late: this vote is closed." if room.phase in ASK_PHASES else "Nothing is asked now."
    return None
