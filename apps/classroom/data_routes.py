"""What pages ask for as data: a lesson, a picture, a bench for other settings, the educator's own bench, the report."""

from __future__ import annotations

from typing import Any

from tornado.ioloop import IOLoop

from graspwave.apps.classroom.base import Base, Post, numbers_by_path
from graspwave.apps.classroom.codes import clean_code
from graspwave.apps.classroom.report import report_csv, report_html
from graspwave.apps.classroom.writer import NotKept
from graspwave.lessons import LessonError

__all__ = ["BenchData", "LessonData", "Mine", "PictureData", "Report"]


class LessonData(Base):
    """A compiled lesson."""

    async def get(self, slug: str) -> None:
        try:
            lesson = await self.services.lesson(IOLoop.current().asyncio_loop, slug)  # type: ignore[attr-defined]
        except LessonError as why:
            return self.refuse(503, str(why), lesson=True)
        if lesson is None:
            return self.refuse(404, "There is no such lesson.")
        self.set_header("Cache-Control", "no-cache")
        return self.json(lesson)


class PictureData(Base):
    """A picture, by the name that its content gave it."""

    async def get(self, wanted: str) -> None:
        try:
            # of a lesson that somebody looks at without a room, or of one that a room runs
            picture = self.services.picture(wanted) or await self.services.hub.lessons.picture(wanted)
        except NotKept as why:
            return self.refuse(503, str(why), again=True)
        if picture is None:
            return self.refuse(404, "There is no such picture.")
        # named by its content, so it never changes; private, for it is a room's
        self.set_header("Cache-Control", "private, max-age=86400, immutable")
        return self.json(picture)


class Mine(Post):
    """The educator's own bench in a step, and its picture for other settings."""

    async def act(self, body: dict[str, Any], *given: str) -> None:
        services, code, token, loop = self.services, given[0], body.get("token"), IOLoop.current().asyncio_loop  # type: ignore[attr-defined]
        if not (isinstance(token, str) and await services.reader.ask(services.store.educator, code, token)):
            return self.refuse(403, "This needs the page that leads the room.")
        found, step = services.hub.room_of(code), body.get("step")
        if found is None or type(step) is not int or not 0 <= step < len(found[1]["steps"]):
            return self.refuse(404, "There is no such step.")
        bench = await services.bench.mine(loop, services.lessons.mine, found[1]["steps"][step])
        if body.get("settings") is None:
            return self.json(bench)
        if (values := numbers_by_path(body["settings"])) is None:
            return self.refuse(400, "Settings are numbers by name, or nothing where one is let free.")
        data = await services.bench.ask(loop, bench, values, first=True)
        return self.refuse(429, "Too many at once. Wait a second.", again=True) if data is None else self.json(data)


class BenchData(Post):
    """A bench's picture for other settings, for whoever looks at that step."""

    async def act(self, body: dict[str, Any], *given: str) -> None:
        services, loop = self.services, IOLoop.current().asyncio_loop  # type: ignore[attr-defined]
        token, code = body.get("token"), clean_code(body.get("code"))
        known = None
        if isinstance(token, str) and code is not None:
            known = await services.reader.ask(services.store.learner, code, token)
        if self.limited(*(("bench", str(token)) if known else ("bench_address", self.address))):
            return None
        slug, step, settings = body.get("slug"), body.get("step"), body.get("settings")
        lesson = await services.lesson(loop, slug) if isinstance(slug, str) else None
        if lesson is None:
            return self.refuse(404, "There is no such lesson.")
        steps = lesson["steps"]
        if type(step) is not int or not 0 <= step < len(steps) or not steps[step].get("bench"):
            return self.refuse(404, "There is nothing to try in this step.")
        if (values := numbers_by_path(settings)) is None:
            return self.refuse(400, "Settings are numbers by name, or nothing where one is let free.")
        data = await services.bench.ask(loop, steps[step]["bench"], values)
        return self.refuse(429, "Too many at once. Wait a second.", again=True) if data is None else self.json(data)


class Report(Post):
    """The answers of a room, as a page or as a table, for who leads it."""

    async def act(self, body: dict[str, Any], *given: str) -> None:
        services, code, token, form = self.services, given[0], body.get("token"), body.get("as")
        allowed = isinstance(token, str) and await services.reader.ask(services.store.educator, code, token)
        # who has no right to it must not be able to use up what the educator may ask
        if self.limited("report", str(token) if allowed else self.address):
            return None
        if not allowed:
            return self.refuse(403, "This needs the page that opened the room.")
        if form not in ("html", "csv"):
            return self.refuse(400, "'as' must be html or csv.")
        found = await services.reader.ask(services.store.all_answers, code)
        if found is None:
            return self.refuse(404, "This room is closed.")
        room, answers, words = found
        lesson = await services.hub.lessons.of(room["digest"])
        text = (report_html if form == "html" else report_csv)(lesson, room, answers, words)
        self.set_header("Content-Type", f"text/{form}; charset=utf-8")
        self.set_header("Content-Disposition", f'attachment; filename="answers-{code}.{form}"')
        self.set_header("Content-Security-Policy", "default-src 'none'; style-src 'unsafe-inline'")
        self.finish(text)
        return None
