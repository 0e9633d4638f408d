"""All that one process needs to serve rooms: store, hub, gate, lessons and pages, made once and given to every route."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from typing import Any

from graspwave.apps.classroom.bench import Bench
from graspwave.apps.classroom.gate import Gate, new_token
from graspwave.apps.classroom.hub import Hub
from graspwave.apps.classroom.lesson_sources import Lessons, LessonsSource
from graspwave.apps.classroom.settings import LOCAL, Settings, served_names
from graspwave.apps.classroom.store import Store, open_store
from graspwave.apps.classroom.view import room_picture
from graspwave.apps.classroom.writer import Reader, Writer
from graspwave.lessons import LessonError

__all__ = ["LOCAL", "Services", "Settings", "make_services", "served_names"]


@dataclass
class Services:
    """What the routes of one process share."""

    settings: Settings
    store: Store
    gate: Gate
    writer: Writer
    reader: Reader
    hub: Hub
    lessons: LessonsSource
    pages: Any
    bench: Bench
    _compiler: ThreadPoolExecutor = field(default_factory=lambda: ThreadPoolExecutor(1, thread_name_prefix="graspwave-lesson"))
    _compiled: dict[str, Mapping[str, Any]] = field(default_factory=dict)
    _failed: dict[str, LessonError] = field(default_factory=dict)
    _stamps: dict[str, str] = field(default_factory=dict)

    @property
    def troubles(self) -> dict[str, str]:
        """What is wrong with the lessons that could not be worked out so far, by name."""
        return {slug: str(why) for slug, why in self._failed.items()}

    async def lesson(self, loop: Any, slug: str) -> Mapping[str, Any] | None:
        """A compiled lesson of this program, or None where there is none of that name.

        Raises
        ------
        LessonError
            It cannot be worked out; this is kept and not tried again as long as its file is the same.
        """
        stamp = self.stamp(slug)
        if self._stamps.setdefault(slug, stamp) != stamp:
            # saved anew: rooms that are open go on with the lesson as it was when they were opened
            self._stamps[slug] = stamp
            self._compiled.pop(slug, None)
            self._failed.pop(slug, None)
        if slug not in self._compiled:
            if slug not in self.lessons.names():
                return None
            if slug in self._failed:
                raise self._failed[slug]
            try:
                self._compiled[slug] = await loop.run_in_executor(self._compiler, self.lessons.compiled, slug)
            except LessonError as why:
                self._failed[slug] = why
                raise
        return self._compiled[slug]

    def stamp(self, slug: str) -> str:
        """Changes whenever an own lesson was saved; empty for a lesson of the program."""
        return str(getattr(self.lessons, "stamp", lambda slug: "")(slug))

    def text(self, slug: str) -> str:
        """The text of a lesson as its file is now; empty where it has none."""
        return str(getattr(self.lessons, "text", lambda slug: "")(slug))

    def picture(self, wanted: str) -> Mapping[str, Any] | None:
        """A picture of a lesson that was worked out here, or None."""
        return next((found for lesson in self._compiled.values() if (found := room_picture(lesson, wanted)) is not None), None)

    def start(self) -> None:
        """Begin the hub's own work; inside the loop that serves."""
        self.hub.start()

    def stop(self) -> None:
        """End all threads and close the store."""
        self.hub.stop()
        self.writer.stop()
        self.reader.stop()
        self.bench.stop()
        self._compiler.shutdown(wait=False, cancel_futures=True)
        self.store.close()


def _source(paths: Sequence[str]) -> LessonsSource:
    if not paths:
        return Lessons()
    from graspwave.apps.classroom.own_lessons import OwnLessons

    return OwnLessons(paths)


def make_services(
    settings: Settings, *, lessons: LessonsSource | None = None, pages: Any = None, check: bool = True,
    hook: Callable[[Any], None] | None = None,
) -> Services:
    """Open the store and make all that serves rooms from it.

    Parameters
    ----------
    settings : Settings
    lessons : LessonsSource, optional
        The program's own where not given.
    pages : optional
        What makes the pages; ``apps.teach.pages`` where not given.
    check : bool
        Whether the store is looked through for damage.
    hook : callable, optional
        Called with each new connection of the store's driver.

    Raises
    ------
    SceneError
        The store cannot be used.
    """
    if pages is None:
        from graspwave.apps.teach import pages as own

        pages = own
    source = (_source(settings.lessons) if lessons is None else lessons)
    store = open_store(settings.store, check=check, hook=hook)
    store.keep_s = settings.keep_s
    if check:
        with store.writing() as connection:
            store.purge(connection)
    writer, reader = Writer(store), Reader()
    gate = Gate(settings.key, served_names(settings.host), secret=settings.secret)
    # names of processes are drawn, not counted: two servers of one store must never share one
    hub = Hub(store, writer, reader, new_token()[:16])
    return Services(settings, store, gate, writer, reader, hub, source, pages, Bench(source.live))
