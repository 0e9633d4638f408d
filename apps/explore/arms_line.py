"""A hundred arms for whoever asks: one scene after the other, each in short pieces of work, the same scene once for all who ask.

A piece takes some twentieth of a second in one of the few processes that do the server's heavy work, so whoever else needs one
waits for no hundred arms; and as only one scene is worked out at a time, a class that asks waits in a line that can be told.
"""

from __future__ import annotations

import contextlib
import threading
import time
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from graspwave.apps.computing import Busy, TooLong, computing
from graspwave.apps.told.arms import ARMS, Arms, arm_curves, joined
from graspwave.simulator import Scene

__all__ = ["ArmsLine", "Told", "arms_line"]

_PIECE = 5
"""Arms worked out in one go."""

_KEPT_MOST = 60
_WAITING_MOST = 30
_TRY_AGAIN_S = 0.5


@dataclass(frozen=True, slots=True)
class Told:
    """How far the arms of a scene are.

    Attributes
    ----------
    done : int
        Arms so far.
    wait_s : float
        About how long others are before it; 0 once it is worked on.
    arms : Arms or None
        All of them, in the end.
    failed : str
        Why there will be none, in plain words.
    """

    done: int = 0
    wait_s: float = 0.0
    arms: Arms | None = None
    failed: str = ""


Listener = Callable[[Told], object]


class ArmsLine:
    """Scenes that wait for their arms, and the arms that were found, for all visitors.

    Parameters
    ----------
    work : callable, optional
        Takes a scene and seeds and gives a piece; the server's processes do it where not given.
    """

    def __init__(self, work: Callable[[Scene, range], Any] | None = None) -> None:
        self._work = work or _in_a_process
        self._lock = threading.Lock()
        self._line: OrderedDict[Scene, list[Listener]] = OrderedDict()
        self._known: OrderedDict[Scene, Arms] = OrderedDict()
        self._working = False
        self._scene_s = 1.5

    def known(self, scene: Scene) -> Arms | None:
        """The arms of a scene where they have been found."""
        with self._lock:
            return self._known.get(scene)

    def ask(self, scene: Scene, listener: Listener) -> None:
        """Have a listener told, from another thread, how far the arms of a scene are, until it leaves or they are there.

        Raises
        ------
        Busy
            Too many scenes wait; the text is plain and says how long it may take.
        """
        with self._lock:
            if scene not in self._line and len(self._line) >= _WAITING_MOST:
                raise Busy(f"Others are waiting: it would take about {len(self._line) * self._scene_s:.0f} s. Try again then.")
            self._line.setdefault(scene, []).append(listener)
            if not self._working:
                self._working = True
                threading.Thread(target=self._serve, daemon=True, name="graspwave-arms").start()
        self._tell_waiting()

    def leave(self, listener: Listener) -> None:
        """Tell a listener no more; a scene that nobody waits for is given up after its piece."""
        with self._lock:
            for listeners in self._line.values():
                if listener in listeners:
                    listeners.remove(listener)

    def _serve(self) -> None:
        while True:
            with self._lock:
                for scene in [one for one, listeners in self._line.items() if not listeners]:
                    del self._line[scene]
                scene = next(iter(self._line), None)  # type: ignore[assignment]
                if scene is None:
                    self._working = False
                    return
            began = time.monotonic()
            told = self._count(scene)
            if told is not None:
                self._scene_s += 0.3 * (time.monotonic() - began - self._scene_s)
                self._end(scene, told)
                self._tell_waiting()

    def _count(self, scene: Scene) -> Told | None:
        """What is told of a scene in the end; None where nobody waits for it any more."""
        pieces: list[Any] = []
        while len(pieces) * _PIECE < ARMS:
            if not self._tell(scene, Told(done=len(pieces) * _PIECE)):
                return None
            first = 1 + len(pieces) * _PIECE
            try:
                pieces.append(self._work(scene, range(first, min(first + _PIECE, ARMS + 1))))
            except Busy:  # others have the processes; the pieces that are there are kept
                time.sleep(_TRY_AGAIN_S)
            except TooLong:
                return Told(failed="Other arms take too long here just now. Try again later.")
            except Exception:
                return Told(failed="The other arms could not be worked out.")
        return Told(done=ARMS, arms=joined(pieces))

    def _end(self, scene: Scene, told: Told) -> None:
        with self._lock:
            listeners = self._line.pop(scene, [])
            if told.arms is not None:
                self._known[scene] = told.arms
                while len(self._known) > _KEPT_MOST:
                    self._known.popitem(last=False)
        _call(listeners, told)

    def _tell(self, scene: Scene, told: Told) -> bool:
        """Tell all who wait for a scene; whether anybody does."""
        with self._lock:
            listeners = list(self._line.get(scene, ()))
        _call(listeners, told)
        return bool(listeners)

    def _tell_waiting(self) -> None:
        """Tell all but the first how long it may take."""
        with self._lock:
            waiting = [(i * self._scene_s, list(listeners)) for i, listeners in enumerate(self._line.values()) if i]
        for wait_s, listeners in waiting:
            _call(listeners, Told(wait_s=wait_s))


def _call(listeners: list[Listener], told: Told) -> None:
    for listener in listeners:
        with contextlib.suppress(Exception):  # one page that fails keeps no other waiting
            listener(told)


def _in_a_process(scene: Scene, seeds: range) -> Any:
    return computing().submit(arm_curves, scene, seeds).result()


_LOCK = threading.Lock()
_shared: list[ArmsLine] = []


def arms_line() -> ArmsLine:
    """The one of this process."""
    with _LOCK:
        if not _shared:
            _shared.append(ArmsLine())
        return _shared[0]
