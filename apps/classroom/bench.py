"""Pictures of a bench for the settings that somebody chose, computed beside the loop and kept for who asks the same."""

from __future__ import annotations

import json
import os
from collections import OrderedDict
from collections.abc import Callable, Mapping
from concurrent.futures import ThreadPoolExecutor
from typing import Any

from graspwave import simulator as sim

__all__ = ["Bench"]

_WAITING = 256
"""More than a full room: each phone asks for one picture at a time."""

_THREADS = min(4, max(2, os.cpu_count() or 2))
"""Most of a picture is compiled loops, which let each other and the server's own loop go on."""

_KEPT = 512


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
        self._pool = ThreadPoolExecutor(_THREADS, thread_name_prefix="graspwave-bench")
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
        if self._waiting >= _WAITING and not first:
            return None
        self._waiting += 1
        try:
            made = await loop.run_in_executor(self._first if first else self._pool, self._compute, key, dict(settings))
        finally:
            self._waiting -= 1
        self._kept[key] = made
        while len(self._kept) > _KEPT:
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
            while len(self._mine) > _KEPT:
                self._mine.popitem(last=False)
        return self._mine[key]

    def stop(self) -> None:
        """Take no more."""
        self._pool.shutdown(wait=False, cancel_futures=True)
        self._first.shutdown(wait=False, cancel_futures=True)
