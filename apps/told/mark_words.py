"""How the mark of a number, where it comes from, is said on a page."""

from __future__ import annotations

__all__ = ["MARK_WORDS"]

MARK_WORDS = {
    "published": "published", "memory hi": "recalled, sure", "memory mid": "recalled, fairly sure",
    "memory lo": "recalled, unsure", "derived": "worked out", "practice": "common practice", "demo": "made up for this model",
}
