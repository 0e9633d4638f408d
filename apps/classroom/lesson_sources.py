"""Where compiled lessons come from: this program's own; `own_lessons` adds an educator's."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Protocol

__all__ = ["Lessons", "LessonsSource"]


class LessonsSource(Protocol):
    """Where compiled lessons come from."""

    def names(self) -> Sequence[str]: ...
    def compiled(self, slug: str) -> Mapping[str, Any]: ...
    def live(self, scene_toml: str, settings: dict[str, float | None]) -> Mapping[str, Any]: ...
    def mine(self, scene_toml: str | None, free: Sequence[str]) -> Mapping[str, Any]: ...


class Lessons:
    """The lessons of this program, compiled when they are first asked for."""

    def names(self) -> Sequence[str]:
        """Names of all lessons, in order, and of the questions before and after a course."""
        from graspwave import lessons
        from graspwave.lessons.quiz import QUIZZES

        return (*lessons.names(), *QUIZZES)

    def compiled(self, slug: str) -> Mapping[str, Any]:
        """One compiled lesson."""
        from graspwave.apps.teach.compiled import compiled

        return compiled(slug)

    def text(self, slug: str) -> str:
        """Text of one lesson; the questions before and after a course are drawn from several and have none of their own."""
        from graspwave import lessons

        return lessons.source(slug) if slug in lessons.names() else ""

    def live(self, scene_toml: str, settings: dict[str, float | None]) -> Mapping[str, Any]:
        """A bench's picture for other settings."""
        from graspwave.apps.told.live_hand import live

        return live(scene_toml, settings)

    def mine(self, scene_toml: str | None, free: Sequence[str]) -> Mapping[str, Any]:
        """The educator's own bench on a scene."""
        from graspwave.apps.teach.mirror import my_bench

        return my_bench(scene_toml, free)
