"""Addresses that answer with a page: lessons, one alone, joining, leading, a room's three; and where nothing lies, one too."""

from __future__ import annotations

import re
from typing import Any

from graspwave.apps.classroom.base import Base
from graspwave.apps.classroom.codes import clean_code
from graspwave.apps.classroom.settings import LOCAL

__all__ = ["AlonePage", "JoinPage", "LeadPage", "LessonsPage", "NoPage", "RoomPage"]


class LessonsPage(Base):
    """All lessons, with what opens a room."""

    def get(self) -> None:
        services = self.services
        more: dict[str, Any] = {"troubles": dict(services.troubles)} if services.troubles else {}
        if own := getattr(services.lessons, "own", None):
            # an own lesson that was saved anew says so here, whatever was wrong with it before
            more["rows"] = [*services.pages.lesson_rows(), *services.pages.lesson_rows(own(), services.lessons.read)]  # type: ignore[attr-defined]
            more["troubles"] = {slug: why for slug, why in services.troubles.items() if slug not in own()}
        self.page(services.pages.lessons_page(
            key_needed=services.gate.key is not None, shared=services.settings.host not in LOCAL, ways=self.own_ways(), **more))


class AlonePage(Base):
    """One lesson, gone through alone."""

    def get(self, slug: str) -> None:
        self.lesson_page(slug, self.services.pages.alone_page)


class NoPage(Base):
    """An address below lessons or rooms that leads nowhere: said on a page, with where to go."""

    def get(self, which: str) -> None:
        self.no_page("lesson" if which == "teach" else "room")


class JoinPage(Base):
    """Where a code is typed; a code that can be one leads on to its room."""

    async def get(self) -> None:
        given = self.get_query_argument("code", "")[:60]
        code = clean_code(given)
        if code is None:
            trouble = "A code is two words and a number, as plum river 42." if given else ""
            return self.page(self.services.pages.join_page(re.sub(r"[^\w -]", "", given), trouble) if given
                             else self.services.pages.join_page(""))
        return self.redirect(f"/room/{code}")


class RoomPage(Base):
    """The pages of a room are the same whether it exists or not: only joining tells, and that is limited."""

    def get(self, code: str, which: str | None = None) -> None:
        pages = self.services.pages
        if which is None:
            return self.page(pages.learner_page(code))
        make = pages.control_page if which == "control" else pages.wall_page
        return self.page(make(code, self.joining(code), shared=self.services.settings.host not in LOCAL))


class LeadPage(Base):
    """Where an invitation to lead is typed."""

    def get(self) -> None:
        self.page(self.services.pages.lead_page())
