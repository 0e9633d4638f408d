"""What each role may see of a compiled step in each phase: nothing of the answer leaves the server before its phase.

Built up from what is allowed, never cut down from what there is, so that a new field of a lesson stays hidden until it is named
here.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from graspwave.apps.classroom.answers import share_right, tally
from graspwave.apps.classroom.room import ASK_PHASES, Room, phases_of
from graspwave.apps.told.room_time import room_minutes

__all__ = ["ROLES", "bars", "lesson_head", "paired", "pictures_of", "room_picture", "room_view"]

ROLES = ("learner", "control", "wall")

_BENCH_PHASES = ("show", "look", "reveal")


def reached(phase: str, first: str) -> bool:
    """Whether a phase is `first` or comes after it; a step that does not ask reaches none."""
    return phase in ASK_PHASES and ASK_PHASES.index(phase) >= ASK_PHASES.index(first)


def lesson_head(lesson: Mapping[str, Any]) -> dict[str, Any]:
    """The lesson's plan for the first message: its steps, its short version, and what the last page of a phone says of it."""
    steps = [
        {**{key: step[key] for key in ("number", "title", "kind", "minutes")}, "phases": list(phases_of(step)),
         "room_minutes": room_minutes(step)}
        for step in lesson["steps"]
    ]
    head = {name: lesson[name] for name in ("slug", "title", "minutes")}
    more = {name: lesson[name] for name in ("short", "objectives", "cautions", "glossary") if lesson.get(name)}
    return {**head, **more, "steps": steps, "room_minutes": sum(step["room_minutes"] for step in steps)}


def room_view(lesson: Mapping[str, Any], room: Room, role: str) -> dict[str, Any]:
    """The present step as a role may see it.

    Parameters
    ----------
    lesson : mapping
        A compiled lesson.
    room : Room
    role : str
        learner, control or wall.

    Returns
    -------
    dict
        number, of, title, kind, phase, html, pictures, question, look, answer, bench; control also say and right. Pictures are
        named (id, kind, title, text); their data are asked for by id, which nobody is told before the picture's phase.
    """
    step = lesson["steps"][room.step]
    view: dict[str, Any] = {
        "number": step["number"], "of": len(lesson["steps"]), "title": step["title"], "kind": step["kind"],
        "phase": room.phase, "html": step["html"], "pictures": _named(step["pictures"]),
        "question": _question(step.get("question")), "look": None, "answer": None, "bench": None,
    }
    look, answer = step.get("look"), step.get("answer")
    if look and reached(room.phase, "look"):
        view["look"] = {"html": look["html"], "pictures": _named(look["pictures"])}
    if answer and (room.phase == "reveal" or step["kind"] != "ask"):
        view["answer"] = {
            "right": answer["right"], "html": answer["html"], "pictures": _named(answer["pictures"]),
            "choices": {key: {name: choice.get(name) for name in ("right", "belief", "html")}
                        for key, choice in (answer.get("choices") or {}).items()},
            "said": [dict(one) for one in answer.get("said") or ()], "arms": answer.get("arms") or "",
        }
    if step.get("bench") and (role == "control" or _may_see_bench(step, room)):
        view["bench"] = step["bench"]
    if role == "control":
        view["say"] = step.get("say")
        view["right"] = answer["right"] if answer else None
    return view


def _may_see_bench(step: Mapping[str, Any], room: Room) -> bool:
    """A bench computes the answer, so at a question it waits for the votes."""
    return (step["kind"] == "roam" or room.roam) and room.phase in _BENCH_PHASES


def _question(question: Mapping[str, Any] | None) -> dict[str, Any] | None:
    if question is None:
        return None
    asked: dict[str, Any] = {name: question.get(name) for name in ("kind", "html", "low", "high", "step", "unit")}
    asked["choices"] = [{name: choice.get(name) for name in ("key", "html", "hand")} for choice in question.get("choices") or ()]
    asked["on"] = _named([question["on"]])[0] if question.get("on") else None
    return asked


def _named(pictures: list[Mapping[str, Any]]) -> list[dict[str, Any]]:
    return [{name: picture[name] for name in ("id", "kind", "title", "text")} for picture in pictures]


def paired(first: Mapping[Any, Any], second: Mapping[Any, Any]) -> tuple[dict[Any, Any], dict[Any, Any]]:
    """Answers of both rounds, by person, of those who answered twice; all of the first where nobody did."""
    both = [person for person in first if person in second]
    if not both:
        return (dict(first), {}) if first else (dict(second), {})
    return {person: first[person] for person in both}, {person: second[person] for person in both}


def bars(
    lesson: Mapping[str, Any], room: Room, role: str, first: Mapping[Any, Mapping[str, Any]],
    second: Mapping[Any, Mapping[str, Any]],
) -> dict[str, Any] | None:
    """How the answers to the present question spread, from phase bars on; the educator sees them from talk on.

    Once both rounds were answered only those count who answered twice: before and after are then the same people.

    Parameters
    ----------
    lesson, room, role
        As in `room_view`.
    first, second : mapping
        Answers of the two rounds by person.

    Returns
    -------
    dict or None
        first, second (as `answers.tally`), n_first, n_second, once (who answered one round only, where both were asked),
        right_first, right_second: shares of right answers, for the
        educator from talk on and for all others with the answer itself, for before it they would tell the right bar.
    """
    step = lesson["steps"][room.step]
    if not step.get("question") or not reached(room.phase, "talk" if role == "control" else "bars"):
        return None
    told = role == "control" or room.phase == "reveal"
    one, two = paired(first, second)
    before, after = list(one.values()), list(two.values())
    return {
        "first": tally(step["question"], before), "second": tally(step["question"], after),
        "n_first": len(before), "n_second": len(after),
        "once": len({*first, *second}) - len(before) if after else 0,
        "right_first": share_right(step, before) if told else None,
        "right_second": share_right(step, after) if told else None,
    }


def pictures_of(lesson: Mapping[str, Any]) -> dict[str, Mapping[str, Any]]:
    """Every picture of a compiled lesson by its id."""
    found: dict[str, Mapping[str, Any]] = {}
    for step in lesson["steps"]:
        asked = (step.get("question") or {}).get("on")
        for group in (step["pictures"], *((step.get(part) or {}).get("pictures") or [] for part in ("look", "answer"))):
            found.update((picture["id"], picture) for picture in group)
        if asked:
            found[asked["id"]] = asked
    return found


def room_picture(lesson: Mapping[str, Any], picture: str) -> Mapping[str, Any] | None:
    """One picture's data, or None."""
    return pictures_of(lesson).get(picture)
