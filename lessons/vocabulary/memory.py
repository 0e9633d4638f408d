"""What the vocabulary remembers: results by scene, in stores that are bounded, and warnings of the check that runs now."""

from __future__ import annotations

import functools
import inspect
import threading
from collections import OrderedDict
from collections.abc import Callable, Hashable
from typing import ParamSpec, TypeVar, cast

from graspwave.simulator import SceneError

__all__ = ["Store", "clear", "warn", "warned", "word"]

P = ParamSpec("P")
T = TypeVar("T")

_STORES: list[Store] = []
_HERE = threading.local()


class Store:
    """Results by key, the least lately asked for dropped first.

    Parameters
    ----------
    most : int
        How many are kept.
    """

    def __init__(self, most: int) -> None:
        self.most = most
        self._kept: OrderedDict[Hashable, object] = OrderedDict()
        self._lock = threading.Lock()
        _STORES.append(self)

    def __len__(self) -> int:
        return len(self._kept)

    def get(self, key: Hashable, make: Callable[[], T]) -> T:
        """What is kept under `key`; made, and kept, where there is none. Two threads may make it twice."""
        with self._lock:
            if key in self._kept:
                self._kept.move_to_end(key)
                return cast("T", self._kept[key])
        made = make()
        with self._lock:
            self._kept[key] = made
            while len(self._kept) > self.most:
                self._kept.popitem(last=False)
        return made

    def clear(self) -> None:
        """Forget everything."""
        with self._lock:
            self._kept.clear()


def clear() -> None:
    """Forget every result."""
    for store in _STORES:
        store.clear()


def warn(text: str) -> None:
    """Note something a lesson's writer should know; told once by `warned`."""
    found = _HERE.__dict__.setdefault("texts", [])
    if text not in found:
        found.append(text)


def warned() -> list[str]:
    """Warnings since the last call, each once, of this thread; they are forgotten by this call."""
    found = list(_HERE.__dict__.get("texts", []))
    _HERE.__dict__["texts"] = []
    return found


def word(function: Callable[P, T]) -> Callable[P, T]:
    """A function that expressions may call: what it is called with wrongly comes back as `SceneError`."""
    wanted = inspect.signature(function)

    @functools.wraps(function)
    def called(*args: P.args, **kwargs: P.kwargs) -> T:
        try:
            wanted.bind(*args, **kwargs)
        except TypeError as error:
            shown = ", ".join(wanted.parameters)
            raise SceneError(function.__name__, f"called as {function.__name__}({shown})", f"{error}") from None
        try:
            return function(*args, **kwargs)
        except SceneError:
            raise
        except (ValueError, TypeError, KeyError, IndexError, ZeroDivisionError) as error:
            raise SceneError(function.__name__, "called with values it can take", f"{error}") from None

    return called
