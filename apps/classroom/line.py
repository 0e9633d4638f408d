"""The line between a room and one page of it: of a learner, of who leads, of the wall."""

from __future__ import annotations

from collections.abc import Mapping
from typing import ClassVar

from graspwave.apps.classroom.from_educators import FROM_EDUCATORS, FROM_WALLS
from graspwave.apps.classroom.from_learners import FROM_LEARNERS
from graspwave.apps.classroom.open_line import Act, OpenLine

__all__ = ["LiveLine"]


class LiveLine(OpenLine):
    """An open line on which each role may ask for what is its own."""

    acts: ClassVar[Mapping[str, Mapping[str, Act]]] = {
        "learner": FROM_LEARNERS, "control": FROM_EDUCATORS, "wall": FROM_WALLS,
    }
