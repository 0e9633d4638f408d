"""How long a step takes in a room; the list of lessons tells it, and the room keeps to it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

__all__ = ["ASK_MINUTES", "room_minutes"]

ASK_MINUTES = 6.0
"""Minutes of a question in a room: guess, talk, guess again, look, reason (common practice, no source)."""


def room_minutes(step: Mapping[str, Any]) -> float:
    """Minutes of a compiled step in a room: a question takes both votes and a talk, however short it is alone."""
    return max(float(step["minutes"]), ASK_MINUTES) if step["kind"] == "ask" else float(step["minutes"])
