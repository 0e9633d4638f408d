"""A room that somebody here has open: who looks at it, what each role was told last, and what is new to them."""

from __future__ import annotations

import asyncio
import time
from collections.abc import Callable, Collection, Mapping
from typing import Any, Protocol

from graspwave.apps.classroom.messages import Told, counts_for, json_text, mine_for, news, sees_bars, state_for
from graspwave.apps.classroom.store import Snapshot

__all__ = ["COUNTS_S", "SENT_OUT", "Line", "LiveRoom"]

SENT_OUT = 4002
"""Closing code of a learner who was sent out."""

COUNTS_S = 0.5


class Line(Protocol):
    """A connected page."""

    role: str
    learner: int | None

    def tell(self, text: str) -> None: ...
    def end(self, code: int, why: str) -> None: ...


class LiveRoom:
    """A room that somebody here has open.

    Parameters
    ----------
    code : str
    again : callable
        Asked, with the code, to send what was held back for a moment.
    """

    def __init__(self, code: str, again: Callable[[str], None]) -> None:
        self.code = code
        self._again = again
        self.lines: set[Line] = set()
        self.snapshot: Snapshot | None = None
        self.lesson: Mapping[str, Any] = {}
        self.sent: dict[str, Told] = {}  # by role: what its lines have
        self.stale = True
        self._states: dict[str, tuple[tuple[int, int], str, str]] = {}  # by role: version and tally, state, shown scene
        self._later = False
        self._counted = 0.0  # when learners were last told counts alone
        self.task: asyncio.Task[None] | None = None

    def told(self, snapshot: Snapshot, role: str) -> Told:
        """What lines of a role have to know of a room now."""
        # while answers come in, only bars that somebody sees make a state new
        key = (snapshot.room.version, snapshot.tally if sees_bars(snapshot, role) else -1)
        known = self._states.get(role)
        if known is None or known[0] != key:
            state = state_for(snapshot, self.lesson, role)
            mirror = state.pop("mirror")
            del state["version"]
            known = self._states[role] = (key, json_text(state), json_text(mirror) if mirror else "null")
        return Told(key[0], *known[1:], json_text(counts_for(snapshot, self.lesson, role)))

    def publish(self, snapshot: Snapshot, *, moved: bool) -> None:
        """Send each line what is new to it; with `moved` each learner what they sent for the step."""
        texts = {role: self.told(snapshot, role) for role in {line.role for line in self.lines}}
        # two hundred phones need not hear of every answer of a neighbour at once
        if not self._counts_due(texts):
            texts["learner"] = texts["learner"]._replace(counts=self.sent["learner"].counts)
        new = {role: news(role, self.sent[role], told) for role, told in texts.items()}
        for line in list(self.lines):
            if moved and line.learner is not None:
                line.tell(f'{{"type":"mine","step":{snapshot.room.step},{json_text(mine_for(snapshot, line.learner))[1:]}')
            if new[line.role]:
                line.tell(new[line.role])
        self.sent.update(texts)

    def _counts_due(self, texts: Mapping[str, Told]) -> bool:
        """Whether learners are told counts now; where not, they are told a little later."""
        if "learner" not in texts or texts["learner"].state != self.sent["learner"].state:
            return True
        wait = self._counted + COUNTS_S - time.monotonic()
        if wait <= 0.0:
            self._counted = time.monotonic()
            return True
        if texts["learner"].counts != self.sent["learner"].counts and not self._later:
            self._later = True
            asyncio.get_running_loop().call_later(wait, self._now)
        return False

    def _now(self) -> None:
        self._later = False
        self._again(self.code)

    def send_out(self, gone: Collection[int]) -> None:
        """End the lines of learners whose place is no more."""
        for line in [line for line in self.lines if line.learner in gone]:
            line.end(SENT_OUT, "You were sent out of this room. Who belongs here may join again.")
