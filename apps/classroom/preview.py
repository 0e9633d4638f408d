"""How a lesson will look, beside its text: what wall and phone show at any place of it, with an invented room, and its mistakes.

Who may open a room here may look. Nothing is kept: the room of a preview is made for each answer and stands in no store.
"""

from __future__ import annotations

import json
import time
from collections.abc import Mapping
from typing import Any

from tornado.ioloop import IOLoop

from graspwave.apps.classroom import room as moves
from graspwave.apps.classroom.base import Base, Post
from graspwave.apps.classroom.gate import content_policy
from graspwave.apps.classroom.messages import counts_for, mine_for, state_for
from graspwave.apps.classroom.services import Services
from graspwave.apps.classroom.settings import LOCAL
from graspwave.apps.classroom.store import Snapshot
from graspwave.apps.classroom.view import lesson_head
from graspwave.lessons import LessonError
from graspwave.lessons.steps import step_lines

__all__ = ["PEOPLE", "invented", "preview_routes", "welcome"]

PEOPLE = 12
"""Learners of the invented room; the preview says that they are invented."""

_EARLY = 7
"""Of them, those who have answered while a vote is open; the phone that is shown is not among them."""

_SLUG = r"[a-z0-9][a-z0-9-]{0,60}"


def _answers(question: Mapping[str, Any], right: Any, number: int, turn: int) -> dict[str, Any]:
    """What one of the invented people answers: spread at first, two of three right after the talk."""
    agrees, kind = turn == 2 and number % 3 != 0, question["kind"]
    if kind in ("one", "several", "order"):
        keys = [choice["key"] for choice in question["choices"]]
        at = number % len(keys)
        if kind == "one":
            return {"choice": right if agrees else keys[at]}
        if kind == "several":
            return {"choices": list(right) if agrees else [keys[at]]}
        return {"order": list(right) if agrees else [*keys[at:], *keys[:at]]}
    off = 0.0 if agrees else (number % 5 - 2) / 10.0
    if kind == "number":
        low, high = (float(end) if end is not None else float(right["value"]) for end in (question["low"], question["high"]))
        return {"value": min(max(float(right["value"]) + off * (high - low), low), high)}
    around = {} if right.get("y") is None else {"y": float(right["y"]) + 60.0 * off}
    return {"x": float(right["x"]) + 20.0 * off, **around}


def invented(lesson: Mapping[str, Any], at: int, phase: str) -> Snapshot:
    """A room of invented people at one place of a compiled lesson.

    Parameters
    ----------
    lesson : mapping
    at : int
        Step, from 0.
    phase : str
        One of the step's own.
    """
    step, people = lesson["steps"][at], range(1, PEOPLE + 1)
    given: dict[int, dict[int, tuple[str, int | None]]] = {1: {}, 2: {}}
    question = step.get("question")
    if question:
        far = moves.ASK_PHASES.index(phase)
        for turn, opens in ((1, "vote"), (2, "again")):
            begun = far - moves.ASK_PHASES.index(opens)
            voted = () if begun < 0 else people if begun else people[-_EARLY:]
            given[turn] = {n: (json.dumps(_answers(question, step["answer"]["right"], n, turn)), n % 3) for n in voted}
    done = frozenset(people[::2]) if step["kind"] in ("talk", "roam") else frozenset()
    room = moves.Room(code=lesson["slug"], slug=lesson["slug"], step=at, phase=phase)
    return Snapshot(room=room, digest="", tally=0, learners={n: f"person {n}" for n in people}, answers=given, done=done,
                    here=frozenset(people))


def welcome(lesson: Mapping[str, Any], at: int, phase: str, role: str) -> dict[str, Any]:
    """The message with which a page of `role` shows that place, as a room's line would send it."""
    snapshot = invented(lesson, at, phase)
    return {
        "type": "welcome", "id": None, "role": role, "handle": "juniper" if role == "learner" else "",
        "lesson": lesson_head(lesson), "mine": mine_for(snapshot, 1 if role == "learner" else None),
        "state": {**state_for(snapshot, lesson, role), "now": time.time(), "counts": counts_for(snapshot, lesson, role)},
    }


class _PreviewPage(Base):
    def get(self, slug: str) -> None:
        from graspwave.apps.teach.beside_text import preview_page

        if slug not in self.services.lessons.names():
            return self.no_page("lesson")
        return self.page(preview_page(slug, key_needed=self.services.gate.key is not None))


class _Screen(Base):
    """The wall or a phone of a preview: the room's own page, which takes what it shows from the page around it."""

    def get(self, slug: str, which: str) -> None:
        from graspwave.apps.teach.pages import learner_page, wall_page

        if slug not in self.services.lessons.names():
            return self.no_page("lesson")
        shared = self.services.settings.host not in LOCAL
        html = learner_page(slug, preview=True) if which == "phone" else wall_page(slug, shared=shared, preview=True)
        self.set_header("Content-Type", "text/html; charset=utf-8")
        # shown inside a page of this server, and of no other
        self.set_header("X-Frame-Options", "SAMEORIGIN")
        self.set_header("Content-Security-Policy", content_policy(html, self.request.host, framed="'self'"))
        self.finish(html)
        return None


class _HandoutPage(Base):
    def get(self, slug: str) -> None:
        from graspwave.apps.teach.beside_text import handout_page

        self.lesson_page(slug, handout_page)


class _ForLeaders(Post):
    """For whoever may open a room here."""

    def shut(self, body: dict[str, Any]) -> bool:
        """Refuse who asks too often, or has not this server's key."""
        if self.limited("preview", self.address):
            return True
        if self.services.gate.key_fits(body.get("key")):
            return False
        self.refuse(403, "That is not this server's key.", key=True)
        return True


class _LessonFile(_ForLeaders):
    """A lesson as the one file that it is, for whoever may open a room here."""

    async def act(self, body: dict[str, Any], *given: str) -> None:
        services, slug = self.services, given[0]
        if self.shut(body):
            return None
        if slug not in services.lessons.names() or not (text := services.text(slug)):
            return self.refuse(404, "This lesson has no file.")
        self.set_header("Content-Type", "text/markdown; charset=utf-8")
        self.set_header("Content-Disposition", f'attachment; filename="{slug.removeprefix("my-")}.md"')
        self.finish(text)
        return None


class _Preview(_ForLeaders):
    """Text, mistakes and one place of a lesson; only that nothing is new where the page has it as it is."""

    async def act(self, body: dict[str, Any], *given: str) -> None:
        services, slug = self.services, given[0]
        if self.shut(body):
            return None
        if slug not in services.lessons.names():
            return self.refuse(404, "This lesson's file is gone.")
        stamp = services.stamp(slug)
        if body.get("stamp") == stamp:
            return self.json({"stamp": stamp, "same": True})
        text = services.text(slug)
        told: dict[str, Any] = {"stamp": stamp, "text": text, "mistakes": [], "steps": [], "at": None}
        try:
            lesson = await services.lesson(IOLoop.current().asyncio_loop, slug)  # type: ignore[attr-defined]
        except LessonError as why:
            told["mistakes"] = [{"line": one.line, "text": f"{one.what}. {one.repair}".strip()} for one in why.mistakes]
            return self.json(told)
        if lesson is None:
            return self.refuse(404, "There is no such lesson.")
        # the file may have been saved once more meanwhile: then the next question finds another stamp
        return self.json({**told, "title": lesson["title"], **_place(lesson, text, body)})


def _place(lesson: Mapping[str, Any], text: str, body: Mapping[str, Any]) -> dict[str, Any]:
    head, lines = lesson_head(lesson)["steps"], step_lines(text)
    notes = [{"say": step["say"], "alone": bool(step.get("alone"))} for step in lesson["steps"]]
    steps = [{**one, **note, "line": lines[at] if at < len(lines) else 1}
             for at, (one, note) in enumerate(zip(head, notes, strict=True))]
    given, phase = body.get("step"), body.get("phase")
    at = given if type(given) is int and 0 <= given < len(steps) else 0
    phase = str(phase if phase in steps[at]["phases"] else steps[at]["phases"][0])
    return {"steps": steps, "at": {"step": at, "phase": phase, "wall": welcome(lesson, at, phase, "wall"),
                                   "phone": welcome(lesson, at, phase, "learner")}}


def preview_routes(services: Services) -> list[tuple[Any, ...]]:
    """Routes of previews and handouts, before the route that answers all other addresses below lessons."""
    given = {"services": services}
    return [
        (rf"/teach/({_SLUG})/preview", _PreviewPage, given),
        (rf"/teach/({_SLUG})/preview/(wall|phone)", _Screen, given),
        (rf"/teach/({_SLUG})/handout", _HandoutPage, given),
        (rf"/lesson/({_SLUG})/preview", _Preview, given),
        (rf"/lesson/({_SLUG})/file", _LessonFile, given),
    ]
