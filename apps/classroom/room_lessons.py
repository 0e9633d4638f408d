"""The lessons that rooms run, as they were when the rooms were opened: read from the store, and kept once read."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Mapping
from typing import Any

from graspwave.apps.classroom import view as views
from graspwave.apps.classroom.store import Store
from graspwave.apps.classroom.writer import NotKept, Reader

__all__ = ["RoomLessons"]

_LESSONS = 16


class RoomLessons:
    """Compiled lessons by their digest, the last used ones.

    Parameters
    ----------
    store, reader
    """

    def __init__(self, store: Store, reader: Reader) -> None:
        self.store, self.reader = store, reader
        self._lessons: OrderedDict[str, Mapping[str, Any]] = OrderedDict()

    async def of(self, digest: str) -> Mapping[str, Any]:
        """A lesson as rooms run it; kept here once read.

        Raises
        ------
        NotKept
            The store does not have it, or does not answer.
        """
        if digest not in self._lessons:
            found = await self.reader.ask(self.store.lesson, digest)
            if found is None:
                raise NotKept("This room's lesson cannot be read.")
            self._lessons[digest] = found
            while len(self._lessons) > _LESSONS:
                self._lessons.popitem(last=False)
        self._lessons.move_to_end(digest)
        return self._lessons[digest]

    async def picture(self, wanted: str) -> Mapping[str, Any] | None:
        """A picture of any lesson that a room runs."""
        for lesson in list(self._lessons.values()):
            if (found := views.room_picture(lesson, wanted)) is not None:
                return found
        for digest in await self.reader.ask(self.store.digests):
            if digest not in self._lessons and (found := views.room_picture(await self.of(digest), wanted)) is not None:
                return found
        return None
