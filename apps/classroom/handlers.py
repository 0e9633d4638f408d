"""The routes of lessons and rooms: plain pages, their data, and a few posts."""

from __future__ import annotations

import re
from typing import Any

from tornado.ioloop import IOLoop

from graspwave.apps.classroom import room as moves
from graspwave.apps.classroom.base import Base, Post, numbers_by_path
from graspwave.apps.classroom.codes import CODE_PATTERN, clean_code, clean_invitation
from graspwave.apps.classroom.line import LiveLine
from graspwave.apps.classroom.network import this_machine
from graspwave.apps.classroom.preview import preview_routes
from graspwave.apps.classroom.report import report_csv, report_html
from graspwave.apps.classroom.services import LOCAL, Services
from graspwave.apps.classroom.store import Closed, Shut
from graspwave.apps.classroom.writer import NotKept
from graspwave.apps.web.serving import WEB_PATTERN, WebFiles
from graspwave.lessons import LessonError

__all__ = ["Nothing", "home_routes", "routes", "web_routes"]

_SLUG = r"[a-z0-9][a-z0-9-]{0,60}"


class _LessonsPage(Base):
    def get(self) -> None:
        services = self.services
        more: dict[str, Any] = {"troubles": dict(services.troubles)} if services.troubles else {}
        if own := getattr(services.lessons, "own", None):
            # an own lesson that was saved anew says so here, whatever was wrong with it before
            more["rows"] = [*services.pages.lesson_rows(), *services.pages.lesson_rows(own(), services.lessons.read)]  # type: ignore[attr-defined]
            more["troubles"] = {slug: why for slug, why in services.troubles.items() if slug not in own()}
        self.page(services.pages.lessons_page(
            key_needed=services.gate.key is not None, shared=services.settings.host not in LOCAL, ways=self.own_ways(), **more))


class _AlonePage(Base):
    def get(self, slug: str) -> None:
        self.lesson_page(slug, self.services.pages.alone_page)


class _NoPage(Base):
    """An address below lessons or rooms that leads nowhere: said on a page, with where to go."""

    def get(self, which: str) -> None:
        self.no_page("lesson" if which == "teach" else "room")


class _JoinPage(Base):
    async def get(self) -> None:
        given = self.get_query_argument("code", "")[:60]
        code = clean_code(given)
        if code is None:
            trouble = "A code is two words and a number, as plum river 42." if given else ""
            return self.page(self.services.pages.join_page(re.sub(r"[^\w -]", "", given), trouble) if given
                             else self.services.pages.join_page(""))
        return self.redirect(f"/room/{code}")


class _RoomPage(Base):
    """The pages of a room are the same whether it exists or not: only joining tells, and that is limited."""

    def get(self, code: str, which: str | None = None) -> None:
        pages = self.services.pages
        if which is None:
            return self.page(pages.learner_page(code))
        make = pages.control_page if which == "control" else pages.wall_page
        return self.page(make(code, self.joining(code), shared=self.services.settings.host not in LOCAL))


class _LessonData(Base):
    async def get(self, slug: str) -> None:
        try:
            lesson = await self.services.lesson(IOLoop.current().asyncio_loop, slug)  # type: ignore[attr-defined]
        except LessonError as why:
            return self.refuse(503, str(why), lesson=True)
        if lesson is None:
            return self.refuse(404, "There is no such lesson.")
        self.set_header("Cache-Control", "no-cache")
        return self.json(lesson)


class _PictureData(Base):
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


class _Web(Base, WebFiles):  # type: ignore[misc]  # each has a head of its own; the first one serves
    """Modules, styles and fonts, where no other server gives them."""


class Nothing(Base):
    """Any address of the rooms' own port that leads nowhere, by any method."""

    def prepare(self) -> None:
        super().prepare()
        if not self._finished:
            self.refuse(404, "There is nothing here.")


class _Open(Post):
    async def act(self, body: dict[str, Any], *given: str) -> None:
        services = self.services
        # a wrong key costs nobody anything: it cannot be guessed, and the right one must open the door at any time
        if not services.gate.key_fits(body.get("key")):
            return self.refuse(403, "That is not this server's key.")
        if self.limited("open", self.address):
            return None
        slug = body.get("lesson")
        lesson = await services.lesson(IOLoop.current().asyncio_loop, slug) if isinstance(slug, str) else None  # type: ignore[attr-defined]
        if lesson is None:
            return self.refuse(404, "There is no such lesson.")
        brief, host = body.get("short") is True, body.get("address")
        address = host if host in {way["host"] for way in self.own_ways()} else ""
        code, token = await services.writer.submit(
            lambda c: services.store.open_room(c, lesson, services.settings.keep_s, brief=brief, address=address))
        return self.json({"code": code, "token": token, "control": f"/room/{code}/control", "wall": f"/room/{code}/wall"})


class _Join(Post):
    async def act(self, body: dict[str, Any], *given: str) -> None:
        services, code = self.services, given[0]
        # asked alike of right and wrong codes, so that the price tells nothing; who pays is never refused a right one
        if (bits := services.gate.price(self.address)) and not services.gate.proofs.paid(code, body.get("proof"), bits):
            return self.refuse(428, "One moment: many are joining.", again=True, proof=services.gate.proofs.text(code, bits))
        services.gate.take("join", self.address)  # before anything is waited for: many asked at once are many
        if not await services.reader.ask(services.store.exists, code):
            services.gate.give("join", self.address)
            services.gate.take("wrong", self.address)
            return self.refuse(404, "No room has this code.")
        try:
            token, handle = await services.writer.submit(lambda c: services.store.join(c, code), room=code)
        except Shut as why:
            return self.refuse(409, str(why), again=True)
        except Closed as why:
            return self.refuse(410, str(why))
        if not this_machine(self.request.remote_ip or ""):
            await services.writer.submit(lambda c: services.store.change(c, code, moves.arrived))
        services.hub.changed(code)
        return self.json({"token": token, "handle": handle})


class _Lead(Post):
    """An invitation, typed or brought behind the sign of a link, becomes a right to lead a room or to show its wall."""

    async def act(self, body: dict[str, Any], *given: str) -> None:
        services = self.services
        if not services.gate.may_try(self.address):
            self.set_header("Retry-After", "6")
            return self.refuse(429, "Too many wrong codes from this network. Wait a few seconds.", again=True)
        services.gate.take("wrong", self.address)  # until it is known to be right: many tried at once are many
        words = clean_invitation(body.get("words"))
        found = None if words is None else await services.writer.submit(lambda c: services.store.redeem(c, words))
        if found is None:
            return self.refuse(404, "That is no code to lead with, or it was used, or it is older than ten minutes.")
        services.gate.give("wrong", self.address)
        room, role, token = found
        return self.json({"room": room, "role": role, "token": token, "page": f"/room/{room}/{role}"})


class _LeadPage(Base):
    def get(self) -> None:
        self.page(self.services.pages.lead_page())


class _Rooms(Post):
    """The rooms of this machine, for whoever may open one here; with a code, the right to lead that one again."""

    async def act(self, body: dict[str, Any], *given: str) -> None:
        services = self.services
        if self.limited("open", self.address):
            return None
        if not services.gate.key_fits(body.get("key")):
            return self.refuse(403, "That is not this server's key.")
        code = clean_code(body.get("code"))
        if code is not None:
            if not await services.reader.ask(services.store.exists, code):
                return self.refuse(404, "This room is closed.")
            return self.json({"token": await services.writer.submit(lambda c: services.store.entitle(c, code, "control"))})
        rooms = await services.reader.ask(services.store.list_rooms)
        return self.json({"rooms": [
            {name: room[name] for name in ("code", "slug", "opened", "ended", "joined")} for room in reversed(rooms)]})


class _Mine(Post):
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


class _BenchData(Post):
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


class _Report(Post):
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


def routes(services: Services) -> list[tuple[Any, ...]]:
    """The routes of lessons and rooms, for a Tornado application.

    Parameters
    ----------
    services : Services
        What they share.
    """
    given = {"services": services}
    return [
        (r"/teach", _LessonsPage, given),
        (r"/teach/open", _Open, given),
        (r"/teach/rooms", _Rooms, given),
        (r"/lead", _LeadPage, given),
        (r"/room/lead", _Lead, given),
        (rf"/teach/({_SLUG})", _AlonePage, given),
        *preview_routes(services),
        (r"/join", _JoinPage, given),
        (rf"/room/({CODE_PATTERN})", _RoomPage, given),
        (rf"/room/({CODE_PATTERN})/(control|wall)", _RoomPage, given),
        (rf"/room/({CODE_PATTERN})/join", _Join, given),
        (rf"/room/({CODE_PATTERN})/report", _Report, given),
        (rf"/room/({CODE_PATTERN})/mine", _Mine, given),
        (rf"/room/({CODE_PATTERN})/live", LiveLine, given),
        (r"/bench", _BenchData, given),
        (rf"/lesson/({_SLUG})\.json", _LessonData, given),
        (r"/picture/([0-9a-f]{8,64})\.json", _PictureData, given),
        (r"/(teach|room)/.*", _NoPage, given),
    ]


class _Home(Base):
    """Leads from the rooms' own port back to the other pages."""

    def initialize(self, services: Services) -> None:
        super().initialize(services)
        self._home = services.settings.home

    def get(self) -> None:
        if not self._home or self.request.path == "/":
            return self.redirect("/teach")
        name = self.request.host_name or "127.0.0.1"
        name = f"[{name}]" if ":" in name and not name.startswith("[") else name
        return self.redirect(f"{self.request.protocol}://{name}{self._home}{self.request.uri}")


def home_routes(services: Services) -> list[tuple[Any, ...]]:
    """Routes of a port that serves rooms only: the other pages lie on the first port."""
    return [(r"/(?:explore|practise|explain|proof)?", _Home, {"services": services})]


def web_routes(services: Services) -> list[tuple[Any, ...]]:
    """What browsers are given, on a port that serves rooms only."""
    return [(WEB_PATTERN, _Web, {"services": services})]
