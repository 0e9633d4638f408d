"""All that one process needs to serve rooms: store, hub, gate, lessons and pages, made once and given to every route."""

from __future__ import annotations

import json
import os
import socket
from collections import OrderedDict
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from typing import Any, Protocol

import segno

from graspwave import simulator as sim
from graspwave.apps.classroom.gate import Gate, new_token
from graspwave.apps.classroom.hub import Hub
from graspwave.apps.classroom.store import Store, open_store
from graspwave.apps.classroom.view import room_picture
from graspwave.apps.classroom.writer import Reader, Writer
from graspwave.lessons import LessonError

__all__ = [
    "LOCAL", "Bench", "Lessons", "LessonsSource", "Services", "Settings", "make_services", "qr_svg", "served_names",
]

LOCAL = ("127.0.0.1", "localhost", "::1")
_BENCH_WAITING = 256
"""More than a full room: each phone asks for one picture at a time."""

_BENCH_THREADS = min(4, max(2, os.cpu_count() or 2))
"""Most of a picture is compiled loops, which let each other and the server's own loop go on."""

_BENCH_KEPT = 512


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


@dataclass(frozen=True)
class Settings:
    """How rooms are served.

    Parameters
    ----------
    store : str or None
        File or address of the store; the user's own file where None.
    host : str
        Address to listen on.
    key : str or None
        What opening a room needs; None where only this machine is served.
    keep_s : float
        How long a room is kept after it was last used.
    home : str
        Address of the other pages where another port serves them, as ``:port``; empty where this one does.
    secret : str
        What several processes of one port sign with; drawn by each where empty.
    lessons : tuple of str
        Files and folders of an educator's own lessons.
    """

    store: str | None = None
    host: str = "127.0.0.1"
    key: str | None = None
    keep_s: float = 24 * 3600.0
    home: str = ""
    secret: str = field(default="", repr=False)
    lessons: tuple[str, ...] = ()


def served_names(host: str) -> tuple[str, ...]:
    """Names under which a server on `host` may be addressed besides the addresses at which it is reached.

    ``GRASPWAVE_NAMES`` adds others, parted by commas: a name that a network gave this machine.
    """
    if host in LOCAL:
        return LOCAL
    own = socket.gethostname().lower()
    short = own.partition(".")[0]
    more = [name.strip().lower() for name in os.environ.get("GRASPWAVE_NAMES", "").split(",")]
    return tuple({"localhost", host, own, short, f"{short}.local", *filter(None, more)})


def qr_svg(address: str) -> str:
    """An address as a picture code in the page's ink, to stand on a surface of the page."""
    code = segno.make_qr(address, error="m")
    svg = code.svg_inline(dark="#123456", light=None, border=2, omitsize=True)
    return svg.replace("#123456", "currentColor").replace("<svg ", '<svg aria-hidden="true" ', 1)


def _check_setting(setting: Mapping[str, Any], value: Any) -> None:
    """Refuse a value that the setting's own control could not give."""
    path = setting["path"]
    if "choices" in setting:
        known = [key for key, _ in setting["choices"]]
        if not any(type(value) is type(key) and value == key for key in known):
            raise sim.SceneError(path, "one of " + ", ".join(str(key) for key in known), value)
        return
    if value is None and "free_words" in setting:
        return
    number = isinstance(value, (int, float)) and not isinstance(value, bool)
    if not number or not setting["low"] <= value <= setting["high"]:
        raise sim.SceneError(path, f"{setting['low']:g} to {setting['high']:g}", value)


class Bench:
    """Computes a bench's picture beside the loop, each asked-for picture once.

    Parameters
    ----------
    live : callable
        As `LessonsSource.live`.
    """

    def __init__(self, live: Callable[[str, dict[str, float | None]], Mapping[str, Any]]) -> None:
        self._live = live
        self._pool = ThreadPoolExecutor(_BENCH_THREADS, thread_name_prefix="graspwave-bench")
        # what the educator shows to all does not wait behind those who try for themselves
        self._first = ThreadPoolExecutor(1, thread_name_prefix="graspwave-mirror")
        self._kept: OrderedDict[tuple[str, str], bytes] = OrderedDict()
        self._mine: OrderedDict[tuple[str | None, tuple[str, ...]], Mapping[str, Any]] = OrderedDict()
        self._waiting = 0

    async def ask(
        self, loop: Any, bench: Mapping[str, Any], settings: Mapping[str, float | None], *, first: bool = False,
    ) -> bytes | None:
        """The picture as JSON; None where too many wait.

        Raises
        ------
        SceneError
            A setting that is not free in this step, or cannot be used.
        """
        free = {setting["path"]: setting for setting in bench["settings"]}
        for path, value in settings.items():
            if path not in free:
                raise sim.SceneError(path[:40], "one of " + ", ".join(free), value)
            _check_setting(free[path], value)
        key = (bench["scene"], json.dumps(settings, sort_keys=True))
        if key in self._kept:
            self._kept.move_to_end(key)
            return self._kept[key]
        if self._waiting >= _BENCH_WAITING and not first:
            return None
        self._waiting += 1
        try:
            made = await loop.run_in_executor(self._first if first else self._pool, self._compute, key, dict(settings))
        finally:
            self._waiting -= 1
        self._kept[key] = made
        while len(self._kept) > _BENCH_KEPT:
            self._kept.popitem(last=False)
        return bytes(made)

    def _compute(self, key: tuple[str, str], settings: dict[str, float | None]) -> bytes:
        # another who waited for the same picture may have got it meanwhile
        return self._kept.get(key) or json.dumps(self._live(key[0], settings), allow_nan=False).encode()

    async def picture(
        self, loop: Any, bench: Mapping[str, Any], settings: Mapping[str, float | None],
    ) -> Mapping[str, Any] | None:
        """What a bench shows with these settings, small enough to be pushed to all; None where too many wait."""
        from graspwave.apps.teach.mirror import mirror_picture

        made = await self.ask(loop, bench, settings, first=True)
        return None if made is None else mirror_picture(json.loads(made), settings)

    async def mine(self, loop: Any, make: Callable[..., Mapping[str, Any]], step: Mapping[str, Any]) -> Mapping[str, Any]:
        """The educator's own bench in a step, made once for each scene."""
        own = step.get("bench") or {}
        scene = own.get("scene") or step.get("scene")
        key = (scene, tuple(setting["path"] for setting in own.get("settings", ())))
        if key not in self._mine:
            self._mine[key] = await loop.run_in_executor(self._first, make, *key)
            while len(self._mine) > _BENCH_KEPT:
                self._mine.popitem(last=False)
        return self._mine[key]

    def stop(self) -> None:
        """Take no more."""
        self._pool.shutdown(wait=False, cancel_futures=True)
        self._first.shutdown(wait=False, cancel_futures=True)


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
