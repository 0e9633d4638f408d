"""A room's state and how it moves: pure functions of a lesson's steps and phases, no store, no clock."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

__all__ = [
    "ASK_PHASES", "TALK_S", "Room", "RoomError", "addressed", "arrived", "back", "begun", "closed",
    "forward", "go", "mirrored", "phase_round", "phases_of", "positions", "refusal", "switched", "timed",
    "with_best",
]

ASK_PHASES = ("vote", "talk", "again", "bars", "look", "reveal")
"""Phases of a step that asks, in order; ``look`` only where the step has pictures for it."""

_ROUNDS = {"vote": 1, "again": 2}
_TOLD = ("look", "reveal")
"""Phases that show what is right: from then on a step takes no answers, wherever the room goes."""

TALK_S = 120
"""Seconds of a talk between neighbours (common practice, no source)."""


class RoomError(ValueError):
    """A move that a room does not make, said in plain words."""


@dataclass(frozen=True)
class Room:
    """Where a room stands.

    `step` counts from 0. `mirror` holds the settings that the educator shows to all, by path, and `picture` what the hand does
    there. `version` rises by one with every change, so that two control pages cannot undo each other's step unseen. `gathering`
    is before the beginning, `call` shows the code large again, `brief` goes through the short version only, `shut` are the steps
    whose votes are closed for good. `spent` are seconds by place (``"3 talk"``), without what has run since `since`, a time of
    the store's clock; `since` is None while the clock stands. `address` is what phones open, where one was chosen, and `reached`
    whether another device has come that way. With `door_shut` nobody new comes in; who is in stays, and may come back.
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
    picture: Mapping[str, Any] | None = None
    gathering: bool = False
    call: bool = False
    brief: bool = False
    shut: tuple[int, ...] = ()
    spent: Mapping[str, float] = field(default_factory=dict)
    since: float | None = None
    address: str = ""
    reached: bool = False
    best: Mapping[str, Any] | None = None
    door_shut: bool = False


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

    A new step takes the mirrored scene and the leave to roam away. What shows the answer closes the votes of its step for good.
    Going where the room already is changes nothing, but begins a room that gathers.

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
        return begun(room)
    if step != room.step:
        room = replace(room, mirror=None, picture=None, roam=False, best=None)
    shut = tuple(sorted({*room.shut, step})) if phase in _TOLD else room.shut
    return replace(room, step=step, phase=phase, gathering=False, call=False, shut=shut, version=room.version + 1)


def begun(room: Room) -> Room:
    """The room once people have gathered: its clock runs from here."""
    return _changed(room, gathering=False, call=False) if room.gathering else room


def addressed(room: Room, host: str) -> Room:
    """The room with the address that phones open."""
    return _changed(room, address=host)


def arrived(room: Room) -> Room:
    """The room once another device than this machine has come to it."""
    return room if room.ended else _changed(room, reached=True)


def with_best(room: Room, best: Mapping[str, Any] | None) -> Room:
    """The room with the best that the model finds for its goal, or without."""
    return _changed(room, best=best)


def timed(before: Room, after: Room, now: float) -> Room:
    """`after` with its clock: it runs while the lesson goes on, stands in a pause, and each place keeps what it has used.

    Parameters
    ----------
    before, after : Room
        Around one move.
    now : float
        Seconds by the store's clock.
    """
    spent = dict(before.spent)
    if before.since is not None:
        place = f"{before.step} {before.phase}"
        spent[place] = round(spent.get(place, 0.0) + max(0.0, now - before.since), 2)
    runs = not (after.gathering or after.paused or after.ended)
    return replace(after, spent=spent, since=now if runs else None)


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
    """The room with some of `paused`, `roam`, `words`, `call`, `brief` and `door_shut` set.

    Raises
    ------
    RoomError
        The room has ended.
    """
    return _changed(room, **flags)


def mirrored(room: Room, settings: Mapping[str, float | None] | None, picture: Mapping[str, Any] | None = None) -> Room:
    """The room with a scene that all see and its picture, or none.

    Raises
    ------
    RoomError
        The room has ended.
    """
    return _changed(room, mirror=settings, picture=None if settings is None else picture)


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
    if room.gathering:
        return "The lesson has not begun yet."
    if room.paused:
        return "The room is paused. Wait until it goes on."
    if step != room.step:
        return "The room is at another step now."
    if turn is not None and step in room.shut:
        return "This vote is closed: its answer has been shown."
    if turn is not None and turn != phase_round(room.phase):
        return "Too late: this vote is closed." if room.phase in ASK_PHASES else "Nothing is asked now."
    return None

