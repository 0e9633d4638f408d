"""The routes of lessons and rooms: which address is answered by what."""

from __future__ import annotations

from typing import Any

from graspwave.apps.classroom.base import Base
from graspwave.apps.classroom.codes import CODE_PATTERN
from graspwave.apps.classroom.data_routes import BenchData, LessonData, Mine, PictureData, Report
from graspwave.apps.classroom.door_routes import Join, Lead, Open, Rooms
from graspwave.apps.classroom.line import LiveLine
from graspwave.apps.classroom.page_routes import AlonePage, JoinPage, LeadPage, LessonsPage, NoPage, RoomPage
from graspwave.apps.classroom.preview import preview_routes
from graspwave.apps.classroom.services import Services
from graspwave.apps.web.serving import WEB_PATTERN, WebFiles

__all__ = ["Nothing", "home_routes", "routes", "web_routes"]

_SLUG = r"[a-z0-9][a-z0-9-]{0,60}"


class _Web(Base, WebFiles):  # type: ignore[misc]  # each has a head of its own; the first one serves
    """Modules, styles and fonts, where no other server gives them."""


class Nothing(Base):
    """Any address of the rooms' own port that leads nowhere, by any method."""

    def prepare(self) -> None:
        super().prepare()
        if not self._finished:
            self.refuse(404, "There is nothing here.")


def routes(services: Services) -> list[tuple[Any, ...]]:
    """The routes of lessons and rooms, for a Tornado application.

    Parameters
    ----------
    services : Services
        What they share.
    """
    given = {"services": services}
    return [
        (r"/teach", LessonsPage, given),
        (r"/teach/open", Open, given),
        (r"/teach/rooms", Rooms, given),
        (r"/lead", LeadPage, given),
        (r"/room/lead", Lead, given),
        (rf"/teach/({_SLUG})", AlonePage, given),
        *preview_routes(services),
        (r"/join", JoinPage, given),
        (rf"/room/({CODE_PATTERN})", RoomPage, given),
        (rf"/room/({CODE_PATTERN})/(control|wall)", RoomPage, given),
        (rf"/room/({CODE_PATTERN})/join", Join, given),
        (rf"/room/({CODE_PATTERN})/report", Report, given),
        (rf"/room/({CODE_PATTERN})/mine", Mine, given),
        (rf"/room/({CODE_PATTERN})/live", LiveLine, given),
        (r"/bench", BenchData, given),
        (rf"/lesson/({_SLUG})\.json", LessonData, given),
        (r"/picture/([0-9a-f]{8,64})\.json", PictureData, given),
        (r"/(teach|room)/.*", NoPage, given),
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
