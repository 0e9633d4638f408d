"""What the pages of a room are told: state, counts and a learner's own answers by role, and the message with what is new."""

from __future__ import annotations

import json
import time
from collections.abc import Mapping
from typing import Any, NamedTuple

from graspwave.apps.classroom import view as views
from graspwave.apps.classroom.answers import share_right
from graspwave.apps.classroom.store import Snapshot

__all__ = ["Told", "counts_for", "json_text", "mine_for", "news", "sees_bars", "state_for", "whole"]


def counts_for(snapshot: Snapshot, lesson: Mapping[str, Any], role: str) -> dict[str, Any]:
    """How many joined, are here, answered and are done; for the educator also who by handle, share right and all words."""
    room = snapshot.room
    counts: dict[str, Any] = {
        "joined": len(snapshot.learners), "here": len(snapshot.here), "answered": len(snapshot.answered),
        "done": len(snapshot.done), "of": len(snapshot.here | snapshot.answered | snapshot.done),
    }
    if role != "learner" and snapshot.solved:
        # how each met the goal, without who: sorted, so that the order tells nothing
        counts["solved"] = sorted([ma, mm, changed] for ma, mm, changed in snapshot.solved.values())
    if role != "control":
        counts["words"] = [text for _, _, text, shown in snapshot.words if shown]
        return counts
    counts["unclear"] = [{"step": step, "text": text} for _, step, text in snapshot.unclear]
    counts["unclear_now"] = len({learner for learner, step, _ in snapshot.unclear if step == room.step})
    counts["roster"] = [
        {"handle": handle, "here": learner in snapshot.here, "answered": learner in snapshot.answered,
         "done": learner in snapshot.done}
        for learner, handle in snapshot.learners.items()
    ]
    counts["words"] = [
        {"id": number, "handle": snapshot.learners.get(learner, ""), "text": text, "shown": shown}
        for number, learner, text, shown in snapshot.words
    ]
    # from the first answer on: whether a talk is worth it is decided before the wall says so
    counts["first_right"] = share_right(lesson["steps"][room.step], _answers(snapshot, 1).values())
    return counts


def _answers(snapshot: Snapshot, turn: int) -> dict[int, Mapping[str, Any]]:
    return {learner: json.loads(answer) for learner, (answer, _) in snapshot.answers[turn].items()}


def sees_bars(snapshot: Snapshot, role: str) -> bool:
    """Whether a role sees in this phase how the answers spread."""
    return views.reached(snapshot.room.phase, "talk" if role == "control" else "bars")


def state_for(snapshot: Snapshot, lesson: Mapping[str, Any], role: str) -> dict[str, Any]:
    """Where the room stands and what a role sees of it, without counts."""
    room = snapshot.room
    first, second = (_answers(snapshot, 1), _answers(snapshot, 2)) if sees_bars(snapshot, role) else ({}, {})
    return {
        "type": "state", "version": room.version, "step": room.step, "phase": room.phase, "paused": room.paused,
        "roam": room.roam, "words": room.words, "ended": room.ended,
        "mirror": None if room.mirror is None else {"settings": dict(room.mirror), "picture": room.picture},
        "gathering": room.gathering, "call": room.call, "brief": room.brief, "shut": room.step in room.shut,
        "address": room.address, "reached": room.reached, "clock": {"spent": dict(room.spent), "since": room.since},
        "door_shut": room.door_shut, "best": None if room.best is None or role == "learner" else dict(room.best),
        "view": views.room_view(lesson, room, role), "bars": views.bars(lesson, room, role, first, second),
    }


def mine_for(snapshot: Snapshot, learner: int | None) -> dict[str, Any]:
    """What a learner has sent for the present step."""
    if learner is None:
        return {"1": None, "2": None, "done": False}
    given = {turn: snapshot.answers[turn].get(learner) for turn in (1, 2)}
    mine: dict[str, Any] = {
        str(turn): None if kept is None else {"answer": json.loads(kept[0]), "sure": kept[1]} for turn, kept in given.items()}
    return {**mine, "done": learner in snapshot.done}


def json_text(message: Mapping[str, Any]) -> str:
    return json.dumps(message, separators=(",", ":"), allow_nan=False)


class Told(NamedTuple):
    """What the lines of a role were told, as JSON text: the state without the shown scene, that scene, and counts."""

    version: int
    state: str
    mirror: str
    counts: str


def whole(told: Told) -> str:
    return (f'{told.state[:-1]},"version":{told.version},"mirror":{told.mirror},"now":{time.time():.2f},'
            f'"counts":{told.counts}}}')


def news(role: str, before: Told, now: Told) -> str:
    """The one message that brings lines of a role from what they have to what is; empty where nothing is new.

    A scene that moves is a few kilobytes and comes up to seven times a second: it is sent without the step that it stands in.
    """
    if now.state != before.state or (now.counts != before.counts and role != "learner"):
        return whole(now)
    if now.mirror != before.mirror:
        counts = f',"counts":{now.counts}' if now.counts != before.counts else ""
        return f'{{"type":"mirror","version":{now.version},"now":{time.time():.2f},"mirror":{now.mirror}{counts}}}'
    if now.version != before.version:
        return whole(now)
    return f'{{"type":"counts","version":{now.version},{now.counts[1:]}' if now.counts != before.counts else ""
